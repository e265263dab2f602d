"""What the invented crew reads, counts and types on the whole campaign: the same each time.

The numbers are made up beside the trade's, not worked out from the limits of the texts: so a limit
that was written wrongly stops the crew.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.desk.demo import readings, readings_surface

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.kind import Field

CAMPAIGN = ("QP-1", "QP-2", "QP-3", "QP-4", "QP-5", "QP-6", "QP-7", "QP-8")
SURFACE = frozenset({"QP-5", "QP-6", "QP-7"})  # washed, coated, measured: a file of their own
TOOLS: Mapping[str, str] = {
    "lift spider": readings.SPIDER,
    "torque wrench": "TW-05",
    "jack set": "JS-4",
    "load cell": "LC-SET-2",
}
SMALL_WRENCH = "TW-06"  # for the brackets

Values = str | tuple[str, ...]  # one, or one for each part of a step (or each field of one part)

LATCHES: Mapping[str, Values] = {"count": "24"}
DEW: Mapping[str, Values] = {"temperature": "11.5", "humidity": "38", "glass": "9.8"}
JACKS: Mapping[str, Values] = {"value": ("33.6", "33.3", "33.7", "33.4")}
LOGGERS: Mapping[str, Values] = {"serial": ("SL-21", "SL-22")}
CHAINS: Mapping[str, Values] = {"serial": tuple(f"CH-{n}" for n in range(1, 9))}
PULLS: Mapping[str, Values] = {
    "value": ("14.1", "13.8", "14.4", "14.0", "13.6", "14.2", "13.9", "14.3")
}
WEATHER: Mapping[str, Values] = {"value": ("4.2", "5.1", "6.5", "140", "41", "")}
ON_THE_ROAD: Mapping[str, Values] = {
    "speed": ("4.1", "3.6", "5.2", "4.8", "3.9"),
    "tilt": ("0.4", "1.1", "0.8", "0.9", "0.3"),
    "shock": ("0.06", "0.11", "0.08", "0.07", "0.05"),
    "gust": ("4.4", "5.0", "4.7", "5.3", "4.1"),
}
PULLS_ON_THE_WAY: Mapping[str, Values] = {
    "least": ("13.4", "13.2", "13.1"),
    "greatest": ("14.4", "14.5", "14.6"),
}
SHOCKS: Mapping[str, Values] = {"value": ("0.11", "0.10")}
JACK_SERIALS: Mapping[str, Values] = {"serial": ("JK-1", "JK-2", "JK-3", "JK-4")}
BY_MARKS: Mapping[str, Values] = {"level_difference": "1.5", "speed": "0.14"}
PARTS: Mapping[str, Values] = {
    "serial": (readings.SPIDER, "LC-1", "LC-2", "LC-3", "LC-4", "LC-5", "LC-6")
}

TYPED: Mapping[str, Mapping[str, Mapping[str, Values]]] = {
    "QP-1": {
        "zenith": {"value": "90.01"},
        "dew-margin": DEW,
        "hoist-load": {"value": "2152"},
        "instrument-bolts": {"count": "12"},
        "masses": {
            "mass": ("-2150", "-510", "-510", "-510", "-510"),
            "lever": ("1.90", "-2.00", "-2.00", "-2.00", "-2.00"),
        },
        "baffle-bolts": {"count": "8"},
        "nothing-above": {"count": "0"},
    },
    "QP-2": {
        "dew-margin": DEW,
        "latches-shut": LATCHES,
        "coolant-drained": {"value": "12.4"},
        "caps-on": {"count": "32"},
        "jack-serials": JACK_SERIALS,
        "jacks-touch": {"value": ("2.0", "1.9", "2.1", "2.0")},
        "jacks-share": JACKS,
        "bolts-in-tray": {"count": "20"},
        "flange-free": {"in_the_tray": "24", "in_the_flange": "0"},
        "below-clear": {"count": "0"},
        "lowered": BY_MARKS,
        "landed": {"value": "134.2"},
        "latches-again": LATCHES,
    },
    "QP-3": {
        "route-rehearsed": {"value": "12"},
        "loggers-armed": LOGGERS,
        "chains": CHAINS,
        "lashed": PULLS,
        "deck-level": {"value": "0.1"},
        "latches-shut": LATCHES,
        "weather-gate": WEATHER,
        "way-points": ON_THE_ROAD,
        "chains-on-the-way": PULLS_ON_THE_WAY,
        "shock-read": SHOCKS,
        "latches-again": LATCHES,
    },
    "QP-8": {
        "cell-empty": {"count": "0"},
        "serials": PARTS,
        "descend": {"value": "0.21"},
        "landed": {
            "speed": "0.04",
            "hooks": ("40.57", "36.20", "20.30", "4.10", "0.02"),
            "supports": ("0.00", "4.35", "20.25", "36.45", "40.55"),
            "together": ("40.57", "40.55", "40.55", "40.55", "40.57"),
        },
        "brackets-counted": {"brackets": "21", "bolts": "42"},
        "brackets-sampled": {"value": ("1", "2", "0", "1", "2")},
        "nothing-on-the-glass": {"count": "0"},
        "latches-shut": LATCHES,
        "loggers-armed": LOGGERS,
        "chains": CHAINS,
        "lashed": PULLS,
        "deck-level": {"value": "0.1"},
        "weather-gate": WEATHER,
        "way-points": ON_THE_ROAD,
        "chains-on-the-way": PULLS_ON_THE_WAY,
        "shock-read": SHOCKS,
        "jack-serials": JACK_SERIALS,
        "below-clear": {"count": "0"},
        "raised": BY_MARKS,
        "at-the-flange": JACKS,
        "gap": {"value": ("0.02", "0.03", "0.02", "0.02", "0.04", "0.03", "0.02", "0.03")},
        "bolts-marked": {"count": "24"},
        "jacks-off": {"value": "0"},
        "refilled": {"value": "12.6"},
        "pressure-drop": {"value": "0.02"},
        "hoist-load": {"value": "2149"},
        "masses": {
            "mass": ("2150", "510", "510", "510", "510"),
            "lever": ("1.90", "-2.00", "-2.00", "-2.00", "-2.00"),
        },
        "sweep-clear": {"count": "0"},
        "currents": {"value": "1.8"},
        "tilted": {
            "worst_support": ("1.4", "-1.6", "1.9", "-2.1"),
            "sum": ("0.2", "0.1", "-0.2", "-0.3"),
        },
        "dew-margin": DEW,
        "nothing-above": {"count": "0"},
        "on-the-sky": {"value": "9.4"},
    },
}
TORQUES: Mapping[tuple[str, str], str] = {  # what the wrench showed, by step and pass
    ("brackets-tight", "pass 1"): "15.1",
    ("brackets-tight", "pass 2"): "30.2",
    ("brackets-tight", "pass 3"): "43.8",
    ("torque-first", "pass 1"): "100.5",
    ("torque-second", "pass 1"): "219.5",
    ("torque-last", "pass 1"): "287.2",  # 320 N m on the bolt, by the crowfoot
    ("torque-last", "check"): "1.5",
    ("instrument-bolted", "pass 1"): "206.5",
}
ANYWHERE: Mapping[str, str] = {  # fields that ask for words, whatever the step
    "state": "All as the record says. Watch the weather, and the locks on the board.",
    "until": "2027-12-31",
}


def typed(  # noqa: PLR0913, PLR0917 - what is asked for, and where
    procedure: str, step: str, part: str, field: Field, place: int, tool: str = ""
) -> str | None:
    """Return what is typed into a field, None where this crew has nothing to type.

    Args:
        procedure: its id.
        step: the step's id.
        part: which part of the step is entered.
        field: what is asked for.
        place: which of the step's parts, or of its fields, counted from 0.
        tool: the kind of tool that the step asks for.
    """
    if procedure in SURFACE:
        return readings_surface.typed(step, field, place)
    if field.name == "tool":
        return SMALL_WRENCH if step.startswith("brackets") else TOOLS[tool]
    found = TYPED.get(procedure, {}).get(step, {})
    given = found.get(field.name, found.get("value") if field.control == "number" else None)
    given = TORQUES.get((step, part.rpartition(", ")[2]), given)
    if given is None and field.name in ("number", "lock"):
        return f"Q-{procedure[-1]}{place + 1:02d}"
    if given is None:
        return ANYWHERE.get(field.name) or readings.typed(step, field, place)
    return given[place] if isinstance(given, tuple) else given
