"""The list of all steps is kept from act to act; it must say what a list made anew would say."""

from __future__ import annotations

from dataclasses import astuple, replace
from random import Random

from app.run.events import (
    Event,
    Happened,
    SeatSigned,
    StepDone,
    StepReopened,
    StepsPassedOver,
    TroubleDisposed,
    TroubleReported,
)
from app.run.scene import Scene
from app.run.state import evolve
from app.web.pages import lines_drawn
from app.web.views import steps
from tests.web.test_templates import QP4, At, bench, qp4_scene

PEOPLE = At(("JB",), "JB")
ACTS = 400


def an_event(lots: Random) -> Event:
    step = lots.choice(QP4.steps).id
    number = lots.randint(1, 9)
    made: list[Event] = [
        StepDone(step=step, sets={}),
        StepDone(step=step, sets={}),
        StepReopened(step=step, reason="Done again."),
        SeatSigned(step=step, seat=0, role="technician", meaning="", how=""),
        StepsPassedOver(step=step, taken="no", steps=(lots.choice(QP4.steps).id,)),
        TroubleReported(trouble=number, step=step, part="", text="It leans."),
        TroubleDisposed(trouble=number, step=step, part="", disposition="redo", reason="Again."),
    ]
    return lots.choice(made)


def after(scene: Scene, event: Event) -> Scene:
    happened = Happened(seq=scene.state.seq + 1, at=scene.now, by="JB", event=event)
    return replace(scene, state=evolve(scene.state, happened))


def told(scene: Scene, step: str) -> list[object]:
    return [astuple(section) for section in bench(scene, PEOPLE, step).sections]


def anew(scene: Scene, step: str) -> list[object]:
    kept = dict(steps._KEPT)
    steps._KEPT.clear()
    found = told(scene, step)
    steps._KEPT.clear()
    steps._KEPT.update(kept)
    return found


def test_whatever_happens_the_kept_list_says_what_a_new_one_says() -> None:
    lots, scene = Random(4), qp4_scene()
    steps._KEPT.clear()

    for _ in range(ACTS):
        scene = after(scene, an_event(lots))
        step = lots.choice(QP4.steps).id
        assert told(scene, step) == anew(scene, step)


def test_another_text_for_the_run_makes_the_list_anew() -> None:
    scene = qp4_scene()
    told(scene, QP4.steps[0].id)
    first = replace(QP4.sections[0].steps[0], do="Another first step.")
    section = replace(QP4.sections[0], steps=(first, *QP4.sections[0].steps[1:]))
    changed = replace(scene, procedure=replace(QP4, sections=(section, *QP4.sections[1:])))

    assert "Another first step." in str(told(changed, first.id))


def test_only_lines_that_changed_are_drawn_anew() -> None:
    scene = qp4_scene()
    step = QP4.steps[0].id
    before = bench(scene, PEOPLE, step).sections
    later = bench(after(scene, StepDone(step=QP4.steps[5].id, sets={})), PEOPLE, step).sections

    same = [
        a is b
        for one, other in zip(before, later, strict=True)
        for a, b in zip(one.steps, other.steps, strict=True)
    ]

    assert same.count(False) == 2  # the one that was done, and the one that is shown
    assert "&lt;" in lines_drawn([replace(before[0].steps[1], do="<b>")])


def test_a_run_opened_again_under_another_state_is_followed() -> None:
    scene = qp4_scene(before=QP4.steps[9])
    told(scene, QP4.steps[0].id)
    fresh = qp4_scene()

    assert told(fresh, QP4.steps[0].id) == anew(fresh, QP4.steps[0].id)
