"""Minimal cut sets: the smallest sets of events that together bring about one that is not wanted.

A set is held as the bits of a whole number, a family of sets as a tuple of them in which none
contains another. The search for hazards and the fault trees of the handbooks use the same two
operations: either of two families, and both of them.

Source: the Boolean reduction of fault trees (distribution, idempotence, absorption), Fault Tree
Handbook, NUREG-0492, chapter VII.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

Family = tuple[int, ...]

NEVER: Family = ()  # cannot come about
ALWAYS: Family = (0,)  # comes about with nothing wrong


@dataclass(frozen=True, slots=True)
class Gate:
    """An event that comes about when at least so many of its inputs do.

    One of them is an or-gate, all of them an and-gate, a number between them a vote.
    """

    least: int
    inputs: tuple[str, ...]


def any_of(*inputs: str) -> Gate:
    """Return an or-gate."""
    return Gate(1, inputs)


def all_of(*inputs: str) -> Gate:
    """Return an and-gate."""
    return Gate(len(inputs), inputs)


def smallest(sets: Iterable[int]) -> Family:
    """Return the sets that contain no other of them, the smallest first."""
    kept: list[int] = []
    for each in sorted(set(sets), key=lambda mask: (mask.bit_count(), mask)):
        if not any(small & each == small for small in kept):
            kept.append(each)
    return tuple(kept)


def either(one: Family, other: Family) -> Family:
    """Return the minimal sets of an event that either of two brings about."""
    if not one or not other:
        return one or other
    return one if one == other else smallest((*one, *other))


def both(one: Family, other: Family) -> Family:
    """Return the minimal sets of an event that needs both of two."""
    return smallest(mine | theirs for mine in one for theirs in other)


def with_event(family: Family, event: int) -> Family:
    """Return the minimal sets of the family's event together with one more."""
    return both(family, (event,))


def cut_sets(gates: Mapping[str, Gate], top: str) -> frozenset[frozenset[str]]:
    """Return the minimal cut sets of a fault tree; a name that is no gate is a basic event."""
    basic: dict[str, int] = {}
    known: dict[str, Family] = {}

    def family(name: str) -> Family:
        if name not in known:
            gate = gates.get(name)
            known[name] = (
                (1 << basic.setdefault(name, len(basic)),)
                if gate is None
                else _vote([family(each) for each in gate.inputs], gate.least)
            )
        return known[name]

    found = family(top)
    return frozenset(
        frozenset(name for name, place in basic.items() if mask >> place & 1) for mask in found
    )


def members(mask: int) -> Iterator[int]:
    """Yield the places of the bits that stand in a set, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def _vote(inputs: list[Family], least: int) -> Family:
    found = NEVER
    for chosen in combinations(inputs, least):
        together = ALWAYS
        for each in chosen:
            together = both(together, each)
        found = either(found, together)
    return found
