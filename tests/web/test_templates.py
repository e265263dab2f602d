"""The pages of a run: every kind can be drawn, nothing stands inline, a blind card tells nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import timedelta

import pytest

from app.desk.seen import Seen
from app.procedure.loader import load_procedure, load_site
from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.run.board import first_board, post
from app.run.crew import Crew, Person
from app.run.events import EntryMade, Event, Happened, RunOpened, StepDone, WorkStopped
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.state import RunState, evolve
from app.settings import data_folder
from app.web.pages import templates
from app.web.views.bench import BenchView, bench_view
from app.web.views.hold import countersign_view, holds_view
from tests.run.stage import START, TEXT, Stage

SECRET_COUNT, OTHER_COUNT = "7346", "8129"
BLIND = TEXT.replace("expect = 0", f"expect = {SECRET_COUNT}")
# Attributes and elements that a strict content policy stops: the page must not need them.
INLINE = re.compile(
    r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=|javascript:|hx-on", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class At:
    """Who is at a tablet."""

    people: tuple[str, ...]
    entering: str


def qp4() -> Procedure:
    folder = data_folder("procedures")
    site, _ = load_site((folder / "site.toml").read_bytes(), "site.toml")
    assert site is not None
    procedure, faults = load_procedure((folder / "QP-4.toml").read_bytes(), "QP-4.toml", site)
    assert procedure is not None, [str(fault) for fault in faults]
    return procedure


QP4 = qp4()


def qp4_scene(*events: Event, before: Step | None = None) -> Scene:
    """Return QP-4 with every step before one done, and these events after that."""
    done = [s for s in QP4.steps if before is not None and s.number < before.number]
    opened = RunOpened(
        run="R-0001",
        procedure=QP4.id,
        revision=QP4.revision,
        title=QP4.title,
        sha256=QP4.sha256,
        asset=QP4.asset.id,
        facts={},
    )
    told: list[Event] = [opened]
    for step in done:
        told += [_spoke(step)] if kind_of(step).presence else []
        told.append(StepDone(step=step.id, sets=step.sets))
    told += events
    state, board = RunState(), first_board(QP4.asset)
    for number, event in enumerate(told, start=1):
        at = START + timedelta(seconds=number)
        happened = Happened(seq=number, at=at, by="JB", event=event)
        state, board = evolve(state, happened), post(board, "R-0001", happened)
    roles = sorted({role for step in QP4.steps for role in step.seats})
    people = {"JB": Person(id="JB", name="Joaquin Belmarez", roles=frozenset(roles))}
    crew = Crew(people=people, abilities={role: frozenset({"perform"}) for role in roles})
    return Scene(procedure=QP4, state=state, board=board, crew=crew, now=START + timedelta(hours=1))


def _spoke(brief: Step) -> EntryMade:
    """Return that JB said at the briefing that they were there."""
    return EntryMade(
        step=brief.id,
        part="JB",
        seat=-1,
        round=1,
        values={},
        computed={},
        readings={},
        verdict="good",
        saying="JB is here.",
        signed=True,
        replaces=0,
    )


def bench(
    scene: Scene,
    at: At,
    step: str = "",
    refusal: Refusal | None = None,
    typed: dict[str, str] | None = None,
) -> BenchView:
    seen = Seen(state=scene.state, procedure=scene.procedure, board=scene.board)
    circumstances = scene.circumstances(at.entering, blind=True)
    return bench_view(
        seen, circumstances, scene.crew, at, scene.now, step, refusal=refusal, typed=typed
    )


def drawn(view: object, template: str = "run/page.html") -> str:
    frame = getattr(view, "frame", None)
    return (
        templates()
        .get_template(template)
        .render(view=view, frame=frame, theme="day", size="plain", tablet=None, session=None)
    )


@pytest.mark.parametrize("step", QP4.steps, ids=lambda step: step.id)
def test_every_step_can_be_drawn_open_and_shut_and_done(step: Step) -> None:
    at = At(("JB",), "JB")
    last = QP4.steps[-1]
    stages = {
        "shut": bench(qp4_scene(), at, step.id),
        "open": bench(qp4_scene(before=step), at, step.id),
        "done": bench(qp4_scene(StepDone(step=last.id, sets=last.sets), before=last), at, step.id),
    }
    for stage, view in stages.items():
        page = drawn(view)
        assert step.do in _plain(page), stage
        assert QP4.safe_state in _plain(page), stage
        assert INLINE.findall(page) == [], stage


@pytest.mark.parametrize("step", QP4.steps[1:], ids=lambda step: step.id)
def test_a_shut_step_can_be_read_and_has_nothing_to_type_or_press(step: Step) -> None:
    view = bench(qp4_scene(), At(("JB",), "JB"), step.id)
    page = drawn(view)

    assert view.bar.off
    assert view.shut
    assert view.shut[0].sentence in _plain(page)
    assert "hx-post" not in page
    assert re.findall(r'<input(?![^>]*type="hidden")', page) == []


def test_one_act_and_no_more_can_be_sent_from_a_page() -> None:
    open_steps = 0
    for step in QP4.steps:
        page = drawn(bench(qp4_scene(before=step), At(("JB",), "JB"), step.id))
        assert page.count("hx-post") <= 1, step.id
        assert page.count("hx-trigger") == page.count('hx-trigger="held"'), step.id
        open_steps += page.count("hx-post")

    assert open_steps > len(QP4.steps) / 2  # the others wait for a reading, or for a countersigner


def test_what_was_typed_stays_after_a_refusal_and_the_sentence_stands_above_the_bar() -> None:
    stage = Stage().briefed()
    refusal = Refusal(code="typed.slip", sentence="Type 1.234 or 1234.", who="AB", where="here")
    page = drawn(
        bench(stage.scene(), At(("AB",), "AB"), "wind", refusal=refusal, typed={"value": "1,234"})
    )

    assert 'value="1,234"' in page
    assert "Type 1.234 or 1234." in page
    assert re.search(r'id="told"[^>]*tabindex="-1"[^>]*data-told', page)


def test_text_from_people_is_escaped() -> None:
    stage = Stage().briefed()
    refusal = Refusal(code="x", sentence="<script>alert(1)</script>")
    page = drawn(bench(stage.scene(), At(("AB",), "AB"), "wind", refusal=refusal))

    assert "<script>alert" not in page


def test_a_blind_count_shows_neither_what_is_expected_nor_what_others_found() -> None:
    stage = Stage(BLIND).unfastened()
    stage.wait(minutes=3)
    stage.must(stage.enter("AB", "count", signed=True, count=OTHER_COUNT))
    stage.wait(minutes=3)

    for person in ("AB", "KM", "RS", "SL", "HL"):
        for step in ("", "count", "gap", "hold"):
            page = drawn(bench(stage.scene(), At((person,), person), step))
            assert SECRET_COUNT not in page, (person, step)
            assert OTHER_COUNT not in page, (person, step)


def test_counts_of_an_ended_round_stay_hidden_until_all_agree() -> None:
    stage = Stage(BLIND).unfastened().counted(SECRET_COUNT, OTHER_COUNT, SECRET_COUNT)

    for person in ("AB", "KM", "SL"):
        page = drawn(bench(stage.scene(), At((person,), person), "count"))
        assert SECRET_COUNT not in page, person
        assert OTHER_COUNT not in page, person
        assert "does it again, alone" in page, person


def test_counts_are_shown_once_they_agree() -> None:
    stage = Stage(BLIND).unfastened().counted(SECRET_COUNT, SECRET_COUNT, SECRET_COUNT)
    page = drawn(bench(stage.scene(), At(("AB",), "AB"), "count"))

    assert stage.done("count")
    assert page.count(SECRET_COUNT) >= 3


def test_struck_entries_stay_on_the_page_with_their_reason() -> None:
    stage = Stage().unfastened()
    entry = next(e for e in stage.state.progress("wind").entries)
    stage.must(stage.ask_correction("AB", entry.number, "Read the wrong gauge.", value="4.5"))
    view = bench(stage.scene(), At(("AB",), "AB"), "wind")

    assert [(line.struck, line.note) for line in view.entries] == [
        (False, ""),
        (True, "Read the wrong gauge."),
    ]
    assert view.entries[0].correct.endswith("/correct")
    assert view.entries[1].correct == ""
    assert "Read the wrong gauge." in drawn(view)


def test_a_stop_shows_what_to_do_and_who_stopped() -> None:
    stage = Stage().unfastened()
    happened = Happened(
        seq=stage.state.seq + 1, at=stage.now, by="RS", event=WorkStopped(text="A scrape.")
    )
    stage.state = evolve(stage.state, happened)
    view = bench(stage.scene(), At(("AB",), "AB"))
    page = drawn(view)

    assert "hx-post" not in page
    assert "Load on the supports." in view.make_safe
    assert "A scrape." in page
    assert re.search(r'<section id="halt"[^>]*hidden', page) is None


def test_a_hold_is_read_with_its_evidence_and_nothing_is_chosen_beforehand() -> None:
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="1.5"))
    stage.must(stage.sign("AB", "gap"))
    stage.must(stage.sign("SL", "gap"))
    stage.must(stage.sign("KM", "hold"))
    seen = Seen(state=stage.state, procedure=stage.procedure, board=stage.board)
    at = stage.scene().circumstances("HL", blind=True)
    view = countersign_view(seen, at, stage.crew, At(("HL",), "HL"), stage.now, "hold")
    page = drawn(view, "hold/countersign.html")

    assert "All brackets are off." in page
    assert [each.title.split(".")[0] for each in view.evidence] == ["Step 2", "Step 3", "Step 5"]
    assert all(each.lines for each in view.evidence)
    assert view.off == ""
    assert " checked" not in page
    assert [person for person, _ in view.chooser.people] == ["HL"]
    assert INLINE.findall(page) == []


def test_whoever_performed_cannot_countersign_and_is_told_why() -> None:
    stage = Stage().unfastened().counted()
    seen = Seen(state=stage.state, procedure=stage.procedure, board=stage.board)
    at = stage.scene().circumstances("KM", blind=True)
    view = countersign_view(seen, at, stage.crew, At(("KM",), "KM"), stage.now, "hold")

    assert view.off
    assert "hx-post" not in drawn(view, "hold/countersign.html")


def test_the_queue_names_the_holds_that_wait() -> None:
    stage = Stage().unfastened().counted()
    stage.must(stage.enter("AB", "gap", value="1.5"))
    stage.must(stage.sign("AB", "gap"))
    stage.must(stage.sign("SL", "gap"))
    stage.wait(minutes=11)
    seen = Seen(state=stage.state, procedure=stage.procedure, board=stage.board)
    view = holds_view([seen], stage.crew, At(("HL",), "HL"), stage.now)
    page = drawn(view, "hold/queue.html")

    assert view.answer == "1 hold waits"
    assert view.holds[0].since == "11 min"
    assert "Load on the cell" in page
    assert INLINE.findall(page) == []


def test_a_step_of_each_kind_shows_what_was_entered_on_it() -> None:
    reading = next(step for step in QP4.steps if step.kind == "reading")
    made = EntryMade(
        step=reading.id,
        part="",
        seat=-1,
        round=1,
        values={"value": "19.5"},
        computed={"value": "19.5"},
        readings={},
        verdict="good",
        saying="19.5 is in limits.",
        signed=False,
        replaces=0,
    )
    view = bench(qp4_scene(made, before=reading), At(("JB",), "JB"), reading.id)

    assert kind_of(reading).name == "reading"
    assert "19.5" in _plain(drawn(view))


def _plain(page: str) -> str:
    return page.replace("&#39;", "'").replace("&#34;", '"').replace("&amp;", "&")
