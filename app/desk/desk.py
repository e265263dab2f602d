"""The front desk: loads, decides, appends, tells. The only place where the core meets the outside."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Self
from zoneinfo import ZoneInfo

from app.desk import founding
from app.desk.acts import Asking, Kept, act_errand, fingerprint, open_errand, refusal_errand
from app.desk.change_desk import ChangeDesk
from app.desk.declaring import declare_errand, why_not_declare
from app.desk.release_desk import ReleaseDesk
from app.desk.sealing import Sealing
from app.desk.seen import Done, Released, SealedRecord, Seen
from app.desk.sheets import Sheets
from app.desk.shelf import Shelf, runs_touched
from app.desk.tool_desk import ToolDesk
from app.desk.unsent import Unsent
from app.desk.waiting import Waiting
from app.ledger.blobs import Blobs
from app.ledger.canonical import digest
from app.ledger.ledger import Ledger
from app.ledger.stored import SITE, Stored
from app.people.checking import Locked, Wrong
from app.people.register import Register
from app.people.secrets import Busy
from app.people.sessions import Sessions
from app.procedure.entry import Circumstances
from app.procedure.loader import load_site
from app.procedure.model import Asset, FactValue, Procedure, Site
from app.proof.releasing import why_not_open
from app.record.document import Document
from app.record.keys import SiteKeys
from app.record.trouble import RecordTrouble
from app.run.board import Board
from app.run.commands import Abandon, ChangeSteps, Close, Command
from app.run.crew import Crew, Person
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.state import RunState

__all__ = ["Desk", "Done", "Released", "SealedRecord", "Seen", "utc_now"]

NOT_RELEASED = Refusal(code="open.released", sentence="It is not released here.")
log = logging.getLogger(__name__)


def utc_now() -> datetime:
    """Return the server's time: the only clock of the record."""
    return datetime.now(UTC)


class Desk:
    """One open site. Reads are from memory; every change goes through the ledger's one writer."""

    def __init__(
        self, ledger: Ledger, site: Site, site_text: bytes, clock: Callable[[], datetime]
    ) -> None:
        folder = ledger.folder
        self.now = clock
        self.site = site
        self.zone = ZoneInfo(site.time_zone)
        self.ledger = ledger
        self.register = Register(ledger)
        self.sessions = Sessions(ledger)
        self.blobs = Blobs(folder / founding.PHOTOS)
        self.keys = SiteKeys.open(folder / founding.KEYS)
        self._shelf = Shelf(site)
        self._shelf.fill(ledger.read_all())
        self.tool_desk = ToolDesk(ledger, self._shelf)
        self.release_desk = ReleaseDesk(ledger, self._shelf, site, site_text, self.crew)
        self.change_desk = ChangeDesk(ledger, self._shelf, site, self.crew)
        self._waiting = Waiting()
        self.sheets = Sheets()
        self.unsent = Unsent()
        self._sealing = Sealing(
            ledger,
            self._shelf,
            site_text=site_text,
            keys=self.keys,
            folder=folder / founding.RECORDS,
            blobs=self.blobs,
        )
        self._background: set[asyncio.Task[None]] = set()
        ledger.after_commit(self._committed)
        ledger.after_rollback(self._shelf.drop)

    @classmethod
    def open(cls, folder: Path, *, clock: Callable[[], datetime] = utc_now) -> Self:
        """Open the site in a folder.

        Raises:
            NotFounded: the folder holds no site of ours.
            LedgerTrouble: the ledger cannot be opened; RecordTrouble: the keys cannot.
        """
        ledger = Ledger.open(folder, clock)
        try:
            text = _site_text(ledger)
            site, faults = load_site(text, "site.toml")
            if site is None:
                raise founding.NotFounded(f"The site's own file does not load: {faults[0]}")
            return cls(ledger, site, text, clock)
        except BaseException:
            ledger.close()
            raise

    @staticmethod
    def found(  # noqa: PLR0913 - what a site begins with
        folder: Path,
        site_text: bytes,
        people: Sequence[tuple[Person, str]],
        procedures: Mapping[str, bytes],
        *,
        reviewer: str,
        releaser: str,
        clock: Callable[[], datetime] = utc_now,
    ) -> None:
        """Make a site in a folder; see `founding.found`."""
        founding.found(
            folder,
            site_text,
            people,
            procedures,
            reviewer=reviewer,
            releaser=releaser,
            clock=clock,
        )

    def close(self) -> None:
        """Let go of the site: the writer finishes what it has."""
        self._sealing.close()
        self.register.close()
        self.ledger.close()

    # -- reading

    def crew(self) -> Crew:
        """Return everyone the site knows, and what their roles may do."""
        return self.register.crew(self.site)

    def runs(self) -> tuple[RunState, ...]:
        """Return every run, in the order of opening."""
        return self._shelf.seen_states()

    def run(self, run_id: str) -> Seen | None:
        """Return a run as it stands, None if there is none of that number."""
        state = self._shelf.seen_state(run_id)
        if state is None:
            return None
        procedure = self.change_desk.followed(state, self.now())
        board = self._shelf.seen_board(procedure.asset.id)
        if board is None:
            return None
        tools = self._shelf.seen_tools()
        return Seen(state=state, procedure=procedure, board=board, tools=tools)

    def board(self, asset: Asset) -> Board | None:
        """Return what is believed of an asset now."""
        return self._shelf.seen_board(asset.id)

    def released(self) -> tuple[Released, ...]:
        """Return the procedures that may be run."""
        return self._shelf.released()

    def procedure(self, released: Released) -> Procedure:
        """Return the model of a released procedure."""
        return self.change_desk.text(released.sha256)

    def procedure_of(self, seen: Seen) -> Procedure:
        """Return the released text to which a run is pinned, without what was changed for it."""
        return self.change_desk.text(seen.state.sha256)

    def scene(self, seen: Seen) -> Scene:
        """Return all that a decision about a run would look at now."""
        return Scene(
            procedure=seen.procedure,
            state=seen.state,
            board=seen.board,
            crew=self.crew(),
            now=self.now(),
            tools=seen.tools,
        )

    def circumstances(self, seen: Seen, who: str) -> Circumstances:
        """Return what a card may look at: nothing of others on a step that is still blind."""
        return self.scene(seen).circumstances(who, blind=True)

    async def wait(self, run_id: str, after: int, seconds: float) -> bool:
        """Wait until a run is past an event; False when it was not in that time."""
        state = self._shelf.seen_state(run_id)
        if state is None or state.seq > after:
            return state is not None
        return await self._waiting.wait(run_id, seconds)

    # -- acting

    async def act(self, run_id: str, command: Command, *, key: str, device: str) -> Done | Refusal:
        """Decide a command and keep what it came to; a key used again gives the same answer.

        Raises:
            LedgerTrouble: it could not be kept; nothing was saved.
        """
        seen = self.run(run_id)
        if seen is None:
            return Refusal(code="run.none", sentence=f"There is no run {run_id}.")
        asking = Asking(run=run_id, key=key, device=device, print=fingerprint(run_id, command))
        unread = self.release_desk.why_not_act(seen.state, command)
        if unread is not None:
            return unread
        errand = act_errand(self._shelf, self.change_desk.followed, self.crew(), command, asking)
        return self._told(await asyncio.wrap_future(self.ledger.submit(errand)))

    async def sign_act(
        self, run_id: str, command: Command, *, secret: str, key: str, device: str
    ) -> Done | Refusal:
        """Check the person's own secret first, then do the act as signed by them."""
        refusal = await self.why_not_own(command.by, secret, device)
        if refusal is not None:
            seen = self.run(run_id)
            if seen is None or refusal.code == "pin.busy":
                return refusal
            asking = Asking(run=run_id, key=key, device=device, print="")
            errand = refusal_errand(self._shelf, command, asking, refusal)
            return await asyncio.wrap_future(self.ledger.submit(errand))
        signed = replace(command, signed=True)  # type: ignore[arg-type]  # each of them has it
        answer = await self.act(run_id, signed, key=key, device=device)
        if isinstance(answer, Done) and isinstance(command, Close | Abandon):
            self._seal_soon(answer.seen)
        return answer

    async def decide_together(  # noqa: PLR0913 - two people, their secrets, what they decide
        self,
        run_id: str,
        command: Abandon | ChangeSteps,
        secrets: tuple[str, str],
        *,
        key: str,
        device: str,
        text: bytes = b"",
    ) -> Done | Refusal:
        """Do what two people decide; the secret of each is checked first.

        Args:
            run_id: the run.
            command: what they decide.
            secrets: that of `command.by`, that of `command.second`.
            key: the press.
            device: the tablet.
            text: the changed text, for `ChangeSteps`.
        """
        if self.run(run_id) is None:
            return Refusal(code="run.none", sentence=f"There is no run {run_id}.")
        if command.second and command.second != command.by:  # else the decision itself refuses it
            refusal = await self.why_not_own(command.second, secrets[1], device)
            if refusal is not None:
                return refusal
        if isinstance(command, Abandon):
            return await self.sign_act(run_id, command, secret=secrets[0], key=key, device=device)
        refusal = await self.why_not_own(command.by, secrets[0], device)
        if refusal is not None:
            return refusal
        asked = replace(command, signed=True, sha256=digest(text))
        asking = Asking(run=run_id, key=key, device=device, print=fingerprint(run_id, asked))
        return self._told(await self.change_desk.approve(asked, text, asking))

    async def why_not_own(self, person: str, secret: str, device: str = "") -> Refusal | None:
        """Return why a secret does not prove that it is this person, or None when it does."""
        checked = await self.register.check(person, secret, self.now(), device)
        match checked:
            case Wrong():
                return checked.refusal()
            case Locked():
                return checked.refusal(self.zone, self.crew().who_may("manage-people"))
            case Busy():
                return Refusal(code="pin.busy", sentence=checked.sentence)
            case _:
                return None

    async def open_run(
        self, procedure_id: str, *, by: str, secret: str, key: str, device: str
    ) -> Done | Refusal:
        """Open a run of a released procedure; signed by the person who opens it."""
        released = next((r for r in self.released() if r.id == procedure_id), None)
        if released is None:
            book = self.release_desk.book(procedure_id)
            return why_not_open(book, procedure_id) or NOT_RELEASED
        refusal = await self.why_not_own(by, secret, device)
        if refusal is not None:
            return refusal
        procedure = self.procedure(released)
        errand = open_errand(
            self._shelf,
            procedure,
            self.crew(),
            by=by,
            key=key,
            device=device,
            why_not=lambda: self.release_desk.why_not_open(procedure_id, released.sha256, by),
        )
        return self._told(await asyncio.wrap_future(self.ledger.submit(errand)))

    async def declare(  # noqa: PLR0913 - two people, and what they declare
        self,
        asset: str,
        facts: Mapping[str, FactValue],
        reason: str,
        *,
        by: str,
        second: str,
        device: str,
        key: str,
    ) -> Board | Refusal:
        """Declare what is true of the hardware outside any run; two people whose secrets were checked."""
        refusal = why_not_declare(self.site, self.crew(), asset, facts, reason, (by, second))
        refusal = refusal or self._why_not_now(asset)
        if refusal is not None:
            return refusal
        errand = declare_errand(
            self._shelf, asset, facts, reason, by=by, second=second, device=device, key=key
        )
        await asyncio.wrap_future(self.ledger.submit(errand))
        board = self._shelf.seen_board(asset)
        return board if board is not None else Refusal(code="board.none", sentence="No such board.")

    # -- records

    def records(self) -> tuple[RunState, ...]:
        """Return the closed runs, the newest first."""
        closed = [state for state in self.runs() if state.status == "closed"]
        return tuple(reversed(closed))

    def record(self, run_id: str) -> SealedRecord | None:
        """Return a run's sealed record, None if it is not sealed (yet)."""
        return self._sealing.found(run_id)

    def document(self, run_id: str) -> Document | None:
        """Return a run's record as plain data, None if there is no such run."""
        seen = self.run(run_id)
        return None if seen is None else self._sealing.document(run_id)

    async def seal(self, run_id: str) -> SealedRecord | None:
        """Seal a closed run's record now, if it is not sealed yet.

        Raises:
            RecordTrouble: the run is not closed, or the record cannot be printed.
        """
        seen = self.run(run_id)
        return None if seen is None else await self._sealing.seal(seen)

    # -- inside

    def _told(self, kept: Kept | Refusal) -> Done | Refusal:
        if isinstance(kept, Refusal):
            return kept
        seen = self.run(kept.run)
        if seen is None:  # it was committed, so the shelf knows it
            raise RuntimeError(f"{kept.run} was kept and is not on the shelf")
        return Done(seen=seen, seqs=kept.seqs)

    def _why_not_now(self, asset: str) -> Refusal | None:
        for state in self.runs():
            if state.asset == asset and state.status in ("open", "suspended"):
                return Refusal(
                    code="board.run_open",
                    sentence=f"Run {state.run} is open: the board follows its steps.",
                    where=state.run,
                )
        return None

    def _committed(self, stored: Sequence[Stored]) -> None:
        self._shelf.publish()
        self._waiting.wake(runs_touched(stored))

    def _seal_soon(self, seen: Seen) -> None:
        task = asyncio.get_running_loop().create_task(self._seal_quietly(seen.state.run))
        self._background.add(task)
        task.add_done_callback(self._background.discard)

    async def _seal_quietly(self, run_id: str) -> None:
        try:
            await self.seal(run_id)
        except RecordTrouble as trouble:
            log.warning("The record of %s is not sealed yet: %s", run_id, trouble)


def _site_text(ledger: Ledger) -> bytes:
    for event in ledger.read(SITE):
        if event.kind == "SiteFounded":
            text = ledger.text(str(event.body["site_sha256"]))
            if text is not None:
                return text
    raise founding.NotFounded(f"{ledger.folder} holds a ledger, but no site was founded in it.")
