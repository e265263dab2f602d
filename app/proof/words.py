"""The check as a person reads it at a terminal: the verdict first, then why."""

from __future__ import annotations

from collections.abc import Iterator

from app.proof.checking import Checked
from app.proof.report import NOT_SHOWN, CutSet, Proof, Shown

PERSON, MISSING = "●", "○"
HEAD = ("hazard", "needed", "wanted")


def told(checked: Checked, seconds: float | None = None) -> Iterator[str]:
    """Yield the lines of the report; how long it took is for the caller to say."""
    yield verdict(checked)
    for proof in checked.proved.proofs:
        yield ""
        yield f"{proof.id} revision {proof.revision}. {proof.title}"
        yield from _hazards(proof)
    for title, found in (
        ("Faults", [str(fault) for fault in checked.faults]),
        ("Questions", [f"{q.file}:{q.line}: {q.key}: {q.what}" for q in checked.questions]),
    ):
        if found:
            yield from ("", title, *(f"  {line}" for line in found))
    yield from _changes(checked)
    yield from _searched(checked, seconds)
    yield from ("", "What this does not show", *(f"  {line}" for line in NOT_SHOWN))


def verdict(checked: Checked) -> str:
    """Return the verdict in one sentence."""
    questions = _many(len(checked.questions), "question") if checked.questions else ""
    if checked.report.unread:
        return f"Could not be read: {', '.join(checked.report.unread)}."
    if checked.faults:
        faults = _many(len(checked.faults), "fault")
        return f"Cannot be released. {faults}{', ' + questions if questions else ''}."
    return f"Can be released. No fault{', ' + questions if questions else ''}."


def bar(shown: Shown) -> str:
    """Return one mark for each person who must be wrong, and a hollow one for each who is missing."""
    if shown.people is None:
        return ""
    return PERSON * shown.people + MISSING * max(0, shown.wanted - shown.people)


def _hazards(proof: Proof) -> Iterator[str]:
    if not proof.searched.whole:
        yield "  The search was not finished. What follows is what was found so far, and proves nothing."
    elif all(shown.people != 0 for shown in proof.hazards):
        yield "  No allowed order of right entries reaches a hazard."
    reached = [shown for shown in proof.hazards if shown.people is not None]
    wide = max(len(name) for name in (HEAD[0], *(shown.id for shown in reached)))
    if reached:
        yield f"  {HEAD[0]:{wide}}  {HEAD[1]:>6}  {HEAD[2]:>6}  people who must be wrong at once"
    for shown in reached:
        yield f"  {shown.id:{wide}}  {shown.people:>6}  {shown.wanted:>6}  {bar(shown)}"
        yield from (f"    {line}" for line in _why(shown))
    others = [shown.id for shown in proof.hazards if shown.people is None]
    if others:
        yield f"  No entries, right or wrong, lead to {_many(len(others), 'other hazard')}: {', '.join(others)}."


def _why(shown: Shown) -> Iterator[str]:
    yield shown.harm
    if shown.people == 0:
        yield "Nobody need be wrong. The shortest such order:"
        for taken in shown.weakest[0].way:
            yield f"  step {taken.number}, {taken.id}: {taken.how}"
        return
    for cut in shown.weakest:
        yield f"Weakest path: {cut.words}"
        yield from _people(cut)
    if shown.stronger:
        yield f"{_many(shown.stronger, 'further path')} would need more people."


def _people(cut: CutSet) -> Iterator[str]:
    for number, parts in enumerate(cut.people, start=1):
        seats = ", ".join(f"{part.role} on step {part.number}" for part in parts)
        yield f"  person {number}: {seats}"


def _changes(checked: Checked) -> Iterator[str]:
    for each in checked.changes:
        yield ""
        yield f"Since revision {each.old.revision} of {each.old.id}: {_weight(each.weight)}"
        yield from (f"  {change}" for change in each.changes)


def _weight(weight: str) -> str:
    return {
        "none": "nothing has changed.",
        "minor": "a minor change.",
        "major": "a major change. Whoever acknowledged it before must read it anew.",
    }[weight]


def _searched(checked: Checked, seconds: float | None) -> Iterator[str]:
    yield from ("", "What was searched")
    took = f" {seconds:.1f} s." if seconds is not None else ""
    yield f"  {_many(len(checked.report.files), 'file')}.{took}"
    for proof in checked.proved.proofs:
        searched = proof.searched
        steps = _many(len(proof.drawn.ruler), "step")
        how = "all of them" if searched.whole else "not finished"
        yield (
            f"  {proof.id}: {steps}, {searched.orders} states of allowed orders, "
            f"{searched.states} states in all, {how}; the bound is {searched.bound}."
        )
    if len(checked.proved.proofs) > 1:
        follow = " -> ".join(proof.id for proof in checked.proved.proofs)
        yield f"  Each leaves against the next starts_with: {follow}."
    for file in checked.report.files:
        if not file.endswith("site.toml") and file not in {p.file for p in checked.proved.proofs}:
            yield f"  {file} was not proved: its form must be mended first."


def _many(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
