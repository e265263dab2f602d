"""What the record says, as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.record.document import build
from app.record.shown import fingerprint
from app.run.state import fold
from tests.record.a_run import CREW, ROOT, ARun, a_procedure, a_quiet_run, a_site, an_eventful_run

if TYPE_CHECKING:
    from app.record.shown import Document, StepShown


@pytest.fixture(scope="module")
def document() -> Document:
    return an_eventful_run().document()


def the_step(document: Document, number: int) -> StepShown:
    return next(step for step in document.steps if step.number == number)


def test_the_verdict_is_a_sentence_and_stands_first(document: Document) -> None:
    assert document.verdict == "All 6 steps are done and the run is closed."
    assert document.verdict_more[1] == "Troubles left open: none."


def test_a_run_in_which_all_went_as_written_has_nothing_to_read_first() -> None:
    quiet = a_quiet_run().document()

    assert quiet.first == ()
    assert quiet.verdict_more[-1] == "Nothing departed from what was written."


def test_all_that_departed_from_the_text_is_read_first_in_order_of_time(document: Document) -> None:
    told = [(each.word, each.step, each.sentence, each.who) for each in document.first]

    assert told == [
        ("Out of limit", "Step 3", told[0][2], "JB"),
        ("Trouble", "Step 3", "B02: trouble 1 reported. B02 does not turn.", "JB"),
        (
            "Disposed of",
            "Step 3",
            "B02: trouble 1 disposed of: redo. Reason: Oiled and left for ten minutes.",
            "NA",
        ),
        (
            "Refused",
            "Step 5",
            "Enter was refused. Step 5 is not open. Step 4 is not finished: nobody has counted.",
            "SH",
        ),
        (
            "Differed",
            "Step 4",
            "Round 1 ended. The entries were not all equal: JB 0, AN 1, TW 0.",
            "TW",
        ),
        ("Not signed", "Step 5", "Would not sign. Reason: The display still moves.", "TW"),
        (
            "Corrected",
            "Step 5",
            "Was 36.05 kN. Now 36.50 kN. Reason: Two digits changed places.",
            "SH",
        ),
        ("Open again", "Step 5", "Open again. Reason: Entry corrected.", "SH"),
        ("Stopped", "", "Work stopped. A crane alarm sounds.", "—"),
        ("Restarted", "", "Work restarted. The alarm was a door contact.", "NA"),
    ]
    assert "seized" in told[0][2]


def test_a_struck_value_stands_beside_the_new_one_with_reason_person_and_time(
    document: Document,
) -> None:
    old, new = the_step(document, 5).entries

    assert (old.mark, old.lines[0].value, old.lines[0].limits) == (
        "corrected",
        "36.05 kN",
        "35.5 to 37.5 kN",
    )
    assert old.notes == (
        f"Struck 07:34:10 by SH. Reason: Two digits changed places. Entry {new.number} took its "
        "place.",
    )
    assert (new.mark, new.lines[0].value, new.who, new.when) == (
        "done",
        "36.50 kN",
        "SH",
        "07:34:40",
    )


def test_every_count_of_both_rounds_is_in_the_record(document: Document) -> None:
    step = the_step(document, 4)

    assert [(e.who, e.lines[0].value, e.mark, e.round) for e in step.entries] == [
        ("JB", "0", "differs", "Round 1, which differed"),
        ("AN", "1", "differs", "Round 1, which differed"),
        ("TW", "0", "differs", "Round 1, which differed"),
        ("AN", "0", "done", "Round 2"),
        ("JB", "0", "done", "Round 2"),
        ("TW", "0", "done", "Round 2"),
    ]
    assert step.remarks == ("Round 1 ended 07:28:10: not all equal.",)
    assert [(seat.role, seat.who) for seat in step.seats] == [
        ("technician", "AN"),
        ("technician", "JB"),
        ("supervisor", "TW"),
    ]


def test_signatures_that_fell_stay_beside_those_that_stand(document: Document) -> None:
    seats = the_step(document, 5).seats

    assert [(s.who, s.when, s.fell) for s in seats] == [
        ("SH", "07:31:10", "TW would not sign: The display still moves"),
        ("SH", "07:32:40", "Entry corrected."),
        ("TW", "07:33:10", "Entry corrected."),
        ("SH", "07:38:40", ""),
        ("TW", "07:39:10", ""),
    ]
    assert (seats[-1].meaning, seats[-1].how, seats[-1].name, seats[-1].role) == (
        "The load stands within its limits.",
        "Stood at the display.",
        "Tomasz Wierzbin",
        "supervisor",
    )


def test_people_are_counted_by_what_they_entered_and_signed(document: Document) -> None:
    told = {p.id: (p.name, p.roles, p.entries, p.signatures) for p in document.people}

    assert told == {
        "NA": ("Nkechi Adeyaro", "lead", 0, 1),
        "JB": ("Joaquin Belmarez", "technician", 7, 3),
        "AN": ("Aroha Ngatere", "technician", 4, 3),
        "SH": ("Sunniva Hallgarth", "technician", 2, 3),
        "TW": ("Tomasz Wierzbin", "supervisor", 2, 5),
    }


def test_every_event_stands_in_the_list_of_acts(document: Document) -> None:
    assert [act.seq for act in document.acts] == list(range(1, 46))
    assert document.acts[0].sentence == (
        "Run opened on QP-4 revision 3. The board stood: load on cell, brackets 3."
    )
    assert document.acts[33].who == "nobody"


def test_a_count_that_goes_on_is_told_to_nobody() -> None:
    run = ARun()
    run.open()
    run.enter("brackets-gone", "JB", seat=0, count="7777")

    document = run.document()

    assert "7777" not in repr(document)
    assert document.verdict == "This run is not closed: 0 of 6 steps are done."


def test_a_trouble_left_open_is_in_the_verdict() -> None:
    run = an_eventful_run()
    disposed = next(e for e in run.happened if type(e.event).__name__ == "TroubleDisposed")
    happened = [each for each in run.happened if each is not disposed]

    document = build(
        a_procedure(), fold(happened), happened, CREW, a_site(), head="00" * 32, root=ROOT
    )

    assert document.verdict == "This run was closed with something left open."
    assert document.verdict_more[1] == "Troubles left open: 1."


def test_a_fingerprint_is_read_in_groups_of_four() -> None:
    assert fingerprint("0123456789abcdef" * 4) == ("0123 4567 89ab cdef",) * 4
