"""A small site, a small procedure, a crew: enough to try every rule of a run by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from app.procedure.loader import load_procedure, load_site
from app.procedure.model import Procedure, Site
from app.procedure.tool import Tool
from app.run.board import Board, first_board, post
from app.run.commands import Command, Correct, Enter, Sign
from app.run.crew import Crew, Person
from app.run.decide import decide, decide_open
from app.run.events import ActRefused, Event, Happened
from app.run.refusal import Refusal
from app.run.scene import Scene
from app.run.state import RunState, evolve, fold

SITE = """
format = 1
[site]
name = "Quillmoor Observatory"
latitude = -31.20
longitude = -29.40
elevation = "2380 m"
time_zone = "Etc/GMT+2"
[roles]
technician = ["perform"]
supervisor = ["perform", "release-hold", "restart"]
lead = ["perform", "release-hold", "restart", "release-procedure", "accept-deviation"]
auditor = ["read-records"]
[asset.primary]
title = "Primary mirror"
[asset.primary.facts]
brackets = { from = 0, to = 3, now = 3 }
load_on = { values = ["cell", "hooks"], now = "cell" }
[[asset.primary.hazards]]
id = "lifted-while-fastened"
harm = "The edge breaks."
never = { load_on = "hooks", brackets = { at_least = 1 } }
people = 3
"""

TEXT = """
format = 1
id = "QP-9"
revision = 1
title = "A small lift"
asset = "primary"
purpose = "To try the rules."
planned = "1 h"
safe_state = "Load on the supports."
crew = { technician = 3, supervisor = 1 }
starts_with = { load_on = "cell", brackets = 3 }
leaves = { load_on = "hooks", brackets = 0 }

[[sections]]
title = "Make ready"

[[sections.steps]]
id = "brief"
kind = "brief"
do = "Brief everyone who is present."
topics = ["What we do", "What could go wrong"]
sign = ["supervisor"]
safe_point = true

[[sections.steps]]
id = "wind"
kind = "reading"
do = "Read the gust at the mast."
reading = "gust"
unit = "m/s"
at_most = "9.0"

[[sections]]
title = "Unfasten"
order = "any"

[[sections.steps]]
id = "brackets-off"
kind = "items"
do = "Take each bracket off."
layout = { shape = "ring", count = 3, label = "B{:02d}" }
results = ["off", "seized"]
sets = { brackets = 0 }

[[sections.steps]]
id = "doors"
kind = "tick"
do = "Shut the doors."

[[sections]]
title = "Count and hold"

[[sections.steps]]
id = "count"
kind = "count"
do = "Count the brackets in place."
of = "brackets"
expect = 0
sign = ["technician", "technician", "technician"]
check = "independent"
apart = "2 min"
starts = ["A", "B", "C"]
confirms = { brackets = 0 }

[[sections.steps]]
id = "gap"
kind = "reading"
do = "Read the gap."
reading = "gap"
unit = "mm"
at_least = "1.0"
at_most = "2.0"
sign = ["technician", "supervisor"]

[[sections.steps]]
id = "hold"
kind = "hold"
do = "Hold before the lift."
statement = "All brackets are off."
evidence = ["brackets-off", "count", "wind"]
at_mirror = true
sign = ["technician", "lead"]
confirms = { brackets = 0 }

[[sections]]
title = "Lift"

[[sections.steps]]
id = "lift"
kind = "tick"
do = "Take the load on the hooks."
critical = true
back_out = "Lower to the supports."
check = "before"
sign = ["technician", "supervisor"]
needs = { brackets = 0 }
fresh = [{ reading = "gust", at_most = "9.0 m/s", age = "30 min" }]
sets = { load_on = "hooks" }
tool = "spider"
"""

START = datetime(2027, 5, 6, 8, 0, tzinfo=UTC)

PEOPLE = {
    "AB": frozenset({"technician"}),
    "KM": frozenset({"technician"}),
    "RS": frozenset({"technician"}),
    "TW": frozenset({"technician"}),  # never briefed unless a test does it
    "SL": frozenset({"supervisor"}),
    "HL": frozenset({"lead"}),
    "AU": frozenset({"auditor"}),
}


def the_site() -> Site:
    """Return the site of these tests."""
    site, faults = load_site(SITE, "site.toml")
    assert site is not None, faults
    return site


def the_procedure(text: str = TEXT) -> Procedure:
    """Return the procedure of these tests."""
    procedure, faults = load_procedure(text, "QP-9.toml", the_site())
    assert procedure is not None, [str(fault) for fault in faults]
    return procedure


class Stage:
    """A run under trial: every act is decided, folded, and checked against a fresh fold."""

    def __init__(self, text: str = TEXT, *, opened: bool = True) -> None:
        self.site = the_site()
        self.procedure = the_procedure(text)
        self.crew = Crew(
            people={k: Person(id=k, name=k, roles=roles) for k, roles in PEOPLE.items()},
            abilities=self.site.roles,
        )
        self.now = START
        self.tools: dict[str, Tool] = {}
        self.state = RunState()
        self.first = first_board(self.site.assets["primary"])
        self.board: Board = self.first
        self.happened: list[Happened] = []
        if opened:
            events = decide_open(
                self.procedure, self.board, self.crew, run="R-0001", by="SL", open_runs=()
            )
            assert not isinstance(events, Refusal), events
            self._happen(events, "SL")

    def wait(self, **span: float) -> Stage:
        """Let time pass."""
        self.now += timedelta(**span)
        return self

    def ask(self, command: Command) -> list[Event] | Refusal:
        """Decide a command and fold what it came to; a refusal changes nothing."""
        before = self.state, self.board
        answer = decide(
            self.procedure, self.state, self.board, command, self.crew, self.now, self.tools
        )
        if isinstance(answer, Refusal):
            assert (self.state, self.board) == before
            assert not isinstance(answer, ActRefused)
        else:
            self._happen(answer, command.by)
        return answer

    def enter(
        self, by: str, step: str, part: str = "", *, signed: bool = False, **values: str
    ) -> list[Event] | Refusal:
        """Enter values on a step, from a page drawn just now."""
        return self.ask(
            Enter(by=by, step=step, part=part, values=values, signed=signed, seen=self.state.seq)
        )

    def sign(self, by: str, step: str, how: str = "") -> list[Event] | Refusal:
        """Sign a step, from a page drawn just now."""
        return self.ask(Sign(by=by, step=step, how=how, signed=True, seen=self.state.seq))

    def ask_correction(
        self, by: str, entry: int, reason: str, **values: str
    ) -> list[Event] | Refusal:
        """Correct an entry, from a page drawn just now."""
        return self.ask(
            Correct(
                by=by, entry=entry, values=values, reason=reason, signed=True, seen=self.state.seq
            )
        )

    def try_open(
        self, board: Board, by: str = "SL", others: tuple[RunState, ...] = ()
    ) -> list[Event] | Refusal:
        """Try to open another run on a board."""
        return decide_open(self.procedure, board, self.crew, run="R-0002", by=by, open_runs=others)

    def scene(self) -> Scene:
        """Return the scene as it stands."""
        return Scene(
            procedure=self.procedure,
            state=self.state,
            board=self.board,
            crew=self.crew,
            now=self.now,
            tools=self.tools,
        )

    def done(self, step: str) -> bool:
        """Say whether a step is done."""
        return self.state.progress(step).done

    def _happen(self, events: list[Event], by: str) -> None:
        for event in events:
            each = Happened(seq=self.state.seq + 1, at=self.now, by=by, event=event)
            self.happened.append(each)
            self.state = evolve(self.state, each)
            self.board = post(self.board, "R-0001", each)
        assert self.state == fold(self.happened)

    # -- the way through, in pieces

    def briefed(self) -> Stage:
        """Brief three technicians, the supervisor and the lead."""
        for person in ("AB", "KM", "RS", "SL", "HL"):
            self.must(self.enter(person, "brief", person, signed=True))
        self.must(self.sign("SL", "brief"))
        return self

    def unfastened(self) -> Stage:
        """Go on to the count."""
        self.briefed()
        self.must(self.enter("AB", "wind", value="3.0"))
        for part in ("B01", "B02", "B03"):
            self.must(self.enter("AB", "brackets-off", part, result="off"))
        self.must(self.enter("KM", "doors"))
        return self

    def counted(self, *counts: str) -> Stage:
        """Let AB, KM and RS count, three minutes apart."""
        for person, count in zip(("AB", "KM", "RS"), counts or ("0", "0", "0"), strict=True):
            self.wait(minutes=3)
            self.must(self.enter(person, "count", signed=True, count=count))
        return self

    def held(self) -> Stage:
        """Go on past the hold."""
        self.unfastened().counted()
        self.must(self.enter("AB", "gap", value="1.5"))
        self.must(self.sign("AB", "gap"))
        self.must(self.sign("SL", "gap"))
        self.must(self.sign("KM", "hold"))
        self.must(self.sign("HL", "hold", "I stood at the mirror"))
        return self

    def lifted(self) -> Stage:
        """Go on to the end."""
        self.held()
        self.must(self.sign("AB", "lift"))
        self.must(self.sign("SL", "lift"))
        self.must(self.enter("AB", "lift", tool="SP-1"))
        return self

    @staticmethod
    def must(answer: list[Event] | Refusal) -> None:
        """Fail the test if this was refused."""
        assert not isinstance(answer, Refusal), answer


def refused(answer: list[Event] | Refusal) -> Refusal:
    """Return the refusal; fail the test if there was none."""
    assert isinstance(answer, Refusal), answer
    return answer
