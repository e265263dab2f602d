"""The desk keeps what was decided, once, and finds everything again after a restart."""

from __future__ import annotations

import asyncio
from pathlib import Path

from app.desk.desk import Desk
from app.desk.seen import Done
from app.desk.shelf import happened
from app.ledger.stored import SITE as SITE_STREAM
from app.run.commands import Command, Enter, Sign, StopWork
from app.run.refusal import Refusal
from app.run.state import fold
from tests.desk.conftest import SECRETS, Clock


def opened(desk: Desk) -> str:
    """Open a run and return its number."""
    answer = asyncio.run(
        desk.open_run("QP-9", by="SL", secret=SECRETS["SL"], key="k-open", device="t1")
    )
    assert isinstance(answer, Done), answer
    return answer.seen.state.run


def act(desk: Desk, run: str, command: Command, key: str) -> Done | Refusal:
    """Do an act that needs no secret."""
    return asyncio.run(desk.act(run, command, key=key, device="t1"))


def sign(desk: Desk, run: str, command: Command, key: str, secret: str = "") -> Done | Refusal:
    """Do an act with the person's own secret."""
    return asyncio.run(
        desk.sign_act(run, command, secret=secret or SECRETS[command.by], key=key, device="t1")
    )


def brief(desk: Desk, run: str) -> None:
    """Brief the crew."""
    for person in ("AB", "KM", "RS", "SL"):
        command = Enter(by=person, step="brief", part=person, seen=1)
        assert isinstance(sign(desk, run, command, f"k-brief-{person}"), Done)
    seen = desk.run(run)
    assert seen is not None
    signing = Sign(by="SL", step="brief", signed=False, seen=seen.state.seq)
    assert isinstance(sign(desk, run, signing, "k-brief-sign"), Done)


def events(desk: Desk, run: str) -> list[str]:
    """Return the kinds of a run's events."""
    return [each.kind for each in desk.ledger.read(f"run/{run}")]


def test_the_state_at_hand_is_the_fold_of_what_is_kept(desk: Desk) -> None:
    run = opened(desk)
    brief(desk, run)
    act(desk, run, Enter(by="AB", step="wind", values={"value": "3.0"}, seen=99), "k1")

    seen = desk.run(run)

    assert seen is not None
    assert seen.state == fold(happened(each) for each in desk.ledger.read(f"run/{run}"))


def test_a_key_sent_twice_is_answered_twice_and_kept_once(desk: Desk) -> None:
    run = opened(desk)
    brief(desk, run)
    command = Enter(by="AB", step="wind", values={"value": "3.0"}, seen=99)

    first, second = (act(desk, run, command, "k1") for _ in range(2))

    assert isinstance(first, Done)
    assert isinstance(second, Done)
    assert first.seqs == second.seqs
    assert events(desk, run).count("EntryMade") == 5  # four at the briefing, one reading


def test_a_key_used_for_something_else_is_refused_and_only_the_refusal_is_kept(desk: Desk) -> None:
    run = opened(desk)
    brief(desk, run)
    act(desk, run, Enter(by="AB", step="wind", values={"value": "3.0"}, seen=99), "k1")
    before = len(events(desk, run))

    answer = act(desk, run, Enter(by="AB", step="wind", values={"value": "4.0"}, seen=99), "k1")

    assert isinstance(answer, Refusal)
    assert answer.code == "key.reused"
    assert events(desk, run)[before:] == ["ActRefused"]


def test_a_wrong_secret_signs_nothing_and_is_kept_as_a_refusal(desk: Desk) -> None:
    run = opened(desk)
    before = len(events(desk, run))
    command = Enter(by="AB", step="brief", part="AB", seen=1)

    answer = sign(desk, run, command, "k1", "not-the-secret")

    assert isinstance(answer, Refusal)
    assert answer.code == "pin.wrong"
    assert events(desk, run)[before:] == ["ActRefused"]
    assert "not-the-secret" not in str(desk.ledger.read(f"run/{run}"))


def test_everything_is_found_again_after_a_restart(desk: Desk, folder: Path, clock: Clock) -> None:
    run = opened(desk)
    brief(desk, run)
    act(desk, run, StopWork(by="AB", text="noise"), "k-stop")
    before = desk.run(run)
    desk.close()

    again = Desk.open(folder, clock=clock)

    assert before is not None
    assert again.run(run) == before
    assert again.released() == desk.released()
    again.close()


def test_a_run_that_was_opened_stands_in_the_sites_stream_too(desk: Desk) -> None:
    run = opened(desk)

    told = [e for e in desk.ledger.read(SITE_STREAM) if e.kind == "RunOpened"]

    assert [each.body["run"] for each in told] == [run]


def test_a_second_run_on_the_same_mirror_is_refused(desk: Desk) -> None:
    opened(desk)

    answer = asyncio.run(
        desk.open_run("QP-9", by="SL", secret=SECRETS["SL"], key="k2", device="t1")
    )

    assert isinstance(answer, Refusal)
    assert answer.code == "open.other"


def test_a_key_that_opened_a_run_opens_nothing_else(desk: Desk) -> None:
    opened(desk)

    answer = asyncio.run(
        desk.open_run("QP-9", by="HL", secret=SECRETS["HL"], key="k-open", device="t1")
    )

    assert isinstance(answer, Refusal)
    assert answer.code == "key.reused"


def test_whoever_watches_is_woken_when_something_happens(desk: Desk) -> None:
    run = opened(desk)

    async def watch_and_stop() -> tuple[bool, bool]:
        seen = desk.run(run)
        assert seen is not None
        watching = asyncio.create_task(desk.wait(run, seen.state.seq, 5))
        await asyncio.sleep(0.05)
        await desk.act(run, StopWork(by=""), key="k-stop", device="t1")
        moved = await watching
        stopped = desk.run(run)
        assert stopped is not None
        return moved, await desk.wait(run, stopped.state.seq, 0.05)

    assert asyncio.run(watch_and_stop()) == (True, False)


def test_two_people_declare_the_hardware_and_the_board_follows(desk: Desk) -> None:
    answer = asyncio.run(
        desk.declare(
            "primary",
            {"brackets": 0},
            "Refitted by hand",
            by="HL",
            second="SL",
            device="t1",
            key="k1",
        )
    )

    assert not isinstance(answer, Refusal)
    assert answer.value("brackets") == 0


def test_one_person_does_not_declare_the_hardware_alone(desk: Desk) -> None:
    answer = asyncio.run(
        desk.declare(
            "primary", {"brackets": 0}, "Refitted", by="HL", second="HL", device="t1", key="k1"
        )
    )

    assert isinstance(answer, Refusal)
    assert answer.code == "board.two_people"
