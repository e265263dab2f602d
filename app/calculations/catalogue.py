"""The calculations that a procedure, a page and a command can name.

To add one: write its module with its `SUMS`, then name it here.
"""

from __future__ import annotations

from collections.abc import Mapping

from app.calculations import (
    air,
    bolts,
    decision,
    evaporation,
    film,
    humidity,
    lashing,
    load_centre,
    mirror,
    road,
    scatter,
    schedule,
    solutions,
    stuck_part,
    sun,
    tally,
    thin_film,
    torque_tool,
    vacuum,
)
from app.calculations.calculation import Calculation

_SUBJECTS = (
    bolts,
    torque_tool,
    mirror,
    load_centre,
    stuck_part,
    tally,
    lashing,
    road,
    air,
    humidity,
    sun,
    solutions,
    vacuum,
    film,
    evaporation,
    thin_film,
    scatter,
    decision,
    schedule,
)

CALCULATIONS: Mapping[str, Calculation] = {
    each.name: each for subject in _SUBJECTS for each in subject.SUMS
}
