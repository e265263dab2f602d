"""A TOML table, read key by key: faults are gathered, so that one reading finds them all.

Every getter remembers which key it was asked for. A value of the wrong form adds a fault and gives a
harmless default, so that reading goes on. `finish` refuses the keys that nobody asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from app.calculations.quantity import PLAIN_NUMBER, Limits, Quantity, is_unit, same_dimension
from app.procedure.faults import Fault
from app.procedure.layouts import read_layout
from app.procedure.limit_names import filled
from app.procedure.nearest import did_you_mean
from app.procedure.written_limits import read_limits

if TYPE_CHECKING:
    from app.procedure.model import Layout
    from app.procedure.places import Path


@dataclass(frozen=True, slots=True)
class Source:
    """The file that is being read: its name, where its keys stand, and the faults found so far."""

    file: str
    places: Mapping[Path, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


class Table:
    """One table of a TOML text, with the way to it and the faults found in it."""

    def __init__(  # noqa: PLR0913 - the way to a table is part of what a table is
        self,
        values: Mapping[str, object],
        source: Source,
        path: Path = (),
        *,
        noun: str = "table",
        prefix: str = "",
        around: Mapping[str, object] | None = None,
    ) -> None:
        self.values = values
        self.source = source
        self.path = path
        self.noun = noun
        self._prefix = prefix
        self._around = values if around is None else around
        self._known: set[str] = set()

    @property
    def line(self) -> int:
        """Return the line on which the table opens."""
        return self.source.places.get(self.path, 1)

    @property
    def file(self) -> str:
        """Return the name of the file."""
        return self.source.file

    def line_of(self, key: str) -> int:
        """Return the line of one of its keys; of a key that is not there, the table's own."""
        return self.source.places.get((*self.path, key), self.line)

    def fault(self, key: str, what: str, mend: str = "") -> None:
        """Add a fault at a key of this table, or at the table if the key is not there."""
        here = Fault(self.file, self.line_of(key), f"{self._prefix}{key}", what, mend)
        self.source.faults.append(here)

    def has(self, key: str) -> bool:
        """Say whether the key was written."""
        self._known.add(key)
        return key in self.values

    def text(self, key: str, default: str = "", *, required: bool = False) -> str:
        """Return a text, with each `{limit}` of the same step filled in."""
        found = self._get(key, required=required)
        if found is None:
            return default
        if not isinstance(found, str):
            self._wrong(key, found, "a text", f'Write it in quotes, as {key} = "...".')
            return default
        if required and not found.strip():
            self.fault(key, f"{key} is empty.", "Say it in words.")
        written, unknown = filled(found.strip(), self._around)
        for name in unknown:
            self.fault(
                key, f"{{{name}}} names no limit of this step.", "Name a limit of this step."
            )
        return written

    def texts(self, key: str, *, required: bool = False) -> tuple[str, ...]:
        """Return a list of texts."""
        found = self._get(key, required=required)
        if found is None:
            return ()
        if not isinstance(found, list) or not all(isinstance(each, str) for each in found):
            self._wrong(key, found, "a list of texts", f'Write it as {key} = ["...", "..."].')
            return ()
        return tuple(filled(each, self._around)[0] for each in found)

    def flag(self, key: str) -> bool:
        """Return a truth value; false where the key is not written."""
        found = self._get(key)
        if found is not None and not isinstance(found, bool):
            self._wrong(key, found, "true or false", f"Write {key} = true, or leave it out.")
        return found is True

    def whole(
        self,
        key: str,
        default: int | None = None,
        *,
        at_least: int | None = None,
        at_most: int | None = None,
        required: bool = False,
    ) -> int | None:
        """Return a whole number within a range, or the default."""
        found = self._get(key, required=required)
        if found is None:
            return default
        if isinstance(found, bool) or not isinstance(found, int):
            self._wrong(key, found, "a whole number", f"Write it as {key} = 3.")
            return default
        if (at_least is not None and found < at_least) or (at_most is not None and found > at_most):
            low, high = (None if n is None else Decimal(n) for n in (at_least, at_most))
            limits = Limits(low, high, "").words()
            self.fault(key, f"{key} is {found}.", f"It must be {limits}.")
            return default
        return found

    def number(self, key: str, *, required: bool = False) -> Decimal | None:
        """Return a number with its digits as written; `9.0` and `"9.0"` are the same."""
        found = self._get(key, required=required)
        if found is None:
            return None
        if isinstance(found, str) and PLAIN_NUMBER.fullmatch(found):
            return Decimal(found)
        if isinstance(found, Decimal) and found.is_finite():
            return found
        if isinstance(found, int) and not isinstance(found, bool):
            return Decimal(found)
        self._wrong(key, found, "a number", f"Write it as {key} = 9.0.")
        return None

    def quantity(
        self,
        key: str,
        unit: str | None = None,
        *,
        like: Quantity | None = None,
        required: bool = False,
    ) -> Quantity | None:
        """Return a number with its unit; the dimension must be that of `unit` (or of `like`)."""
        found = self._get(key, required=required)
        wanted = like.unit if like is not None else unit
        example = f'"9.0 {wanted or "m/s"}"'
        if found is None:
            return None
        if isinstance(found, int | Decimal) and not isinstance(found, bool):
            self.fault(key, f"{found} has no unit.", f"Write a number and a unit, as {example}.")
            return None
        try:
            quantity = Quantity.parse(found if isinstance(found, str) else "")
        except ValueError:
            shown = f'"{found}"' if isinstance(found, str) else _form(found)
            self.fault(
                key, f"{shown} is not a number with a known unit.", f"Write it as {example}."
            )
            return None
        if wanted and not same_dimension(quantity.unit, wanted):
            self.fault(
                key,
                f"{quantity} does not measure what {wanted} measures.",
                f"Give it in {wanted}, or in a unit of the same dimension.",
            )
            return None
        return quantity

    def duration(self, key: str, *, required: bool = False) -> timedelta | None:
        """Return a length of time, written as `10 min`, `60 s` or `8 h`."""
        found = self.quantity(key, "min", required=required)
        if found is None:
            return None
        if found.value < 0:
            self.fault(key, f"{found} is less than nothing.", "Write a length of time.")
            return None
        return timedelta(microseconds=int(found.to("us").value))

    def choice(self, key: str, of: tuple[str, ...], default: str = "") -> str:
        """Return one of a few words; the first of them if no default is named."""
        usual = default or of[0]
        found = self.text(key, usual)
        if found in of:
            return found
        self.fault(key, f'"{found}" is not one of {", ".join(of)}.', did_you_mean(found, of, ""))
        return usual

    def unit(self, key: str = "unit", *, required: bool = False) -> str:
        """Return the name of a unit that is known; empty where none is written."""
        found = self.text(key, required=required)
        if found and not is_unit(found):
            self.fault(key, f'"{found}" is not a known unit.', 'Write it as "N m", "kN", "degC".')
            return ""
        return found

    def limits(self, unit_key: str = "unit", *, required: bool = False) -> Limits:
        """Return `at_least` and `at_most`, in the unit that stands beside them."""
        return read_limits(self, unit_key, required=required)

    def layout(self, key: str, *, required: bool = False) -> Layout | None:
        """Return the named places of a `{ shape = ... }` table."""
        found = self.table(key, required=required, noun="layout")
        return None if found is None else read_layout(found)

    def table(self, key: str, *, required: bool = False, noun: str = "table") -> Table | None:
        """Return a table inside this one."""
        found = self._get(key, required=required)
        if found is None:
            return None
        if not isinstance(found, Mapping):
            self._wrong(key, found, "a table", f"Write it as {key} = {{ ... }}.")
            return None
        return self._inner(found, (*self.path, key), noun, f"{self._prefix}{key}.")

    def tables(
        self, key: str, *, required: bool = False, noun: str = "table", own: bool = False
    ) -> tuple[Table, ...]:
        """Return the tables of a list; `own`: each is a thing of its own, as a step is."""
        found = self._get(key, required=required)
        if found is None:
            return ()
        if not isinstance(found, list) or not all(isinstance(each, Mapping) for each in found):
            self._wrong(key, found, "a list of tables", f"Write it as {key} = [{{ ... }}].")
            return ()
        prefix = "" if own else f"{self._prefix}{key}."
        return tuple(
            self._inner(each, (*self.path, key, index), noun, prefix, own=own)
            for index, each in enumerate(found)
        )

    def raw(self, key: str) -> object:
        """Return a value as it was written, unread; None where there is none."""
        return self._get(key)

    def mapping(self, key: str, *, required: bool = False) -> Mapping[str, object]:
        """Return a table as it was written, unread; empty where there is none."""
        found = self.table(key, required=required)
        return {} if found is None else found.values

    def keys(self) -> Iterator[str]:
        """Return the keys that were written, in order, for a table whose keys are names."""
        self._known.update(self.values)
        return iter(self.values)

    def finish(self) -> None:
        """Refuse the keys that nobody asked for, each with the nearest known one."""
        for key in self.values:
            if key not in self._known:
                mend = did_you_mean(key, sorted(self._known), "Take it out.")
                self.fault(key, f"{key} is not a key of this {self.noun}.", mend)

    def _inner(
        self, values: Mapping[str, object], path: Path, noun: str, prefix: str, *, own: bool = False
    ) -> Table:
        around = None if own else self._around
        return Table(values, self.source, path, noun=noun, prefix=prefix, around=around)

    def _get(self, key: str, *, required: bool = False) -> object:
        self._known.add(key)
        found = self.values.get(key)
        if found is None and required:
            self.fault(key, f"This {self.noun} has no {key}.", f"Add {key}.")
        return found

    def _wrong(self, key: str, found: object, wanted: str, mend: str) -> None:
        self.fault(key, f"{key} must be {wanted}, not {_form(found)}.", mend)


def _form(found: object) -> str:
    """Return what a value is, for a sentence."""
    if isinstance(found, Decimal) and not found.is_finite():
        return "a word for no number"
    forms: tuple[tuple[type, str], ...] = (
        (bool, "true or false"),
        (int, "a whole number"),
        (Decimal, "a number"),
        (str, "a text"),
        (list, "a list"),
        (dict, "a table"),
    )
    return next((words for form, words in forms if isinstance(found, form)), "a date or time")
