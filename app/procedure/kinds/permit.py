"""Permits and certificates: each paper with its number, in force, and valid for long enough.

Keys: `papers` (what is asked for), `valid_for` (how long each must still be valid from now).

A paper that runs out too early, or was withdrawn, is kept as out of limit: it does not open the step.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, ClassVar, cast

from app.procedure.entry import Judged, Unreadable
from app.procedure.kind import Card, Field
from app.procedure.turns import answer_of, here_of, rows_of
from app.procedure.typed import read_words
from app.procedure.usual import UsualKind, latest_of
from app.procedure.wording import span

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.procedure.entry import Circumstances, Entry
    from app.procedure.model import Step
    from app.procedure.reading import Table

IN_FORCE, WITHDRAWN = "in force", "withdrawn"
LONGEST = 60
FORMS = ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M")
DAY = "%Y-%m-%d"


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """The keys of a step that asks for papers."""

    papers: tuple[str, ...]
    valid_for: timedelta


class Permit(UsualKind):
    """Each paper is there, in force, and lasts."""

    name: ClassVar[str] = "permit"
    title: ClassVar[str] = "Permit or certificate"

    def read(self, table: Table) -> Own:
        """Read the keys of a step that asks for papers."""
        papers = table.texts("papers", required=True)
        if table.has("papers") and not papers:
            table.fault("papers", "There are no papers.", 'Write papers = ["Lift permit"].')
        if len(set(papers)) != len(papers) or "" in papers:
            table.fault("papers", "Two papers are alike, or one is empty.", "Name each once.")
        return Own(papers=papers, valid_for=table.duration("valid_for") or timedelta(0))

    def parts(self, step: Step, at: Circumstances) -> Sequence[str]:  # noqa: ARG002
        """Return the papers."""
        return cast("Own", step.own).papers

    def judge(
        self, step: Step, part: str, values: Mapping[str, str], at: Circumstances
    ) -> Judged | Unreadable:
        """Judge one paper by its end and by whether it is in force."""
        own = cast("Own", step.own)
        if part not in own.papers:
            sentence = f'"{part}" is not one of the papers here. Nothing was saved.'
            return Unreadable(code="permit.unknown", sentence=sentence)
        number = read_words(values.get("number", ""), f"the number of the {part}", LONGEST)
        if isinstance(number, Unreadable):
            return number
        until = _moment(values.get("until", ""))
        if isinstance(until, Unreadable):
            return until
        standing = values.get("standing", "")
        if standing not in (IN_FORCE, WITHDRAWN):
            sentence = f"{part}: say {IN_FORCE} or {WITHDRAWN}. Nothing was saved."
            return Unreadable(code="permit.standing", sentence=sentence)
        wrong = _wrong(own, until, standing, at)
        good = f"{part} {number}: in force until {until:%Y-%m-%d %H:%M} UTC."
        return Judged(
            verdict="out" if wrong else "good",
            saying=f"{part} {number} {wrong} Get a valid one, or report it." if wrong else good,
            computed={"number": number, "until": until.isoformat(), "standing": standing},
        )

    def card(self, step: Step, part: str, at: Circumstances) -> Card:
        """Ask for one paper, and show how each stands."""
        own, latest = cast("Own", step.own), latest_of(at.of(step.id))
        here = here_of(part, own.papers, latest)
        answer, mark = answer_of(latest, here, "Every paper is in force")
        return Card(
            kind_line=self.title,
            act=f"Record {here}" if here else "Every paper is recorded",
            part=here,
            heading=f"{here}: {step.do}" if here else "",
            fields=_fields(here),
            answer=answer,
            answer_mark=mark,
            own={
                "here": here,
                "valid_for": span(own.valid_for) if own.valid_for else "",
                "rows": rows_of(own.papers, latest, here),
            },
        )

    def shown(self, step: Step, entry: Entry) -> str:  # noqa: ARG002
        """Return the number, the end and the standing."""
        made = entry.computed
        until = datetime.fromisoformat(made["until"])
        return f"{made['number']}, {made['standing']}, until {until:%Y-%m-%d %H:%M} UTC"

    def limits_words(self, step: Step, part: str) -> str:  # noqa: ARG002
        """Return how long it must last."""
        own = cast("Own", step.own)
        return f"in force, and valid for {span(own.valid_for)} more" if own.valid_for else IN_FORCE


def _moment(typed: str) -> datetime | Unreadable:
    """Return the end of validity: a day lasts to its end, a time is UTC."""
    text = typed.strip()
    for form in (*FORMS, DAY):
        try:
            found = datetime.strptime(text, form).replace(tzinfo=UTC)
        except ValueError:
            continue
        return found + timedelta(days=1) if form == DAY else found
    sentence = f'"{text}" is no day. Type it as 2027-05-12, or 2027-05-12 18:00. Nothing was saved.'
    return Unreadable(code="permit.until", sentence=sentence)


def _wrong(own: Own, until: datetime, standing: str, at: Circumstances) -> str:
    if standing == WITHDRAWN:
        return "was withdrawn."
    if until <= at.now:
        return f"ended at {until:%Y-%m-%d %H:%M} UTC."
    left = until - at.now
    if left < own.valid_for:
        return f"ends in {span(left)}. It must last for {span(own.valid_for)} more."
    return ""


def _fields(here: str) -> tuple[Field, ...]:
    if not here:
        return ()
    return (
        Field(name="number", label=f"Number of the {here}", control="text"),
        Field(
            name="until",
            label="Valid until",
            control="text",
            hint="As 2027-05-12, or 2027-05-12 18:00 in UTC",
        ),
        Field(name="standing", label="It is", control="choice", choices=(IN_FORCE, WITHDRAWN)),
    )


KIND = Permit()
