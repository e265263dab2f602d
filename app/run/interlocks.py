"""The interlocks: what must be true before a step may be taken, each with its sentence.

The run asks `why_shut` before every act. The predicates of order and of facts stand in `locks`,
where the proof asks the very same ones. An empty answer means that the step is open. Interlocks of time (a reading's age, a deadline) bind the act itself, not
the signatures that look at it afterwards.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal

from app.calculations.quantity import Quantity
from app.procedure.model import FactTest, FactValue, Fresh, Step, Within
from app.run.board import Board, ReadingNow
from app.run.locks import after_locks, order_lock, unmet
from app.run.refusal import Refusal
from app.run.safe_points import withdrawn_shut
from app.run.scene import Scene


class _OnTheBoard:
    """The standing of a run: its own state, and the board."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene

    def is_done(self, step: str) -> bool:
        begun = self._scene.state.steps
        return step in begun and begun[step].settled

    def value(self, fact: str) -> FactValue | None:
        return self._scene.board.value(fact)


def why_shut(scene: Scene, step: Step, *, act: bool = True) -> tuple[Refusal, ...]:
    """Return everything that keeps a step shut now; nothing, if it is open.

    Args:
        scene: what is known now.
        step: the step asked about.
        act: whether the act itself is meant; False for a signature after it.
    """
    passed = tuple(_not_taken(scene, step))
    if passed:
        return passed  # what else would keep it shut does not matter
    found = [*_run_shut(scene)]
    found += [*_order(scene, step), *_trouble(scene, step), *_after(scene, step)]
    found += [*_needs(scene, step), *_confirms(scene, step), *_people(scene, step)]
    if act:
        found += [*_fresh(scene, step), *_within(scene, step)]
    return tuple(found)


def is_next(scene: Scene, step: Step) -> bool:
    """Say whether order alone would let the step be taken."""
    return not any(_order(scene, step))


def run_shut(scene: Scene) -> Refusal | None:
    """Return why nothing at all may go on in the run, or None."""
    return next(_run_shut(scene), None)


def _run_shut(scene: Scene) -> Iterator[Refusal]:
    state = scene.state
    if state.status == "none":
        yield Refusal(code="run.none", sentence="This run was never opened.", where="Today")
    if state.status == "closed":
        ended = "was abandoned" if state.abandoned is not None else "is closed"
        yield Refusal(
            code="run.closed",
            sentence=f"Run {state.run} {ended}. Its record can be read, not changed.",
            where="Records",
        )
    if state.status == "suspended":
        yield Refusal(
            code="run.suspended",
            sentence="Work is suspended. Confirm the last state by looking, then resume.",
            who=scene.crew.who_may("restart"),
            where="the run's page",
        )
    if state.stop is not None:
        yield Refusal(
            code="run.stopped",
            sentence=(
                f"Work is stopped since {state.stop.at:%H:%M:%S} UTC. "
                "Two people restart it, one of them "
                f"{scene.crew.who_may('restart')}."
            ),
            who=scene.crew.who_may("restart"),
            where="the stop page",
        )
    withdrawn = withdrawn_shut(scene) if state.status in ("open", "suspended") else None
    if withdrawn is not None:
        yield withdrawn


def _not_taken(scene: Scene, step: Step) -> Iterator[Refusal]:
    chosen = scene.procedure.step(scene.state.progress(step.id).passed_by)
    if chosen is not None:
        yield Refusal(
            code="order.not_taken",
            sentence=(
                f"Step {step.number} is not taken: step {chosen.number} chose another way. "
                "Nothing was saved."
            ),
            where=f"step {chosen.number}",
            step=step.id,
        )


def _order(scene: Scene, step: Step) -> Iterator[Refusal]:
    earlier = order_lock(scene.procedure, step, _OnTheBoard(scene))
    if earlier is not None:
        yield Refusal(
            code="order.not_open",
            sentence=(
                f"Step {step.number} is not open. Step {earlier.number} is not finished: "
                f"{_still(scene, earlier)}"
            ),
            where=f"step {earlier.number}",
            step=step.id,
        )


def _still(scene: Scene, step: Step) -> str:
    progress = scene.state.progress(step.id)
    if progress.reopened:
        return progress.reopened
    signed = len(progress.signatures)
    if 0 < signed < len(step.seats):
        return f"{signed} of {len(step.seats)} have signed."
    return step.do


def _trouble(scene: Scene, step: Step) -> Iterator[Refusal]:
    for trouble in scene.state.open_troubles(step.id):
        part = f" {trouble.part}" if trouble.part else ""
        yield Refusal(
            code="trouble.open",
            sentence=(
                f"Step {step.number}{part} has a trouble, reported {trouble.at:%H:%M} UTC by "
                f"{trouble.by}: “{trouble.text}” Someone else must decide on it first."
            ),
            who=scene.crew.who_may("release-hold"),
            where=f"trouble {trouble.number}",
            step=step.id,
        )


def _after(scene: Scene, step: Step) -> Iterator[Refusal]:
    for name in after_locks(scene.procedure, step, _OnTheBoard(scene)):
        other = scene.procedure.step(name)
        if other is not None:
            yield Refusal(
                code="order.after",
                sentence=(
                    f"Step {step.number} is not open. "
                    f"Step {other.number} must be done first: {other.do}"
                ),
                where=f"step {other.number}",
                step=step.id,
            )


def _needs(scene: Scene, step: Step) -> Iterator[Refusal]:
    for test in unmet(step.needs, _OnTheBoard(scene)):
        yield _fact_refusal(scene, step, test, "needs.fact")


def _confirms(scene: Scene, step: Step) -> Iterator[Refusal]:
    for test in unmet(step.confirms, _OnTheBoard(scene)):
        yield _fact_refusal(scene, step, test, "confirms.fact")


def fact_sentence(board: Board, test: FactTest) -> str:
    """Return what the board says of a fact that does not meet a condition."""
    now = board.facts.get(test.fact)
    name = test.fact.replace("_", " ")
    if now is None or now.value is None:
        since = f": the step that made it so, {now.step}, was opened again" if now else ""
        return f"It must be so: {test.words()}. The board is in doubt of {name}{since}."
    return f"It must be so: {test.words()}. The board says: {name} {now.value}."


def _fact_refusal(scene: Scene, step: Step, test: FactTest, code: str) -> Refusal:
    if step.check == "independent":
        # What must be so is what they are about to find out for themselves: it is not named.
        name = test.fact.replace("_", " ")
        said = f"The board does not agree with what this step will confirm of {name}."
    else:
        said = fact_sentence(scene.board, test)
    makers = [s for s in scene.procedure.steps if test.fact in s.sets and s.number < step.number]
    where = f"step {makers[-1].number}" if makers else "the board"
    return Refusal(
        code=code,
        sentence=f"Step {step.number} is not open. {said}",
        where=where,
        step=step.id,
    )


def _people(scene: Scene, step: Step) -> Iterator[Refusal]:
    briefed = scene.briefed()
    for role in step.present:
        if not any(role in scene.crew.roles(person) for person in briefed):
            yield Refusal(
                code="people.present",
                sentence=f"Step {step.number} is not open. No {role} is briefed and present.",
                who=role,
                where="the briefing",
                step=step.id,
            )
    for area in step.absent:
        reading = scene.board.readings.get(area)
        if reading is None or reading.value != "0":
            yield Refusal(
                code="people.absent",
                sentence=f"Step {step.number} is not open. Nobody may be in: {area}.",
                where=area,
                step=step.id,
            )


def _fresh(scene: Scene, step: Step) -> Iterator[Refusal]:
    for need in step.fresh:
        reading = scene.board.readings.get(need.reading)
        sentence = _fresh_sentence(need, reading, scene.now)
        if sentence:
            yield Refusal(
                code="reading.stale" if reading is not None else "reading.missing",
                sentence=sentence,
                where=_where_read(scene, need.reading),
                step=step.id,
            )


def _where_read(scene: Scene, name: str) -> str:
    for step in scene.procedure.steps:
        if getattr(step.own, "reading", "") == name:
            return f"step {step.number}"
    return "the instrument"


def _fresh_sentence(need: Fresh, reading: ReadingNow | None, now: datetime) -> str:
    name = need.reading.replace("-", " ").capitalize()
    if reading is None:
        return f"{name} has not been read. Read it now: it must be under {_span(need.age)} old."
    age = now - reading.at
    if age > need.age:
        return (
            f"{name} was read {_span(age)} ago. It must be under {_span(need.age)} old. "
            "Read it again."
        )
    value = Quantity(Decimal(reading.value), reading.unit)
    if need.at_most is not None and value.to(need.at_most.unit).value > need.at_most.value:
        return f"{name} is {value}, above the limit, {need.at_most}. Wait, and read it again."
    if need.at_least is not None and value.to(need.at_least.unit).value < need.at_least.value:
        return f"{name} is {value}, below the limit, {need.at_least}. Wait, and read it again."
    return "" if reading.good else f"{name} was out of limit when it was read. Read it again."


def _within(scene: Scene, step: Step) -> Iterator[Refusal]:
    if step.within is None:
        return
    origin = scene.procedure.step(step.within.of)
    start = scene.state.progress(step.within.of).done_at
    if start is None and scene.state.progress(step.within.of).passed_by:
        return  # it was never begun, and never will be: there is no time to keep
    if origin is None or start is None:
        yield Refusal(
            code="within.not_begun",
            sentence=f"Step {step.number} is not open. Its time counts from a step not yet done.",
            where=f"step {origin.number}" if origin else step.within.of,
            step=step.id,
        )
        return
    again = scene.state.progress(step.within.if_missed).done_at
    counted = max(start, again) if again is not None else start
    yield from _deadline(scene, step, step.within, origin, scene.now - counted)


def _deadline(
    scene: Scene, step: Step, within: Within, origin: Step, passed: timedelta
) -> Iterator[Refusal]:
    if within.at_least is not None and passed < within.at_least:
        yield Refusal(
            code="within.early",
            sentence=(
                f"Not yet. Wait {_span(within.at_least - passed)}: at least "
                f"{_span(within.at_least)} must pass after step {origin.number}."
            ),
            step=step.id,
        )
    if within.at_most is not None and passed > within.at_most:
        other = scene.procedure.step(within.if_missed)
        way = f"Do step {other.number} now: {other.do}" if other else "Report it as a trouble."
        yield Refusal(
            code="within.late",
            sentence=(
                f"Too late by {_span(passed - within.at_most)}: step {step.number} had to come "
                f"within {_span(within.at_most)} of step {origin.number}. {way}"
            ),
            where=f"step {other.number}" if other else "",
            step=step.id,
        )


def _span(span: timedelta) -> str:
    seconds = int(span.total_seconds())
    if seconds < 120:
        return f"{seconds} s"
    minutes, rest = divmod(seconds, 60)
    if minutes < 120:
        return f"{minutes} min" if rest == 0 or minutes >= 10 else f"{minutes} min {rest} s"
    return f"{minutes // 60} h {minutes % 60} min"
