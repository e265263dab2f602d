"""Where work may be left; and the point at which a run of a withdrawn procedure stops."""

from __future__ import annotations

from app.procedure.model import Step
from app.run.refusal import Refusal
from app.run.scene import Scene


def at_safe_point(scene: Scene) -> bool:
    """Say whether work may be left here: no step is begun, and the last one done is a safe point."""
    done = [s for s in scene.procedure.steps if scene.state.progress(s.id).done]
    last = max(done, key=lambda s: s.number, default=None)
    return not begun_steps(scene) and (last is None or last.safe_point)


def begun_steps(scene: Scene) -> list[Step]:
    """Return the steps that are begun and not settled."""
    return [
        s
        for s in scene.procedure.steps
        if not (here := scene.state.progress(s.id)).settled and (here.live() or here.signatures)
    ]


def withdrawn_shut(scene: Scene) -> Refusal | None:
    """Return why a run of a withdrawn procedure goes no further, once it is at a safe point."""
    withdrawn = scene.state.withdrawn
    if withdrawn is None:
        return None
    finished = all(scene.state.progress(s.id).settled for s in scene.procedure.steps)
    if finished or not at_safe_point(scene):
        return None  # what is finished may be closed
    return Refusal(
        code="run.withdrawn",
        sentence=(
            f"{withdrawn.by} withdrew {scene.state.procedure} revision {scene.state.revision}: "
            f"“{withdrawn.reason}” Work stays at this safe point until the run is changed or "
            "abandoned."
        ),
        who=scene.crew.who_may("accept-deviation"),
        where="the change page or the abandon page of the run",
    )
