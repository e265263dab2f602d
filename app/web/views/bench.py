"""The bench: one step of a run, as whoever is entering needs it now.

Everything here is built from what that person may see: on a blind step the kind gets circumstances
without other people's entries, the entries of ended rounds are left out, and no progress is counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from app.desk.seen import Seen
from app.procedure.attached import attached_fields
from app.procedure.entry import Circumstances
from app.procedure.kind import Field
from app.procedure.model import Step
from app.run.crew import Crew
from app.run.keepable import is_keepable
from app.run.pausing import make_safe_lines
from app.run.refusal import Refusal
from app.run.scene import needs_signatures
from app.web.views import ways
from app.web.views.bar import Bar, bar
from app.web.views.card import DrawnCard, Note, Panel, drawn_card, notes, panels
from app.web.views.entries import EntryLine, TroubleLine, entry_lines, trouble_lines
from app.web.views.frame import AtTablet, Frame, frame_of
from app.web.views.look import NOTHING_TYPED, Look, next_step, scene_of
from app.web.views.ruler import Ruler, ruler
from app.web.views.seats import Seat, seat_rows, who_releases
from app.web.views.steps import PartLink, SectionList, part_links, sections
from app.web.views.words import clock, sentences


@dataclass(frozen=True, slots=True, kw_only=True)
class ShutLine:
    """What keeps a step shut, who clears it, and the way there."""

    sentence: str
    who: str
    where: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchView:
    """All that the bench's templates print."""

    frame: Frame
    run: str
    seq: int
    self: str
    said: str
    now: str
    by: str  # who is entering, "" when nobody
    what: str  # the part of which step, as the tablet names what it keeps
    keepable: bool  # the entry may wait on the tablet, without a link
    live: bool  # what it shows changes with time alone
    saved: str
    stopped: str  # who stopped work and when; "" while work goes on
    step: Step
    template: str
    card: DrawnCard
    attached: tuple[Field, ...]
    heading: str
    mark: str
    state: Literal["here", "waits", "trouble", "done", "shut"]
    panels: tuple[Panel, ...]
    notes: tuple[Note, ...]
    columns: Literal["one", "two", "three"]
    shut: tuple[ShutLine, ...]  # what keeps it shut, beside the troubles, which are shown in full
    seats: tuple[Seat, ...]
    entries: tuple[EntryLine, ...]
    troubles: tuple[TroubleLine, ...]
    parts: tuple[PartLink, ...]
    before: PartLink | None
    after: PartLink | None
    countersign: str
    countersign_role: str
    bar: Bar
    wrong: str
    pad: Literal["", "number", "whole"]
    ruler: Ruler
    safe_state: str
    make_safe: tuple[str, ...]
    sections: tuple[SectionList, ...]
    refusal: Refusal | None
    typed: Mapping[str, str]


def bench_view(  # noqa: PLR0913, PLR0917 - a page rests on all of these
    seen: Seen,
    circumstances: Circumstances,
    crew: Crew,
    session: AtTablet | None,
    now: datetime,
    asked_step: str = "",
    refusal: Refusal | None = None,
    typed: Mapping[str, str] | None = None,
    *,
    asked_part: str = "",
    said: str = "",
) -> BenchView:
    """Return the bench at one step.

    Args:
        seen: the run as it stands.
        circumstances: what the person who is entering may see, from the desk.
        crew: everyone the site knows.
        session: who is at this tablet.
        now: the server's time.
        asked_step: the step asked for by id; "" for the one that is next.
        refusal: why the last act was not done.
        typed: what was typed then, by name; it stays in the fields.
        asked_part: the part asked for; "" for the one that the kind says is next.
        said: what was just saved, to be read out.
    """
    step = seen.procedure.step(asked_step) or next_step(seen.procedure, seen.state)
    people, entering = (session.people, session.entering) if session is not None else ((), "")
    scene = scene_of(seen, crew, now)
    look = Look(scene=scene, step=step, at=circumstances, people=people, entering=entering)
    plain_card = look.kind.card(step, asked_part, circumstances)
    the_bar = bar(look, plain_card, asked=bool(asked_part))
    opened = the_bar.mode in ("enter", "seal")
    card, attached = (
        drawn_card(plain_card, opened=opened),
        attached_fields(step, seen.tools) if opened else (),
    )
    pad, parts = _pad(card.fields, the_bar), part_links(look, card.part)
    return BenchView(
        frame=_frame(look, session),
        run=seen.state.run,
        seq=seen.state.seq,
        self=ways.bench_fragment(seen.state.run, asked_step, asked_part),
        said=said,
        now=now.isoformat(),
        by=entering,
        what=f"Step {step.number}, {card.part}" if card.part else f"Step {step.number}",
        keepable=the_bar.mode == "enter" and is_keepable(seen.procedure, step),
        live=the_bar.off,
        saved=_saved(look),
        stopped=_stopped(look),
        step=step,
        template=f"kinds/{step.kind}.html",
        card=card,
        attached=attached,
        heading=_heading(look, card, parts),
        mark=_mark(look, the_bar),
        state=_state(look, the_bar),
        panels=panels(step),
        notes=notes(look),
        columns=_columns(look, card, the_bar, pad),
        shut=_shut_lines(look, the_bar),
        seats=seat_rows(look),
        entries=entry_lines(look),
        troubles=trouble_lines(look),
        parts=parts,
        before=_beside(parts, -1),
        after=_beside(parts, 1),
        countersign=_countersign(look, the_bar),
        countersign_role=who_releases(look),
        bar=the_bar,
        wrong=ways.wrong(seen.state.run, step.id, "" if look.blind else card.part),
        pad=pad,
        ruler=ruler(seen.procedure, seen.state, step),
        safe_state=seen.procedure.safe_state,
        make_safe=make_safe(look),
        sections=sections(look),
        refusal=refusal,
        typed=typed or NOTHING_TYPED,
    )


def make_safe(look: Look) -> tuple[str, ...]:
    """Return what to do this second when work stops on a step."""
    lines = make_safe_lines(look.procedure, look.state)
    return tuple(sentence for line in lines for sentence in sentences(line))


def _stopped(look: Look) -> str:
    stop = look.state.stop
    if stop is None:
        return ""
    return f"By {stop.by or 'someone not signed on'} at {clock(stop.at)}. {stop.text}".strip()


def _frame(look: Look, session: AtTablet | None) -> Frame:
    step, run = look.step, look.state.run
    where = f"Step {step.number} of {len(look.procedure.steps)}"
    return frame_of(
        session,
        title=f"{where}. {look.procedure.id}",
        where=look.procedure.title,
        sub=f"{where}. {look.procedure.sections[step.section].title}",
        stop="" if look.state.status == "closed" else ways.stop(run),
        watch=ways.watch(run),
        seq=look.state.seq,
    )


def _heading(look: Look, card: DrawnCard, parts: tuple[PartLink, ...]) -> str:
    if card.heading and not look.progress.done:
        return card.heading
    if card.part and parts and not look.progress.done:
        return f"{card.part}: {look.step.do}"
    return look.step.do


def _shut_lines(look: Look, the_bar: Bar) -> tuple[ShutLine, ...]:
    return tuple(
        ShutLine(
            sentence=each.sentence,
            who=each.who,
            where=each.where,
            href=_way_to(look, each.where),
        )
        for each in the_bar.shut
        if each.code != "trouble.open"
    )


def _way_to(look: Look, where: str) -> str:
    """Return the address of the step that a refusal names, "" when it names none."""
    number = where.removeprefix("step ")
    found = (
        s for s in look.procedure.steps if where.startswith("step ") and str(s.number) == number
    )
    step = next(found, None)
    return "" if step is None else ways.run_page(look.state.run, step.id)


def _state(look: Look, the_bar: Bar) -> Literal["here", "waits", "trouble", "done", "shut"]:
    if look.state.open_troubles(look.step.id):
        return "trouble"
    if look.progress.done:
        return "done"
    if the_bar.shut or the_bar.mode == "read":
        return "shut"
    return "waits" if the_bar.mode in ("sign", "wait") else "here"


def _mark(look: Look, the_bar: Bar) -> str:
    marks = {"trouble": "out", "done": "done", "shut": "shut", "here": "here"}
    state = _state(look, the_bar)
    if state == "waits":
        return "half" if look.progress.signatures else "empty"
    if state == "done" and look.progress.signatures:
        return "both"
    return marks[state]


def _columns(look: Look, card: DrawnCard, the_bar: Bar, pad: str) -> Literal["one", "two", "three"]:
    beside = bool(card.maps or the_bar.signing or the_bar.sealing or needs_signatures(look.step))
    if pad and beside:
        return "three"
    return "two" if pad or beside else "one"


def _beside(parts: tuple[PartLink, ...], by: int) -> PartLink | None:
    here = next((index for index, part in enumerate(parts) if part.here), None)
    if here is None or not 0 <= here + by < len(parts):
        return None
    return parts[here + by]


def _countersign(look: Look, the_bar: Bar) -> str:
    """Return the way to the countersign page, where someone can release the hold now."""
    if not look.kind.is_hold or look.progress.done or the_bar.shut or the_bar.href:
        return ""
    return ways.countersign(look.state.run, look.step.id) if who_releases(look) else ""


def _saved(look: Look) -> str:
    """Return when something was last saved on the step; of a blind one a time tells nothing."""
    times = [e.at for e in look.progress.entries] + [s.at for s in look.progress.signatures]
    return f"{max(times):%H:%M:%S}" if times else ""


def _pad(fields: tuple[Field, ...], the_bar: Bar) -> Literal["", "number", "whole"]:
    if the_bar.off and not the_bar.send:
        return ""
    controls = {field.control for field in fields}
    if "number" in controls:
        return "number"
    return "whole" if "whole" in controls else ""
