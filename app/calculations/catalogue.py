"""The calculations that a procedure can name: their inputs, their result, how it is worked out.

To add one: write its module, then one entry here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from app.calculations.load_centre import load_centre
from app.calculations.rounding import level, places, rounded
from app.calculations.stuck_part import LEAST_MOVE_MM, stuck_part
from app.calculations.tally import unaccounted

_CENTRE_STEP = Decimal("0.1")  # mm: finer than any jack can be set
_FORCE_STEP = Decimal("0.01")  # kN

Given = Mapping[str, tuple[Decimal, ...]]  # by the input's name, in the input's unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One thing that a calculation needs; `row`: a row of values, one for each load cell."""

    name: str
    title: str
    unit: str  # "" for a plain number
    row: bool = False
    optional: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What came out: the value, how it came about, and the calculation's own verdict if it has one."""

    value: Decimal
    unit: str
    working: tuple[str, ...]
    passes: bool | None = None
    sentence: str = ""  # the answer, where the calculation has a verdict of its own


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """A calculation by name. `compute` raises ValueError, with a sentence, where there is no result.

    It is told the limits, so that rounding never hides a breach of them.
    """

    name: str
    title: str
    inputs: tuple[Input, ...]
    unit: str
    resolution: Decimal
    compute: Callable[[Given, Decimal | None, Decimal | None], Result]

    def input(self, name: str) -> Input | None:
        """Return the input of this name, or None."""
        return next((each for each in self.inputs if each.name == name), None)


def _load_centre(given: Given, at_least: Decimal | None, at_most: Decimal | None) -> Result:
    forces, angles, radius = given["forces"], given["angles"], given["radius"][0]
    centre = load_centre([float(f) for f in forces], [float(a) for a in angles], float(radius))
    value = rounded(centre.offset, _CENTRE_STEP, at_least=at_least, at_most=at_most)
    x, y = (rounded(each, _CENTRE_STEP) for each in (centre.across, centre.along))
    working = (
        f"Sum of {len(forces)} cells: {sum(forces)} kN on a radius of {radius:f} mm.",
        f"Load centre: {x:f} mm to the right of the datum line, {y:f} mm towards the datum.",
        f"Distance from the middle: {value:f} mm.",
    )
    return Result(value=value, unit="mm", working=working)


def _stuck_part(given: Given, at_least: Decimal | None, at_most: Decimal | None) -> Result:  # noqa: ARG001
    forces, weight, moved = given["forces"], given["weight"][0], given["displacement"][0]
    total = sum(forces, Decimal(0))
    pull = stuck_part(total, weight, moved)
    shown_total, shown_weight, excess = level(total, weight, pull.excess)
    allowed = _allowed(pull.excess, pull.allowed)
    shown_moved, least = level(moved, LEAST_MOVE_MM)
    working = (
        f"The hooks pull {shown_total} kN, the mirror weighs {shown_weight} kN.",
        f"Pull beyond the weight: {excess} kN. Allowed: 2 %, {allowed} kN.",
        f"The mirror moved {shown_moved} mm. Below {least} mm it has not moved.",
    )
    held = "A part still holds the mirror. Lower to the supports, and look for it."
    free = "No part holds the mirror."
    return Result(
        value=pull.excess,
        unit="kN",
        working=working,
        passes=not pull.stuck,
        sentence=held if pull.stuck else free,
    )


def _allowed(excess: Decimal, allowed: Decimal) -> str:
    """Return the pull allowed with the digits of the excess, unless that would hide a breach."""
    digits = Decimal(1).scaleb(-places(excess))
    shown = rounded(allowed, digits, at_least=excess, at_most=excess)
    return f"{shown:f}"


def _tally(given: Given, at_least: Decimal | None, at_most: Decimal | None) -> Result:  # noqa: ARG001
    counts = {name: int(values[0]) for name, values in given.items()}
    missing = unaccounted(**counts)
    seen = " + ".join(
        f"{n} {name.replace('_', ' ')}" for name, n in counts.items() if name != "installed"
    )
    if missing == 0:
        sentence = "All are accounted for."
    elif missing > 0:
        sentence = f"{missing} not accounted for. Search before anything moves."
    else:
        sentence = f"{-missing} more than were installed. Count again."
    working = (f"{seen} against {counts['installed']} installed.",)
    return Result(
        value=Decimal(missing), unit="", working=working, passes=missing == 0, sentence=sentence
    )


def _input(name: str, title: str, unit: str = "") -> Input:
    return Input(name=name, title=title, unit=unit)


_ALL: Sequence[Calculation] = (
    Calculation(
        name="load-centre",
        title="Load centre",
        inputs=(
            Input(name="forces", title="Forces on the cells", unit="kN", row=True),
            Input(name="angles", title="Angles of the cells, clockwise", unit="deg", row=True),
            _input("radius", "Radius of the circle", "mm"),
        ),
        unit="mm",
        resolution=_CENTRE_STEP,
        compute=_load_centre,
    ),
    Calculation(
        name="stuck-part",
        title="Pull beyond the weight",
        inputs=(
            Input(name="forces", title="Forces on the hooks", unit="kN", row=True),
            _input("weight", "Weight", "kN"),
            _input("displacement", "Movement of the mirror", "mm"),
        ),
        unit="kN",
        resolution=_FORCE_STEP,
        compute=_stuck_part,
    ),
    Calculation(
        name="tally",
        title="Not accounted for",
        inputs=(
            _input("installed", "Installed"),
            _input("in_place", "In place"),
            _input("removed", "Removed"),
            Input(name="scrapped", title="Written off", unit="", optional=True),
        ),
        unit="",
        resolution=Decimal(1),
        compute=_tally,
    ),
)

CALCULATIONS: Mapping[str, Calculation] = {each.name: each for each in _ALL}
