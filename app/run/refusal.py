"""A refusal: a person may not, now. Data, never raised; what stands in the way, who clears it, where."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Why an act was not done. `sentence` says it all; `who` and `where` say who can clear it."""

    code: str  # the rule: "order.not_open", "seat.same_person"
    sentence: str
    who: str = ""
    where: str = ""
    step: str = ""
    recorded: bool = False  # whether the attempt itself goes into the run's stream
