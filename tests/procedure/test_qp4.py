"""The flagship text: complete, without a fault, and every fault planted in it is found."""

from __future__ import annotations

from decimal import Decimal

import pytest

from app.calculations.quantity import Limits
from app.procedure.check import check
from app.procedure.loader import load_procedure
from app.procedure.model import FactTest, Procedure, Step
from tests.procedure.texts import QP4_TEXT, SITE_TEXT, line_of, planted, said, the_site


@pytest.fixture(scope="module")
def qp4() -> Procedure:
    procedure, faults = load_procedure(QP4_TEXT, "QP-4.toml", the_site())
    assert procedure is not None, said(faults)
    return procedure


def step(procedure: Procedure, step_id: str) -> Step:
    found = procedure.step(step_id)
    assert found is not None
    return found


def test_it_can_be_released() -> None:
    report = check({"site.toml": SITE_TEXT, "QP-4.toml": QP4_TEXT}, set())

    assert said(report.faults) == []
    assert report.exit_code == 0


def test_it_has_thirty_steps_and_uses_every_kind_it_was_made_for(qp4: Procedure) -> None:
    assert [each.number for each in qp4.steps] == list(range(1, 31))
    assert {each.kind for each in qp4.steps} == {
        "brief", "calculation", "count", "dwell", "hold", "items", "loads", "photo", "reading",
        "serial", "tick",
    }  # fmt: skip
    assert sum(qp4.crew.values()) == 7


def test_the_blind_count(qp4: Procedure) -> None:
    count = step(qp4, "brackets-gone")

    assert (count.number, count.check) == (10, "independent")
    assert count.seats == ("technician",) * 3
    assert count.apart.total_seconds() == 120
    assert count.confirms == (FactTest("brackets", "is", 0),)


def test_the_load_is_taken_only_when_nothing_holds_the_glass(qp4: Procedure) -> None:
    take = step(qp4, "load-tenth")

    assert (take.critical, take.check) == (True, "before")
    assert take.seats == ("technician", "lift-director", "supervisor")
    assert take.sets == {"load_on": "hooks"}
    assert set(take.needs) == {
        FactTest("brackets", "is", 0),
        FactTest("laterals", "is", "detached"),
        FactTest("cover", "is", "off"),
        FactTest("hooks", "is", "engaged"),
        FactTest("cutoff", "is", "set"),
        FactTest("floor", "is", "clear"),
    }
    go = step(qp4, "go")
    assert (go.kind, go.seats) == ("hold", ("lead",))
    assert go.number < take.number


def test_every_fact_of_a_lifting_hazard_is_an_interlock_of_the_lift(qp4: Procedure) -> None:
    take = step(qp4, "load-tenth")
    needed = {test.fact: test for test in take.needs}

    lifting = [h for h in qp4.asset.hazards if FactTest("load_on", "is", "hooks") in h.never]
    elsewhere = [h for h in lifting if h.id == "lifted-against-a-restraint"]
    lifting = [h for h in lifting if h not in elsewhere]

    # The stand is across the hall, and no step here moves its restraints: the start asks for them.
    assert len(elsewhere) == 1
    assert FactTest("restraints", "not", "closed") in qp4.starts_with
    assert len(lifting) == 6
    for hazard in lifting:
        for test in hazard.never:
            if test.fact != "load_on":
                value = needed[test.fact].value
                assert not test.holds(value), f"{hazard.id} could be with {test.fact} {value}"


# The limits of the demo's trade sheet: value and band, worked out here by hand from the sheet.
LIMITS = [
    ("hall-air", "18", "22", "degC"),
    ("dew-margin", "5", None, "K"),
    ("cutoff-set", "54.7", "54.7", "kN"),
    ("raise", "0", "0.3", "m/min"),
    ("laterals-unloaded", "-15", "15", "N"),
    ("cells-zeroed", "-0.5", "0.5", "%"),
    ("hooks-engaged", "50", None, "mm"),
    ("gauges", "-0.20", "0.20", "mm"),
    ("load-centre", None, "20", "mm"),
]
TOTALS = [
    ("axial-forces", Decimal(40570), Decimal("0.01"), "N"),
    ("hook-shares", Decimal("40.57"), Decimal("0.02"), "kN"),
]
STAGES = [
    ("load-tenth", "4.1", "0.8"),
    ("load-half", "20.3", "1.0"),
    ("load-nine-tenths", "36.5", "1.0"),
]


@pytest.mark.parametrize(("step_id", "low", "high", "unit"), LIMITS)
def test_single_limits_are_those_of_the_sheet(
    qp4: Procedure, step_id: str, low: str | None, high: str | None, unit: str
) -> None:
    limits: Limits = step(qp4, step_id).own.limits  # type: ignore[attr-defined]

    assert limits == Limits(
        None if low is None else Decimal(low), None if high is None else Decimal(high), unit
    )


@pytest.mark.parametrize(("step_id", "nominal", "share", "unit"), TOTALS)
def test_sums_lie_inside_the_band_of_the_sheet(
    qp4: Procedure, step_id: str, nominal: Decimal, share: Decimal, unit: str
) -> None:
    total: Limits = step(qp4, step_id).own.total  # type: ignore[attr-defined]

    assert total.unit == unit
    assert total.at_least is not None
    assert total.at_most is not None
    # Rounded inwards, by less than one in the last digit that the sheet gives.
    last = Decimal(10) if unit == "N" else Decimal("0.01")
    assert 0 <= total.at_least - nominal * (1 - share) < last
    assert 0 <= nominal * (1 + share) - total.at_most < last


@pytest.mark.parametrize(("step_id", "nominal", "band"), STAGES)
def test_stages_of_the_load_are_those_of_the_sheet(
    qp4: Procedure, step_id: str, nominal: str, band: str
) -> None:
    total: Limits = step(qp4, step_id).own.total  # type: ignore[attr-defined]

    assert (total.at_least, total.at_most) == (
        Decimal(nominal) - Decimal(band),
        Decimal(nominal) + Decimal(band),
    )


def test_each_axial_support_is_within_three_per_cent(qp4: Procedure) -> None:
    each: Limits = step(qp4, "axial-forces").own.each  # type: ignore[attr-defined]

    assert each == Limits(751 * Decimal("0.97"), 751 * Decimal("1.03"), "N")


PLANTED = [
    ('do = "Count what lies in the numbered tray."', 'do = "Count the 126 parts in the numbered tray."', "do", "126 is not a limit of this step."),
    ('why = "What is in the tray is not on the glass."', 'why = "No bracket is left on the glass."', "why", "This tells how many brackets in place there must be."),
    ('why = "What is in the tray is not on the glass."', 'why = "Now 0 brackets hold the glass."', "why", "This tells how many brackets in place there must be."),
    ('mirror = "Look and light only. Do not reach between edge and cell."', 'mirror = "You must find zero."', "mirror", "The people who count would read here what they must find."),
    ('statement = "Every bracket', 'evidnce = []\nstatement = "Every bracket', None, "evidnce is not a key of this step."),
    ('at_mirror = true\nsign = ["lead"]', 'at_mirror = true\nsign = ["lift-director"]', "sign", "No seat of this hold may release it."),
    ('evidence = ["released", "serials"', 'evidence = ["load-half", "serials"', "evidence", "load-half is not an earlier step."),
    ('evidence = ["released", "serials"', 'evidence = ["released", "serial"', "evidence", "serial is not a step of this procedure."),
    ('sign = ["technician", "lift-director", "supervisor"]\ncheck = "before"', 'sign = ["technician"]\ncheck = "before"', "critical", "An act that cannot be undone has one seat."),
    ('sign = ["technician", "lift-director", "supervisor"]\ncheck = "before"', 'sign = ["technician", "lift-director", "supervisor"]\ncheck = "after"', "check", "This act leads towards lifted-while-fastened, and is signed only after it is done."),
    ('\ntool = "lift spider"\ncritical = true\nsign = ["technician", "lift-director", "supervisor"]', '\ncritical = true\nsign = ["technician", "lift-director", "supervisor"]', "tool", "A lift names no tool."),
    ('sets = { cutoff = "set" }', 'sets = { cutof = "set" }', "sets.cutof", "cutof is not a fact of the asset."),
    ('age = "30 min" }', 'age = "30 kg" }', "fresh.age", "30 kg does not measure what min measures."),
    ('reading = "dew-margin"\nunit', 'reading = "dew-margins"\nunit', "fresh[0].reading", "No step of this procedure reads dew-margin."),
    ('each_at_least = 0.4', 'each_at_least = "0.4 N m"', "each_at_least", "0.4 N m does not measure what kN measures."),
    ('weight = "40.57 kN"', 'weight = "40.57 kg"', "inputs.weight", "40.57 kg does not measure what kN measures."),
    ('forces = "hook-shares.cells", angles', 'forces = "look-under.cells", angles', "inputs.forces", "look-under comes later."),
    ('kind = "dwell"', 'kind = "dwel"', "kind", "dwel is not a kind of step."),
    ('crew = { lead = 1, ', 'crew = { ', "sign", "This step seats 1 of lead, and the crew has 0."),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "what"), PLANTED)
def test_a_planted_fault_is_found(old: str, new: str, key: str | None, what: str) -> None:
    text = planted(QP4_TEXT, old, new)

    found = check({"site.toml": SITE_TEXT, "QP-4.toml": text}).faults

    assert what in [fault.what for fault in found], said(found)
    fault = next(fault for fault in found if fault.what == what)
    assert key is None or fault.key == key


LINES = [
    ('do = "Count what lies in the numbered tray."', 'do = "Count the 126 parts in the tray."'),
    ('sets = { cutoff = "set" }', 'sets = { cutof = "set" }'),
    ('weight = "40.57 kN"', 'weight = "40.57 kg"'),
    ('evidence = ["released", "serials"', 'evidence = ["load-half", "serials"'),
    ('kind = "dwell"', 'kind = "dwel"'),
    ('age = "30 min" }', 'age = "30 kg" }'),
]


@pytest.mark.parametrize(("old", "new"), LINES)
def test_a_planted_fault_is_found_at_its_own_line(old: str, new: str) -> None:
    text = planted(QP4_TEXT, old, new)

    found = check({"site.toml": SITE_TEXT, "QP-4.toml": text}).faults

    assert {fault.line for fault in found} == {line_of(text, new)}


def test_a_fresh_reading_is_limited_in_its_own_dimension() -> None:
    text = planted(QP4_TEXT, 'at_least = "5 K", age', 'at_least = "5 kPa", age')

    found = check({"site.toml": SITE_TEXT, "QP-4.toml": text}).faults

    assert said(found) == [
        f"QP-4.toml:{line_of(text, '5 kPa')}: fresh[0].at_least: 5 kPa cannot be compared with "
        "dew-margin, which is read in K. Give it in K."
    ]


def test_limits_that_cross_are_unreachable() -> None:
    text = planted(QP4_TEXT, "at_least = 18\nat_most = 22", "at_least = 22\nat_most = 18")

    found = check({"site.toml": SITE_TEXT, "QP-4.toml": text}).faults

    assert said(found) == [
        f"QP-4.toml:{line_of(text, 'at_least = 22')}: at_least: No value can be at least 22 and "
        "at most 18. Put the lower limit in at_least."
    ]
