"""The texts that runs follow: the released one, and what was changed of it for one run alone."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from app.desk.acts import Asking, Kept, again, keep
from app.desk.founding import NotFounded
from app.desk.shelf import RUN, Shelf
from app.ledger.ledger import Ledger, Transaction
from app.procedure.check import checked
from app.procedure.model import Procedure, Site
from app.proof.prove import prove_one
from app.run.changing import change_steps, followed
from app.run.commands import ChangeSteps
from app.run.crew import Crew
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.state import RunState

STEP = "[[sections.steps]]"
ON_THE_PAGE = "the change page of the run"


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A text for one run alone: its exact bytes, and its model when its form is sound."""

    content: bytes
    procedure: Procedure


class ChangeDesk:
    """Which text a run follows, and how another one is approved for it."""

    def __init__(self, ledger: Ledger, shelf: Shelf, site: Site, crew: Callable[[], Crew]) -> None:
        self._ledger = ledger
        self._shelf = shelf
        self._site = site
        self._crew = crew

    def text(self, sha256: str) -> Procedure:
        """Return the model of a text that was released, or approved for a run.

        Raises:
            NotFounded: the ledger has no such text.
        """
        known = self._shelf.known_procedure(sha256)
        if known is not None:
            return known
        content = self._ledger.text(sha256)
        if content is None:
            raise NotFounded(f"The procedure {sha256[:12]} is not in the ledger.")
        return self._shelf.keep_procedure(sha256, content)

    def followed(self, state: RunState, now: datetime) -> Procedure:
        """Return the procedure as a run follows it at a moment."""
        texts = {change.sha256: self.text(change.sha256) for change in state.changes}
        return followed(self.text(state.sha256), texts, state, now)

    def lines(self, state: RunState, step: str) -> str:
        """Return the lines of one step in the released text."""
        text = (self._ledger.text(state.sha256) or b"").decode()
        found = self.text(state.sha256).step(step)
        if found is None:
            return ""
        first, last = _span(text.splitlines(), found.line)
        return "\n".join(text.splitlines()[first:last]).strip("\n")

    def with_lines(self, state: RunState, instead: Sequence[tuple[str, str]]) -> bytes:
        """Return the released text with other lines for some steps."""
        lines = (self._ledger.text(state.sha256) or b"").decode().splitlines()
        steps = [(self.text(state.sha256).step(name), new) for name, new in instead]
        known = [(step.line, new) for step, new in steps if step is not None]
        for line, new in sorted(known, reverse=True):  # from the end: what is above keeps its place
            first, last = _span(lines, line)
            lines[first:last] = [*new.replace("\r\n", "\n").strip("\n").split("\n"), ""]
        return ("\n".join(lines) + "\n").encode()

    async def approve(self, command: ChangeSteps, content: bytes, asking: Asking) -> Kept | Refusal:
        """Approve another text for a run, once it is checked and proved."""
        changed = await asyncio.to_thread(self._proved, content, asking.run)
        if isinstance(changed, Refusal):
            return changed
        asked = replace(command, sha256=changed.procedure.sha256)
        # Known before the event is: whoever folds the event finds the model at hand.
        self._shelf.keep_procedure(changed.procedure.sha256, content)
        errand = self._errand(asked, changed, asking)
        return await asyncio.wrap_future(self._ledger.submit(errand))

    def _errand(
        self, command: ChangeSteps, changed: Changed, asking: Asking
    ) -> Callable[[Transaction], Kept | Refusal]:
        def errand(tx: Transaction) -> Kept | Refusal:
            known = tx.receipt(RUN + asking.run, asking.key)
            if known is not None:
                return again(tx, self._shelf, known, command, asking)
            state = self._shelf.state(asking.run)
            board = self._shelf.board(state.asset) if state is not None else None
            if state is None or board is None:
                return Refusal(code="run.none", sentence=f"There is no run {asking.run}.")
            procedure = self.followed(state, tx.at)
            scene = Scene(
                procedure=procedure, state=state, board=board, crew=self._crew(), now=tx.at
            )
            released = self.text(state.sha256)
            answer = change_steps(scene, command, released, changed.procedure)
            if isinstance(answer, Refusal):
                return answer
            tx.keep_text(changed.procedure.sha256, changed.content)
            return keep(tx, self._shelf, procedure, command.by, asking, answer)

        return errand

    def _proved(self, content: bytes, run: str) -> Changed | Refusal:
        """Return the model of a text if neither its form, the rules nor the proof find a fault."""
        procedure, faults = checked(content, f"{run}.toml", self._site)
        if procedure is None or faults:
            return _not_proved(str(faults[0]) if faults else "It cannot be read.")
        proof = prove_one(procedure, self._site)
        if proof.faults:
            return _not_proved(str(proof.faults[0]))
        return Changed(content=content, procedure=procedure)


def _span(lines: Sequence[str], line: int) -> tuple[int, int]:
    """Return where a step's lines begin and end; `line` is one of them, from 1."""
    first = next(at for at in range(line - 1, -1, -1) if lines[at].strip() == STEP)
    after = range(first + 1, len(lines))
    last = next((at for at in after if lines[at].strip().startswith("[[sections")), len(lines))
    while (
        lines[last - 1].strip().startswith("#")
    ):  # a remark above the next step is the next step's
        last -= 1
    return first, last


def _not_proved(why: str) -> Refusal:
    sentence = f"The changed text cannot take effect. {why} Nothing was saved."
    return Refusal(code="change.fault", sentence=sentence, where=ON_THE_PAGE)
