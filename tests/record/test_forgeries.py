"""Forgeries by someone who has the site's own key: only playing the run again finds them.

Each record is printed from the forged events, its chains fit, its seal is the site's own. The
sentence must say what cannot be, and at which event.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.record.making import make_record
from app.record.replay_check import replay_sentences
from app.record.sources import lines_of
from app.record.verify import verify
from tests.record import forgeries as lies
from tests.record.forging import Forgery, chained, envelopes, forged
from tests.record.played import a_played_run

if TYPE_CHECKING:
    from app.record.keys import SiteKeys
    from app.record.pdf import Renderer
    from app.record.sources import Sources
    from tests.record.conftest import Sealed


FORGERIES: dict[str, tuple[Forgery, str]] = {
    "a seized part told as off": (
        lies.value_into_its_limit,
        "Event 13, an entry on step 3, B02, says verdict “out”; by the rules it is “good”.",
    ),
    "a value beyond its limit told as good": (
        lies.limit_passed_over,
        "Event 43, an entry on step 7, says verdict “good”; by the rules it is “out”.",
    ),
    "a verdict changed": (
        lies.verdict_made_good,
        "Event 13, an entry on step 3, B02, says verdict “good”; by the rules it is “out”.",
    ),
    "a value lowered, the board's left": (
        lies.wind_made_calm,
        "Event 10, an entry on step 2, says computed value “6.2”; by the rules it is value “2.2”.",
    ),
    "a reading that was too old": (
        lies.stale_wind,
        "Event 43, an entry on step 7, by SH, would have been refused: Wind was read 2 "
        "h 28 min ago. It must be under 45 min old. Read it again.",
    ),
    "one person counted twice": (
        lies.one_person_counts_twice,
        "Event 23, an entry on step 4, by JB, would have been refused: JB has already "
        "signed step 4. Another person must take the next seat: technician or "
        "supervisor.",
    ),
    "one count of the first round taken out": (
        lies.one_count_of_the_first_round_hidden,
        "Event 21, an entry on step 4, says seat “1”; by the rules it is “0”.",
    ),
    "a count made equal": (
        lies.count_made_equal,
        "Event 27, the end of a round that differed on step 4, stands where the rules "
        "ask for the end of a step.",
    ),
    "two counts too close to each other": (
        lies.counts_too_close,
        "Event 23, an entry on step 4, by AN, would have been refused: Not yet. Wait "
        "121 s: these entries are made at least 120 s apart, so that nobody leans on "
        "another.",
    ),
    "a hold released by one who had worked": (
        lies.hold_released_by_a_performer,
        "Event 41, a signature on step 6, by TW, would have been refused: TW entered "
        "work since the last hold, so cannot release step 6. Another supervisor must "
        "countersign.",
    ),
    "a hold signed by a technician": (
        lies.hold_signed_by_a_technician,
        "Event 41, a signature on step 6, by SH, would have been refused: Only a "
        "supervisor can do this. SH is technician.",
    ),
    "a refusal to sign taken out": (
        lies.refusal_to_sign_hidden,
        "Event 38, a signature on step 6, by JB, would have been refused: JB has "
        "already signed step 6. Another person must take the next seat: supervisor.",
    ),
    "a refusal to sign that voids nothing": (
        lies.refusal_without_its_consequence,
        "Event 38, a refusal to sign on step 6, must be followed by the fall of a "
        "signature, which is missing.",
    ),
    "a signature taken out": (
        lies.signature_taken_out,
        "Event 47, the end of a step on step 7, stands alone: no act leads to it.",
    ),
    "a signature put in": (
        lies.signature_put_in,
        "Event 12, a signature on step 7, by SH, would have been refused: Step 7 is not "
        "open. Step 3 is not finished: Take this bracket off and read the torque at "
        "which it gave way.",
    ),
    "a slip taken out": (
        lies.correction_hidden,
        "Event 43, an entry on step 7, by SH, would have been refused: There is no "
        "entry 43. Nothing was saved.",
    ),
    "a correction without its reason": (
        lies.reason_of_a_correction_changed,
        "Event 44, an entry on step 7, by SH, would have been refused: Say why the old "
        "value was wrong. Nothing was saved.",
    ),
    "a trouble taken out": (
        lies.trouble_hidden,
        "Event 14, a disposition on step 3, B02, by NA, would have been refused: "
        "Trouble 1 is not open. Nothing was saved.",
    ),
    "a trouble decided by its reporter": (
        lies.trouble_decided_by_its_reporter,
        "Event 15, a disposition on step 3, B02, by JB, would have been refused: JB "
        "reported this trouble. Someone else decides on it.",
    ),
    "a trouble decided otherwise": (
        lies.trouble_used_as_it_is,
        "Event 16, a striking on step 3, does not follow from the act before it.",
    ),
    "a restart by one person": (
        lies.restart_by_one,
        "Event 51, the restart, does not follow from the act before it.",
    ),
    "a restart without looking": (
        lies.restart_without_looking,
        "Event 50, a signature for the restart, by TW, would have been refused: Look "
        "first, then confirm every line. Still open: Load on the supports, hooks slack "
        "but engaged.",
    ),
    "a stop taken out": (
        lies.stop_hidden,
        "Event 49, a signature for the restart, by TW, would have been refused: Work is "
        "not stopped.",
    ),
    "a step left out": (
        lies.step_skipped,
        "Event 35, a signature on step 6, by JB, would have been refused: Step 6 is not "
        "open. Step 5 is not finished: Photograph the bare edge.",
    ),
    "steps in another order": (
        lies.steps_in_another_order,
        "Event 10, an entry on step 5, Edge from 12 o'clock, by AN, would have been "
        "refused: Step 5 is not open. Step 2 is not finished: Read the wind at the mast "
        "panel.",
    ),
    "a tool that is not registered": (
        lies.tool_not_in_the_register,
        "Event 18, an entry on step 3, B03, by JB, would have been refused: TW-99 is "
        "not in the register of tools. Take TW-03 from the tool desk. Nothing was "
        "saved.",
    ),
    "a tool out of its calibration": (
        lies.tool_out_of_its_calibration,
        "Event 12, an entry on step 3, B01, by JB, would have been refused: Torque "
        "wrench TW-03 is past its calibration date, 1 Dec 2026. No other torque wrench "
        "in the register fits. Ask at the tool desk. Nothing was saved.",
    ),
    "someone who was not briefed": (
        lies.someone_not_briefed,
        "Event 42, an entry on step 7, by SH, would have been refused: SH has not been "
        "briefed on this run. Brief SH first, on step 1.",
    ),
    "a stranger": (
        lies.a_stranger_enters,
        "Event 10, an entry on step 2, by XX, would have been refused: XX is not on "
        "this site's list of people. Nothing was saved.",
    ),
    "opened by a technician": (
        lies.opened_by_a_technician,
        "Event 1, the opening, by JB, would have been refused: Only a supervisor or "
        "lead opens a run. Nothing was opened.",
    ),
    "the board told otherwise": (
        lies.board_otherwise_at_the_opening,
        "Event 1, the opening, by TW, would have been refused: QP-4 cannot be opened. "
        "It must be so: brackets 3. The board says: brackets 0.",
    ),
    "a fact set otherwise": (
        lies.fact_set_otherwise,
        "Event 34, the end of a step on step 4, says sets brackets “1”; by the rules it "
        "is brackets “0”.",
    ),
    "a step ended early": (
        lies.step_ended_early,
        "Event 18, the end of a step on step 3, does not follow from the act before it.",
    ),
    "what a signature means": (
        lies.meaning_of_a_signature_changed,
        "Event 37, a signature on step 6, says meaning “I was told that it is so.”; by "
        "the rules it is “Every bracket is off the glass. I have looked all the way "
        "round.”.",
    ),
    "a signed entry without its secret": (
        lies.secret_not_given,
        "Event 21, an entry on step 4, by JB, would have been refused: JB enters this "
        "with their own secret. Nothing was saved.",
    ),
    "the statement of the closing": (
        lies.closing_of_another_act,
        "Event 57, the closing, says statement “All is well.”; by the rules it is “All "
        "8 steps of QP-4 revision 5 are done, and the hardware is left as promised: "
        "load on hooks, brackets 0.”.",
    ),
    "the time of one event": (
        lies.time_of_one_event_of_an_act,
        "Event 11 is of another time than its own act.",
    ),
}

SEALED_TOO = (  # printed and sealed anew as well: the rest differ in nothing but the events
    "a value beyond its limit told as good",
    "a hold released by one who had worked",
)


PLAUSIBLE: tuple[Forgery, ...] = (lies.counter_replaced, lies.first_round_hidden)


@pytest.fixture(scope="module")
def true() -> Sources:
    return a_played_run().sources()


def objections_to(sources: Sources) -> list[str]:
    return [each.sentence for each in replay_sentences(sources) if not each.holds]


def test_a_run_that_was_played_by_the_rules_has_no_objection(true: Sources) -> None:
    assert objections_to(true) == []
    assert chained(envelopes(true.events)) == true.events, "the forger's tools change nothing"


@pytest.mark.parametrize("name", FORGERIES)
def test_a_run_told_otherwise_is_found_by_playing_it_again(true: Sources, name: str) -> None:
    forgery, sentence = FORGERIES[name]

    assert sentence in objections_to(forged(true, forgery))


@pytest.mark.parametrize("name", SEALED_TOO)
def test_the_sites_own_seal_does_not_make_a_forgery_true(
    sealed: Sealed, keys: SiteKeys, renderer: Renderer, name: str
) -> None:
    forgery, sentence = FORGERIES[name]
    data = make_record(forged(sealed.sources, forgery), keys, renderer=renderer)

    report = verify(data, keys.fingerprint)

    assert report.exit_code == 1
    assert sentence in report.sentences
    for holds in ("Nothing changed since it was sealed by", "and end in the head that the pages"):
        assert holds in str(report), "the forgery is not as good as it should be"


@pytest.mark.parametrize("forgery", PLAUSIBLE)
def test_a_lie_that_obeys_every_rule_is_found_beside_the_sites_log_alone(
    sealed: Sealed, keys: SiteKeys, renderer: Renderer, forgery: Forgery
) -> None:
    """What a record cannot show of itself: another run, as good as the true one."""
    data = make_record(forged(sealed.sources, forgery), keys, renderer=renderer)
    log = lines_of(sealed.run.site)

    assert verify(data, keys.fingerprint).ok
    report = verify(data, keys.fingerprint, site_log=log)

    assert report.exit_code == 1
    assert "The site's log has no such site event 11, 12." in report.sentences
    assert any(
        s.startswith("The site's log noted heads of this run") for s in report.sentences
    ) or ("The site's log does not tell that a record of this run was sealed." in report.sentences)
