"""Torque tools: what to set with an adapter, and whether a tool may be used."""

from __future__ import annotations

import math
from decimal import Decimal

from app.calculations.calculation import Answer, Calculation, Values, amount, output
from app.calculations.rounding import short

SMALL_TOOL_NM = Decimal(10)  # up to this greatest torque a tool may deviate more
WIDE, NARROW = Decimal(6), Decimal(4)  # %, of the torque
MONTHS, CYCLES = 12, 5000  # whichever comes first, where the site has no rule of its own
STRAIGHT, CROSSWISE = 0.0, 90.0  # deg


def set_torque(wanted: float, length: float, adapter: float, angle_deg: float = 0.0) -> float:
    """Return what the tool must be set to so that the bolt gets the wanted torque.

    Args:
        wanted: Torque on the bolt, any unit, above 0.
        length: From the middle of the grip to the tool's own square, above 0.
        adapter: From the square to the bolt, 0 or more, in the unit of `length`.
        angle_deg: Of the adapter to the tool, degrees, -180 to 180; 0 in line, 90 crosswise.

    Returns:
        The torque to set, in the unit of `wanted`.

    Raises:
        ValueError: the adapter reaches back over the grip.

    Source: T L / (L + E cos a), lever arms; as torque-tool makers' sheets print it. Crosswise
        there is nothing to correct. A page that corrects crosswise and not in line has it backwards.
    """
    arm = length + adapter * math.cos(math.radians(angle_deg))
    if arm <= 0:
        raise ValueError("The adapter reaches back beyond the grip. Turn it, or use a longer tool.")
    return wanted * length / arm


def permitted_deviation(greatest_nm: Decimal) -> Decimal:
    """Return how far a tool may deviate, % of the torque; its greatest torque decides, not the set one.

    Args:
        greatest_nm: The greatest torque of the tool's range, N m, above 0.

    Source: ISO 6789-1:2017, 5.1.5, for graduated adjustable setting tools (type II class A), as
        quoted in a maker's review. Other types and classes from memory.
    """
    return WIDE if greatest_nm <= SMALL_TOOL_NM else NARROW


def deviation(indicated: Decimal, reference: Decimal) -> Decimal:
    """Return how far the tool's torque is from the reference, % of the reference.

    Args:
        indicated: What the tool was set to, or shows, N m.
        reference: What the reference measured, N m, above 0.

    Source: ISO 6789-1:2017, (xa - xr) / xr (from memory).
    """
    return 100 * (indicated - reference) / reference


def _adapter(given: Values) -> Answer:
    wanted, length, adapter = given["torque"], given["length"], given["adapter"]
    angle = given.get("angle", STRAIGHT)
    torque = set_torque(wanted, length, adapter, angle)
    arm = length + adapter * math.cos(math.radians(angle))
    working = [
        f"Arm: {length:g} mm + {adapter:g} mm x cos {angle:g} deg = {short(arm)} mm.",
        f"Set {wanted:g} N m x {length:g} / {short(arm)} = {short(torque)} N m.",
    ]
    if angle == CROSSWISE:
        working.append("Crosswise there is nothing to correct.")
    return Answer(values=(torque,), working=tuple(working))


def _tool(given: Values) -> Answer:
    greatest, reference = given.exact("greatest"), given.exact("reference")
    found = deviation(given.exact("indicated"), reference)
    allowed = permitted_deviation(greatest)
    late = given.get("months", 0) > MONTHS or given.get("cycles", 0) > CYCLES
    passes = abs(found) <= allowed and not late
    working = (
        f"({given.exact('indicated'):f} - {reference:f}) / {reference:f} = {short(float(found))} %.",
        f"Greatest torque {greatest:f} N m: {allowed} % either way.",
        f"Calibrated at most {MONTHS} months and {CYCLES} cycles ago, whichever comes first.",
    )
    if late:
        sentence = "Its calibration is too old. Take another tool."
    else:
        sentence = "It may be used." if passes else "It deviates too far. Take another tool."
    turns = (-allowed, allowed)
    return Answer(values=(found,), working=working, passes=passes, sentence=sentence, turns=turns)


SUMS = (
    Calculation(
        name="torque-adapter",
        title="Torque to set with an adapter",
        subject="Bolts",
        inputs=(
            amount("torque", "Torque on the bolt", "N m", above="0", high="50000"),
            amount("length", "Middle of the grip to the tool's square", "mm", above="0"),
            amount("adapter", "The square to the bolt", "mm", low="0"),
            amount(
                "angle",
                "Angle of the adapter",
                "deg",
                low="-180",
                high="180",
                optional=True,
                hint="0 in line, 90 crosswise. Left out: 0.",
            ),
        ),
        outputs=(output("set", "Set the tool to", "N m", "0.1"),),
        work=_adapter,
        formula="Tset = T L / (L + E cos a)",
        source="Lever arms; torque-tool makers' instruction sheets.",
        care="Hold the tool in the middle of its grip, at the length that was measured.",
    ),
    Calculation(
        name="torque-tool",
        title="Deviation of a torque tool",
        subject="Bolts",
        inputs=(
            amount("greatest", "Greatest torque of the tool", "N m", above="0"),
            amount("indicated", "Set or shown", "N m", above="0"),
            amount("reference", "Measured by the reference", "N m", above="0"),
            amount("months", "Since its calibration", "month", low="0", optional=True),
            amount("cycles", "Cycles since its calibration", low="0", optional=True),
        ),
        outputs=(output("deviation", "Deviation", "%", "0.1"),),
        work=_tool,
        formula="(set - measured) / measured; 4 %, or 6 % where the greatest torque is at most 10 N m",
        source="ISO 6789-1:2017, as quoted by a tool maker; the 2017 dates are from memory.",
        care="The site's own calibration rules come first.",
    ),
)
