"""Proves procedures: what their interlocks allow, and how many people must be wrong before harm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from app.procedure.faults import Fault
from app.procedure.model import Hazard, Procedure, Site
from app.proof.crew import crew_faults
from app.proof.cut_sets import members
from app.proof.drawn import Mark, drawn
from app.proof.findings import findings
from app.proof.hazards import Act, Danger, cuts_of, shortest_way
from app.proof.orders import all_orders
from app.proof.people import Person, Rules
from app.proof.report import CutSet, Played, Proof, Proved, Question, Searched, Shown
from app.proof.succession import chain_faults
from app.proof.telling import taken_on, way_words

BOUND = 200_000  # states; a procedure of 300 steps and ten facts takes some thousands


def prove(procedures: Sequence[Procedure], site: Site, *, bound: int = BOUND) -> Proved:
    """Return what can be shown of procedures, and of their following one another as given."""
    return Proved(
        proofs=tuple(prove_one(procedure, site, bound=bound) for procedure in procedures),
        chain=tuple(chain_faults(procedures)),
    )


def prove_one(procedure: Procedure, site: Site, *, bound: int = BOUND) -> Proof:
    """Return what can be shown of one procedure, looking at no more than so many states."""
    orders = all_orders(procedure, bound)
    rules = Rules(procedure, site)
    states, whole = len(orders.moves), orders.whole
    shown: list[Shown] = []
    for hazard in procedure.asset.hazards:
        danger = Danger(orders, hazard)
        cuts = cuts_of(danger, bound - states)
        states, whole = states + cuts.states, whole and cuts.whole
        shown.append(_shown(danger, rules, cuts.family))
    found = findings(orders)
    faults = [each for each in found if isinstance(each, Fault)]
    faults += [*crew_faults(procedure, rules)]
    faults += [fault for each in shown for fault in _too_few(procedure, each)]
    if not whole:
        faults.append(_past_bound(procedure, bound))
    return Proof(
        id=procedure.id,
        revision=procedure.revision,
        title=procedure.title,
        file=procedure.file,
        hazards=tuple(shown),
        faults=tuple(sorted(faults)),
        questions=tuple(each for each in found if isinstance(each, Question)),
        searched=Searched(orders=len(orders.moves), states=states, bound=bound, whole=whole),
        drawn=drawn(procedure, _marks(shown), _weak(shown)),
    )


@dataclass(frozen=True, slots=True)
class _Weighed:
    cut: int
    people: tuple[Person, ...]


def _shown(danger: Danger, rules: Rules, family: Sequence[int]) -> Shown:
    steps = danger.orders.procedure.steps
    hazard: Hazard = danger.hazard
    weighed = [_Weighed(cut, rules.fewest([steps[i] for i in members(cut)])) for cut in family]
    least = min((len(each.people) for each in weighed), default=None)
    weakest = tuple(_cut_set(danger, each) for each in weighed if len(each.people) == least)
    return Shown(
        id=hazard.id,
        harm=hazard.harm,
        wanted=hazard.people,
        people=least,
        weakest=weakest,
        stronger=len(weighed) - len(weakest),
        opens=weakest[0].way[-1].number if weakest and weakest[0].way else 0,
    )


def _cut_set(danger: Danger, weighed: _Weighed) -> CutSet:
    procedure = danger.orders.procedure
    numbers = {step.id: step.number for step in procedure.steps}
    acts: tuple[Act, ...] = shortest_way(danger, weighed.cut)
    way = tuple(taken_on(danger, acts))
    return CutSet(
        steps=tuple(procedure.steps[i].id for i in members(weighed.cut)),
        people=tuple(
            tuple(
                Played(
                    number=numbers[part.step],
                    id=part.step,
                    seat=part.seat,
                    role=part.role,
                    enters=part.enters,
                )
                for part in sorted(person, key=lambda part: numbers[part.step])
            )
            for person in weighed.people
        ),
        way=way,
        words=way_words(way),
    )


def _too_few(procedure: Procedure, shown: Shown) -> Iterator[Fault]:
    if shown.enough:
        return
    last = procedure.steps[shown.opens - 1]
    facts = {
        test.fact
        for hazard in procedure.asset.hazards
        if hazard.id == shown.id
        for test in hazard.never
    }
    fact = next((name for name in last.sets if name in facts), "")
    key = f"sets.{fact}" if fact else "sets"
    if shown.people == 0:
        what = f"Followed rightly, this leads to {shown.id}: {shown.weakest[0].words}"
        mend = "Let this step need what must be so, and put it where that is so."
    else:
        many = "1 person is enough" if shown.people == 1 else f"{shown.people} people are enough"
        what = (
            f"{many} for {shown.id}, and the site asks for {shown.wanted}: {shown.weakest[0].words}"
        )
        mend = "Let somebody else confirm, before this step, what must be so."
    yield Fault(procedure.file, last.line, key, what, mend)


def _past_bound(procedure: Procedure, bound: int) -> Fault:
    what = f"The search passed its bound of {bound} states and was not finished: nothing is proved."
    mend = "Give sections of free order a strict one, or split them."
    return Fault(procedure.file, 0, "sections", what, mend)


def _marks(shown: Sequence[Shown]) -> Iterator[Mark]:
    for each in shown:
        if each.people is not None:
            for step in dict.fromkeys(cut.way[-1].number for cut in each.weakest if cut.way):
                yield Mark(hazard=each.id, step=step, people=each.people)


def _weak(shown: Sequence[Shown]) -> frozenset[str]:
    return frozenset(step for each in shown for cut in each.weakest for step in cut.steps)
