"""Limits that stand inside a key of their own, as `total = { at_least = "38.5 kN", at_most = ... }`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.calculations.quantity import PLAIN_NUMBER, Limits, same_dimension

if TYPE_CHECKING:
    from decimal import Decimal

    from app.procedure.reading import Table


def read_range(table: Table, key: str, unit: str) -> Limits:
    """Return `at_least` and `at_most` of the table under a key, in the step's unit."""
    inner = table.table(key, noun="range")
    if inner is None:
        return Limits(None, None, unit)
    low, high = read_amount(inner, "at_least", unit), read_amount(inner, "at_most", unit)
    if low is None and high is None and not (inner.has("at_least") or inner.has("at_most")):
        inner.fault("at_least", "There is no limit.", "Write at_least, at_most, or both.")
    if low is not None and high is not None and low > high:
        what = f"No value can be at least {low} and at most {high}."
        inner.fault("at_least", what, "Put the lower limit in at_least.")
    inner.finish()
    return Limits(low, high, unit)


def read_amount(table: Table, key: str, unit: str, *, required: bool = False) -> Decimal | None:
    """Return a value in the step's unit, written bare or with a unit of the same dimension."""
    written = table.raw(key)
    if written is None or not isinstance(written, str) or PLAIN_NUMBER.fullmatch(written):
        return table.number(key, required=required)
    found = table.quantity(key, unit or None)
    if found is None or not same_dimension(found.unit, unit):
        return None
    return found.to(unit).value
