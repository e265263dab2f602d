"""How to mend a word that is not known: the nearest one that is."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


def did_you_mean(word: str, known: Iterable[str], otherwise: str | None = None) -> str:
    """Return `Did you mean ...?`; where nothing is near, `otherwise`, or else what is known."""
    words = list(known)
    near = get_close_matches(word, words, n=1)
    if near:
        return f"Did you mean {near[0]}?"
    return f"Known: {', '.join(words)}." if otherwise is None else otherwise
