"""A sum as it is typed: listed, explained, worked out; 0 good or no verdict, 1 not, 2 cannot be."""

from __future__ import annotations

import json

import pytest

from app.calculations.catalogue import CALCULATIONS
from tests.cli.conftest import Errand

CHAINS = (
    "mass=15407", "acceleration=0.8", "friction=0,3", "angle=40", "aside=45", "capacity=63",
)  # fmt: skip


def test_every_sum_is_listed_under_its_subject(errand: Errand) -> None:
    told = errand("sum")

    assert told.code == 0
    listed = {line.split()[0] for line in told.said if line.startswith("  ")}
    assert listed == set(CALCULATIONS)
    assert "Lashing and road" in told.said


@pytest.mark.parametrize("name", CALCULATIONS)
def test_every_sum_says_what_it_needs(errand: Errand, name: str) -> None:
    told = errand("sum", name)

    assert told.code == 0
    assert told.said[0].startswith(f"{CALCULATIONS[name].title}. ")
    assert told.said[-1] == f"Source: {CALCULATIONS[name].source}"
    assert len(told.said) == 2 + len(CALCULATIONS[name].inputs)


# The demo's trailer, worked for the trade notes: three chains hold 129.7 kN of 86.9, two 86.5.
@pytest.mark.parametrize(("chains", "code"), [(3, 0), (2, 1)])
def test_a_sum_with_a_verdict_ends_with_it(errand: Errand, chains: int, code: int) -> None:
    told = errand("sum", "lashing-direct", *CHAINS, f"lashings={chains}")

    assert told.code == code
    assert any(line.startswith(f"{chains} lashings hold") for line in told.said)
    assert any(line.startswith("  Needed: ") for line in told.said)


def test_a_value_may_come_with_its_unit(errand: Errand) -> None:
    told = errand("sum", "stopping-distance", "speed=3 m/s", "reaction=1", "deceleration=1")

    assert told.said[0] == "Stopping distance: 7.500 m"  # 3 x 1 + 9/2


@pytest.mark.parametrize(("limit", "code", "passes"), [("7.5", 0, True), ("7.499", 1, False)])
def test_a_limit_judges_the_result(errand: Errand, limit: str, code: int, passes: bool) -> None:
    typed = ("speed=3 m/s", "reaction=1", "deceleration=1")

    told = errand("sum", "stopping-distance", *typed, "--at-most", limit, "--json")

    found = json.loads("\n".join(told.said))
    assert told.code == code
    assert found["passes"] is passes
    assert found["results"][0] == {
        "name": "distance", "title": "Stopping distance", "value": "7.500", "unit": "m",
    }  # fmt: skip


def test_a_breach_too_small_for_the_digits_is_shown(errand: Errand) -> None:
    typed = ("speed=3 m/s", "reaction=1.0004", "deceleration=1")

    told = errand("sum", "stopping-distance", *typed, "--at-most", "7.501")

    assert told.code == 1
    assert told.said[0] == "Stopping distance: 7.5012 m"


WRONG = (
    (("lashing-dirct",), "There is no sum lashing-dirct. Did you mean lashing-direct?"),
    (("dew-point", "temp=1"), "temp is no input of dew-point. It takes temperature, humidity."),
    (
        ("dew-point", "temperature"),
        "temperature has no value. Write temperature=VALUE.",
    ),
    (("dew-point", "humidity=1", "humidity=2"), "humidity is given twice."),
    (
        ("dew-point", "temperature=1,234", "humidity=40"),
        'Air temperature: "1,234" can be read two ways. Type 1.234 or 1234.',
    ),
    (
        ("dew-point", "temperature=5 kg", "humidity=40"),
        'Air temperature: Use degC here. You typed "kg". 5 kg is not changed for you.',
    ),
    (
        ("dew-point", "temperature=5", "humidity=0.5"),
        "Relative humidity: 0.5 %. This sum is good for 1 to 100 %.",
    ),
    (
        ("pump-down", "volume=1", "speed=1", "start=1", "end=2"),
        "No result. The pressure at the end must be below that at the start.",
    ),
)


@pytest.mark.parametrize(("typed", "sentence"), WRONG)
def test_what_cannot_be_worked_out_is_said(
    errand: Errand, typed: tuple[str, ...], sentence: str
) -> None:
    told = errand("sum", *typed)

    assert (told.code, told.said, told.complained) == (2, [], [sentence])


def test_a_date_a_time_and_a_choice(errand: Errand) -> None:
    place = ("utc_offset=-2", "latitude=-31.20", "longitude=-29.40")
    sun = errand("sum", "sun-altitude", "date=2027-05-06", "clock=07:00", *place)
    wrong = errand("sum", "sun-altitude", "date=2027-02-30", "clock=25:00", *place)
    base = errand("sum", "neutralisation", "volume=1", "concentration=1", "base=salt")

    assert sun.said[-1].startswith("Mind: ")
    assert "  2027-05-06 07:00, UTC -2 h, at -31.2, -29.4 deg (north and east above 0)." in sun.said
    assert wrong.complained == [
        "Date: there is no day 2027-02-30.",
        "Time of day: Type the time as 07:30.",
    ]
    assert base.complained == ["Neutralise with: Choose one of NaHCO3, Na2CO3, NaOH, KOH."]
