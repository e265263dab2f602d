"""The addresses of a run's pages and acts, in one place."""

from __future__ import annotations

from urllib.parse import urlencode


def run_page(run: str, step: str = "", part: str = "") -> str:
    """Return the page of a run, at a step and a part."""
    here = f"/runs/{run}/steps/{step}" if step else f"/runs/{run}"
    return here + _query(part=part)


def bench_fragment(run: str, step: str = "", part: str = "") -> str:
    """Return what the watch fetches when something is new."""
    return f"/runs/{run}/_bench" + _query(step=step, part=part)


def enter(run: str, step: str) -> str:
    """Return where an entry is sent."""
    return f"/runs/{run}/steps/{step}/enter"


def sign(run: str, step: str) -> str:
    """Return where a signature is sent."""
    return f"/runs/{run}/steps/{step}/sign"


def refuse(run: str, step: str) -> str:
    """Return where the refusal of a hold is sent."""
    return f"/runs/{run}/steps/{step}/refuse"


def countersign(run: str, step: str) -> str:
    """Return the page on which a hold is read and signed."""
    return f"/runs/{run}/steps/{step}/countersign"


def wrong(run: str, step: str, part: str = "") -> str:
    """Return the page on which something wrong is reported."""
    return f"/runs/{run}/steps/{step}/trouble" + _query(part=part)


def trouble(run: str, number: int) -> str:
    """Return the page on which a trouble is decided."""
    return f"/runs/{run}/troubles/{number}"


def correct(run: str, entry: int) -> str:
    """Return the page on which an entry is corrected."""
    return f"/runs/{run}/entries/{entry}/correct"


def stop(run: str) -> str:
    """Return where "Stop work" is sent."""
    return f"/runs/{run}/stop"


def stopped(run: str) -> str:
    """Return the page of a stopped run."""
    return f"/runs/{run}/stopped"


def resume(run: str) -> str:
    """Return the page on which suspended work is taken up again."""
    return f"/runs/{run}/resume"


def close(run: str) -> str:
    """Return the page on which a run is closed."""
    return f"/runs/{run}/close"


def watch(run: str) -> str:
    """Return where the watch asks."""
    return f"/runs/{run}/watch"


def _query(**asked: str) -> str:
    given = {name: value for name, value in asked.items() if value}
    return f"?{urlencode(given)}" if given else ""
