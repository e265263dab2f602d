"""What every calculation of the catalogue keeps to, whatever it works out."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from decimal import Decimal
from types import FunctionType, ModuleType

import pytest

from app.calculations import aluminium, catalogue, sun_position, threads
from app.calculations.calculation import Calculation, Input, Output, Result
from app.calculations.catalogue import CALCULATIONS
from app.calculations.quantity import is_unit
from app.calculations.rounding import clock, short
from app.procedure.typed_inputs import read_inputs
from tests.calculations.examples import EXAMPLES

ALL = pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=CALCULATIONS)
MODULES = [m for m in vars(catalogue).values() if isinstance(m, ModuleType)]


def compute(calculation: Calculation, **instead: str) -> Result:
    given, untold = read_inputs(calculation, {**EXAMPLES[calculation.name], **instead})
    assert untold == {}
    return calculation.compute(given)


def test_every_calculation_has_an_example() -> None:
    assert set(EXAMPLES) == set(CALCULATIONS)


@ALL
def test_units_are_known_and_names_differ(calculation: Calculation) -> None:
    units = {each.unit for each in calculation.inputs} | {each.unit for each in calculation.outputs}

    assert {unit for unit in units if unit and not is_unit(unit)} == set()
    names = [each.name for each in calculation.inputs]
    assert len(names) == len(set(names))
    assert all(name.isidentifier() for name in names)


@ALL
def test_it_says_its_subject_formula_and_source(calculation: Calculation) -> None:
    assert calculation.subject
    assert calculation.formula
    assert calculation.source.endswith(".")
    assert not calculation.care or calculation.care.endswith(".")


@ALL
def test_it_comes_out_with_its_working(calculation: Calculation) -> None:
    result = compute(calculation)

    assert result.unit == calculation.outputs[0].unit
    assert len(result.more) == len(calculation.outputs) - 1
    assert result.working
    assert all(line.endswith(".") for line in result.working), result.working
    assert (result.passes is None) == (result.sentence == "")


@ALL
def test_results_are_rounded_to_what_they_state(calculation: Calculation) -> None:
    result = compute(calculation)
    found = [result.value, *(each.value for each in result.more)]

    for output, value in zip(calculation.outputs, found, strict=True):
        if output.resolution is not None and result.passes is None:
            assert value == value.quantize(output.resolution), output.name


@ALL
def test_a_value_outside_of_the_range_is_refused(calculation: Calculation) -> None:
    given, _ = read_inputs(calculation, EXAMPLES[calculation.name])

    for wanted, outside in ends(calculation):
        if wanted.name in given:
            with pytest.raises(ValueError, match=wanted.title.replace("(", r"\(")):
                calculation.compute({**given, wanted.name: (outside,)})


@ALL
def test_an_input_that_must_be_there_is_asked_for(calculation: Calculation) -> None:
    given, _ = read_inputs(calculation, EXAMPLES[calculation.name])

    for wanted in calculation.inputs:
        if not wanted.optional:
            left = {name: values for name, values in given.items() if name != wanted.name}
            with pytest.raises(ValueError, match="nothing is given"):
                calculation.compute(left)


def ends(calculation: Calculation) -> Iterator[tuple[Input, Decimal]]:
    """Yield each input with a value just outside of each end of its range."""
    step = Decimal("0.000001")
    for each in calculation.inputs:
        if each.form != "number":
            continue
        if each.above is not None:
            yield each, each.above
        if each.at_least is not None:
            yield each, each.at_least - step
        if each.at_most is not None:
            yield each, each.at_most + step


@pytest.mark.parametrize(
    "module", [*MODULES, aluminium, sun_position, threads], ids=lambda m: m.__name__
)
def test_every_function_with_physics_names_its_source(module: ModuleType) -> None:
    physics = [
        function
        for name, function in vars(module).items()
        if isinstance(function, FunctionType)
        and function.__module__ == module.__name__
        and not name.startswith("_")
    ]
    untold = [
        function.__name__
        for function in physics
        if not any(
            word in (inspect.getdoc(function) or "").lower()
            for word in ("source", "arguments as", "arguments and source")
        )
    ]

    assert untold == []


LIMITS = (
    ("12.12", None, "12.1", "12.12"),  # 12.1 would hide the breach
    ("12.10", None, "12.1", "12.1"),
    ("12.04", "12.0", None, "12.0"),
)


@pytest.mark.parametrize(("value", "low", "high", "shown"), LIMITS)
def test_rounding_keeps_to_the_side_of_a_limit(
    value: str, low: str | None, high: str | None, shown: str
) -> None:
    output = Output(name="a", title="A", resolution=Decimal("0.1"))
    least, most = (None if end is None else Decimal(end) for end in (low, high))

    assert str(output.cut(float(value), least, most)) == shown


def test_rounding_keeps_to_the_side_on_which_a_verdict_turns() -> None:
    output = Output(name="a", title="A", resolution=Decimal("0.01"))

    assert str(output.cut(0.99496, turns=(1.0,))) == "0.99"
    assert str(output.cut(0.99996, turns=(1.0,))) == "0.99996"
    assert str(output.cut(0.99996, turns=(1.0, Decimal("0.99995")))) == "0.99996"
    assert str(output.cut(1.0, turns=(1.0,))) == "1.00"


def test_digits_that_count() -> None:
    output = Output(name="a", title="A", resolution=Decimal("1e-9"), digits=3)

    assert [f"{output.cut(v):f}" for v in (21.968, 0.000065891, 123456.0, 0.0)] == [
        "22.0", "0.0000659", "123456", "0.000000000",
    ]  # fmt: skip
    assert [short(v, 3) for v in (21.968, 0.000065891, 123456.0, 0.0)] == [
        "22.0", "0.0000659", "123456", "0",
    ]  # fmt: skip


def test_a_clock_time() -> None:
    assert [clock(m) for m in (0, 391.4, 1439.6, 1500)] == ["00:00", "06:31", "00:00", "01:00"]
