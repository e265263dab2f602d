"""The seats of a step: who has signed, who may, and what their signature says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.run.refusal import Refusal
from app.run.scene import needs_signatures
from app.run.seats import free_seats, may_enter, seat_for
from app.run.signing import meaning
from app.web.views.look import Look

LETTERS = "ABCDEFGH"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One seat, with its mark and its words."""

    role: str
    who: str
    mark: str
    words: str
    state: Literal["", "shut", "turn"] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chooser:
    """Who may put their name to it now, each with their own secret."""

    people: tuple[tuple[str, str], ...]  # id, name
    only: str = ""  # when it can be no one else
    chosen: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signing:
    """A form that signs: what is signed, by whom."""

    says: str  # "" where the step itself shows the sentence
    role: str
    chooser: Chooser


def seat_rows(look: Look) -> tuple[Seat, ...]:
    """Return the seats of a step, none where an entry alone completes it."""
    if not needs_signatures(look.step):
        return ()
    signed = {signature.seat: signature for signature in look.progress.signatures}
    begun = {e.seat: e for e in look.progress.live() if e.seat is not None}
    rows = []
    for number, role in enumerate(look.step.seats):
        signature, entry = signed.get(number), begun.get(number)
        if signature is not None:
            word = "Sealed" if look.step.check == "independent" else "Signed"
            words = f"{word} {signature.at:%H:%M}"
            shut: Literal["", "shut"] = "shut" if look.blind else ""
            rows.append(Seat(role=role, who=signature.by, mark="both", words=words, state=shut))
        elif entry is not None:
            state: Literal["", "turn"] = "turn" if entry.by == look.entering else ""
            rows.append(Seat(role=role, who=entry.by, mark="here", words="Entering", state=state))
        else:
            rows.append(Seat(role=role, who="", mark="todo", words="Not yet"))
    return tuple(rows)


def may_sign(look: Look) -> Signing | None:
    """Return the form for the next signature, None when nobody could sign it here."""
    fit = [(person, seat_for(look.scene, look.step, person)) for person in _active(look)]
    seats = {person: seat for person, seat in fit if isinstance(seat, int)}
    if look.kind.is_hold:
        seats = {p: s for p, s in seats.items() if not releasing(look, s)}
    if look.step.check == "independent" and not look.kind.is_hold:
        seats = {p: s for p, s in seats.items() if p == look.entering}
    if not seats:
        return None
    seat = min(seats.values())
    return Signing(
        says="" if look.kind.is_hold else meaning(look.step, seat),
        role=" or ".join(dict.fromkeys(look.step.seats[s] for s in sorted(set(seats.values())))),
        chooser=choose(look, tuple(seats)),
    )


def may_seal(look: Look) -> Chooser:
    """Return who may make an entry that is itself signed: a count, a word at the briefing."""
    fit = [p for p in _active(look) if not _kept_out(look, p)]
    return choose(look, tuple(fit))


def releasing(look: Look, seat: int) -> bool:
    """Say whether a seat releases the hold."""
    abilities = look.scene.crew.abilities.get(look.step.seats[seat], frozenset())
    return "release-hold" in abilities


def waits_for(look: Look) -> str:
    """Return the roles of the seats that are free, as `technician and supervisor`."""
    free = free_seats(look.scene, look.step)
    return " and ".join(dict.fromkeys(look.step.seats[seat] for seat in free))


def who_releases(look: Look) -> str:
    """Return the roles of the free seats that release a hold, "" when there are none."""
    free = [seat for seat in free_seats(look.scene, look.step) if releasing(look, seat)]
    return " and ".join(dict.fromkeys(look.step.seats[seat] for seat in free))


def _kept_out(look: Look, person: str) -> bool:
    refusal = may_enter(look.scene, look.step, person)
    if look.kind.presence:
        return refusal is not None or person in look.scene.briefed()
    return isinstance(refusal, Refusal) and refusal.code != "seat.apart"


def _active(look: Look) -> list[str]:
    """Return everyone who could act, those at this tablet first."""
    others = sorted(p.id for p in look.scene.crew.people.values() if p.active)
    return [*look.people, *(each for each in others if each not in look.people)]


def choose(look: Look, people: tuple[str, ...]) -> Chooser:
    """Return these people to choose from; whoever is entering stands chosen."""
    names = {p.id: p.name for p in look.scene.crew.people.values()}
    return Chooser(
        people=tuple((person, names.get(person, "")) for person in people),
        only=people[0] if len(people) == 1 else "",
        chosen=look.entering if look.entering in people else "",
    )
