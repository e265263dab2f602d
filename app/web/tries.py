"""How often one address may be turned away before it has to wait.

Whoever tries secrets, one person after another, meets each person's own lock only after five tries;
from one address all tries together are counted here. Rules:
- each act that is answered "not this person" (403) counts against the address that it came from;
- after thirty in five minutes, acts from there wait until the first of them is five minutes old;
- pages are still shown, and stop work is never counted and never waits.
Kept in memory, for as many addresses as a hall has, and then some.
"""

from __future__ import annotations

import time
from collections import OrderedDict, deque
from collections.abc import Callable

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.web.guards import SAFE_METHODS, Refuse

MOST = 30  # refusals; a crew of eight that mistypes twice each is at sixteen
SPAN_S = 300.0
ADDRESSES = 4096
NOT_COUNTED = ("/stop",)


class FewTries:
    """Lets an address act while it has not been turned away too often."""

    def __init__(
        self, app: ASGIApp, *, refuse: Refuse, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.app = app
        self.refuse = refuse
        self.clock = clock
        self._turned_away: OrderedDict[str, deque[float]] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or say how long to wait."""
        if scope["type"] != "http" or not _counts(scope):
            await self.app(scope, receive, send)
            return
        client = scope.get("client")
        address = str(client[0]) if client is not None else ""
        wait = self.wait_s(address)
        if wait > 0:
            minutes = int(wait // 60) + 1
            sentence = (
                f"Too many acts from here were turned away. Wait {minutes} min. Nothing was saved. "
                "Stop work still works."
            )
            await self.refuse(scope, receive, send, 429, "door.tries", sentence)
            return

        async def send_and_count(message: Message) -> None:
            if message["type"] == "http.response.start" and message["status"] == 403:
                self.count(address)
            await send(message)

        await self.app(scope, receive, send_and_count)

    def count(self, address: str) -> None:
        """Count one act that was turned away."""
        times = self._turned_away.setdefault(address, deque(maxlen=MOST))
        times.append(self.clock())
        self._turned_away.move_to_end(address)
        if len(self._turned_away) > ADDRESSES:
            self._turned_away.popitem(last=False)

    def wait_s(self, address: str) -> float:
        """Return how many seconds an address has to wait; 0 if it need not."""
        times = self._turned_away.get(address)
        if times is None or len(times) < MOST:
            return 0.0
        return max(0.0, times[0] + SPAN_S - self.clock())


def _counts(scope: Scope) -> bool:
    return scope["method"] not in SAFE_METHODS and not scope["path"].endswith(NOT_COUNTED)
