"""What the invented crew reads and counts on QP-4: plausible, within limits, the same each time."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.kind import Field

SPIDER = "LS-1180-2"  # the serial that QP-4 names, and the tool of the loaded steps

PLAIN: Mapping[str, Mapping[str, str]] = {
    "hall-air": {"value": "19.6"},
    "dew-margin": {"value": "7.4"},
    "cover-off": {
        "segments_on_the_rack": "12",
        "latches_in_the_bin": "24",
        "loose_objects_left": "0",
    },
    "tray-count": {"brackets": "21", "bolts": "42", "washers": "42", "pads": "21"},
    "brackets-gone": {"count": "0"},
    "cutoff-set": {"value": "54.7"},
    "raise": {"value": "0.24"},
}
BY_PART: Mapping[str, tuple[str, ...]] = {
    "serials": (SPIDER, "LC-1", "LC-2", "LC-3", "LC-4", "LC-5", "LC-6"),
}
AROUND: Mapping[str, tuple[float, float, int]] = {  # middle, spread, decimals
    "axial-forces": (751.3, 5.5, 1),  # 54 of 751 N carry 40.57 kN
    "laterals-unloaded": (0.0, 5.2, 1),
    "cells-zeroed": (0.0, 0.15, 2),
    "hooks-engaged": (163.0, 2.0, 0),  # brackets and hooks are 163 mm of arc apart
    "load-tenth": (0.68, 0.02, 2),
    "load-half": (3.38, 0.04, 2),
    "load-nine-tenths": (6.08, 0.04, 2),
    "gauges": (0.06, 0.03, 2),
    "hook-shares": (6.76, 0.03, 2),  # a sixth of 40.57 kN
}
WAVE = (0.2, -0.6, 1.0, -0.2, 0.6, -1.0)  # sums to nothing: the middle is kept


def typed(step: str, field: Field, place: int) -> str | None:
    """Return what is typed into a field, None where this crew has nothing to type.

    Args:
        step: the step's id.
        field: what is asked for.
        place: which of the step's parts, or of its fields, counted from 0.
    """
    if field.name == "tool":
        return SPIDER
    if step in BY_PART and field.name == "serial":
        return BY_PART[step][place]
    if field.control == "choice":
        return field.choices[0]  # the first result is the one that passes
    plain = PLAIN.get(step, {}).get(field.name)
    if plain is not None or step not in AROUND:
        return plain
    middle, spread, decimals = AROUND[step]
    return f"{middle + spread * WAVE[place % len(WAVE)]:.{decimals}f}"
