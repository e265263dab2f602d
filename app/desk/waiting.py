"""Whoever waits for a run to move on: the watch requests of the tablets."""

from __future__ import annotations

import asyncio
import threading


class Waiting:
    """Waiters by run; woken from the writer's thread after a commit."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._waiters: dict[str, set[tuple[asyncio.AbstractEventLoop, asyncio.Event]]] = {}

    async def wait(self, run: str, seconds: float) -> bool:
        """Wait until something happens in a run; False when nothing did in that time."""
        waiter = (asyncio.get_running_loop(), asyncio.Event())
        with self._guard:
            self._waiters.setdefault(run, set()).add(waiter)
        try:
            await asyncio.wait_for(waiter[1].wait(), seconds)
        except TimeoutError:
            return False
        finally:
            with self._guard:
                left = self._waiters.get(run, set())
                left.discard(waiter)
                if not left:
                    self._waiters.pop(run, None)
        return True

    def wake(self, runs: frozenset[str]) -> None:
        """Wake everyone who waits for one of these runs. Called from any thread."""
        with self._guard:
            woken = [waiter for run in runs for waiter in self._waiters.get(run, ())]
        for loop, happened in woken:
            if not loop.is_closed():
                loop.call_soon_threadsafe(happened.set)
