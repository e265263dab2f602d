"""What a tablet may keep without its link, and how it is judged when it comes."""

from __future__ import annotations

from datetime import timedelta

from app.run.commands import Enter
from app.run.events import EntryMade, from_body, kind_name, to_body
from app.run.keepable import is_keepable
from app.run.refusal import Refusal
from tests.run.stage import Stage

TIMES = {"late": "yes", "made": "", "offset_ms": "0", "by": "age", "jumped": "no"}


def at_the_wind() -> Stage:
    return Stage().briefed()


def take(stage: Stage, command: Enter) -> None:
    stage.must(stage.ask(command))


def late(stage: Stage, minutes: int) -> dict[str, str]:
    return {**TIMES, "estimated": (stage.now - timedelta(minutes=minutes)).isoformat()}


def test_only_what_no_hazard_rests_on_and_nobody_signs_may_wait_on_a_tablet() -> None:
    procedure = Stage().procedure

    keepable = [step.id for step in procedure.steps if is_keepable(procedure, step)]

    assert keepable == ["wind", "doors"]  # the brackets are a hazard's fact; the rest is signed


def test_an_entry_that_was_kept_is_refused_where_none_may_be() -> None:
    stage = at_the_wind()
    take(stage, Enter(by="AB", step="wind", values={"value": "4.0"}, seen=stage.state.seq))
    entry = Enter(
        by="AB", step="brackets-off", part="B01", values={"result": "off"},
        seen=stage.state.seq, tablet=late(stage, 1),
    )  # fmt: skip

    refusal = stage.ask(entry)

    assert isinstance(refusal, Refusal)
    assert refusal.sentence == ("Step 3 is entered with a link to the recorder. Nothing was saved.")


def test_a_reading_that_was_kept_is_as_old_as_it_was_on_the_tablet() -> None:
    stage = at_the_wind()

    take(stage,
        Enter(
            by="AB", step="wind", values={"value": "4.0"}, seen=stage.state.seq,
            tablet=late(stage, 20),
        )
    )  # fmt: skip

    assert stage.board.readings["gust"].at == stage.now - timedelta(minutes=20)
    (entry,) = stage.state.progress("wind").entries
    assert entry.at == stage.now
    assert entry.estimated == stage.now - timedelta(minutes=20)


def test_a_tablets_own_entry_before_is_no_conflict_but_anothers_is() -> None:
    stage = at_the_wind()
    seen = stage.state.seq
    high = {"value": "12.0"}
    take(stage, Enter(by="AB", step="wind", values=high, seen=seen, tablet=late(stage, 3)))
    own = (stage.state.seq,)

    alone = stage.ask(Enter(by="AB", step="wind", values=high, seen=seen, tablet=late(stage, 2)))
    chained = stage.ask(
        Enter(by="AB", step="wind", values=high, seen=seen, own=own, tablet=late(stage, 2))
    )
    take(stage, Enter(by="KM", step="wind", values=high, seen=stage.state.seq))
    behind = stage.ask(
        Enter(by="AB", step="wind", values=high, seen=seen, own=own, tablet=late(stage, 1))
    )

    assert isinstance(alone, Refusal)
    assert alone.code == "conflict.tablet"
    assert not isinstance(chained, Refusal)
    assert isinstance(behind, Refusal)
    assert "KM recorded step 2" in behind.sentence


def test_an_entry_that_was_not_kept_is_written_as_before() -> None:
    stage = at_the_wind()
    answer = stage.ask(Enter(by="AB", step="wind", values={"value": "4.0"}, seen=stage.state.seq))
    assert not isinstance(answer, Refusal)
    made = answer[0]

    assert "tablet" not in to_body(made)
    assert from_body(kind_name(made), to_body(made)) == made
    kept = EntryMade(**{**to_body(made), "tablet": late(stage, 1)})
    assert from_body("EntryMade", to_body(kept)) == kept
