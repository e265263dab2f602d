"""Decisions under uncertainty: whether a measured value conforms, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from statistics import NormalDist, mean, stdev
from typing import Literal

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.rounding import short

COVERAGE = 2.0  # w = 2 u: one-sided 97.7 %
Verdict = Literal["pass", "conditional pass", "conditional fail", "fail"]
SAID: dict[Verdict, str] = {
    "pass": "Pass: it lies inside the limits by more than the guard band.",
    "conditional pass": "Conditional pass: inside the limits, but within the guard band.",
    "conditional fail": "Conditional fail: outside the limits, but within the guard band.",
    "fail": "Fail: it lies outside the limits by more than the guard band.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """The limits of what conforms, in the unit of the value; an end without limit is infinite."""

    low: float = -math.inf
    high: float = math.inf

    def inside_by(self, value: float) -> float:
        """Return how far inside the nearer limit a value lies; below 0: how far outside."""
        return min(value - self.low, self.high - value)


def conformance(value: float, uncertainty: float, tolerance: Tolerance) -> float:
    """Return the chance that what was measured conforms, 0 to 1.

    Args:
        value: The measured value.
        uncertainty: Its standard uncertainty, above 0, same unit.
        tolerance: The limits, same unit.

    Source: JCGM 106:2012, 7.3, normal distribution and no knowledge but the measurement:
        Phi((TU - y)/u) - Phi((TL - y)/u).
    """
    spread = NormalDist(0.0, 1.0)
    upper = spread.cdf((tolerance.high - value) / uncertainty)
    return upper - spread.cdf((tolerance.low - value) / uncertainty)


def guarded(value: float, guard: float, tolerance: Tolerance) -> Verdict:
    """Return the verdict on a value with a guard band; the ends belong to the better verdict.

    Args:
        value: The measured value.
        guard: The guard band w, 0 or more, same unit.
        tolerance: The limits, same unit.

    Source: JCGM 106:2012, 8.3 (guarded acceptance); the four words are a laboratory's usual ones.
    """
    inside = round(tolerance.inside_by(value), 9)
    if inside >= round(guard, 9):
        return "pass"
    if inside >= 0:
        return "conditional pass"
    return "conditional fail" if inside >= -round(guard, 9) else "fail"


def wrong_share(tested: float, confidence: float = 0.95) -> float:
    """Return the share that may yet be wrong when none of those tested was, 0 to 1.

    Args:
        tested: How many were tested, 1 or more, drawn at random from many.
        confidence: Above 0, below 1.

    Source: Binomial bound, 1 - (1 - confidence)^(1/n) (from memory).
    """
    return 1 - math.pow(1 - confidence, 1 / tested)


def _tolerance(given: Values) -> Tolerance:
    if "low" not in given and "high" not in given:
        raise ValueError("Give a lower limit, an upper limit, or both.")
    tolerance = Tolerance(low=given.get("low", -math.inf), high=given.get("high", math.inf))
    if tolerance.low >= tolerance.high:
        raise ValueError("The lower limit must be below the upper one.")
    return tolerance


def _conformance(given: Values) -> Answer:
    tolerance, value, u = _tolerance(given), given["value"], given["uncertainty"]
    multiple = given.get("multiple", COVERAGE)
    chance = 100 * conformance(value, u, tolerance)
    verdict = guarded(value, multiple * u, tolerance)
    inside = tolerance.inside_by(value)
    place = f"inside the nearer limit by {inside:g}" if inside >= 0 else f"outside by {-inside:g}"
    working = (
        f"Guard band w = {multiple:g} x {u:g} = {multiple * u:g}.",
        f"{value:g} lies {place}.",
        f"Chance that it conforms: {chance:.3f} %.",
    )
    return Answer(
        values=(chance, inside), working=working, passes=verdict == "pass", sentence=SAID[verdict]
    )


def _wrong_share(given: Values) -> Answer:
    tested, confidence = given["tested"], given.get("confidence", 95.0)
    share = 100 * wrong_share(tested, confidence / 100)
    working = (
        f"1 - (1 - {confidence / 100:g})^(1/{tested:g}) = {short(share)} %.",
        "None of those tested was wrong; they were drawn at random from many.",
    )
    return Answer(values=(share,), working=working)


def _judged(given: Values, found: list[float]) -> tuple[bool | None, tuple[str, ...]]:
    """Return whether the film keeps every limit that was given, and how; None: none was given."""
    u, lines, kept = given["uncertainty"], [], []
    for key, what, value in (
        ("least_mean", "mean", mean(found)),
        ("least_each", "lowest", min(found)),
    ):
        if key in given:
            kept.append(round(value - u - given[key], 9) >= 0)
            lines.append(
                f"Guarded by U = {u:g}: {what} {value - u:.2f} % against {given[key]:g} %."
            )
    if "most_spread" in given:  # an offset of the tile is in the greatest and in the least
        kept.append(round(max(found) - min(found) - given["most_spread"], 9) <= 0)
        lines.append(f"Greatest less least: at most {given['most_spread']:g} points.")
    return all(kept) if kept else None, tuple(lines)


def _reflectance(given: Values) -> Answer:
    tile, shown = given["reference"], given["reference_reading"]
    found = [tile * reading / shown for reading in given.row("readings")]
    if max(found) > 100:
        raise ValueError("A reading comes out above 100 %. Measure the reference tile again.")
    average, lowest = mean(found), min(found)
    deviation = stdev(found) if len(found) > 1 else 0.0
    passes, lines = _judged(given, found)
    working = (
        f"R = {tile:g} % x reading / {shown:g} %.",
        f"Of {len(found)}: {', '.join(f'{each:.2f}' for each in found)} %.",
        f"Mean {average:.2f} %, standard deviation {deviation:.2f}, greatest less least "
        f"{max(found) - lowest:.2f}.",
        *lines,
    )
    sentences = {
        True: "The film is good, with the uncertainty reckoned against it.",
        False: "Not proven good: the uncertainty counts against the film.",
    }
    turns = (given["least_mean"] + given["uncertainty"],) if "least_mean" in given else ()
    return Answer(
        values=(average, lowest, deviation, max(found) - lowest),
        working=working,
        passes=passes,
        sentence="" if passes is None else sentences[passes],
        turns=turns,
    )


SUMS = (
    Calculation(
        name="conformance",
        title="Chance that a value conforms",
        subject="Decisions",
        inputs=(
            amount("value", "Measured value"),
            amount(
                "uncertainty",
                "Its standard uncertainty",
                above="0",
                hint="Half of an expanded uncertainty with k = 2.",
            ),
            amount("low", "Lower limit", optional=True),
            amount("high", "Upper limit", optional=True),
            amount(
                "multiple",
                "Guard band, in standard uncertainties",
                low="0",
                high="5",
                optional=True,
                hint="1.645 for 95 % on one side. Left out: 2.",
            ),
        ),
        outputs=(
            output("chance", "Chance that it conforms", "%", "0.0001"),
            output("inside", "Inside the nearer limit by", "", "0.000001", digits=4),
        ),
        work=_conformance,
        formula="pc = Phi((TU - y) / u) - Phi((TL - y) / u); pass: TL + w <= y <= TU - w, w = k u",
        source="JCGM 106:2012; the guard bands of ISO 14253-1:2017 from memory.",
        care="All in one unit. Who must prove conformity has the uncertainty counted against them.",
    ),
    Calculation(
        name="wrong-share",
        title="What may yet be wrong when none was found",
        subject="Decisions",
        inputs=(
            Input(name="tested", title="Tested, none wrong", form="whole", at_least=Decimal(1)),
            amount(
                "confidence",
                "Confidence",
                "%",
                low="50",
                high="99.99",
                optional=True,
                hint="Left out: 95.",
            ),
        ),
        outputs=(output("share", "At most so many wrong", "%", "0.001"),),
        work=_wrong_share,
        formula="1 - (1 - confidence)^(1/n)",
        source="Binomial bound, from memory.",
        care="For a sample drawn at random. Where each piece matters, test each piece.",
    ),
    Calculation(
        name="reflectance-acceptance",
        title="Mean reflectance, guarded",
        subject="Decisions",
        inputs=(
            Input(
                name="readings",
                title="Readings on the mirror",
                unit="%",
                row=True,
                at_least=Decimal(0),
                at_most=Decimal(100),
            ),
            amount("reference", "Reference tile, by its certificate", "%", above="0", high="100"),
            amount("reference_reading", "Reading on the reference tile", "%", above="0"),
            amount("uncertainty", "Expanded uncertainty U of a reading", "%", low="0", high="10"),
            amount("least_mean", "Least mean", "%", low="0", high="100", optional=True),
            amount("least_each", "Least at any place", "%", low="0", high="100", optional=True),
            amount(
                "most_spread",
                "Greatest less least, at most",
                "%",
                low="0",
                high="100",
                optional=True,
            ),
        ),
        outputs=(
            output("mean", "Mean reflectance", "%", "0.01"),
            output("lowest", "Lowest", "%", "0.01"),
            output("deviation", "Standard deviation", "%", "0.01"),
            output("spread", "Greatest less least", "%", "0.01"),
        ),
        work=_reflectance,
        formula="R = Rref x reading / reading on the tile; good: mean - U and lowest - U at least their limits, greatest - least at most its own",
        source="JCGM 106:2012, guarded acceptance; common practice for the places, no source.",
        care="Clean the tile as its maker says. At the middle of the film, not on marks.",
    ),
)
