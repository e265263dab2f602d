"""Decisions under uncertainty against a statistics library."""

from __future__ import annotations

import math

import pytest

from app.calculations.decision import Tolerance, conformance, guarded, wrong_share
from tests.published.sums import values, worked

BOTH = Tolerance(low=97, high=103)
LEAST = Tolerance(low=0.88)
# JCGM 106:2012, normal; scipy.stats.norm printed to 1e-6.
CHANCES = (
    (100.0, 1.0, BOTH, 0.997300),
    (102.0, 0.8, BOTH, 0.894350),
    (0.885, 0.005, LEAST, 0.841345),
    (0.88 + 2 * 0.005, 0.005, LEAST, 0.977250),  # at the acceptance limit, w = 2 u
)
VERDICTS = (
    (100.0, 2.0, "pass"),
    (102.0, 1.6, "conditional pass"),  # u 0.8, w = 2 u
    (102.0, 1.316, "conditional pass"),  # w = 1.645 u
    (101.4, 1.6, "pass"),  # the end of the acceptance zone belongs to it
    (103.0, 1.6, "conditional pass"),
    (103.1, 1.6, "conditional fail"),
    (104.7, 1.6, "fail"),
    (103.1, 0.0, "fail"),
)


@pytest.mark.parametrize(("value", "uncertainty", "tolerance", "chance"), CHANCES)
def test_the_chance_that_it_conforms(
    value: float, uncertainty: float, tolerance: Tolerance, chance: float
) -> None:
    assert conformance(value, uncertainty, tolerance) == pytest.approx(chance, abs=1e-6)


@pytest.mark.parametrize(("value", "guard", "verdict"), VERDICTS)
def test_the_verdict_with_a_guard_band(value: float, guard: float, verdict: str) -> None:
    assert guarded(value, guard, BOTH) == verdict


@pytest.mark.parametrize("multiple", ["2", "1.645"])
def test_inside_the_tolerance_and_yet_not_accepted(multiple: str) -> None:
    result = worked(
        "conformance", value=102, uncertainty="0.8", low=97, high=103, multiple=multiple
    )

    assert result.passes is False
    assert str(result.value) == "89.4350"
    assert result.sentence.startswith("Conditional pass")


def test_without_any_limit_there_is_nothing_to_decide() -> None:
    with pytest.raises(ValueError, match="Give a lower limit, an upper limit, or both"):
        worked("conformance", value=1, uncertainty=1)


def test_none_wrong_of_sixty() -> None:
    # scipy.stats.beta.ppf(.95, 1, 60): 4.870 %.
    assert wrong_share(60) * 100 == pytest.approx(4.870, abs=1e-3)
    assert wrong_share(math.inf) == 0


# The demo's acceptance at 530 nm, from the trade notes: mean at least 90.6 %, each 89.6 %. The
# readings are ours; the arithmetic R = Rref x reading / reading on the tile is done by hand: all of
# them times 0.99.
def acceptance(readings: str, uncertainty: str) -> tuple[str, bool | None]:
    result = worked(
        "reflectance-acceptance",
        readings=readings,
        reference="89.1",
        reference_reading="90.0",
        uncertainty=uncertainty,
        least_mean="90.6",
        least_each="89.6",
    )
    return str(result.value), result.passes


ACCEPTANCES = (
    ("92 92 92", "0.3", "91.08", True),
    ("92 92 92", "0.48", "91.08", True),  # 91.08 - 0.48 = 90.60: the end belongs
    ("92 92 92", "0.49", "91.08", False),
    ("93 93 90.7", "0.1", "91.31", True),
    ("93 93 90.5", "0.1", "91.24", False),  # one place: 89.595 - 0.1 is below 89.6
)


@pytest.mark.parametrize(("readings", "uncertainty", "mean", "good"), ACCEPTANCES)
def test_a_film_is_accepted_against_its_uncertainty(
    readings: str, uncertainty: str, mean: str, good: bool
) -> None:
    assert acceptance(readings, uncertainty) == (mean, good)


def test_the_spread_of_the_readings() -> None:
    result = worked(
        "reflectance-acceptance",
        readings="90 91 92",
        reference=90,
        reference_reading=90,
        uncertainty=0,
        least_mean=80,
    )

    more = {name: str(value) for name, value in values(result).items()}
    assert more == {"lowest": "90.00", "deviation": "1.00", "spread": "2.00"}


@pytest.mark.parametrize(("readings", "good"), [("92 91.5 91", True), ("92.1 91.5 91", False)])
def test_a_film_is_even_or_is_refused(readings: str, good: bool) -> None:
    # The tile reads as its certificate says: greatest less least is 1.0 and 1.1 points, at most 1.0.
    result = worked(
        "reflectance-acceptance",
        readings=readings,
        reference=90,
        reference_reading=90,
        uncertainty=0,
        least_mean=80,
        most_spread=1,
    )

    assert result.passes is good


def test_without_limits_there_is_a_mean_and_no_verdict() -> None:
    result = worked(
        "reflectance-acceptance",
        readings="92 91.5 91",
        reference=90,
        reference_reading=90,
        uncertainty=0.3,
    )

    assert (str(result.value), result.passes, result.sentence) == ("91.50", None, "")
