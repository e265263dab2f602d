"""Every calculation of the catalogue works in a step: inputs typed, or standing in the procedure."""

from __future__ import annotations

import pytest

from app.calculations.calculation import Calculation
from app.calculations.catalogue import CALCULATIONS
from app.procedure.typed_inputs import read_inputs
from tests.calculations.examples import EXAMPLES
from tests.procedure.kinds.stand import Stand, step_of, told

ALL = pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=CALCULATIONS)


def keys(calculation: Calculation, *, typed: bool) -> str:
    """Return a step's keys: rows stand in the text, and all else is typed or stands there too."""
    lines = [f'calculation = "{calculation.name}"', "[inputs]"]
    for name, text in EXAMPLES[calculation.name].items():
        wanted = calculation.input(name)
        assert wanted is not None
        if wanted.row:
            lines.append(f"{name} = [{', '.join(text.split())}]")
        else:
            lines.append(f'{name} = "{"typed" if typed else text}"')
    return "\n".join(lines)


@ALL
def test_a_step_works_out_what_the_calculation_does(calculation: Calculation) -> None:
    given, _ = read_inputs(calculation, EXAMPLES[calculation.name])
    result = calculation.compute(given)
    fixed = Stand(step_of("calculation", keys(calculation, typed=False)))
    asked = Stand(step_of("calculation", keys(calculation, typed=True)))
    typed = {
        name: text
        for name, text in EXAMPLES[calculation.name].items()
        if not getattr(calculation.input(name), "row", False)
    }

    for entry in (fixed.enter({}), asked.enter(typed)):
        assert entry.computed["result"] == f"{result.value:f}"
        assert entry.verdict == ("out" if result.passes is False else "good")
    assert [field.name for field in asked.card().fields] == [
        each.name for each in calculation.inputs if each.name in typed
    ]
    assert asked.lines()[-1].verdict in ("Good", "Out of limit"), asked.lines()[-1].verdict


FIXED = (
    ('calculation = "hook-shares"\ninputs = { forces = ["6.81 kN", "6720 N"] }', None),
    (
        'calculation = "hook-shares"\ninputs = { forces = [6.81, "6 m"] }',
        "inputs.forces: Forces on the hooks are not a row of numbers in kN.",
    ),
    (
        'calculation = "dew-point"\ninputs = { temperature = 5, humidity = 200 }',
        "inputs.humidity: Relative humidity: 200 %. This sum is good for 1 to 100 %.",
    ),
    (
        'calculation = "neutralisation"\ninputs = { volume = 1, concentration = 1, base = "salt" }',
        "inputs.base: Neutralise with: Choose one of NaHCO3, Na2CO3, NaOH, KOH.",
    ),
    (
        'calculation = "dilution-mass"\ninputs = { mass = "600 g", wanted = 3, stock = 37 }',
        None,
    ),
)


@pytest.mark.parametrize(("text", "fault"), FIXED)
def test_what_stands_in_the_procedure_is_checked_with_it(text: str, fault: str | None) -> None:
    assert told("calculation", text) == ([fault] if fault else [])


def test_what_may_be_left_out_may_be_left_untyped() -> None:
    text = (
        'calculation = "wind-height"\n'
        'inputs = { speed = "typed", height = 3, other_height = 10, exponent = "typed" }'
    )
    stand = Stand(step_of("calculation", text))

    assert [field.required for field in stand.card().fields] == [True, False]
    assert stand.enter({"speed": "9.0"}).computed["result"] == "10.65"
    assert stand.enter({"speed": "9.0", "exponent": "0"}).computed["result"] == "9.00"
