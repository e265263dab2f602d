"""A decimal with its unit, limits with theirs, and conversion by the exact factors of pint."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from functools import cache

import pint

# `Decimal()` alone takes "1_0", "1e3", "NaN" and digits of other scripts: none of them is a value.
PLAIN_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(?:\.[0-9]{1,12})?", re.ASCII)
_QUANTITY = re.compile(r"([+-]?[0-9]{1,12}(?:\.[0-9]{1,12})?)\s+(\S.*)", re.ASCII | re.DOTALL)
_UNIT = re.compile(r"[A-Za-zµμΩ°%][A-Za-z0-9µμΩ°%/*·^ ()-]{0,39}")
_WORKING = Context(prec=50)  # conversion works with digits to spare,
_STATED = Context(prec=28)  # and is rounded once


@cache
def _registry() -> pint.UnitRegistry[Decimal]:
    """Return the one registry of units, made when first needed: reading its file takes a while."""
    return pint.UnitRegistry(non_int_type=Decimal)


@cache
def _unit(text: str) -> pint.Unit | None:
    if text and not _UNIT.fullmatch(text):
        return None
    spelled = text.replace("·", "*").replace("%", "percent").replace("°", "deg").replace("^", "**")
    with localcontext(_WORKING):
        try:
            return _registry().parse_units(spelled)
        except (pint.errors.PintError, ValueError, TypeError, AttributeError, ArithmeticError):
            return None  # every way in which pint says that it does not know the word


def is_unit(text: str) -> bool:
    """Say whether the text names a unit; the empty text names none."""
    return bool(text) and _unit(text) is not None


def same_dimension(unit_a: str, unit_b: str) -> bool:
    """Say whether the two units measure the same thing, as `kN` and `lbf`."""
    a, b = _unit(unit_a), _unit(unit_b)
    return a is not None and b is not None and bool(a.dimensionality == b.dimensionality)


def plain(value: Decimal) -> str:
    """Return a decimal as people write it: no exponent, the digits as given."""
    return f"{value:f}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A decimal value with its unit, exactly as written."""

    value: Decimal
    unit: str

    @classmethod
    def parse(cls, text: str) -> Quantity:
        """Return the quantity written as `9.0 m/s`.

        Raises:
            ValueError: there is no number, no unit, or the unit is not known.
        """
        found = _QUANTITY.fullmatch(text.strip())
        if found is None or not is_unit(found[2]):
            raise ValueError(f'"{text}" is not a number with a unit.')
        return cls(Decimal(found[1]), found[2])

    def to(self, unit: str) -> Quantity:
        """Return the same quantity in another unit, correct to 28 digits.

        Raises:
            ValueError: the units do not measure the same thing.
        """
        if unit == self.unit:
            return self
        if not same_dimension(unit, self.unit):
            raise ValueError(f"{self} cannot be given in {unit}.")
        with localcontext(_WORKING):
            there = _registry().Quantity(self.value, _unit(self.unit)).to(_unit(unit))
        return Quantity(Decimal(there.magnitude).normalize(_STATED), unit)

    def __str__(self) -> str:
        return f"{plain(self.value)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Limits:
    """A least and a greatest value in one unit; both ends belong. An end without limit is None."""

    at_least: Decimal | None
    at_most: Decimal | None
    unit: str

    def holds(self, value: Decimal) -> bool:
        """Say whether the value, in this unit, is within the limits."""
        if self.at_least is not None and value < self.at_least:
            return False
        return self.at_most is None or value <= self.at_most

    def words(self) -> str:
        """Return the limits as a person says them: `38.5 to 42.6 kN`."""
        least, most = self.at_least, self.at_most
        if least is not None and most is not None:
            said = f"{plain(least)} to {plain(most)}"
        elif least is not None:
            said = f"at least {plain(least)}"
        elif most is not None:
            said = f"at most {plain(most)}"
        else:
            return ""
        return f"{said} {self.unit}".rstrip()
