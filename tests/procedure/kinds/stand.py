"""A stand on which one step of a kind can be tried: its text, a clock, and what was entered on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta, timezone

from app.procedure.entry import Circumstances, Entry, Judged, Unreadable
from app.procedure.faults import Fault
from app.procedure.kind import Card, Kind, Line
from app.procedure.model import Asset, Procedure, Section, Step
from app.procedure.opening import open_text
from app.procedure.registry import kinds

NOON = datetime(2027, 5, 8, 10, 23, 25, tzinfo=timezone(timedelta(hours=-2)))


def step_of(kind: str, keys: str = "", *, number: int = 1, **frame: object) -> Step:
    """Return a step of a kind with these keys of its own; the keys must be without fault."""
    own, faults = read(kind, keys)
    assert faults == []
    name = str(frame.pop("id", f"step-{number}"))
    step = Step(id=name, number=number, line=1, section=0, kind=kind, do="Do it.", own=own)
    return replace(step, **frame)  # type: ignore[arg-type]


def read(kind: str, keys: str) -> tuple[object, list[Fault]]:
    """Return what a kind reads from its keys, and the faults it finds."""
    table, faults = open_text(keys, "QP-9.toml", noun="step")
    assert table is not None
    own = kinds()[kind].read(table)
    table.finish()
    return own, faults


def told(kind: str, keys: str) -> list[str]:
    """Return the faults in a kind's keys, each as its key and what is wrong."""
    return [f"{fault.key}: {fault.what}" for fault in read(kind, keys)[1]]


@dataclass(slots=True)
class Stand:
    """A step, the people near it, and its entries so far."""

    step: Step
    others: Sequence[Step] = ()
    crew: Mapping[str, int] = field(default_factory=dict)
    roles: Mapping[str, frozenset[str]] = field(default_factory=dict)
    now: datetime = NOON
    who: str = "JB"
    entries: dict[str, list[Entry]] = field(default_factory=dict)
    done: set[str] = field(default_factory=set)

    @property
    def kind(self) -> Kind:
        return kinds()[self.step.kind]

    @property
    def procedure(self) -> Procedure:
        steps = (*self.others, self.step)
        return Procedure(
            id="QP-9",
            revision=1,
            title="Try",
            purpose="Try.",
            planned=timedelta(hours=1),
            safe_state="At rest.",
            crew=self.crew,
            starts_with=(),
            leaves=(),
            sections=(Section(title="One", order="strict", steps=steps),),
            asset=Asset(id="primary", title="Primary mirror", facts={}, hazards=()),
            file="QP-9.toml",
            sha256="0" * 64,
        )

    @property
    def at(self) -> Circumstances:
        return Circumstances(
            procedure=self.procedure,
            now=self.now,
            entries={name: tuple(entries) for name, entries in self.entries.items()},
            roles=self.roles,
            done_at=dict.fromkeys(self.done, self.now),
            who=self.who,
        )

    def judge(self, values: Mapping[str, str] | None = None, part: str = "") -> Judged | Unreadable:
        return self.kind.judge(self.step, part, values or {}, self.at)

    def good(self, values: Mapping[str, str] | None = None, part: str = "") -> Judged:
        """Return what was judged; it must be kept and good."""
        found = self.judge(values, part)
        assert isinstance(found, Judged)
        assert found.verdict == "good"
        return found

    def out(self, values: Mapping[str, str] | None = None, part: str = "") -> Judged:
        """Return what was judged; it must be kept and out of limit."""
        found = self.judge(values, part)
        assert isinstance(found, Judged)
        assert found.verdict == "out"
        return found

    def refused(self, values: Mapping[str, str] | None = None, part: str = "") -> Unreadable:
        """Return why it was not kept."""
        found = self.judge(values, part)
        assert isinstance(found, Unreadable)
        return found

    def enter(self, values: Mapping[str, str] | None = None, part: str = "", by: str = "") -> Entry:
        """Judge and keep an entry."""
        judged = self.judge(values, part)
        assert isinstance(judged, Judged), judged
        entry = Entry(
            number=sum(map(len, self.entries.values())) + 1,
            step=self.step.id,
            part=part,
            seat=None,
            round=1,
            by=by or self.who,
            at=self.now.astimezone(UTC),
            values=dict(values or {}),
            computed=judged.computed,
            verdict=judged.verdict,
            saying=judged.saying,
            signed=False,
        )
        self.entries.setdefault(self.step.id, []).append(entry)
        return entry

    def wait(self, **length: float) -> None:
        self.now += timedelta(**length)

    def so_far(self) -> tuple[Entry, ...]:
        return tuple(self.entries.get(self.step.id, ()))

    def missing(self) -> str:
        """Return what is missing, or "" when the step's entries are complete."""
        outcome = self.kind.outcome(self.step, self.so_far(), self.at)
        assert outcome.complete is not bool(outcome.missing)
        return outcome.missing

    def card(self, part: str = "") -> Card:
        return self.kind.card(self.step, part, self.at)

    def lines(self) -> tuple[Line, ...]:
        return self.kind.lines(self.step, self.so_far())

    def faults(self) -> list[str]:
        return [f"{f.key}: {f.what}" for f in self.kind.rules(self.step, self.procedure)]
