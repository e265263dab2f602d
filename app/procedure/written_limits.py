"""The limits of a step as they are written: bare numbers beside a unit, or quantities."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.calculations.quantity import PLAIN_NUMBER, Limits, Quantity, same_dimension

if TYPE_CHECKING:
    from decimal import Decimal

    from app.procedure.reading import Table


def read_limits(table: Table, unit_key: str = "unit", *, required: bool = False) -> Limits:
    """Return `at_least` and `at_most` of a table, in the unit that stands beside them."""
    unit = table.unit(unit_key)
    least, most = _written(table, "at_least", unit), _written(table, "at_most", unit)
    unit = unit or next((each.unit for each in (least, most) if each), "")
    limits = Limits(_in(unit, least, table, "at_least"), _in(unit, most, table, "at_most"), unit)
    _must_make_sense(table, limits, unit_key)
    if required and not table.has("at_least") and not table.has("at_most"):
        table.fault("at_least", "There is no limit.", "Write at_least, at_most, or both.")
    return limits


def _written(table: Table, key: str, unit: str) -> Quantity | None:
    """Return a limit, either a bare number (its unit stands beside it) or a quantity."""
    written = table.raw(key)
    if isinstance(written, str) and not PLAIN_NUMBER.fullmatch(written):
        return table.quantity(key, unit or None)
    number = table.number(key)
    return None if number is None else Quantity(number, unit)


def _in(unit: str, limit: Quantity | None, table: Table, key: str) -> Decimal | None:
    if limit is None or not limit.unit or limit.unit == unit:
        return None if limit is None else limit.value
    if not same_dimension(unit, limit.unit):
        table.fault(key, f"{limit} is not in {unit}.", f"Give it in {unit}.")
        return None
    return limit.to(unit).value


def _must_make_sense(table: Table, limits: Limits, unit_key: str) -> None:
    low, high = limits.at_least, limits.at_most
    if not limits.unit and not table.has(unit_key) and (low is not None or high is not None):
        key = "at_least" if low is not None else "at_most"
        table.fault(key, "This limit has no unit.", f'Add {unit_key} = "...".')
    if low is not None and high is not None and low > high:
        what = f"No value can be at least {low} and at most {high}."
        table.fault("at_least", what, "Put the lower limit in at_least.")
