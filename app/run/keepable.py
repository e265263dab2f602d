"""Which steps a tablet may take entries for without its link: what such an entry can do is little.

Rules: one seat, no signature, not critical; a kind that says so; and no fact on which a hazard
rests is set or confirmed. Everything else needs the recorder at that very moment.
"""

from __future__ import annotations

from app.procedure.model import Procedure, Step
from app.procedure.registry import kind_of
from app.run.refusal import Refusal
from app.run.scene import needs_signatures


def is_keepable(procedure: Procedure, step: Step) -> bool:
    """Say whether an entry on a step may wait on a tablet until the link is back."""
    kind = kind_of(step)
    touched = frozenset(step.sets) | {test.fact for test in step.confirms}
    return (
        kind.keepable
        and not kind.presence
        and not kind.is_hold
        and not needs_signatures(step)
        and not touched & procedure.asset.hazard_facts()
    )


def why_not_keepable(procedure: Procedure, step: Step) -> Refusal | None:
    """Return why an entry that a tablet had kept is not taken on a step, or None."""
    if is_keepable(procedure, step):
        return None
    return Refusal(
        code="kept.needs_link",
        sentence=f"Step {step.number} is entered with a link to the recorder. Nothing was saved.",
        where=f"step {step.number}",
        step=step.id,
    )
