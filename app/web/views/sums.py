"""The crew's sums: which there are, what one needs, what came out and how."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from app.calculations.calculation import Calculation, Given, Input, Result
from app.calculations.catalogue import CALCULATIONS
from app.calculations.quantity import plain
from app.people.sessions import Session
from app.procedure.typed_inputs import read_inputs
from app.procedure.wording import said
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.words import day_and_clock, several

POWERS = {"^2": "²", "^3": "³"}
ROW_HINT = "Several, with blanks between them."


@dataclass(frozen=True, slots=True, kw_only=True)
class SumRow:
    """One sum in the list."""

    name: str
    title: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """The sums on one subject."""

    title: str
    rows: tuple[SumRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SumsView:
    """The list of sums."""

    frame: Frame
    answer: str
    find: str
    subjects: tuple[Subject, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SumField:
    """One thing to type; `told` says why what was typed cannot be used."""

    name: str
    label: str
    unit: str
    typed: str
    hint: str
    told: str
    words: bool  # typed with letters or signs: a row, a date, a number that may be below 0
    whole: bool
    row: bool
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """What came out."""

    title: str
    value: str
    unit: str
    mark: str
    sentence: str
    more: tuple[tuple[str, str], ...]
    given: tuple[tuple[str, str], ...]
    working: tuple[str, ...]
    by: str  # who had it worked out, and when


@dataclass(frozen=True, slots=True, kw_only=True)
class SumView:
    """One sum."""

    frame: Frame
    name: str
    title: str
    formula: str
    source: str
    care: str
    needed: tuple[SumField, ...]
    optional: tuple[SumField, ...]
    options_open: bool
    told: tuple[str, ...]  # why there is no result
    worked: Worked | None
    status: int


def sums_view(session: Session, *, find: str = "") -> SumsView:
    """Return the list of sums, of all subjects or of those that hold what is looked for."""
    wanted = find.strip().casefold()
    found: dict[str, list[SumRow]] = {}
    for each in CALCULATIONS.values():
        if wanted in f"{each.name} {each.title} {each.subject}".casefold():
            row = SumRow(name=each.name, title=each.title, href=f"/sums/{each.name}")
            found.setdefault(each.subject, []).append(row)
    count = sum(map(len, found.values()))
    return SumsView(
        frame=frame_of(
            session,
            where="Sums",
            sub="Inputs with units, the working shown",
            links=(Way(words="Today", href="/"),),
            stop="/stop",
        ),
        answer=several(count, "sum") if count else f'No sum holds "{find.strip()}".',
        find=find.strip(),
        subjects=tuple(Subject(title=t, rows=tuple(rows)) for t, rows in found.items()),
    )


def sum_view(
    calculation: Calculation, typed: Mapping[str, str], session: Session, now: datetime
) -> SumView:
    """Return one sum, worked out if anything was typed."""
    given, untold = read_inputs(calculation, typed) if typed else ({}, {})
    result, why = (None, "") if untold or not typed else _work(calculation, given)
    told = (why,) if why else tuple(untold.values())
    fields = [_field(each, typed, untold) for each in calculation.inputs]
    optional = {each.name for each in calculation.inputs if each.optional}
    return SumView(
        frame=frame_of(
            session,
            where="Sums",
            sub=calculation.title,
            links=(Way(words="All sums", href="/sums"), Way(words="Today", href="/")),
            stop="/stop",
        ),
        name=calculation.name,
        title=calculation.title,
        formula=calculation.formula,
        source=calculation.source,
        care=calculation.care,
        needed=tuple(each for each in fields if each.name not in optional),
        optional=tuple(each for each in fields if each.name in optional),
        options_open=any(each.typed for each in fields if each.name in optional),
        told=told,
        worked=_worked(calculation, given, result, session, now) if result else None,
        status=422 if told else 200,
    )


def unit_words(unit: str) -> str:
    """Return a unit as it is read on a page: m^2 as m²."""
    for typed, shown in POWERS.items():
        unit = unit.replace(typed, shown)
    return unit


def _work(calculation: Calculation, given: Given) -> tuple[Result | None, str]:
    try:
        return calculation.compute(given), ""
    except ValueError as reason:
        return None, f"No result. {reason}"


def _field(wanted: Input, typed: Mapping[str, str], untold: Mapping[str, str]) -> SumField:
    may_be_below = wanted.at_least is None and wanted.above is None
    below = may_be_below or (wanted.at_least is not None and wanted.at_least < 0)
    row = ROW_HINT if wanted.row else ""
    within = "" if wanted.choices else wanted.range()
    hints = (row, f"{within[0].upper()}{within[1:]}." if within else "", wanted.hint)
    return SumField(
        name=wanted.name,
        label=wanted.title,
        unit=unit_words(wanted.unit),
        typed=typed.get(wanted.name, ""),
        hint=unit_words(" ".join(filter(None, hints))),
        told=untold.get(wanted.name, ""),
        words=wanted.row or wanted.form in ("date", "clock") or (wanted.form == "number" and below),
        whole=wanted.form == "whole" and not wanted.row,
        row=wanted.row,
        choices=wanted.choices,
    )


def _worked(
    calculation: Calculation, given: Given, result: Result, session: Session, now: datetime
) -> Worked:
    verdicts = {True: "done", False: "out", None: "here"}
    return Worked(
        title=calculation.outputs[0].title,
        value=plain(result.value),
        unit=unit_words(result.unit),
        mark=verdicts[result.passes],
        sentence=result.sentence,
        more=tuple((m.title, said(plain(m.value), unit_words(m.unit))) for m in result.more),
        given=tuple(
            (
                each.title,
                said(", ".join(map(each.shown, given[each.name])), unit_words(each.unit)),
            )
            for each in calculation.inputs
            if each.name in given
        ),
        working=result.working,
        by=f"{session.entering or ', '.join(session.people)}, {day_and_clock(now)}",
    )
