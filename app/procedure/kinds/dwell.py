"""A dwell: the time between a start and a stop, by the server's clock alone.

Keys: `at_least`, `at_most`, `warn` (how long after the start people are told that the end is near).

Stopping too early is refused: nothing has happened yet, so waiting mends it. Stopping too late is kept
as it was: no waiting mends that. Clock times are said in the zone of `Circumstances.now`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar, cast

from app.calculations.quantity import plain
from app.calculations.rounding import rounded
from app.procedure.drawing import Scale
from app.procedure.entry import Judged, Outcome, Unreadable
from app.procedure.kind import Card
from app.procedure.usual import Gives, Known, UsualKind, latest_of
from app.procedure.wording import clock, span, span_up

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

START, STOP = "start", "stop"
_TENTH = Decimal("0.1")  # of a minute, on the drawn scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a dwell."""

    at_least: timedelta | None
    at_most: timedelta | None
    warn: timedelta | None = None

    def words(self) -> str:
        """Return the limits as a person says them: `30 min to 45 min`."""
        match self.at_least, self.at_most:
            case None, None:
                return ""
            case timedelta() as least, None:
                return f"at least {span(least)}"
            case None, timedelta() as most:
                return f"at most {span(most)}"
            case least, most:
                return f"{span(cast('timedelta', least))} to {span(cast('timedelta', most))}"

    def lasted(self, length: timedelta) -> str:
        """Return a length that is past the last moment rounded up, so that it shows; else down."""
        late = self.at_most is not None and length > self.at_most
        return span_up(length) if late else span(length)


class Dwell(UsualKind):
    """A wait with a first and a last moment."""

    name: ClassVar[str] = "dwell"
    title: ClassVar[str] = "Timed dwell"

    def read(self, table: Table) -> Own:
        """Read the keys of a dwell."""
        own = Own(
            at_least=table.duration("at_least"),
            at_most=table.duration("at_most"),
            warn=table.duration("warn"),
        )
        _check(table, own)
        return own

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the two moments."""
        return (START, STOP)

    def judge(
        self,
        step: Step,
        part: str,
        values: Mapping[str, str],  # noqa: ARG002
        at: Circumstances,
    ) -> Judged | Unreadable:
        """Start the time once; stop it not too early, and say so if it is too late."""
        own, started = cast("Own", step.own), _running(at.of(step.id))
        if part == START:
            return _start(started, at)
        if part != STOP:
            sentence = f'"{part}" is neither start nor stop. Nothing was saved.'
            return Unreadable(code="dwell.part", sentence=sentence)
        if started is None:
            sentence = "The time is not running. Start it first. Nothing was saved."
            return Unreadable(code="dwell.not_started", sentence=sentence)
        return _stop(own, started, at)

    def outcome(
        self,
        step: Step,  # noqa: ARG002
        entries: Sequence[Entry],
        at: Circumstances,
    ) -> Outcome:
        """Ask for a stop after the latest start, in time."""
        started, stopped = _pair(entries)
        if started is None:
            return Outcome(complete=False, missing="The time has not been started.")
        if stopped is None:
            since = clock(started.at, at.now.tzinfo)
            return Outcome(complete=False, missing=f"The time runs since {since}. Stop it in time.")
        if stopped.verdict == "out" and not stopped.accepted:
            return Outcome(complete=False, missing=stopped.saying)
        return Outcome(complete=True)

    def gives(self, step: Step) -> Mapping[str, Gives]:  # noqa: ARG002
        """Return how long it lasted."""
        return {"elapsed": Gives("s")}

    def known(self, step: Step, entries: Sequence[Entry], key: str) -> Known | None:  # noqa: ARG002
        """Return how long it lasted, in seconds."""
        _, stopped = _pair(entries)
        if stopped is None or key != "elapsed":
            return None
        return Known((Decimal(stopped.computed["elapsed"]),), "s")

    def card(self, step: Step, part: str, at: Circumstances) -> Card:  # noqa: ARG002
        """Show how long it has run, and the first and last moment by the clock."""
        own, (started, stopped) = cast("Own", step.own), _pair(at.of(step.id))
        running = started is not None and stopped is None
        answer, mark = _answer(own, started, stopped, at)
        end = stopped.at if stopped else at.now
        length = end - started.at if started else timedelta(0)
        return Card(
            kind_line=_kind_line(started, at),
            act="The time stops now" if running else "The time starts now",
            part=STOP if running else START,
            answer=answer,
            answer_mark=mark,
            off=_off(own, started, at) if running else "",
            drawings=(_scale(own, length if started else None, answer),),
            own={
                "running": running,
                "elapsed": _face(length) if started else "",
                "since": started.at.isoformat() if started else "",
                "times": _times(own, started, at),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:
        """Return the moment of the start, or how long it lasted."""
        if entry.part == START:
            return clock(entry.at, entry.at.tzinfo)
        own = cast("Own", step.own)
        lasted = timedelta(microseconds=int(Decimal(entry.computed["elapsed"]) * 1_000_000))
        return f"{clock(entry.at, entry.at.tzinfo)}, after {own.lasted(lasted)}"

    def limits_words(self, step: Step, part: str) -> str:
        """Return the limits of the length, beside the stop."""
        return cast("Own", step.own).words() if part == STOP else ""


def _check(table: Table, own: Own) -> None:
    if own.at_least is None and own.at_most is None:
        table.fault("at_most", "There is no limit.", "Write at_least, at_most, or both.")
    if own.at_least is not None and own.at_most is not None and own.at_least > own.at_most:
        table.fault("at_least", "No length can keep both limits.", "Put the shorter in at_least.")
    if own.warn is not None and (own.at_most is None or own.warn >= own.at_most):
        table.fault(
            "warn", "The warning does not come before the end.", "Make it less than at_most."
        )


def _pair(entries: Sequence[Entry]) -> tuple[Entry | None, Entry | None]:
    """Return the latest start, and the stop that came after it."""
    latest = latest_of(entries)
    started, stopped = latest.get(START), latest.get(STOP)
    if started is None or stopped is None or stopped.number < started.number:
        return started, None
    return started, stopped


def _running(entries: Sequence[Entry]) -> Entry | None:
    started, stopped = _pair(entries)
    return started if stopped is None else None


def _start(started: Entry | None, at: Circumstances) -> Judged | Unreadable:
    if started is None:
        saying = f"The time runs since {clock(at.now, at.now.tzinfo)}."
        return Judged(verdict="good", saying=saying)
    sentence = (
        f"The time runs since {clock(started.at, at.now.tzinfo)}, started by {started.by}. "
        "It was not started again."
    )
    return Unreadable(code="dwell.running", sentence=sentence)


def _stop(own: Own, started: Entry, at: Circumstances) -> Judged | Unreadable:
    length, zone = at.now - started.at, at.now.tzinfo
    if own.at_least is not None and length < own.at_least:
        first = clock(started.at + own.at_least, zone)
        sentence = f"Not yet. Wait {span_up(own.at_least - length)}. First time is {first}."
        return Unreadable(code="dwell.early", sentence=sentence)
    computed = {"elapsed": plain(Decimal(length // timedelta(microseconds=1)).scaleb(-6))}
    if own.at_most is not None and length > own.at_most:
        return Judged(verdict="out", saying=_late(own.at_most, started, at), computed=computed)
    saying = f"Stopped after {span(length)}, limits {own.words()}."
    return Judged(verdict="good", saying=saying, computed=computed)


def _late(most: timedelta, started: Entry, at: Circumstances) -> str:
    last = started.at + most
    past = f"{span_up(at.now - last)} past the last time, {clock(last, at.now.tzinfo)}."
    return f"{past} Do the next act now, then report it. The lead decides."


def _answer(
    own: Own, started: Entry | None, stopped: Entry | None, at: Circumstances
) -> tuple[str, str]:
    if started is None:
        return "Not started", "here"
    if stopped is not None:
        return stopped.saying, {"good": "done", "out": "out"}[stopped.verdict]
    length = at.now - started.at
    if own.at_least is not None and length < own.at_least:
        return f"Not yet. Wait {span_up(own.at_least - length)}", "wait"
    if own.at_most is None:
        return "You may stop now", "here"
    if length > own.at_most:
        return _late(own.at_most, started, at), "out"
    last = clock(started.at + own.at_most, at.now.tzinfo)
    if own.warn is not None and length >= own.warn:
        return f"{span(own.at_most - length)} left. Last time {last}", "here"
    return f"You may stop now. Last time {last}", "here"


def _off(own: Own, started: Entry | None, at: Circumstances) -> str:
    if started is None or own.at_least is None or at.now - started.at >= own.at_least:
        return ""
    return f"Opens at {clock(started.at + own.at_least, at.now.tzinfo)}, after {span(own.at_least)}"


def _kind_line(started: Entry | None, at: Circumstances) -> str:
    if started is None:
        return "Timed dwell"
    return f"Timed dwell. Started {clock(started.at, at.now.tzinfo)} by {started.by}"


def _times(own: Own, started: Entry | None, at: Circumstances) -> tuple[tuple[str, str], ...]:
    """Return the moments that matter: by the clock once it runs, before that as lengths."""
    named = (("First", own.at_least), ("Warning", own.warn), ("Last", own.at_most))
    return tuple(
        (name, span(after) if started is None else clock(started.at + after, at.now.tzinfo))
        for name, after in named
        if after is not None
    )


def _face(length: timedelta) -> str:
    """Return a running time as a clock face: `18:42`, `1:18:42`."""
    seconds = max(0, int(length.total_seconds()))
    hours, minutes = divmod(seconds // 60, 60)
    return f"{hours}:{minutes:02d}:{seconds % 60:02d}" if hours else f"{minutes}:{seconds % 60:02d}"


def _minutes(length: timedelta) -> Decimal:
    return Decimal(length // timedelta(microseconds=1)) / 60_000_000


def _scale(own: Own, length: timedelta | None, label: str) -> Scale:
    low = None if own.at_least is None else _minutes(own.at_least).normalize()
    high = None if own.at_most is None else _minutes(own.at_most).normalize()
    value = None
    if length is not None:
        value = rounded(_minutes(length), _TENTH, at_least=low, at_most=high)
    late = length is not None and own.at_most is not None and length > own.at_most
    early = length is not None and own.at_least is not None and length < own.at_least
    return Scale(
        label=f"{label}. Limits {own.words()}",
        unit="min",
        at_least=None if low is None else plain(low),
        at_most=None if high is None else plain(high),
        value=None if value is None else plain(value),
        verdict="high" if late else "" if early or length is None else "good",
    )


KIND = Dwell()
