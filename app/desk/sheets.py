"""One sheet, one signature: what became of it can be asked, and a secret is never sent twice.

Rules: the sheet that a person signs has a key of its own, drawn when it opens. It is taken once:
the same key again gets the same outcome, and the secret that came with it is not even looked at.
Whoever asks what became of a sheet that has not arrived gives it up by asking: should it still
arrive, nothing is signed with it. So the answer "nothing was signed" stays true.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Literal

from app.desk.seen import Done
from app.run.refusal import Refusal

MOST = 4096  # sheets remembered; a tablet asks within seconds
State = Literal["under way", "done", "refused", "given up"]

GIVEN_UP = Refusal(
    code="sheet.given_up",
    sentence=(
        "This sheet was given up when its answer was lost. Nothing was signed with it. "
        "Sign on a new one."
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a sheet."""

    state: State
    refusal: Refusal | None = None


class Sheets:
    """The sheets of the last while, by run and key. Used on the server's loop alone."""

    def __init__(self) -> None:
        self._taken: OrderedDict[tuple[str, str], asyncio.Future[Done | Refusal]] = OrderedDict()
        self._given_up: OrderedDict[tuple[str, str], None] = OrderedDict()

    async def once(
        self, run: str, key: str, sign: Callable[[], Awaitable[Done | Refusal]]
    ) -> Done | Refusal:
        """Sign with a sheet, or give the outcome that it already has."""
        sheet = (run, key)
        if sheet in self._given_up:
            return GIVEN_UP
        known = self._taken.get(sheet)
        if known is None:
            known = self._taken[sheet] = asyncio.ensure_future(sign())
            while len(self._taken) > MOST:
                self._taken.popitem(last=False)
        try:
            return await asyncio.shield(known)  # the tablet may go away; the act goes on
        except Exception:
            self._taken.pop(sheet, None)  # the ledger could not keep it: it has no outcome
            raise

    def outcome(self, run: str, key: str, *, kept: bool) -> Outcome:
        """Say what became of a sheet; one that has not arrived is given up.

        Args:
            run: its run.
            key: its key.
            kept: the ledger holds an answer under this key, from before the server was restarted.
        """
        known = self._taken.get((run, key))
        if known is None:
            if kept:
                return Outcome(state="done")
            self._given_up[run, key] = None
            while len(self._given_up) > MOST:
                self._given_up.popitem(last=False)
            return Outcome(state="given up", refusal=GIVEN_UP)
        if not known.done():
            return Outcome(state="under way")
        if known.exception() is not None:
            return Outcome(state="given up", refusal=GIVEN_UP)
        answer = known.result()
        if isinstance(answer, Refusal):
            return Outcome(state="refused", refusal=answer)
        return Outcome(state="done")
