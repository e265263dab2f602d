"""Bad input, drawn by lot from a seed: the same seed draws the same."""

from __future__ import annotations

import random

TEXTS = (
    "", " ", "0", "-1", "1e999", "NaN", "1,234", "1.234.567", "999999999999999999999999", "\0", "\x1b[2J",
    "\ud800", "\U0001f4a9", "é" * 50, "\u202e", "\ufeff", "a" * 4001, "a" * 300, "R-0001", "R-9999", "AB",
    "SL", "ab-tells-nobody", "../../etc/passwd", "..%2f..%2fledger.db", "<script>alert(1)</script>",
    "{{7*7}}", "{% for x in y %}", "'; DROP TABLE events;--", "\r\nSet-Cookie: a=b", "%00", "\\", "//x.example",
    "javascript:alert(1)", "yes", "true", "null", "0x1f", "1_000", "٣", "½", "∞", "2026-02-30", "P1D", "a\nb",
    "wind", "hold", "gap", "brackets-off", "B01", "off", "4.2", "good", "redo", "use as is",
)  # fmt: skip
NAMES = (
    "key", "seen", "part", "person", "secret", "values", "values.value", "values.result", "reason", "text",
    "state", "confirmed", "disposition", "how", "page", "back", "procedure", "second", "second_secret",
    "toml", "sha256", "note", "until", "until_step", "lines", "step", "theme", "size", "value", "count",
    "values.photo", "photo", "sure", "values.tool", "own_reason", "__proto__", "", "\u00e9", "a.b.c", "values.",
)  # fmt: skip


class Lots:
    """Draws."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def of(self, *things: object) -> object:
        """Draw one of several things."""
        return self._random.choice(things)

    def chance(self, one_in: int) -> bool:
        """Say yes once in so many."""
        return self._random.randrange(one_in) == 0

    def below(self, most: int) -> int:
        """Draw a whole number from 0 up to, not with, most."""
        return self._random.randrange(most)

    def text(self) -> str:
        """Draw a text: an awkward one, one of any signs, or two after each other."""
        kind = self._random.randrange(4)
        if kind == 0:
            return "".join(chr(self._random.randrange(1, 0x250)) for _ in range(self.below(12)))
        if kind == 1:
            return self._random.choice(TEXTS) + self._random.choice(TEXTS)
        return self._random.choice(TEXTS)

    def name(self) -> str:
        """Draw a field's name."""
        return self.text() if self.chance(12) else self._random.choice(NAMES)

    def json(self, depth: int = 3) -> object:
        """Draw a JSON value."""
        kind = self._random.randrange(9 if depth else 6)
        if kind < 3:
            return self.text()
        if kind == 3:
            return self._random.choice((0, -1, 2**53, 2**70, 1.5, 1e300))
        if kind < 6:
            return self._random.choice((None, True, False))
        if kind == 6:
            return [self.json(depth - 1) for _ in range(self.below(4))]
        return {self.name(): self.json(depth - 1) for _ in range(self.below(4))}

    def noise(self, most: int = 200) -> bytes:
        """Draw bytes."""
        return self._random.randbytes(self.below(most))

    def mutated(self, content: bytes) -> bytes:
        """Return content with a few places changed, cut out, doubled or swapped."""
        found = bytearray(content)
        for _ in range(1 + self.below(4)):
            self._mutate(found)
        return bytes(found)

    def _mutate(self, found: bytearray) -> None:
        at = self.below(len(found) + 1)
        length = self.below(40)
        match self._random.randrange(6):
            case 0 if found:
                found[at % len(found)] = self.below(256)
            case 1:
                del found[at : at + length]
            case 2:
                found[at:at] = found[at : at + length]
            case 3:
                found[at:at] = self.text().encode("utf-8", "surrogatepass")
            case 4:
                found[at:at] = self.noise(16)
            case _:
                other = self.below(len(found) + 1)
                found[at : at + length], found[other : other + length] = (
                    found[other : other + length],
                    found[at : at + length],
                )
