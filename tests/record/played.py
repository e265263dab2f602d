"""A run played by the rules, with the site's stream beside it; and ways to tell it otherwise.

Every event here was decided by the real `decide`. A forger's change is made on the events and then
sealed with the site's own key: what a keeper of the server could do at leisure.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PIL import Image

from app.ledger.canonical import digest
from app.ledger.chain import GENESIS
from app.ledger.stored import Draft, Head, Stored, seal
from app.procedure.loader import load_procedure, load_site
from app.record.sources import Sources
from app.run.board import Board, first_board, post
from app.run.commands import (
    Close,
    Command,
    Correct,
    DisposeTrouble,
    Enter,
    RefuseHold,
    ReportTrouble,
    Sign,
    SignRestart,
    StopWork,
)
from app.run.crew import Crew
from app.run.decide import decide, decide_open
from app.run.events import ActRefused, Event, Happened, kind_name, to_body
from app.run.pausing import make_safe_lines
from app.run.refusal import Refusal
from app.run.state import RunState, evolve
from app.run.tool_events import noted as noted_tool
from tests.record.a_run import PEOPLE as FIVE
from tests.record.a_run import a_person

if TYPE_CHECKING:
    from app.procedure.model import Procedure, Site
    from app.procedure.tool import Tool

HERE = Path(__file__).parent
SITE_TOML = (HERE / "site.toml").read_bytes()
HOIST_TOML = (HERE / "hoist.toml").read_bytes()
START = datetime(2026, 5, 6, 9, 0, 0, tzinfo=UTC)
RUN = "R-0001"
ROOT = "ab" * 32
PEOPLE = (*FIVE, a_person("LK", "Leilani Kahananui", "supervisor"))
WRENCH = {
    "serial": "TW-03",
    "kind": "torque wrench",
    "at_least": "10",
    "at_most": "100",
    "unit": "N*m",
    "calibrations": [{"on": "2026-01-10", "due": "2026-12-01"}],
}


@cache
def a_site() -> Site:
    site, faults = load_site(SITE_TOML, "site.toml")
    assert site is not None, faults
    return site


@cache
def hoist() -> Procedure:
    procedure, faults = load_procedure(HOIST_TOML, "hoist.toml", a_site())
    assert procedure is not None, faults
    return procedure


@cache
def a_photo() -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", (60, 40), "#5b6f78").save(kept, "JPEG")
    return kept.getvalue()


def appended(events: list[Stored], draft: Draft, key: str, at: datetime) -> Stored:
    last = events[-1] if events else None
    head = Head(0, GENESIS) if last is None else Head(last.seq, last.hash)
    events.append(seal(draft, key, at, head))
    return events[-1]


@dataclass
class Played:
    """A run that is played act by act."""

    root: str = ROOT
    procedure: Procedure = field(default_factory=hoist)
    text: bytes = HOIST_TOML
    now: datetime = START
    site: list[Stored] = field(default_factory=list)
    events: list[Stored] = field(default_factory=list)
    state: RunState = field(default_factory=RunState)
    board: Board = field(default_factory=lambda: first_board(a_site().assets["primary"]))
    tools: dict[str, Tool] = field(default_factory=dict)
    keys: int = 0

    def found(self) -> None:
        body = {"name": a_site().name, "site_sha256": digest(SITE_TOML), "root": self.root}
        self.tell("SiteFounded", body, "")
        for person in PEOPLE:
            told = {"person": person.id, "name": person.name, "roles": sorted(person.roles)}
            self.tell("PersonAdded", told, "NA")
        self.tell("ToolAdded", WRENCH, "NA")
        self.tools["TW-03"] = noted_tool(None, "ToolAdded", WRENCH, self.now)  # type: ignore[assignment]
        text = {
            "procedure": self.procedure.id,
            "revision": self.procedure.revision,
            "title": self.procedure.title,
            "sha256": self.procedure.sha256,
        }
        self.tell("ProcedureReleased", {**text, "reviewed_by": "TW"}, "NA")

    def tell(self, kind: str, body: Mapping[str, Any], by: str) -> Stored:
        """Write an event of the site's own stream."""
        return appended(
            self.site, Draft("site", kind, body, by), f"site-{len(self.site)}", self.now
        )

    @property
    def crew(self) -> Crew:
        return Crew(people={p.id: p for p in PEOPLE}, abilities=a_site().roles)

    def open(self, by: str = "TW") -> None:
        self.wait(3600)
        answer = decide_open(self.procedure, self.board, self.crew, run=RUN, by=by, open_runs=())
        assert not isinstance(answer, Refusal), answer
        body = {
            "run": RUN,
            "procedure": self.procedure.id,
            "revision": self.procedure.revision,
            "sha256": self.procedure.sha256,
        }
        self.tell("RunOpened", body, by)
        self.keep(answer, by)

    def wait(self, seconds: int) -> None:
        self.now += timedelta(seconds=seconds)

    def ask(self, command: Command, wait: int = 20) -> None:
        """Ask for an act that is taken."""
        self.wait(wait)
        answer = self.answer(command)
        assert not isinstance(answer, Refusal), answer.sentence
        self.keep(answer, command.by)

    def refused(self, command: Command) -> None:
        """Ask for an act that is refused, and kept as refused."""
        answer = self.answer(command)
        assert isinstance(answer, Refusal), answer
        self.keep(
            [
                ActRefused(
                    act=type(command).__name__,
                    step=getattr(command, "step", ""),
                    rule=answer.code,
                    sentence=answer.sentence,
                )
            ],
            command.by,
        )

    def answer(self, command: Command) -> list[Event] | Refusal:
        return decide(
            self.procedure, self.state, self.board, command, self.crew, self.now, self.tools
        )

    def keep(self, events: list[Event], by: str) -> None:
        self.keys += 1
        for event in events:
            draft = Draft(f"run/{RUN}", kind_name(event), to_body(event), by, "tablet2")
            stored = appended(self.events, draft, f"key-{self.keys}", self.now)
            told = Happened(seq=stored.seq, at=stored.at, by=by, event=event, device="tablet2")
            self.state = evolve(self.state, told)
            self.board = post(self.board, RUN, told)
        held = any(
            kind_name(e) == "StepDone" and getattr(e, "step", "") == "released" for e in events
        )
        if held or kind_name(events[-1]) == "RunClosed":
            head = {"run": RUN, "seq": self.events[-1].seq, "hash": self.events[-1].hash}
            self.tell("HeadNoted", head, by)

    def enter(
        self, step: str, by: str, part: str = "", *, signed: bool = False, **values: str
    ) -> None:
        self.ask(
            Enter(by=by, step=step, part=part, values=values, signed=signed, seen=self.state.seq)
        )

    def sign(self, step: str, *people: str, how: str = "") -> None:
        for by in people:
            self.ask(Sign(by=by, step=step, how=how, signed=True, seen=self.state.seq))

    def sources(self) -> Sources:
        return Sources(
            events=tuple(self.events),
            procedure=self.text,
            site=SITE_TOML,
            site_events=tuple(self.site),
            photos={digest(a_photo()): a_photo()},
        )


def a_played_run(root: str = ROOT) -> Played:
    """A run with a slip corrected, a trouble, a recount, a refusal to sign, a stop; closed."""
    run = Played(root=root)
    run.found()
    run.open()
    for person in ("JB", "AN", "SH", "TW", "NA", "LK"):
        run.enter("brief", person, person, signed=True)
    run.sign("brief", "TW")
    run.enter("wind", "JB", value="6.2")
    _brackets(run)
    _counts(run)
    run.enter("edge-seen", "AN", "Edge from 12 o'clock", photo=digest(a_photo()))
    _hold(run)
    _hoist(run)
    run.ask(Close(by="TW", signed=True, seen=run.state.seq))
    return run


def _brackets(run: Played) -> None:
    def off(by: str, part: str, result: str = "off", value: str = "48.5") -> None:
        run.enter("brackets-off", by, part, result=result, value=value, tool="TW-03")

    off("JB", "B01")
    off("JB", "B02", "seized", "60.0")
    run.ask(ReportTrouble(by="JB", step="brackets-off", part="B02", text="B02 does not turn."))
    run.ask(
        DisposeTrouble(
            by="NA",
            trouble=1,
            disposition="redo",
            reason="Oiled, and left for ten minutes",
            signed=True,
        ),
        wait=600,
    )
    off("AN", "B02", value="41.0")
    off("JB", "B03", value="45.8")


def _counts(run: Played) -> None:
    run.refused(Enter(by="SH", step="hook-load", values={"value": "36"}, seen=run.state.seq))
    for found in (("0", "1", "0"), ("0", "0", "0")):
        for by, count in zip(("JB", "AN", "TW"), found, strict=True):
            run.wait(130)
            run.enter("brackets-gone", by, signed=True, count=count)


def _hold(run: Played) -> None:
    run.sign("released", "JB")
    run.ask(
        RefuseHold(
            by="LK", step="released", reason="A shadow at B02", signed=True, seen=run.state.seq
        )
    )
    run.sign("released", "JB")
    run.sign("released", "LK", how="I stood at the mirror")


def _hoist(run: Played) -> None:
    step = "hook-load"
    run.enter(step, "SH", value="36.05")
    entry = run.state.seq
    run.ask(
        Correct(
            by="SH",
            entry=entry,
            values={"value": "36.50"},
            reason="Two digits changed places",
            signed=True,
            seen=run.state.seq,
        )
    )
    run.sign(step, "SH", "TW")
    run.ask(StopWork(by="", text="A crane alarm sounds"))
    lines = make_safe_lines(run.procedure, run.state)
    for by in ("TW", "NA"):
        run.ask(
            SignRestart(by=by, confirmed=lines, reason="The alarm was a door contact", signed=True),
            wait=60,
        )
    run.enter("look-under", "JB")
    run.sign("look-under", "JB", "AN")
