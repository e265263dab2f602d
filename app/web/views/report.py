"""The check report: can this text be released, and why (not)?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.desk.release_desk import Checkup
from app.people.sessions import Session
from app.procedure.faults import Fault
from app.procedure.versions import Changes
from app.proof import releasing
from app.proof.checking import Checked
from app.proof.releasing import Book, Text
from app.proof.report import NOT_SHOWN, CutSet, Proof, Question, Shown
from app.proof.words import verdict
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.web.views.frame import Frame, Way, frame_of
from app.web.views.people import people_to_choose
from app.web.views.procedures import TextRow, address, change_words, text_row
from app.web.views.report_drawing import ReportDrawing, report_drawing
from app.web.views.seats import Chooser
from app.web.views.words import several

AROUND = 2  # lines of the text shown before and after a fault's


@dataclass(frozen=True, slots=True, kw_only=True)
class PathRow:
    """One weakest path to a hazard, and who would be wrong on it."""

    words: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardRow:
    """One hazard: what stands before it, one mark for each person."""

    id: str
    harm: str
    needed: str
    wanted: int
    marks: tuple[bool, ...]  # filled: must be wrong; hollow: missing
    mark: str
    word: str
    paths: tuple[PathRow, ...]
    stronger: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A fault or a question, at its lines."""

    title: str
    mark: str
    place: str
    lines: tuple[tuple[str, bool], ...]  # text, whether it is the one
    what: str
    mend: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Something that can be done with the text: by whom, or why by nobody now."""

    action: str
    words: str
    form: str
    chooser: Chooser
    off: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportView:
    """The page."""

    frame: Frame
    id: str
    sha256: str
    title: str
    answer: str
    mark: str
    lead: str
    hazards: tuple[HazardRow, ...]
    unreached: tuple[str, ...]  # hazards to which no entries lead, right or wrong
    findings: tuple[Finding, ...]
    searched: tuple[tuple[str, str], ...]
    since: str
    changes: tuple[str, ...]
    drawing: ReportDrawing | None
    preview: tuple[tuple[int, str, str], ...]
    acts: tuple[Act, ...]
    withdraw: Act | None
    texts: tuple[TextRow, ...]
    not_shown: tuple[str, ...]
    refusal: Refusal | None


def report_view(  # noqa: PLR0913, PLR0917 - each is one thing that the page shows
    book: Book,
    text: Text,
    checkup: Checkup,
    changes: Changes | None,
    words: str,
    crew: Crew,
    session: Session,
    *,
    refusal: Refusal | None = None,
) -> ReportView:
    """Return the report of one text."""
    checked = checkup.checked
    proof = checked.proved.proofs[0] if checked.proved.proofs else None
    reached = [each for each in proof.hazards if each.people is not None] if proof else []
    lines = words.splitlines()
    releases = {role: "release-hold" in may for role, may in crew.abilities.items()}
    state = book.state(text)
    return ReportView(
        frame=frame_of(
            session,
            where=f"{book.id}, revision {text.revision}",
            sub=f"Check report. {state.capitalize()}",
            links=(Way(words="Procedures", href="/procedures"), Way(words="Today", href="/")),
            stop="/stop",
            desk=True,
        ),
        id=book.id,
        sha256=text.sha256,
        title=text.title,
        answer=_answer(book, text, checked),
        mark="out" if checked.faults or checked.exit_code else "both",
        lead=_lead(proof),
        hazards=tuple(_hazard(each) for each in reached),
        unreached=tuple(each.id for each in proof.hazards if each.people is None) if proof else (),
        findings=_findings(checked, lines, proof),
        searched=_searched(checkup, proof),
        since=_since(changes),
        changes=tuple(change_words(each, changes.new) for each in changes.changes)
        if changes
        else (),
        drawing=report_drawing(proof.drawn, releases) if proof else None,
        preview=_previews(book, text, proof),
        acts=_acts(book, text, checked, crew, session),
        withdraw=_withdraw(book, text, crew, session),
        texts=tuple(text_row(book, each, address(each)) for each in reversed(book.texts)),
        not_shown=NOT_SHOWN,
        refusal=refusal,
    )


def _answer(book: Book, text: Text, checked: Checked) -> str:
    state = book.state(text)
    said = verdict(checked).rstrip(".")
    if state in ("draft", "reviewed"):
        return said
    return f"Revision {text.revision} is {state}. {said.partition('. ')[2]}"


def _lead(proof: Proof | None) -> str:
    if proof is None:
        return "Nothing is proved: the form must be mended first."
    if not proof.searched.whole:
        return "The search was not finished, so nothing is proved."
    reached = [each for each in proof.hazards if each.people is not None]
    if any(each.people == 0 for each in reached):
        return "Followed rightly, an allowed order of steps reaches a hazard."
    said = "No allowed order of right entries reaches a hazard."
    if not reached:
        return f"{said} No wrong entry does either."
    least = min(each.people for each in reached if each.people is not None)
    who = "1 person" if least == 1 else f"{least} people"
    return f"{said} At least {who} must be wrong at once for one to happen."


def _hazard(shown: Shown) -> HazardRow:
    people = shown.people or 0
    missing = max(0, shown.wanted - people)
    word = "Enough" if shown.enough else f"{several(missing, 'person', 'people')} too few"
    return HazardRow(
        id=shown.id,
        harm=shown.harm,
        needed=str(people),
        wanted=shown.wanted,
        marks=(True,) * people + (False,) * missing,
        mark="done" if shown.enough else "out",
        word=word,
        paths=tuple(_path(cut) for cut in shown.weakest),
        stronger=f"{several(shown.stronger, 'further path')} would need more people."
        if shown.stronger
        else "",
    )


def _path(cut: CutSet) -> PathRow:
    people = tuple(
        f"Person {number}: "
        + ", ".join(f"{part.role} on step {part.number}" for part in parts)
        + "."
        for number, parts in enumerate(cut.people, start=1)
    )
    return PathRow(words=cut.words, people=people)


def _findings(checked: Checked, lines: Sequence[str], proof: Proof | None) -> tuple[Finding, ...]:
    steps = {} if proof is None else {notch.line: notch.number for notch in proof.drawn.ruler}

    def place(found: Fault | Question) -> str:
        above = [line for line in steps if line <= found.line]
        step = f"step {steps[max(above)]}, " if above else ""
        return f"{step}line {found.line}"

    faults = [
        Finding(
            title=f"Fault {number}: {fault.key}",
            mark="out",
            place=place(fault),
            lines=_lines(lines, fault.line),
            what=fault.what,
            mend=fault.mend,
        )
        for number, fault in enumerate(checked.faults, start=1)
    ]
    questions = [
        Finding(
            title=f"Question {number}: {question.key}",
            mark="stale",
            place=place(question),
            lines=_lines(lines, question.line),
            what=question.what,
            mend="",
        )
        for number, question in enumerate(checked.questions, start=1)
    ]
    return (*faults, *questions)


def _lines(lines: Sequence[str], line: int) -> tuple[tuple[str, bool], ...]:
    first = max(line - AROUND, 1)
    shown = range(first, min(line + AROUND, len(lines)) + 1)
    return tuple((lines[number - 1], number == line) for number in shown)


def _searched(checkup: Checkup, proof: Proof | None) -> tuple[tuple[str, str], ...]:
    took = ("Time", f"{checkup.seconds:.1f} s")
    if proof is None:
        return (("Steps read", "none proved"), took)
    holds = sum(notch.hold for notch in proof.drawn.ruler)
    critical = sum(notch.critical for notch in proof.drawn.ruler)
    blind = sum(notch.check == "independent" for notch in proof.drawn.ruler)
    return (
        ("Steps read", str(len(proof.drawn.ruler))),
        ("Critical steps", str(critical)),
        ("Holds", str(holds)),
        ("Counts made apart", str(blind)),
        ("Facts followed", str(len(proof.drawn.lanes))),
        ("Hazards", str(len(proof.hazards))),
        ("States of allowed orders", str(proof.searched.orders)),
        ("States in all", f"{proof.searched.states} of at most {proof.searched.bound}"),
        took,
    )


def _since(changes: Changes | None) -> str:
    if changes is None:
        return ""
    weight = {
        "none": "Nothing that is read has changed.",
        "minor": "A minor change.",
        "major": "A major change: everyone acknowledges it before they act in a run of it.",
    }[changes.weight]
    return f"Since revision {changes.old.revision}. {weight}"


def _previews(book: Book, text: Text, proof: Proof | None) -> tuple[tuple[int, str, str], ...]:
    if proof is None:
        return ()
    at = f"/procedures/{book.id}/preview"
    return tuple(
        (notch.number, notch.do, f"{at}/{notch.id}?text={text.sha256}")
        for notch in proof.drawn.ruler
    )


def _acts(
    book: Book, text: Text, checked: Checked, crew: Crew, session: Session
) -> tuple[Act, ...]:
    if text != book.draft:
        return ()

    def review(person: str) -> Refusal | None:
        return releasing.why_not_review(book, text.sha256, crew, person)

    def release(person: str) -> Refusal | None:
        faults = len(checked.faults) or checked.exit_code
        return releasing.why_not_release(book, text.sha256, crew, person, faults=faults)

    at = f"/procedures/{book.id}"
    acts = [_act(f"{at}/release", "Release it", "release", release, crew, session)]
    if text.reviewed is None:
        acts.insert(0, _act(f"{at}/review", "I have reviewed it", "review", review, crew, session))
    return tuple(acts)


def _act(  # noqa: PLR0913, PLR0917 - one form
    action: str,
    words: str,
    form: str,
    why_not: Callable[[str], Refusal | None],
    crew: Crew,
    session: Session,
) -> Act:
    chooser = people_to_choose(crew, session, may=lambda person: why_not(person) is None)
    off = ""
    if not chooser.people:
        told = [why_not(p) for p in (session.entering, *sorted(crew.people))]
        said = [t for t in told if t is not None and t.code != "release.role"] or told
        off = said[0].sentence.removesuffix(" Nothing was saved.") if said[0] is not None else ""
    return Act(action=action, words=words, form=form, chooser=chooser, off=off)


def _withdraw(book: Book, text: Text, crew: Crew, session: Session) -> Act | None:
    if text != book.current:
        return None

    def why_not(person: str) -> Refusal | None:
        return releasing.why_not_withdraw(book, crew, person, "-")

    at = f"/procedures/{book.id}/withdraw"
    return _act(at, "Withdraw it", "withdraw", why_not, crew, session)
