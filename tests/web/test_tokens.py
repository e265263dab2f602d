"""The colours of the three themes, by the contrast formula of WCAG 2.2 (1.4.3 and 1.4.11).

Source of the formula: Web Content Accessibility Guidelines 2.2, definitions of "relative luminance"
and "contrast ratio". Targets: 7 for text that is read while working, 4.5 for text beside a mark,
3 for edges. On black, pure red cannot pass 5.25, so the dome theme is held to 4.5 and 3.
"""

from __future__ import annotations

import re
from functools import cache

import pytest

from app.settings import data_folder

PAIRS = (
    ("ink", "ground", 7.0),
    ("ink", "sheet", 7.0),
    ("ink", "well", 7.0),
    ("ink2", "ground", 7.0),
    ("ink2", "sheet", 7.0),
    ("ink2", "well", 4.5),
    ("line", "ground", 3.0),
    ("line", "sheet", 3.0),
    ("line", "well", 3.0),
    ("act", "sheet", 4.5),
    ("act", "ground", 4.5),
    ("onact", "act", 7.0),
    ("ondone", "done", 7.0),
    ("hold", "sheet", 4.5),
    ("hold", "ground", 4.5),
    ("onhold", "hold", 7.0),
    ("bad", "sheet", 4.5),
    ("bad", "ground", 4.5),
    ("onbad", "bad", 7.0),
    ("onwarn", "warn", 4.5),
    ("oncaut", "caut", 7.0),
    ("note", "sheet", 4.5),
    ("onnote", "note", 7.0),
    ("onstop", "stop", 4.5),
    ("focus", "sheet", 3.0),
    ("focus", "ground", 3.0),
    ("focus", "well", 3.0),
)
THEMES = ("day", "dim", "dome")
DOME_TEXT = 4.5


@cache
def themes() -> dict[str, dict[str, str]]:
    text = (data_folder("static") / "css" / "tokens.css").read_text()
    found = {}
    for theme in THEMES:
        block = re.search(rf'\[data-theme="{theme}"\] \{{(.*?)\n  \}}', text, re.DOTALL)
        assert block is not None, theme
        found[theme] = dict(re.findall(r"--([a-z0-9]+): (#[0-9A-F]{6});", block.group(1)))
    return found


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_known_values() -> None:
    # WCAG 2.2: black on white is 21:1, a colour on itself 1:1; #767676 on white is the well-known
    # lightest grey that still passes 4.5:1 (4.54).
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#0B4A5B", "#0B4A5B") == pytest.approx(1.0)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("text", "ground", "target"), PAIRS)
def test_each_pair_of_colours_can_be_read(
    theme: str, text: str, ground: str, target: float
) -> None:
    colours = themes()[theme]
    wanted = min(target, DOME_TEXT) if theme == "dome" else target
    if (theme, text) == ("dim", "onstop"):
        wanted = 4.5  # the sign itself must stay red in a dim hall: white on it is 5.08

    assert contrast(colours[text], colours[ground]) >= wanted


def test_every_theme_has_every_colour() -> None:
    names = [set(colours) for colours in themes().values()]

    assert names[0] == names[1] == names[2]


def test_dome_lights_the_red_channel_alone() -> None:
    assert all(colour[3:] == "0000" for colour in themes()["dome"].values())


def test_colours_stand_in_the_tokens_alone() -> None:
    for sheet in (data_folder("static") / "css").glob("*.css"):
        if sheet.name not in ("tokens.css", "record-pdf.css"):  # a printed record has no themes
            assert re.findall(r"#[0-9A-Fa-f]{3,8}\b(?=[^{]*;)", sheet.read_text()) == [], sheet.name
