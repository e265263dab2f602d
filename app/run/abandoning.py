"""Ending a run that cannot be finished: the lead says why and how everything is left, another agrees.

The board keeps what is believed of the hardware: nothing is made true by giving up.
"""

from __future__ import annotations

from app.run.commands import Abandon
from app.run.events import Event, RunAbandoned
from app.run.interlocks import run_shut
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.signing import without_secret


def abandon(scene: Scene, command: Abandon) -> list[Event] | Refusal:
    """Return the event that ends a run unfinished. A run that is stopped or suspended can end too."""
    if scene.state.status in ("none", "closed"):
        return run_shut(scene) or []
    refusal = (
        without_secret(command.by, signed=command.signed)
        or why_not_both(scene, (command.by, command.second), "abandon a run")
        or _said(command)
    )
    if refusal is not None:
        return refusal
    steps = scene.procedure.steps
    left = [s for s in steps if not scene.state.progress(s.id).settled]
    where = f"Step {left[0].number} was next: {left[0].do}" if left else "Every step is done."
    return [
        RunAbandoned(
            reason=command.reason.strip(),
            state=command.state.strip(),
            second=command.second,
            statement=(
                f"{scene.procedure.id} revision {scene.procedure.revision} is not finished: "
                f"{len(left)} of {len(steps)} steps are left. {where}"
            ),
        )
    ]


def why_not_both(scene: Scene, people: tuple[str, str], act: str) -> Refusal | None:
    """Return why two people may not decide something of the lead's, or None."""
    by, second = people
    who = scene.crew.who_may("accept-deviation")
    if not scene.crew.may(by, "accept-deviation"):
        return Refusal(
            code="ability", sentence=f"Only {who} can {act}. Nothing was saved.", who=who
        )
    if second == by or not scene.crew.may(second, "perform"):
        return Refusal(
            code="decide.two_people",
            sentence=f"A second person of the crew signs beside {by}. Nothing was saved.",
            who="anyone else of the crew",
        )
    return None


def _said(command: Abandon) -> Refusal | None:
    if not command.reason.strip():
        return Refusal(
            code="typed.abandon.reason",
            sentence="Say why the run cannot be finished. Nothing was saved.",
            where="the abandon page",
        )
    if not command.state.strip():
        return Refusal(
            code="typed.abandon.state",
            sentence="Describe how the mirror and the equipment are left. Nothing was saved.",
            where="the abandon page",
        )
    return None
