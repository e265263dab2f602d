"""Who may enter on a step, and which seat a person may fill.

Rules, all of them here:
- a seat is filled only by a person who holds its role, and nobody fills two seats of a step;
- `not_same_as` keeps out everyone who entered or signed on the steps it names;
- once a brief is done, only briefed people act;
- after the act: whoever enters holds the first seat's role; the first seat is signed by someone
  who entered, the others by people who did not: they look at another's work;
- before the act: all seats agree, then one of them enters;
- independent: each seat's person makes their own entries, at least `apart` after the others;
- whoever releases a hold has entered nothing on any step since the hold before it.
"""

from __future__ import annotations

from datetime import timedelta

from app.procedure.model import Step
from app.procedure.registry import kind_of
from app.run.refusal import Refusal
from app.run.scene import Scene, needs_signatures


def may_enter(scene: Scene, step: Step, person: str) -> Refusal | None:
    """Return why this person may not enter on the step, or None."""
    kind = kind_of(step)
    refusal = known(scene, step, person)
    if refusal is not None or kind.presence:
        return refusal
    refusal = _briefed(scene, step, person) or _kept_apart(scene, step, person)
    if refusal is not None:
        return refusal
    wanted = step.seats[:1] if step.check == "after" else step.seats
    if not set(wanted) & scene.crew.roles(person):
        return _role(scene, step, person, wanted)
    match step.check:
        case "before":
            return _agreed(scene, step, person)
        case "independent":
            taken = independent_seat(scene, step, person)
            return taken if isinstance(taken, Refusal) else _apart(scene, step, person)
        case "after":
            return None


def seat_for(scene: Scene, step: Step, person: str) -> int | Refusal:
    """Return the seat that this person's signature fills, or why it fills none."""
    refusal = known(scene, step, person)
    refusal = refusal or _briefed(scene, step, person) or _kept_apart(scene, step, person)
    refusal = refusal or _once(scene, step, person)
    if refusal is not None:
        return refusal
    if step.check == "independent" and not kind_of(step).is_hold:
        return independent_seat(scene, step, person)
    free = free_seats(scene, step)
    mine = [seat for seat in free if step.seats[seat] in scene.crew.roles(person)]
    if not mine:
        return _role(scene, step, person, tuple(step.seats[seat] for seat in free))
    if kind_of(step).is_hold:
        return _hold_seat(scene, step, person, mine)
    if step.check == "after":
        return _looking_seat(scene, step, person, mine)
    return mine[0]


def free_seats(scene: Scene, step: Step) -> list[int]:
    """Return the seats that nobody has signed, first to last."""
    taken = {signature.seat for signature in scene.state.progress(step.id).signatures}
    return [seat for seat in range(len(step.seats)) if seat not in taken]


def independent_seat(scene: Scene, step: Step, person: str) -> int | Refusal:
    """Return the seat whose entries this person makes on an independent step."""
    refusal = _once(scene, step, person)
    if refusal is not None:
        return refusal
    live = scene.state.progress(step.id).live()
    begun = {entry.seat: entry.by for entry in live if entry.seat is not None}
    free = free_seats(scene, step)
    mine = [seat for seat in free if begun.get(seat) == person]
    open_seats = mine or [seat for seat in free if seat not in begun]
    if free and not open_seats:
        return _begun(step, [begun[seat] for seat in free])
    roles = scene.crew.roles(person)
    seat = next((seat for seat in open_seats if step.seats[seat] in roles), None)
    if seat is None:
        return _role(scene, step, person, tuple(step.seats[each] for each in open_seats))
    return seat


def entered_by(scene: Scene, step: Step) -> frozenset[str]:
    """Return everyone who entered on the step in its present round, struck entries too."""
    progress = scene.state.progress(step.id)
    return frozenset(e.by for e in progress.entries if e.round == progress.round)


def performed_since_hold(scene: Scene, hold: Step) -> frozenset[str]:
    """Return everyone who entered on a step since the hold before this one."""
    people: set[str] = set()
    for step in scene.procedure.steps:
        if step.number >= hold.number:
            break
        if kind_of(step).is_hold:
            if not scene.state.progress(step.id).passed_by:  # a hold nobody signed clears nobody
                people.clear()
        elif not kind_of(step).presence:
            people.update(entry.by for entry in scene.state.progress(step.id).entries)
    return frozenset(people)


def known(scene: Scene, step: Step, person: str) -> Refusal | None:
    """Return why someone who has no role here, or none any more, does nothing; or None."""
    if scene.crew.roles(person):
        return None
    return Refusal(
        code="person.unknown",
        sentence=f"{scene.name(person)} is not on this site's list of people. Nothing was saved.",
        who=scene.crew.who_may("manage-people"),
        where="the people list",
        step=step.id,
    )


def _briefed(scene: Scene, step: Step, person: str) -> Refusal | None:
    if not scene.brief_over() or person in scene.briefed():
        return None
    brief = next(s for s in scene.procedure.steps if kind_of(s).presence)
    return Refusal(
        code="people.not_briefed",
        sentence=(
            f"{person} has not been briefed on this run. "
            f"Brief {person} first, on step {brief.number}."
        ),
        who=person,
        where=f"step {brief.number}",
        step=step.id,
    )


def _kept_apart(scene: Scene, step: Step, person: str) -> Refusal | None:
    for name in step.not_same_as:
        other = scene.procedure.step(name)
        progress = scene.state.progress(name)
        people = {e.by for e in progress.entries} | {s.by for s in progress.signatures}
        if other is not None and person in people:
            return Refusal(
                code="seat.not_same_as",
                sentence=(
                    f"{person} worked on step {other.number}, so cannot take part in step "
                    f"{step.number}. Another person must."
                ),
                who=_roles(step.seats),
                step=step.id,
            )
    return None


def _once(scene: Scene, step: Step, person: str) -> Refusal | None:
    if all(s.by != person for s in scene.state.progress(step.id).signatures):
        return None
    left = tuple(step.seats[seat] for seat in free_seats(scene, step))
    return Refusal(
        code="seat.same_person",
        sentence=(
            f"{person} has already signed step {step.number}. "
            f"Another person must take the next seat: {_roles(left)}."
        ),
        who=_roles(left),
        step=step.id,
    )


def _role(scene: Scene, step: Step, person: str, wanted: tuple[str, ...]) -> Refusal:
    mine = _roles(tuple(sorted(scene.crew.roles(person))))
    if not wanted:
        sentence = f"Every seat of step {step.number} is taken."
    else:
        sentence = f"Only a {_roles(wanted)} can do this. {person} is {mine}."
    return Refusal(code="seat.role", sentence=sentence, who=_roles(wanted), step=step.id)


def _begun(step: Step, people: list[str]) -> Refusal:
    who = " and ".join(people)
    return Refusal(
        code="seat.begun",
        sentence=(
            f"Every seat of step {step.number} is taken. {who} began and must go on. "
            "If they cannot, report a trouble: then everyone does it again."
        ),
        who=who,
        where=f"step {step.number}",
        step=step.id,
    )


def _agreed(scene: Scene, step: Step, person: str) -> Refusal | None:
    signatures = scene.state.progress(step.id).signatures
    left = tuple(step.seats[seat] for seat in free_seats(scene, step))
    if left:
        return Refusal(
            code="seat.before",
            sentence=(
                f"Step {step.number} is not open. All {len(step.seats)} must agree before the act. "
                f"Still to sign: {_roles(left)}."
            ),
            who=_roles(left),
            step=step.id,
        )
    if any(signature.by == person for signature in signatures):
        return None
    who = " or ".join(signature.by for signature in signatures)
    return Refusal(
        code="seat.not_agreed",
        sentence=f"{person} did not agree to this act. {who} can enter it.",
        who=who,
        step=step.id,
    )


def _apart(scene: Scene, step: Step, person: str) -> Refusal | None:
    live = scene.state.progress(step.id).live()
    others = [entry.at for entry in live if entry.by != person]
    if not others or step.apart == timedelta(0):
        return None
    wait = step.apart - (scene.now - max(others))
    if wait <= timedelta(0):
        return None
    least = int(step.apart.total_seconds())
    return Refusal(
        code="seat.apart",
        sentence=(
            f"Not yet. Wait {int(wait.total_seconds()) + 1} s: these entries are made at least "
            f"{least} s apart, so that nobody leans on another."
        ),
        step=step.id,
    )


def _hold_seat(scene: Scene, step: Step, person: str, mine: list[int]) -> int | Refusal:
    performed = person in performed_since_hold(scene, step)
    releasing = {
        seat
        for seat in mine
        if "release-hold" in scene.crew.abilities.get(step.seats[seat], frozenset())
    }
    fit = [seat for seat in mine if not (performed and seat in releasing)]
    if fit:
        return fit[0]
    return Refusal(
        code="hold.own",
        sentence=(
            f"{person} entered work since the last hold, so cannot release step {step.number}. "
            f"Another {_roles(tuple(step.seats[s] for s in mine))} must countersign."
        ),
        who=_roles(tuple(step.seats[s] for s in mine)),
        step=step.id,
    )


def _looking_seat(scene: Scene, step: Step, person: str, mine: list[int]) -> int | Refusal:
    entered = entered_by(scene, step)
    if not entered or kind_of(step).presence or not needs_signatures(step):
        return mine[0]
    if len(step.seats) == 1:
        return mine[0]
    fit = [seat for seat in mine if (seat == 0) == (person in entered)]
    if fit:
        return fit[0]
    if person in entered:
        sentence = (
            f"{person} did step {step.number}. The seats left look at another's work: "
            "another person must sign."
        )
        return Refusal(code="seat.looks_at_own", sentence=sentence, step=step.id)
    who = " or ".join(sorted(entered))
    sentence = (
        f"The seat left is for whoever did step {step.number}: {who}. "
        "If they cannot, report a trouble: then it is done again."
    )
    return Refusal(code="seat.performer", sentence=sentence, who=who, step=step.id)


def _roles(roles: tuple[str, ...]) -> str:
    return " or ".join(dict.fromkeys(roles)) or "no role"
