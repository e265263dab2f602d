"""Questions that the times and values of a run raise. They accuse nobody: each has harmless answers.

The thresholds are the house's own: common practice of reading logs, no source.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from app.record.clock import span_words
from app.run.events import EntryMade, Happened, RunResumed, SeatSigned, WorkRestarted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.record.acts import Names
    from app.record.clock import Clock

BURST = timedelta(seconds=3)  # between two entries of one person: faster than a hand at work
BURST_COUNT = 4
TOGETHER = timedelta(seconds=5)  # two people's secrets on one tablet within this: quick
ALIKE = 6  # the same measured value, digit for digit, on so many parts
GAP = timedelta(minutes=60)
LATE_CLOCK = timedelta(seconds=10)


def questions(happened: Sequence[Happened], names: Names, clock: Clock) -> tuple[str, ...]:
    """Return the questions that a run raises, in a fixed order of kinds."""
    return (
        *_bursts(happened, names, clock),
        *_together(happened, names, clock),
        *_alike(happened, names),
        *_gaps(happened, clock),
    )


def _bursts(happened: Sequence[Happened], names: Names, clock: Clock) -> Iterator[str]:
    entries = [each for each in happened if isinstance(each.event, EntryMade)]
    run: list[Happened] = []
    for each in (*entries, None):
        last = run[-1] if run else None
        if each is not None and last is not None and _follows_fast(last, each):
            run.append(each)
            continue
        if len(run) >= BURST_COUNT:
            first, end = run[0], run[-1]
            yield (
                f"{names.person(first.by)} made {len(run)} entries in "
                f"{span_words(end.at - first.at)}, from {clock.when(first.at)} (events "
                f"{first.seq} to {end.seq}). Were they made at the part, one by one?"
            )
        run = [] if each is None else [each]


def _follows_fast(last: Happened, each: Happened) -> bool:
    return (last.by, last.device) == (each.by, each.device) and each.at - last.at <= BURST


def _together(happened: Sequence[Happened], names: Names, clock: Clock) -> Iterator[str]:
    signed = [each for each in happened if isinstance(each.event, SeatSigned)]
    for one, other in pairwise(signed):
        step = getattr(one.event, "step", "")
        if step != getattr(other.event, "step", "") or one.by == other.by:
            continue
        if one.device == other.device and other.at - one.at <= TOGETHER:
            yield (
                f"{names.person(one.by)} and {names.person(other.by)} signed {names.step(step)} "
                f"on one tablet within {span_words(other.at - one.at)}, at "
                f"{clock.when(one.at)}. Did each look?"
            )


def _alike(happened: Sequence[Happened], names: Names) -> Iterator[str]:
    found: dict[tuple[str, str, str], list[Happened]] = defaultdict(list)
    for each in happened:
        made = each.event
        value = made.values.get("value", "") if isinstance(made, EntryMade) else ""
        if isinstance(made, EntryMade) and made.part and any(c in "123456789" for c in value):
            found[made.step, each.by, value].append(each)
    for (step, by, value), same in found.items():
        if len(same) >= ALIKE:
            yield (
                f"{names.person(by)} entered {value} on {len(same)} parts of {names.step(step)}. "
                "Was each read?"
            )


def _gaps(happened: Sequence[Happened], clock: Clock) -> Iterator[str]:
    for one, other in pairwise(happened):
        if other.at - one.at >= GAP and not isinstance(other.event, RunResumed | WorkRestarted):
            yield (
                f"Nothing was entered for {span_words(other.at - one.at)}, from "
                f"{clock.when(one.at)} to {clock.when(other.at)}. What was done then?"
            )


def late(happened: Sequence[Happened], names: Names, clock: Clock) -> tuple[str, ...]:
    """Return what is told of entries that a tablet had kept before they reached the recorder."""
    kept = [e for e in happened if isinstance(e.event, EntryMade) and e.event.tablet]
    told = []
    for key, group in groupby(kept, key=lambda each: (each.event.step, each.by)):  # type: ignore[union-attr]
        same = list(group)
        made = [e.event.tablet.get("estimated", "") for e in same]  # type: ignore[union-attr]
        if any(e.event.tablet.get("late") == "yes" for e in same):  # type: ignore[union-attr]
            numbers = ", ".join(str(e.seq) for e in same)
            told.append(
                f"{names.person(key[1])}'s entries on {names.step(key[0])} (events {numbers}) were "
                f"kept on a tablet and came in later: made about {made[0][11:19]} UTC, received "
                f"{clock.when(same[0].at)}."
            )
    return tuple(told)
