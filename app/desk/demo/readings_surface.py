"""What the invented crew reads and counts on QP-5 to QP-7: plausible, within limits, the same each time."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.kind import Field

TOOLS: Mapping[str, str] = {  # by the step's id; the lift of the landing uses the spider
    "hover": "LS-1180-2",
    "landed": "LS-1180-2",
    "tile": "RM-2",
    **{f"{when}-{nm}": "RM-2" for when in ("measure", "again") for nm in (470, 530, 650, 880)},
}
PAPER = {"until": "2027-12-31"}
WITNESSES = ("WS-31", "WS-32", "WS-33", "WS-34", "WS-35", "WS-36")
LOCKS = ("Q-11", "Q-12")

PLAIN: Mapping[str, Mapping[str, str]] = {
    # QP-5
    "papers": PAPER,
    "back-map": {"size": "3.1"},
    "hover": {"value": "0.26"},
    "landed": {"value": "0.04"},
    "water-quality": {"value": "16.4"},
    "water-temperature": {"value": "1.3"},
    "stock-volume": {"percent": "32", "density": "1.159"},
    "hydrogen": {"temperature": "19.6"},
    "strip-batch": {"number": "SB-27-1"},
    "rinse-water": {"value": "2.6"},
    "look-1": {"why": "No grey is left anywhere under the lamp, from both sides."},
    "rinse-water-2": {"value": "2.1"},
    "look-2": {"why": "Bare all over, the rim too."},
    "rinse-water-3": {"value": "1.6"},
    "rinsed": {"value": "1.4"},
    "neutral": {"value": "7.1"},
    "effluent": {"value": "2.8"},
    "waste": {"value": "310"},
    "base-needed": {"concentration": "0.34"},
    "waste-neutral": {"value": "7.2"},
    "wipes-out": {"count": "24"},
    "wipes-in": {"count": "24"},
    "sponges-out": {"count": "40"},
    "sponges-in": {"count": "40"},
    # QP-6
    "tools-out": {"count": "12"},  # of what goes in only the wipes are counted
    "tools-in": {"count": "12"},
    "air-before": {"value": "20.8"},
    "charges-counted": {"inner_ring": "12", "middle_ring": "24", "outer_ring": "48"},
    "charges-weighed": {"value": "25.1"},
    "last-effluent": {"value": "2.4"},
    "marks": {"value": "1"},
    "people-out": {"count": "0"},
    "rough": {"value": "0.041"},
    "base": {"value": "2.6"},
    "rise": {"value": "311"},
    "glow-gas": {"value": "0.031"},
    "pumped-again": {"value": "2.7"},
    "glass-temperature": {"value": "19.4"},
    "wetting-power": {"value": "40"},
    "face-warmed": {"value": "2.9"},
    "glass-and-room": {"value": "0.8"},
    "air-after": {"value": "20.7"},
    "all-out": {"count": "0"},
    # QP-7
    "air": {"value": "20.8"},
    "scatter": {"value": "0.12"},
    "decision": {"why": "Every mean is a good half point inside its limit, and the face is clear."},
    "first-point": {"value": "91.80"},
    "wash-quality": {"value": "16.1"},
    "wash-effluent": {"value": "2.9"},
    "wash-dry": {"value": "1"},
    "wash-tools": {"count": "40"},
    "wash-back": {"count": "40"},
}
BY_PART: Mapping[str, Mapping[str, tuple[str, ...]]] = {  # field, then part by part
    "papers": {"number": ("P-2701", "P-2702", "P-2703", "P-2704")},
    "strip-batch": {"value": ("", "79.6", "10.6", "1.80")},  # the first part is the label
    "witness": {"serial": WITNESSES},
    "witness-out": {"serial": WITNESSES},
    "power-locked": {"lock": LOCKS},
    "power-back": {"lock": LOCKS},
    "power-off": {"lock": LOCKS},
    "dry-air": {"value": ("212000", "41", "7.8")},
    "down": {"value": ("840", "61", "8.2")},
    "fire-gate": {"value": ("2.7", "19.4")},
    "monitors": {"value": ("98.6", "97.1")},
    "pinholes": {"value": ("2", "0", "1", "3", "1")},
    "gain": {"value": ("7.4", "6.1", "5.2", "4.9")},
    "tile": {"value": ("90.1", "89.9", "90.0", "90.2")},
}
REFERENCE = "90.0"  # what the tile's certificate says, through every filter
AROUND: Mapping[str, tuple[float, float, int]] = {  # middle, spread, decimals
    "landing-gauged": (21.0, 3.0, 0),
    "hooks-unloaded": (0.12, 0.05, 2),
    "restraints-closed": (6.5, 0.5, 1),
    "test-shot": (97.0, 3.0, 1),
    "gap-gauged": (31.0, 4.0, 0),
    "thickness": (98.0, 2.4, 1),
    "measure-470": (91.9, 0.15, 2),
    "measure-530": (91.2, 0.15, 2),
    "measure-650": (90.3, 0.15, 2),
    "measure-880": (88.0, 0.15, 2),
    "again-470": (92.0, 0.15, 2),
    "again-530": (91.3, 0.15, 2),
    "again-650": (90.4, 0.15, 2),
    "again-880": (88.1, 0.15, 2),
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
        return TOOLS.get(step)
    if field.control == "choice":
        return field.choices[
            0
        ]  # the first result is the one that passes, the first way the short one
    if field.name == "reference":
        return REFERENCE
    here = BY_PART.get(step, {}).get(field.name, ())
    plain = here[place] if place < len(here) else PLAIN.get(step, {}).get(field.name)
    if plain is not None or step not in AROUND:
        return plain or None
    middle, spread, decimals = AROUND[step]
    return f"{middle + spread * WAVE[place % len(WAVE)]:.{decimals}f}"
