"""Whether all pieces are accounted for: those in place and those removed are those installed."""

from __future__ import annotations


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
