"""Whether all pieces are accounted for: those in place and those removed are those installed."""

from __future__ import annotations

from decimal import Decimal

from app.calculations.calculation import Answer, Calculation, Input, Output, Values


def unaccounted(installed: int, in_place: int, removed: int, scrapped: int = 0) -> int:
    """Return how many pieces nobody has seen; below 0, how many were seen twice or never installed.

    Args:
        installed: How many there were, 0 or more.
        in_place: How many are still where they were, 0 or more.
        removed: How many lie where removed ones must lie, 0 or more.
        scrapped: How many were written off by name, 0 or more.

    Raises:
        ValueError: a count is below 0.

    Source: common practice, no source.
    """
    if min(installed, in_place, removed, scrapped) < 0:
        raise ValueError("A count is below 0.")
    return installed - in_place - removed - scrapped


def _tally(given: Values) -> Answer:
    counts = {each.name: int(given.exact(each.name)) for each in INPUTS if each.name in given}
    missing = unaccounted(**counts)
    seen = " + ".join(
        f"{n} {name.replace('_', ' ')}" for name, n in counts.items() if name != "installed"
    )
    if missing == 0:
        sentence = "All are accounted for."
    elif missing > 0:
        sentence = f"{missing} not accounted for. Search before anything moves."
    else:
        sentence = f"{-missing} more than were installed. Count again."
    working = (f"{seen} against {counts['installed']} installed.",)
    return Answer(
        values=(Decimal(missing),), working=working, passes=missing == 0, sentence=sentence
    )


INPUTS = (
    Input(name="installed", title="Installed", form="whole"),
    Input(name="in_place", title="In place", form="whole"),
    Input(name="removed", title="Removed", form="whole"),
    Input(name="scrapped", title="Written off", form="whole", optional=True),
)

SUMS = (
    Calculation(
        name="tally",
        title="Not accounted for",
        subject="Mirror and lifting",
        inputs=INPUTS,
        outputs=(Output(name="missing", title="Not accounted for"),),
        work=_tally,
        formula="installed - in place - removed - written off",
        source="Common practice, no source.",
    ),
)
