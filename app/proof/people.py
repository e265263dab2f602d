"""The least number of different people who must be wrong for a set of steps to be signed wrongly.

Every seat of every one of the steps is a part that somebody plays wrongly. Two parts clash when the
run's own rules let nobody play both; the run itself is asked, in a scene in which one person has
played the one part and comes for the other. The least number of people is then the exact chromatic
number of the graph of clashes.

Which roles one person may hold together is not for a procedure to say: any two, unless a seat's
rule keeps the person out. So the figure holds even for a site where one person has every role.

Where all seats agree before the act, one of them enters it; which one is free, so each is tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

from app.procedure.model import Procedure, Site, Step
from app.procedure.registry import kind_of
from app.proof.scenes import Part, Scenes
from app.run.scene import needs_signatures

Person = tuple[Part, ...]  # all the parts that one person plays


class Rules:
    """The run's rules of seats for one procedure, each pair of parts asked once."""

    def __init__(self, procedure: Procedure, site: Site) -> None:
        self._procedure = procedure
        self._scenes = Scenes(procedure, site)
        self._steps = {step.id: step for step in procedure.steps}
        self._known: dict[tuple[Part, Part], bool] = {}

    def clash(self, one: Part, other: Part) -> bool:
        """Say whether nobody may play both parts, in whatever order the steps may come."""
        key = (one, other)
        if key not in self._known:
            orders = self._orders(one, other)
            allowed = any(self._scenes.may_play(then, after=first) for first, then in orders)
            self._known[key] = not allowed
        return self._known[key]

    def nobody(self, step: Step) -> Part | None:
        """Return the part of a step that nobody may play, whatever their roles; None if there is none."""
        unplayed = [self._unplayed(cast) for cast in casts(step)]
        return None if None in unplayed else unplayed[0]

    def _unplayed(self, cast: Sequence[Part]) -> Part | None:
        return next((part for part in cast if not self._scenes.may_play(part)), None)

    def fewest(self, steps: Sequence[Step], role: str = "") -> tuple[Person, ...]:
        """Return the fewest people who can fill every seat of these steps, with their parts.

        With a role, only the seats of that role are looked at.
        """
        best: tuple[Person, ...] | None = None
        for chosen in product(*(tuple(casts(step)) for step in steps)):
            parts = [part for cast in chosen for part in cast if role in ("", part.role)]
            limit = len(parts) if best is None else len(best) - 1
            found = self._coloured(parts, limit)
            best = found if found is not None else best
        return best or ()

    def _orders(self, one: Part, other: Part) -> Iterator[tuple[Part, Part]]:
        first, second = (self._step(part) for part in (one, other))
        if first.number > second.number:
            one, other = other, one
        yield one, other
        free = self._procedure.sections[first.section].order == "any"
        if first is second or (free and first.section == second.section):
            yield other, one

    def _step(self, part: Part) -> Step:
        return self._steps[part.step]

    def _coloured(self, parts: Sequence[Part], limit: int) -> tuple[Person, ...] | None:
        """Return the parts shared out among the fewest people, if no more than `limit` are needed."""
        clashes = [[False] * len(parts) for _ in parts]
        for i, j in combinations(range(len(parts)), 2):
            clashes[i][j] = clashes[j][i] = self.clash(parts[i], parts[j])
        order = sorted(range(len(parts)), key=lambda i: -sum(clashes[i]))
        for people in range(1, limit + 1):
            shared = shared_out(clashes, order, people)
            if shared is not None:
                return tuple(tuple(parts[i] for i in sorted(mine)) for mine in shared)
        return None


def casts(step: Step) -> Iterator[tuple[Part, ...]]:
    """Yield each way in which the parts of a step can be made up."""
    seats = tuple(enumerate(step.seats))
    signs = needs_signatures(step)
    if kind_of(step).is_hold or kind_of(step).presence:
        yield tuple(Part(step.id, seat, role, enters=False, signs=True) for seat, role in seats)
    elif step.check == "independent":
        yield tuple(Part(step.id, seat, role, enters=True, signs=True) for seat, role in seats)
    elif step.check == "after":
        yield tuple(Part(step.id, s, role, enters=s == 0, signs=signs) for s, role in seats)
    else:
        for entering, _ in seats:
            yield tuple(
                Part(step.id, s, role, enters=s == entering, signs=signs) for s, role in seats
            )


def shared_out(
    clashes: Sequence[Sequence[bool]], order: Sequence[int], people: int
) -> list[list[int]] | None:
    """Return the nodes in so many classes without a clash inside one, or None: every way is tried."""
    shared: list[list[int]] = []

    def place(at: int) -> bool:
        if at == len(order):
            return True
        node = order[at]
        for mine in shared:
            if not any(clashes[node][other] for other in mine):
                mine.append(node)
                if place(at + 1):
                    return True
                mine.pop()
        if len(shared) < people:  # one new class stands for all: they are alike
            shared.append([node])
            if place(at + 1):
                return True
            shared.pop()
        return False

    return shared if place(0) else None
