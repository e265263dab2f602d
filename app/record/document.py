"""Builds the record of a run: procedure and events in, plain data out. No clock, no disk."""

from __future__ import annotations

from collections import Counter
from datetime import UTC
from types import MappingProxyType
from typing import TYPE_CHECKING

from app.procedure.registry import kind_of
from app.record.acts import Names, act_shown
from app.record.clock import clock_of, span_words
from app.record.notables import notables
from app.record.parts.anchors import anchors, released_words, role_since
from app.record.parts.comparison import comparison
from app.record.parts.critical import critical_steps
from app.record.parts.plots import at_the_end
from app.record.parts.questions import late, questions
from app.record.parts.things import things
from app.record.parts.tools_used import tools_used
from app.record.shown import Document, LeftShown, Mark, Notable, PersonShown
from app.record.steps import StepsBook, fates_of
from app.run.events import (
    EntryMade,
    FieldChangeApproved,
    RestartSigned,
    RunAbandoned,
    RunOpened,
    SeatSigned,
    StepDone,
    StepReopened,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.ledger.stored import Stored
    from app.procedure.model import FactValue, Procedure, Site
    from app.procedure.tool import Tool
    from app.record.clock import Clock
    from app.record.previous import Previous
    from app.run.crew import Crew
    from app.run.events import Happened
    from app.run.state import RunState

__all__ = ["Document", "build"]

NO_TOOLS: Mapping[str, Tool] = MappingProxyType({})
NO_PHOTOS: Mapping[str, bytes] = MappingProxyType({})
TWO_SIGN = FieldChangeApproved | RunAbandoned  # whoever stands beside the first signs too
SEAL_SAYS = (
    "This file is sealed by the recorder of {site}, with a key that the recorder holds. "
    "Whoever changes one byte breaks the seal.",
    "The seal is the system's, not a person's. A signature in this record is an act of a person "
    "who gave their own id and secret to the recorder at that moment; the recorder wrote it down. "
    "It is not a qualified electronic signature of that person.",
    "All times are the recorder's own clock. No independent party has witnessed them.",
    "The makers claim no conformity with any standard by this seal.",
)
VERIFY_LINES = (
    "Get the fingerprint of the site's root certificate by another way than this file: from the "
    "site's notice, or from its keeper by telephone. Compare it with the one printed here.",
    "Run: mirrorwright verify FILE --root FINGERPRINT. It needs this file only and no network. It "
    "checks the seal and the chain of events, plays the run again through the rules, and compares "
    "the text of these pages with what the events make of it. The drawings it does not compare.",
    "A keeper of the key could seal another run that obeys every rule. Only the site's log shows "
    "that: get it apart from the records, and add --site-log LOG.",
    "Without that program: pdfsig checks the seal (read its words, not its exit status: it must "
    "say that the total document is signed); pdfdetach takes out events.jsonl, one event to a "
    "line. The SHA-256 of each line, without its line end, is the next line's “prev”; that of "
    "the last line is the head printed here.",
    "procedure.toml is the procedure's exact text. Its SHA-256 is printed here and stands in the "
    "first event.",
)


def build(  # noqa: PLR0913  a record is made of these and of nothing else
    procedure: Procedure,
    state: RunState,
    happened: Sequence[Happened],
    crew: Crew,
    site: Site,
    *,
    head: str,
    root: str,
    site_events: Sequence[Stored] = (),
    tools: Mapping[str, Tool] = NO_TOOLS,
    previous: Previous | None = None,
    photos: Mapping[str, bytes] = NO_PHOTOS,
) -> Document:
    """Return the record of a run as plain data.

    Args:
        procedure: the procedure of the run, at its released revision.
        state: the fold of `happened`.
        happened: all events of the run's stream, in order; at least the opening.
        crew: the people of the site, for names and roles.
        site: for its name and its time zone.
        head: hash of the stream's last event, hexadecimal.
        root: SHA-256 of the site's root certificate, hexadecimal.
        site_events: of the site's stream, those on which the run rests.
        tools: the register of tools at the end of the run, by serial.
        previous: what the last run of the same procedure came to.
        photos: a small picture of each photo, by the SHA-256 of the whole one.
    """
    entries = {e.number: e for progress in state.steps.values() for e in progress.entries}
    names = Names(procedure, crew, entries, _blind(procedure, state))
    clock = clock_of(site.time_zone, happened[0].at, happened[-1].at)
    fates = fates_of(happened, names, clock)
    first = notables(happened, names, clock, fates.instead)
    verdict, mark = _verdict(procedure, state)
    at = at_the_end(procedure, state, crew, happened[-1].at)
    return Document(
        site=site.name,
        run=state.run,
        asset=procedure.asset.title,
        procedure=procedure.id,
        revision=procedure.revision,
        title=procedure.title,
        purpose=procedure.purpose,
        released=released_words(site_events, procedure.sha256, names, clock),
        verdict=verdict,
        mark=mark,
        verdict_more=_verdict_more(procedure, state, happened, first),
        opened=_moment(happened[0], names, clock),
        closed=_moment(happened[-1], names, clock) if state.closed_at is not None else "",
        took=span_words(happened[-1].at - happened[0].at),
        zone=clock.words(happened[0].at),
        first=first,
        sections=StepsBook(state, fates, names, clock, at).sections(procedure),
        people=_people(happened, crew, site_events, clock, procedure, state),
        acts=tuple(act_shown(each, names, clock) for each in happened),
        critical=critical_steps(procedure, state, names, clock),
        tools=tools_used(happened, tools, names),
        things=things(procedure, state, clock),
        left=_left(state, names, clock),
        facts=_facts(happened),
        questions=questions(happened, names, clock),
        late=late(happened, names, clock),
        comparison=comparison(procedure, state, previous),
        anchors=anchors(site_events, clock),
        pictures=dict(photos),
        sha256=procedure.sha256,
        head=head,
        root=root,
        seal_says=tuple(line.format(site=site.name) for line in SEAL_SAYS),
        verify_lines=VERIFY_LINES,
        made=happened[-1].at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
    )


def _blind(procedure: Procedure, state: RunState) -> frozenset[str]:
    """Return the steps whose entries may not be told: while a count goes on, nobody reads it here."""
    if state.closed_at is not None:
        return frozenset()
    return frozenset(
        step.id
        for step in procedure.steps
        if step.check == "independent" and not state.progress(step.id).done
    )


def _moment(happened: Happened, names: Names, clock: Clock) -> str:
    return f"{clock.full(happened.at)}, {names.person(happened.by)}"


def _verdict(procedure: Procedure, state: RunState) -> tuple[str, Mark]:
    passed = [step for step in procedure.steps if state.progress(step.id).passed_by]
    open_steps = [step for step in procedure.steps if not state.progress(step.id).settled]
    steps = len(procedure.steps) - len(passed)
    if state.abandoned is not None:
        return (
            f"Not finished. This run was abandoned: {steps - len(open_steps)} of {steps} "
            "steps are done.",
            "out",
        )
    if state.closed_at is None:
        return (
            f"This run is not closed: {steps - len(open_steps)} of {steps} steps are done.",
            "open",
        )
    if open_steps or state.open_troubles():
        return "This run was closed with something left open.", "out"
    taken = f" that were taken ({len(passed)} were not)" if passed else ""
    return f"All {steps} steps{taken} are done and the run is closed.", "done"


def _verdict_more(
    procedure: Procedure, state: RunState, happened: Sequence[Happened], first: Sequence[Notable]
) -> tuple[str, ...]:
    standing = sum(len(state.progress(step.id).signatures) for step in procedure.steps)
    left = len(state.open_troubles())
    more = [
        f"{happened[-1].seq} events, none missing between {happened[0].seq} and {happened[-1].seq}. "
        f"{_counted(standing, 'signature stands', 'signatures stand')}.",
        f"Troubles left open: {left or 'none'}.",
    ]
    if not first:
        return (*more, "Nothing departed from what was written.")
    words = Counter(notable.word.lower() for notable in first)
    said = ", ".join(f"{number} {word}" for word, number in words.items())
    return (*more, f"Read first, below: {said}.")


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _left(state: RunState, names: Names, clock: Clock) -> tuple[LeftShown, ...]:
    """Return every trouble with who decided on it; open ones first."""
    rows = []
    for t in sorted(state.troubles, key=lambda each: bool(each.disposition)):
        part = f", {t.part}" if t.part else ""
        what = f"Trouble {t.number}, {names.step(t.step)}{part}, {names.person(t.by)}: “{t.text}”"
        at = f", {clock.when(t.disposed_at)}" if t.disposed_at is not None else ""
        decided = f"{t.disposition}, by {names.person(t.disposed_by)}{at}: “{t.reason}”"
        rows.append(
            LeftShown(
                what=what,
                decided=decided if t.disposition else "Left open: nobody has decided.",
                open=not t.disposition,
            )
        )
    return tuple(rows)


def _facts(happened: Sequence[Happened]) -> tuple[str, ...]:
    """Return what the board was left at by this run, in words."""
    facts: dict[str, FactValue | None] = {}
    made: dict[str, tuple[str, ...]] = {}
    for each in happened:
        match each.event:
            case RunOpened(facts=stood):
                facts |= stood
            case StepDone(step=step, sets=sets):
                facts |= sets
                made[step] = tuple(sets)
            case StepReopened(step=step):
                facts |= dict.fromkeys(made.get(step, ()))
            case _:
                pass
    return tuple(
        f"{name.replace('_', ' ')}: {'in doubt' if value is None else value}"
        for name, value in facts.items()
    )


def _briefed(procedure: Procedure, state: RunState, clock: Clock) -> dict[str, str]:
    return {
        entry.part: clock.when(entry.at)
        for step in procedure.steps
        if kind_of(step).presence
        for entry in state.progress(step.id).live()
    }


def _people(  # noqa: PLR0913, PLR0917  what is known of people comes from many places
    happened: Sequence[Happened],
    crew: Crew,
    site_events: Sequence[Stored],
    clock: Clock,
    procedure: Procedure,
    state: RunState,
) -> tuple[PersonShown, ...]:
    briefed = _briefed(procedure, state, clock)
    both = [each.event.second for each in happened if isinstance(each.event, TWO_SIGN)]
    acted = dict.fromkeys((*(each.by for each in happened if each.by), *both))
    entries = Counter(each.by for each in happened if isinstance(each.event, EntryMade))
    signed = Counter(
        each.by
        for each in happened
        if isinstance(each.event, SeatSigned | RestartSigned)
        or (isinstance(each.event, EntryMade) and each.event.signed)
    )
    signed.update(both)
    signed.update(each.by for each in happened if isinstance(each.event, TWO_SIGN))
    return tuple(
        PersonShown(
            id=person,
            name=crew.people[person].name if person in crew.people else "",
            roles=", ".join(sorted(crew.people[person].roles)) if person in crew.people else "",
            entries=entries[person],
            signatures=signed[person],
            since=role_since(site_events, person, clock),
            briefed=briefed.get(person, ""),
        )
        for person in acted
    )
