"""Correct an entry: what was wrong, what is right, what falls with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from app.desk.seen import Seen
from app.people.sessions import Session
from app.procedure.attached import attached_fields
from app.procedure.entry import Circumstances, Entry
from app.procedure.kind import Field, Line
from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.run.scene import needs_signatures, steps_resting_on
from app.web.submitted import Submitted
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import people_to_choose
from app.web.views.run_words import run_title
from app.web.views.seats import Chooser
from app.web.views.words import clock

REASONS = (
    "Read wrongly",
    "Typed wrongly",
    "Entered on the wrong part",
    "Instrument was wrong",
    "Measured again",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectView:
    """The page on which an entry is corrected."""

    frame: Frame
    action: str
    step: str
    old: tuple[Line, ...]
    by: str
    struck: str
    fields: tuple[Field, ...]
    pad: Literal["", "number", "whole"]
    typed: Mapping[str, str]
    reasons: tuple[tuple[str, bool], ...]
    own_reason: str
    falls: tuple[str, ...]
    chooser: Chooser
    seen: int
    back: str
    refusal: Refusal | None


def correct_view(  # noqa: PLR0913 - each is one thing that the page shows
    seen: Seen,
    entry: Entry,
    at: Circumstances,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
    sent: Submitted | None = None,
) -> CorrectView:
    """Return the page on which an entry is corrected."""
    sent = sent or Submitted()
    step = seen.procedure.step(entry.step)
    if step is None:
        raise KeyError(entry.step)
    kind = kind_of(step)
    base = f"/runs/{seen.state.run}"
    fields = (*kind.card(step, entry.part, at).fields, *attached_fields(step, at.tools))
    part = f" {entry.part}." if entry.part else ""
    return CorrectView(
        frame=_frame(seen, step, session),
        action=f"{base}/entries/{entry.number}/correct",
        step=f"Step {step.number}.{part} {step.do}",
        old=kind.lines(step, (entry,)),
        by=f"Entered by {entry.by} at {clock(entry.at)}.",
        struck=entry.struck,
        fields=fields,
        pad=_pad(fields),
        typed={**sent.typed(frozenset({"reason", "own_reason"}))},
        reasons=tuple((words, words == sent.text("reason")) for words in REASONS),
        own_reason=sent.text("own_reason"),
        falls=_falls(seen, step),
        chooser=people_to_choose(
            crew,
            session,
            chosen=sent.text("person"),
            may=lambda person: person == entry.by or crew.may(person, "release-hold"),
        ),
        seen=seen.state.seq,
        back=f"{base}/steps/{step.id}",
        refusal=refusal,
    )


def _pad(fields: tuple[Field, ...]) -> Literal["", "number", "whole"]:
    controls = {field.control for field in fields}
    if "number" in controls:
        return "number"
    return "whole" if "whole" in controls else ""


def _falls(seen: Seen, step: Step) -> tuple[str, ...]:
    """Return what a correction opens again, said before it is saved."""
    found = []
    if needs_signatures(step) and seen.state.progress(step.id).signatures:
        found.append(f"The signatures on step {step.number} fall. It is signed again.")
    for each in steps_resting_on(seen.procedure, step.id):
        progress = seen.state.progress(each.id)
        if progress.done or progress.signatures:
            found.append(f"Step {each.number} is opened again, and its signatures fall: {each.do}")
        elif progress.live():
            found.append(f"What was entered on step {each.number} falls: {each.do}")
    return tuple(found)


def _frame(seen: Seen, step: Step, session: Session) -> Frame:
    run = seen.state.run
    return frame_of(
        session,
        where=run_title(seen),
        sub=f"Step {step.number}. Correct an entry",
        links=(Way(words="Back to the step", href=f"/runs/{run}/steps/{step.id}"),),
        stop=f"/runs/{run}/stop",
    )
