"""What several pages say of a run: where it is, what its hardware is like, who is asked."""

from __future__ import annotations

from app.desk.seen import Seen
from app.procedure.model import Step


def step_here(seen: Seen) -> Step | None:
    """Return the first step that is not done, None when all are."""
    return next((s for s in seen.procedure.steps if not seen.state.progress(s.id).settled), None)


def here_words(seen: Seen) -> str:
    """Return where the run is: the step that is next, with its instruction."""
    step = step_here(seen)
    total = len(seen.procedure.steps)
    if step is None:
        return f"All {total} steps are done."
    return f"Step {step.number} of {total}: {step.do}"


def what_stands(seen: Seen) -> tuple[str, ...]:
    """Return the board's facts in words, in the order of the site's file."""
    return tuple(
        f"{name.replace('_', ' ').capitalize()}: {'in doubt' if now.value is None else now.value}"
        for name, now in seen.board.facts.items()
    )


def run_title(seen: Seen) -> str:
    """Return a run's name on a strip, as `QP-4, run R-0002`."""
    return f"{seen.procedure.id}, run {seen.state.run}"
