"""Going to the safe side takes one person; leaving it takes two. A run closes only when all is done."""

from __future__ import annotations

from dataclasses import replace

from app.run.board import declare
from app.run.commands import Close, Resume, SignRestart, StopWork, Suspend
from app.run.events import Event, RunClosed
from app.run.pausing import last_state_lines, make_safe_lines
from app.run.refusal import Refusal
from tests.run.stage import Stage, refused


def restart(
    stage: Stage, by: str, *, lines: tuple[str, ...] | None = None
) -> list[Event] | Refusal:
    """Let someone sign the restart."""
    safe = make_safe_lines(stage.procedure, stage.state) if lines is None else lines
    return stage.ask(SignRestart(by=by, confirmed=safe, reason="Cleared.", signed=True))


def test_anyone_stops_work_even_nobody_in_particular() -> None:
    stage = Stage()

    stage.must(stage.ask(StopWork(by="")))

    assert stage.state.stop is not None


def test_nothing_goes_on_while_work_is_stopped() -> None:
    stage = Stage().briefed()
    stage.must(stage.ask(StopWork(by="AB", text="Noise from the crane")))

    assert refused(stage.enter("AB", "wind", value="3.0")).code == "run.stopped"
    assert refused(stage.sign("SL", "brief")).code == "run.stopped"


def test_one_person_does_not_restart() -> None:
    stage = Stage()
    stage.must(stage.ask(StopWork(by="AB")))

    stage.must(restart(stage, "SL"))

    assert stage.state.stop is not None
    assert refused(restart(stage, "SL")).code == "restart.same_person"


def test_two_people_restart_one_of_whom_may() -> None:
    stage = Stage()
    stage.must(stage.ask(StopWork(by="AB")))
    stage.must(restart(stage, "AB"))
    stage.must(restart(stage, "KM"))
    assert stage.state.stop is not None  # two technicians do not

    stage.must(restart(stage, "SL"))

    assert stage.state.stop is None


def test_every_make_safe_line_is_confirmed_first() -> None:
    stage = Stage().held()
    stage.must(stage.ask(StopWork(by="AB")))

    answer = refused(restart(stage, "SL", lines=("Load on the supports.",)))

    assert answer.code == "typed.restart.lines"
    assert answer.sentence == (
        "Look first, then confirm every line. Still open: Lower to the supports."
    )


def test_a_second_stop_voids_the_restart_signatures_so_far() -> None:
    stage = Stage()
    stage.must(stage.ask(StopWork(by="AB")))
    stage.must(restart(stage, "SL"))

    stage.must(stage.ask(StopWork(by="KM")))
    stage.must(restart(stage, "KM"))

    assert stage.state.stop is not None


def test_work_is_left_only_at_a_safe_point() -> None:
    stage = Stage().briefed()
    stage.must(stage.ask(Suspend(by="SL", state="All on the cell.", signed=True)))
    assert stage.state.status == "suspended"

    unsafe = Stage().unfastened()
    answer = refused(unsafe.ask(Suspend(by="SL", state="Half off.", signed=True)))
    assert answer.code == "suspend.unsafe"


def test_work_is_not_left_in_the_middle_of_a_step() -> None:
    stage = Stage().briefed()
    stage.must(stage.enter("AB", "wind", value="9.9"))

    assert refused(stage.ask(Suspend(by="SL", state="x", signed=True))).code == "suspend.unsafe"


def test_suspended_work_goes_on_only_after_each_line_was_looked_at() -> None:
    stage = Stage().briefed()
    stage.must(stage.ask(Suspend(by="SL", state="Cover is on.", signed=True)))
    assert refused(stage.enter("AB", "wind", value="3.0")).code == "run.suspended"
    lines = last_state_lines(stage.procedure, stage.state, stage.board)
    assert "It was left so: Cover is on." in lines

    answer = refused(stage.ask(Resume(by="SL", confirmed=lines[:-1], signed=True)))
    assert answer.code == "typed.resume.lines"

    stage.must(stage.ask(Resume(by="SL", confirmed=lines, signed=True)))
    stage.must(stage.enter("AB", "wind", value="3.0"))


def close(stage: Stage, by: str = "SL") -> list[Event] | Refusal:
    """Let someone close the run."""
    return stage.ask(Close(by=by, signed=True, seen=stage.state.seq))


def test_a_run_is_closed_when_every_step_is_done_and_the_hardware_is_as_promised() -> None:
    stage = Stage().lifted()

    stage.must(close(stage))

    assert stage.state.status == "closed"
    assert refused(stage.enter("AB", "wind", value="3.0")).code == "run.closed"


def test_a_run_with_a_step_left_stays_open() -> None:
    answer = refused(close(Stage().held()))

    assert answer.code == "close.step"
    assert answer.sentence == (
        "Step 8 is not done: Take the load on the hooks. The run stays open."
    )


def test_a_run_is_not_closed_while_the_hardware_is_not_as_promised() -> None:
    stage = Stage().lifted()
    stage.board = declare(stage.board, {"load_on": "cell"}, stage.now)

    answer = refused(close(stage))

    assert answer.code == "close.leaves"
    assert answer.sentence == (
        "The run cannot be closed. It must be so: load on hooks. The board says: load on cell."
    )


def test_a_technician_does_not_close_a_run() -> None:
    assert refused(close(Stage().lifted(), "AB")).code == "ability"


def test_a_run_is_opened_only_when_the_hardware_is_as_the_procedure_starts() -> None:
    first = Stage().lifted()
    second = Stage(opened=False)

    assert first.board.value("load_on") == "hooks"
    answer = second.try_open(first.board)

    assert refused(answer).code == "open.starts_with"
    assert refused(answer).sentence == (
        "QP-9 cannot be opened. It must be so: load on cell. The board says: load on hooks."
    )


def test_no_second_run_is_opened_on_the_same_hardware() -> None:
    stage = Stage()

    answer = refused(stage.try_open(stage.board, others=(stage.state,)))

    assert answer.code == "open.other"


def test_a_technician_does_not_open_a_run() -> None:
    stage = Stage(opened=False)

    assert refused(stage.try_open(stage.board, by="AB")).code == "open.role"


def test_a_run_is_not_closed_over_what_a_tablet_holds_back_unless_someone_says_why() -> None:
    stage = Stage().lifted()
    unsent = ("Tablet a1b2 last reported 3 unsent entries at 14:02:11 UTC.",)
    command = Close(by="SL", signed=True, seen=stage.state.seq, unsent=unsent)

    answer = refused(stage.ask(command))
    closed = stage.ask(replace(command, reason="The tablet fell and is broken."))

    assert answer.code == "close.unsent"
    assert answer.sentence == (
        "Tablet a1b2 last reported 3 unsent entries at 14:02:11 UTC. Nothing was closed. "
        "Bring the tablet into the link, or say why the run is closed without them."
    )
    assert not isinstance(closed, Refusal)
    (event,) = closed
    assert isinstance(event, RunClosed)
    assert event.statement.endswith(
        "Closed over this: Tablet a1b2 last reported 3 unsent entries at 14:02:11 UTC. "
        "The tablet fell and is broken."
    )
