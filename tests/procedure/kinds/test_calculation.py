"""Calculations from what other steps recorded."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.procedure.entry import Entry, Judged
from tests.procedure.kinds.stand import Stand, step_of, told

LOADS = step_of(
    "loads",
    """
cells = { shape = "ring", count = 6, label = "H{}" }
radius = "2.04 m"
unit = "kN"
total = { at_most = 100 }
""",
    id="full",
    number=1,
)
GAUGE = step_of("reading", 'unit = "um"', id="gauge", number=2)
GONE = step_of("count", 'of = "brackets"\nexpect = 0', id="gone", number=3, check="independent")
CENTRE = """
calculation = "load-centre"
inputs = { forces = "full.cells", angles = "full.angles", radius = "full.radius" }
at_most = "20 mm"
"""
STUCK = """
calculation = "stuck-part"
inputs = { forces = "full.cells", weight = "40570 N", displacement = "gauge.value" }
"""
TALLY = """
calculation = "tally"
inputs = { installed = 21, in_place = "gone.count", removed = "typed" }
"""
LEVEL = ("6.81", "6.72", "6.66", "6.71", "6.82", "6.86")  # 15.1 mm: worked for the trade notes
ASKEW = ("7.05", "6.92", "6.60", "6.45", "6.62", "6.93")  # 46.0 mm


def working(keys: str, forces: tuple[str, ...] = LEVEL, gauge: str = "0") -> Stand:
    loads, reading = Stand(LOADS), Stand(GAUGE)
    loads.enter({f"H{n}": force for n, force in enumerate(forces, start=1)})
    reading.enter({"value": gauge})
    return Stand(
        step_of("calculation", keys, number=9),
        others=[LOADS, GAUGE, GONE],
        entries={**loads.entries, **reading.entries},
    )


def counted(number: str) -> list[Entry]:
    stand = Stand(GONE)
    return [stand.enter({"count": number})]


def test_the_load_centre_comes_from_the_cells() -> None:
    stand = working(CENTRE)

    judged = stand.good()

    assert judged.computed["result"] == "15.1"
    assert judged.computed["forces.1"] == "6.81"
    assert judged.saying == "Load centre: 15.1 mm is within the limits, at most 20.0 mm."
    assert stand.kind.rests_on(stand.step) == ("full",)


def test_a_centre_too_far_off_is_kept_as_out() -> None:
    judged = working(CENTRE, ASKEW).out()

    assert judged.saying == "Load centre: 46.0 mm is above the limit, 20.0 mm."


# 2 % of 40.57 kN is 0.8114 kN; six equal hooks; the gauge reads micrometres, the sum wants mm.
PULLS = (
    ("6.90", "0", True),  # 41.40 kN: 0.83 kN over, not moved
    ("6.90", "199", True),
    ("6.90", "200", False),
    ("6.89", "0", False),  # 41.34 kN: 0.77 kN over
)


@pytest.mark.parametrize(("force", "gauge", "stuck"), PULLS)
def test_a_stuck_part_is_found(force: str, gauge: str, stuck: bool) -> None:
    entry = working(STUCK, (force,) * 6, gauge).enter()

    assert entry.verdict == ("out" if stuck else "good")
    assert entry.saying == (
        "A part still holds the mirror. Lower to the supports, and look for it."
        if stuck
        else "No part holds the mirror."
    )


def test_a_sum_waits_for_its_inputs() -> None:
    stand = working(CENTRE)
    del stand.entries["full"]

    refused = stand.refused()

    assert refused.code == "calculation.missing"
    assert refused.sentence == (
        "Load centre needs step 1, which is not complete. Complete it first."
    )
    assert stand.card().off == refused.sentence


@pytest.mark.parametrize("number", ["0", "7"])
def test_a_blind_count_does_not_come_out_by_way_of_a_sum(number: str) -> None:
    stand = working(TALLY)
    stand.entries["gone"] = counted(number)

    assert stand.refused({"removed": "21"}).code == "calculation.missing"
    assert stand.card().own["inputs"] == ()

    stand.done.add("gone")
    assert isinstance(stand.judge({"removed": "21"}), Judged)


TALLIES = (
    ("0", "21", "good", "All are accounted for."),
    ("0", "20", "out", "1 not accounted for. Search before anything moves."),
    ("1", "21", "out", "1 more than were installed. Count again."),
)


@pytest.mark.parametrize(("in_place", "removed", "verdict", "saying"), TALLIES)
def test_all_pieces_are_accounted_for(
    in_place: str, removed: str, verdict: str, saying: str
) -> None:
    stand = working(TALLY)
    stand.entries["gone"] = counted(in_place)
    stand.done.add("gone")

    entry = stand.enter({"removed": removed})

    assert (entry.verdict, entry.saying) == (verdict, saying)


def test_what_is_typed_is_asked_for() -> None:
    stand = working(TALLY)
    stand.entries["gone"] = counted("0")
    stand.done.add("gone")

    (field,) = stand.card().fields

    assert (field.name, field.control, stand.card().off) == ("removed", "whole", "")
    assert stand.refused({}).sentence.startswith("Removed: Nothing was typed.")
    assert stand.refused({"removed": "2.5"}).code == "count.unreadable"


def test_the_record_works_it_out_again() -> None:
    stand = working(CENTRE)
    entry = stand.enter()
    assert stand.lines()[-1].verdict == "Good"

    stand.entries[stand.step.id] = [replace(entry, computed={**entry.computed, "result": "5.0"})]

    assert stand.lines()[-1].verdict == "Good. Worked out again: differs"


def test_cells_that_carry_nothing_give_no_result() -> None:
    refused = working(CENTRE, ("0",) * 6).refused()

    assert refused.code == "calculation.no_result"
    assert refused.sentence.startswith("No result. The cells carry nothing")


FAULTS = (
    ("", "calculation: This step has no calculation."),
    ('calculation = "load-center"\ninputs = {}', "calculation: There is no calculation load-center."),
    ('calculation = "tally"', "inputs: This step has no inputs."),
    ('calculation = "tally"\ninputs = { installed = 1 }', "inputs.in_place: This table of inputs has no in_place."),
    (STUCK.replace("40570 N", "40.57 m"), "inputs.weight: 40.57 m does not measure what kN measures."),
    (STUCK.replace("full.cells", "typed"), "inputs.forces: Forces on the hooks are a row of values."),
    (CENTRE + 'unit = "kN"', "unit: Load centre comes out in mm."),
    (CENTRE + 'at_least = "30 mm"', "at_least: No value can be at least 30 and at most 20."),
)  # fmt: skip


@pytest.mark.parametrize(("keys", "fault"), FAULTS)
def test_a_sum_that_cannot_be_worked_out_is_a_fault(keys: str, fault: str) -> None:
    assert fault in told("calculation", keys)


SOURCES = (
    ("full.cells", ""),
    ("full.total", "inputs.forces: full.total is one value."),
    ("full.weights", "inputs.forces: full gives no weights."),
    ("empty.cells", "inputs.forces: There is no step empty."),
    ("gauge.value", "inputs.forces: gauge.value is one value."),
    ("full.angles", "inputs.forces: full.angles is in deg."),
    ("step-9.cells", "inputs.forces: step-9 comes later."),
)


@pytest.mark.parametrize(("source", "fault"), SOURCES)
def test_an_input_is_what_an_earlier_step_gives(source: str, fault: str) -> None:
    stand = working(CENTRE.replace("full.cells", source))

    assert stand.faults() == ([fault] if fault else [])
