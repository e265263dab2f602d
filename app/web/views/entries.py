"""The entries of a step as lines: what, its value, who, when; struck ones with the reason."""

from __future__ import annotations

from dataclasses import dataclass

from app.procedure.entry import Entry
from app.run.state import Trouble
from app.web.views import ways
from app.web.views.look import Look


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryLine:
    """One entry."""

    lines: tuple[tuple[str, str], ...]  # what, value
    by: str
    at: str
    mark: str
    word: str
    note: str  # the reason, of a struck or accepted entry
    struck: bool
    correct: str  # where it can be corrected; "" where it cannot


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleLine:
    """A trouble that is open, or how it was decided."""

    words: str
    mark: str
    decide: str


def entry_lines(look: Look) -> tuple[EntryLine, ...]:
    """Return the entries that may be seen, newest first."""
    return tuple(_line(look, entry) for entry in reversed(look.seen_entries()))


def _line(look: Look, entry: Entry) -> EntryLine:
    mark, word, note = _fate(look, entry)
    note = " ".join(each for each in (note, _late(entry)) if each)
    closed = look.state.status == "closed" or bool(entry.struck) or look.blind
    return EntryLine(
        lines=tuple((each.what, each.value) for each in look.kind.lines(look.step, (entry,))),
        by=entry.by,
        at=f"{entry.at:%H:%M:%S}",
        mark=mark,
        word=word,
        note=note,
        struck=bool(entry.struck),
        correct="" if closed else ways.correct(look.state.run, entry.number),
    )


def _late(entry: Entry) -> str:
    """Say when it was entered, where a tablet kept it without a link."""
    made = entry.estimated
    return "" if made is None else f"Entered {made:%H:%M:%S} on a tablet without a link."


def _fate(look: Look, entry: Entry) -> tuple[str, str, str]:
    if entry.struck:
        return "fixed", "Struck", entry.struck
    if entry.accepted:
        return "done", "Accepted as it is", entry.accepted
    if entry.round != look.progress.round:
        return "todo", f"Round {entry.round}", ""
    return ("out", "Out of limit", "") if entry.verdict == "out" else ("done", "Done", "")


def trouble_lines(look: Look) -> tuple[TroubleLine, ...]:
    """Return the troubles of the step that are open."""
    return tuple(_trouble(look, each) for each in look.state.open_troubles(look.step.id))


def _trouble(look: Look, trouble: Trouble) -> TroubleLine:
    part = f"{trouble.part}: " if trouble.part else ""
    who = look.scene.crew.who_may("release-hold")
    return TroubleLine(
        words=f"{part}“{trouble.text}” Reported {trouble.at:%H:%M} by {trouble.by}. Waits for {who}.",
        mark="out",
        decide=ways.trouble(look.state.run, trouble.number),
    )
