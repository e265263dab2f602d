"""Every kind of step through the door: what is wrong is refused, what is right is kept, to the end."""

from __future__ import annotations

import asyncio
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from app.calculations.quantity import Limits
from app.desk.desk import Desk
from app.procedure.registry import kinds
from app.procedure.tool import Calibration, Tool
from app.run.crew import Person
from tests.desk.conftest import SECRETS, Clock
from tests.run.stage import PEOPLE, SITE
from tests.screens.conftest import Tablets, brief, happened
from tests.screens.visitor import Visitor, words

TEXT = (Path(__file__).parent / "every_kind.toml").read_bytes()
PAPER = {"number": "P-7", "until": "2027-05-12", "standing": "in force"}
TOOL = {"tool": "TW-05"}
LEVEL = {"tilt": "1", "shock": "1"}

# In the order of the procedure: step, part, values, the code of the refusal or "" where it is kept,
# and how many minutes to wait before.
Act = tuple[str, str, dict[str, str], str, float]
ACTS: tuple[Act, ...] = (
    ("papers", "Lift permit", {**PAPER, "until": "soon"}, "typed.permit.until", 0),
    ("papers", "Lift permit", PAPER, "", 0),
    ("papers", "Spider certificate", PAPER, "", 0),
    ("locks-on", "Q4 drive breaker", {"lock": "14"}, "typed.lock.not_tried", 0),
    ("locks-on", "Q4 drive breaker", {"lock": "14", "try_out": "dead"}, "", 0),
    ("locks-on", "V2 coolant valve", {"lock": "14", "try_out": "dead"}, "typed.lock.twice", 0),
    ("locks-on", "V2 coolant valve", {"lock": "15", "try_out": "dead"}, "", 0),
    ("chamber-empty", "", {"count": "1"}, "", 0),  # kept as out of limit
    ("things-out", "TW-03 wrench", {"result": "out"}, "order.not_open", 0),
    ("chamber-empty", "", {"count": "0"}, "", 0),
    ("things-out", "TW-03 wrench", {"result": "out", "holder": "ZZ"}, "typed.tools.holder", 0),
    ("things-out", "TW-03 wrench", {"result": "out"}, "", 0),
    ("things-out", "HX-11 hex key", {"result": "out", "holder": "KM"}, "", 0),
    ("things-out", "sponges", {"count": "41"}, "typed.tools.too_many", 0),
    ("things-out", "sponges", {"count": "40"}, "", 0),
    ("ring-bolts", "3, pass 1", {"value": "90", **TOOL}, "typed.order.bolt", 0),
    ("ring-bolts", "1, pass 1", {"value": "90", "tool": "TW-03"}, "typed.tool.cal", 0),
    ("ring-bolts", "1, pass 1", {"value": "90"}, "typed.tool.missing", 0),
    ("ring-bolts", "1, pass 1", {"value": "90 lb", **TOOL}, "typed.reading.unit", 0),
    *(("ring-bolts", f"{bolt}, pass 1", {"value": "90", **TOOL}, "", 0) for bolt in "1324"),
    *(("ring-bolts", f"{bolt}, pass 2", {"value": "286.9", **TOOL}, "", 0) for bolt in "1324"),
    *(("ring-bolts", f"{bolt}, check", {"value": "2", **TOOL}, "", 0) for bolt in "1234"),
    ("pressure", "1", {"value": "0.5"}, "", 0),
    ("pressure", "2", {"value": "0.5"}, "typed.trend.early", 29),
    ("pressure", "2", {"value": "0.5"}, "", 1),
    ("pressure", "3", {"value": "0.6"}, "", 30),
    ("weather", "passed", {}, "typed.gate.shut", 0),
    ("weather", "gust", {"value": "3.1"}, "", 0),
    ("weather", "humidity", {"value": "41"}, "", 6),
    ("weather", "passed", {}, "typed.gate.shut", 0),
    ("weather", "gust", {"value": "3.2"}, "", 0),
    ("weather", "passed", {}, "", 0),
    ("road", "Bend", LEVEL, "typed.order.point", 0),
    ("road", "Gate", LEVEL, "", 0),
    ("road", "Bend", LEVEL, "", 0),
    ("strip-bath", "acid", {"value": "5.3"}, "typed.order.recipe", 0),
    ("strip-bath", "batch", {"number": "B-1", "size": "45"}, "", 0),
    ("strip-bath", "water", {"value": "39.7"}, "", 0),
    ("strip-bath", "acid", {"value": "5.3"}, "", 0),
    ("map", "map", {}, "typed.defects.left", 0),
    ("map", "chip A", {"size": "3.0"}, "", 0),
    ("map", "new 1", {"angle": "10", "radius": "1000", "size": "1"}, "", 0),
    ("map", "map", {}, "", 0),
)


@pytest.fixture(scope="module")
def open_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a site with one procedure of every kind, its tools, a run open and the crew briefed."""
    folder = tmp_path_factory.mktemp("kinds") / "site"
    Desk.found(
        folder,
        SITE.encode(),
        [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()],
        {"QP-9.toml": TEXT},
        reviewer="SL",
        releaser="HL",
        clock=Clock(),
    )
    desk = Desk.open(folder, clock=Clock())
    for serial, due in (("TW-03", date(2027, 5, 5)), ("TW-05", date(2027, 12, 1))):
        desk.tool_desk.add(
            Tool(
                serial=serial,
                kind="torque wrench",
                range=Limits(Decimal(40), Decimal(400), "N m"),
                calibrations=(Calibration(date(2026, 12, 1), due),),
            ),
            by="console",
        )
    asyncio.run(brief(desk))
    desk.close()
    return folder


@pytest.fixture
def site(open_site: Path) -> Path:
    """Let this module's tests work on that site."""
    return open_site


def act(tablet: Visitor, run: str, clock: Clock, each: Act) -> None:
    """Wait, then enter; what is kept and what is refused must be as told."""
    step, part, values, code, minutes = each
    clock.wait(minutes=minutes)
    answer = tablet.enter(run, step, part, **values)
    told = answer.json()
    assert told.get("code", "") == code, (each, told)
    assert (answer.status_code == 200) is (code == "")


def test_every_kind_is_carried_through_the_door(
    tablets: Tablets, desk: Desk, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")
    for each in ACTS:
        act(tablet, run, clock, each)
    supervisor = tablets("SL")
    assert supervisor.enter(run, "change-of-shift", state="Dry and quiet").status_code == 200
    assert supervisor.sign(run, "change-of-shift", "SL").status_code == 200
    assert supervisor.sign(run, "change-of-shift", "HL").status_code == 200
    for each in (
        ("decide", "", {"branch": "accept"}, "typed.words.empty", 0),
        ("decide", "", {"branch": "wash again", "why": "A run mark"}, "", 0),
    ):
        act(tablet, run, clock, each)
    assert tablet.sign(run, "decide", "AB").status_code == 200
    assert tablet.sign(run, "decide", "HL").status_code == 200
    assert tablet.see(f"/runs/{run}?step=strip")["step"]["state"] == "not taken"
    for each in (
        ("strip", "", {}, "order.not_taken", 0),
        ("wash", "", {}, "", 0),
        (
            "things-back",
            "HX-11 hex key",
            {"result": "written off", "why": "x"},
            "typed.tools.write_off",
            0,
        ),
        *(
            ("things-back", thing, {"result": "back"}, "", 0)
            for thing in ("TW-03 wrench", "HX-11 hex key")
        ),
        ("locks-off", "Q4 drive breaker", {"lock": "14"}, "order.not_open", 0),
        ("things-back", "sponges", {"result": "back", "count": "40"}, "", 0),
        ("locks-off", "Q4 drive breaker", {"lock": "15"}, "typed.lock.other", 0),
        *(
            ("locks-off", p, {"lock": n}, "", 0)
            for p, n in (("Q4 drive breaker", "14"), ("V2 coolant valve", "15"))
        ),
    ):
        act(tablet, run, clock, each)

    closed = supervisor.tell(
        f"/runs/{run}/close", seen=supervisor.seen(run), **supervisor.as_("HL")
    )

    assert closed.status_code == 200, closed.text
    assert desk.run(run) is not None
    document = desk.document(run)
    assert document is not None
    told = [step for section in document.sections for step in section.steps]
    assert [step.id for step in told if step.word == "Not taken"] == ["strip"]


def test_what_is_refused_changes_nothing(
    tablets: Tablets, desk: Desk, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")
    for each in ACTS:
        before = happened(desk, run)
        act(tablet, run, clock, each)
        assert (happened(desk, run) == before) is bool(each[3]), each


def test_every_step_has_a_page_before_and_after(tablets: Tablets, run: str, clock: Clock) -> None:
    tablet = tablets("AB")
    shown = {step for step, *_ in ACTS}
    for each in ACTS:
        assert tablet.get(f"/runs/{run}/steps/{each[0]}").status_code == 200
        act(tablet, run, clock, each)
    for step in sorted(shown | {"change-of-shift", "decide", "things-back", "locks-off"}):
        page = tablet.get(f"/runs/{run}/steps/{step}")
        assert page.status_code == 200
        assert "Not open" in page.text or "Done" in page.text or step == "change-of-shift"


def test_the_bar_names_the_bolt_and_the_order_stands_in_words(
    tablets: Tablets, run: str, clock: Clock
) -> None:
    tablet = tablets("AB")
    for each in ACTS:
        if each[0] == "ring-bolts" and each[1] == "2, pass 1" and not each[3]:
            break
        act(tablet, run, clock, each)

    page = tablet.get(f"/runs/{run}/steps/ring-bolts")

    assert "Bolt 2: tighten to 100 N m" in words(page.text)
    assert 'data-on="bolt 2"' in page.text
    assert "Set the tool to 89.66 N m" in words(page.text)
    assert "Calibration good until 1 Dec 2027. In AB's hands." in words(page.text)
    assert 'value="TW-03"' in page.text  # the serials are there to choose from, none chosen
    assert "checked" not in page.text
    assert "1 ✓ done 3 ✓ done [2] 4" in words(page.text)


def test_every_kind_that_is_in_the_house_is_in_a_procedure_here() -> None:
    used = {line.split('"')[1] for line in TEXT.decode().splitlines() if line.startswith("kind")}
    first = {
        "reading",
        "count",
        "items",
        "loads",
        "dwell",
        "photo",
        "serial",
        "calculation",
        "hold",
    }

    assert set(kinds()) - first <= used
