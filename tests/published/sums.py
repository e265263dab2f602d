"""How a test works a sum out: by its name, from texts as people type them."""

from __future__ import annotations

from decimal import Decimal

from app.calculations.calculation import Result
from app.calculations.catalogue import CALCULATIONS
from app.procedure.typed_inputs import read_inputs


def worked(name: str, **typed: object) -> Result:
    """Return the result of a calculation; what was typed must be readable."""
    calculation = CALCULATIONS[name]
    given, untold = read_inputs(calculation, {key: str(value) for key, value in typed.items()})
    assert untold == {}
    return calculation.compute(given)


def values(result: Result) -> dict[str, Decimal]:
    """Return the further results by name."""
    return {each.name: each.value for each in result.more}
