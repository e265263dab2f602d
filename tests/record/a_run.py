"""A run made by hand, with all that a record must be able to tell; and ways to seal it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from app.ledger.chain import GENESIS
from app.ledger.stored import Draft, Head, Stored, seal
from app.procedure.entry import Circumstances, Judged
from app.procedure.loader import load_procedure, load_site
from app.procedure.registry import kind_of
from app.record.document import Document, build
from app.run.crew import Crew, Person
from app.run.events import (
    ActRefused,
    CountsDiffered,
    EntryMade,
    EntryStruck,
    Event,
    Happened,
    HoldRefused,
    RestartSigned,
    RunClosed,
    RunOpened,
    SeatSigned,
    SignatureVoided,
    StepDone,
    StepReopened,
    TroubleDisposed,
    TroubleReported,
    WorkRestarted,
    WorkStopped,
    kind_name,
    to_body,
)
from app.run.state import fold

if TYPE_CHECKING:
    from app.procedure.model import Procedure, Site, Step

HERE = Path(__file__).parent
SITE_TOML = (HERE / "site.toml").read_bytes()
PROCEDURE_TOML = (HERE / "lift.toml").read_bytes()
START = datetime(2026, 5, 6, 9, 20, 10, tzinfo=UTC)
ROOT = "ab" * 32


def a_person(ident: str, name: str, *roles: str) -> Person:
    return Person(id=ident, name=name, roles=frozenset(roles))


PEOPLE = (
    a_person("JB", "Joaquin Belmarez", "technician"),
    a_person("AN", "Aroha Ngatere", "technician"),
    a_person("SH", "Sunniva Hallgarth", "technician"),
    a_person("TW", "Tomasz Wierzbin", "supervisor"),
    a_person("NA", "Nkechi Adeyaro", "lead"),
)
CREW = Crew(people={person.id: person for person in PEOPLE})


@cache
def a_site() -> Site:
    site, faults = load_site(SITE_TOML, "site.toml")
    assert site is not None, faults
    return site


@cache
def a_procedure() -> Procedure:
    procedure, faults = load_procedure(PROCEDURE_TOML, "lift.toml", a_site())
    assert procedure is not None, faults
    return procedure


@dataclass
class ARun:
    """Writes the events of a run one by one; each takes half a minute."""

    procedure: Procedure = field(default_factory=a_procedure)
    run: str = "R-0001"
    events: list[Stored] = field(default_factory=list)
    happened: list[Happened] = field(default_factory=list)

    def add(self, by: str, event: Event) -> int:
        """Append an event and return its number."""
        last = self.events[-1] if self.events else None
        head = Head(0, GENESIS) if last is None else Head(last.seq, last.hash)
        at = START + timedelta(seconds=30 * head.seq)
        draft = Draft(f"run/{self.run}", kind_name(event), to_body(event), by, "bench tablet 2")
        self.events.append(seal(draft, f"key-{head.seq + 1}", at, head))
        self.happened.append(
            Happened(seq=head.seq + 1, at=at, by=by, event=event, device="bench tablet 2")
        )
        return head.seq + 1

    def open(self) -> None:
        self.add(
            "NA",
            RunOpened(
                run=self.run,
                procedure=self.procedure.id,
                revision=self.procedure.revision,
                title=self.procedure.title,
                sha256=self.procedure.sha256,
                asset=self.procedure.asset.id,
                facts={"load_on": "cell", "brackets": 3},
            ),
        )

    def enter(
        self,
        step_id: str,
        by: str,
        *,
        part: str = "",
        seat: int = -1,
        round: int = 1,  # noqa: A002
        replaces: int = 0,
        **values: str,
    ) -> int:
        """Enter values as the kind judges them, and return the entry's number."""
        step = self.step(step_id)
        judged = kind_of(step).judge(
            step, part, values, Circumstances(procedure=self.procedure, now=START)
        )
        assert isinstance(judged, Judged), judged
        return self.add(
            by,
            EntryMade(
                step=step_id,
                part=part,
                seat=seat,
                round=round,
                values=values,
                computed=judged.computed,
                readings={},
                verdict=judged.verdict,
                saying=judged.saying,
                signed=seat >= 0,
                replaces=replaces,
            ),
        )

    def step(self, step_id: str) -> Step:
        step = self.procedure.step(step_id)
        assert step is not None, step_id
        return step

    def sign(self, step_id: str, by: str, seat: int, meaning: str, how: str = "") -> int:
        role = self.step(step_id).seats[seat]
        return self.add(
            by, SeatSigned(step=step_id, seat=seat, role=role, meaning=meaning, how=how)
        )

    def done(self, step_id: str, by: str) -> int:
        return self.add(by, StepDone(step=step_id, sets=self.step(step_id).sets))

    def document(self, root: str = ROOT) -> Document:
        return build(
            self.procedure,
            fold(self.happened),
            self.happened,
            CREW,
            a_site(),
            head=self.events[-1].hash,
            root=root,
        )


def a_quiet_run() -> ARun:
    """A run in which nothing departed from what was written, closed."""
    run = ARun()
    run.open()
    run.enter("hall-still", "JB")
    run.done("hall-still", "JB")
    run.enter("water-pure", "AN", value="12.5")
    run.done("water-pure", "AN")
    for part in ("B01", "B02", "B03"):
        run.enter("brackets-off", "JB", part=part, result="off")
    run.done("brackets-off", "JB")
    for seat, by in enumerate(("JB", "AN", "TW")):
        run.enter("brackets-gone", by, seat=seat, count="0")
    run.done("brackets-gone", "TW")
    run.enter("hook-load", "SH", value="36.50")
    run.sign("hook-load", "SH", 0, "I read the sum of the six hooks.")
    run.sign("hook-load", "TW", 1, "The load stands within its limits.", "Stood at the display.")
    run.done("hook-load", "TW")
    look_and_close(run)
    return run


def look_and_close(run: ARun) -> None:
    run.enter("look-under", "JB")
    run.sign("look-under", "JB", 0, "Nothing hangs on my sides.")
    run.sign("look-under", "AN", 1, "Nothing hangs on my sides.")
    run.done("look-under", "AN")
    run.add("NA", RunClosed(statement="The mirror hangs on the hooks; no bracket is in place."))


def an_eventful_run() -> ARun:
    """A run with a correction, a recount, a stop, a refusal to sign, a trouble and a refused act."""
    run = ARun()
    run.open()
    run.enter("hall-still", "JB")
    run.done("hall-still", "JB")
    run.enter("water-pure", "AN", value="12.5")
    run.done("water-pure", "AN")
    _brackets(run)
    _counts(run)
    _load(run)
    look_and_close(run)
    return run


def _brackets(run: ARun) -> None:
    run.enter("brackets-off", "JB", part="B01", result="off")
    run.enter("brackets-off", "JB", part="B02", result="seized")
    trouble = TroubleReported(trouble=1, step="brackets-off", part="B02", text="B02 does not turn.")
    run.add("JB", trouble)
    run.add(
        "NA",
        TroubleDisposed(
            trouble=1,
            step="brackets-off",
            part="B02",
            disposition="redo",
            reason="Oiled and left for ten minutes",
        ),
    )
    run.enter("brackets-off", "AN", part="B02", result="off")
    run.enter("brackets-off", "JB", part="B03", result="off")
    run.done("brackets-off", "JB")


def _counts(run: ARun) -> None:
    refused = "Step 5 is not open. Step 4 is not finished: nobody has counted."
    run.add(
        "SH", ActRefused(act="Enter", step="hook-load", rule="order.not_open", sentence=refused)
    )
    for seat, (by, count) in enumerate((("JB", "0"), ("AN", "1"), ("TW", "0"))):
        run.enter("brackets-gone", by, seat=seat, count=count)
    run.add("TW", CountsDiffered(step="brackets-gone", round=1, equal=False))
    for seat, by in enumerate(("AN", "JB", "TW")):
        run.enter("brackets-gone", by, seat=seat, round=2, count="0")
    run.done("brackets-gone", "TW")


def _load(run: ARun) -> None:
    step = "hook-load"
    old = run.enter(step, "SH", value="36.05")
    run.sign(step, "SH", 0, "I read the sum of the six hooks.")
    run.add("TW", HoldRefused(step=step, reason="The display still moves"))
    why = "TW would not sign: The display still moves"
    run.add("TW", SignatureVoided(step=step, seat=0, person="SH", reason=why))
    run.sign(step, "SH", 0, "I read the sum of the six hooks.")
    run.sign(step, "TW", 1, "The load stands within its limits.", "Stood at the display.")
    run.done(step, "TW")
    _correct(run, step, old)
    run.add("", WorkStopped(text="A crane alarm sounds"))
    run.add("TW", RestartSigned(role="supervisor", confirmed=("Load on the supports.",)))
    run.add("NA", RestartSigned(role="lead", confirmed=("Load on the supports.",)))
    run.add("NA", WorkRestarted(reason="The alarm was a door contact"))
    run.sign(step, "SH", 0, "I read the sum of the six hooks.")
    run.sign(step, "TW", 1, "The load stands within its limits.", "Stood at the display.")
    run.done(step, "TW")


def _correct(run: ARun, step: str, old: int) -> None:
    why = "Two digits changed places"
    run.add("SH", EntryStruck(entry=old, step=step, reason=why))
    run.enter(step, "SH", replaces=old, value="36.50")
    for seat, person in ((0, "SH"), (1, "TW")):
        run.add(
            "SH", SignatureVoided(step=step, seat=seat, person=person, reason="Entry corrected.")
        )
    run.add("SH", StepReopened(step=step, reason="Entry corrected."))
