"""Faults planted in QP-5 to QP-7 are found: by the rules of the trade, or by the proof."""

from __future__ import annotations

import re

import pytest

from app.procedure.check import check
from tests.procedure.surface import TEXTS, proved
from tests.procedure.texts import SITE_TEXT, planted, said


def without(text: str, step_id: str) -> str:
    """The text without one of its steps."""
    blocks = re.split(r"(?=^\[\[sections(?:\.steps)?\]\])", text, flags=re.MULTILINE)
    left = [block for block in blocks if f'\nid = "{step_id}"\n' not in block]
    assert len(left) == len(blocks) - 1
    return "".join(left)


PLANTED = [
    ("QP-5", 'tool = "lift spider"\ncritical = true\nsign = ["technician", "lift-director", "supervisor"]', 'critical = true\nsign = ["technician", "lift-director", "supervisor"]', "A lift names no tool."),
    ("QP-5", 'sign = ["technician", "lift-director", "supervisor"]\ncheck = "before"', 'sign = ["technician", "lift-director", "supervisor"]', "This act leads towards landed-on-unproved-place, and is signed only after it is done."),
    ("QP-5", 'present = ["safety"]\nneeds = { load_on = "stand", glass = "wet", bath = "checked", eyewash = "tested", rinse_water = "ready" }\nconfirms = { bath = "checked", eyewash = "tested", rinse_water = "ready" }\nfresh = [\n  { reading = "rinse-water", at_least = "1.2 m^3"', 'present = ["safety"]\nneeds = { load_on = "stand", glass = "wet", bath = "checked", eyewash = "tested", rinse_water = "ready" }\nconfirms = { bath = "checked", eyewash = "tested", rinse_water = "ready" }\nfresh = [\n  { reading = "rinse-water", at_least = "1.2 kg"', "1.2 kg cannot be compared with rinse-water, which is read in m^3."),
    ("QP-6", 'within = { of = "declared-dry", at_most = "60 min", if_missed = "last-rinse" }', 'within = { of = "declared-dry", at_most = "60 min" }', "This deadline does not say what to do when it is missed."),
    ("QP-6", 'within = { of = "declared-dry", at_most = "90 min", if_missed = "last-rinse" }', 'within = { of = "valves-open", at_most = "90 min", if_missed = "last-rinse" }', "valves-open is not an earlier step."),
    ("QP-6", 'why = "What stays in there falls on the mirror, or spoils the vacuum."', 'why = "Of the charges 48 are on the outer ring."', "This tells how many charges on the filaments there must be."),
    ("QP-6", 'sign = ["coating", "vacuum", "supervisor"]\ncheck = "before"\npresent = ["lead"]', 'sign = ["coating"]\ncheck = "before"\npresent = ["lead"]', "An act that cannot be undone has one seat."),
    ("QP-7", 'reference_reading = "tile.tile-470", uncertainty = "0.3 %" }', 'reference_reading = "tile.tile-471", uncertainty = "0.3 %" }', "tile gives no tile-471."),
    ("QP-7", 'sections = ["Wash again"]', 'sections = ["Wash it again"]', 'There is no section "Wash it again".'),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "what"), PLANTED)
def test_a_planted_fault_is_found(name: str, old: str, new: str, what: str) -> None:
    text = planted(TEXTS[name], old, new)

    found = check({"site.toml": SITE_TEXT, f"{name}.toml": text}).faults

    assert what in [fault.what for fault in found], said(found)


@pytest.mark.parametrize("pour", ["strip-1", "strip-2", "strip-3"])
def test_acid_without_an_end_is_found(pour: str) -> None:
    start = TEXTS["QP-5"].index(f'id = "{pour}"')
    end = TEXTS["QP-5"].index("[[sections", start)
    block = planted(
        TEXTS["QP-5"][start:end], 'at_most = "10 min"\nwarn = "8 min"\n', 'at_least = "1 min"\n'
    )
    block = block.replace("{warn}", "soon").replace("{at_most}", "soon after")
    text = TEXTS["QP-5"][:start] + block + TEXTS["QP-5"][end:]

    found = check({"site.toml": SITE_TEXT, "QP-5.toml": text}).faults

    assert [fault.key for fault in found] == ["at_most"]
    assert found[0].what.startswith("A dwell that speaks of ")


# A step left out, or put after the act that it guards: the act can never open.
GUARDS = [
    ("QP-5", "landing-gauged", "needs.landing"),
    ("QP-5", "restraints-open", "needs.restraints"),
    ("QP-5", "strip-batch", "needs.bath"),
    ("QP-5", "protected", "needs.eyewash"),
    ("QP-6", "ready-to-dry", "needs.drying"),
    ("QP-6", "last-effluent", "needs.effluent"),
    ("QP-6", "people-out", "needs.inside"),
    ("QP-6", "gap-gauged", "needs.vessel_gap"),
    ("QP-6", "fire-gate", "needs.vacuum"),
    ("QP-6", "shutters-shut", "needs.shutters"),
    ("QP-6", "cooled", "needs.sources"),
    ("QP-6", "power-off", "needs.hv"),
    ("QP-6", "gas-dry", "needs.vent_gas"),
]


@pytest.mark.parametrize(("name", "guard", "key"), GUARDS)
def test_an_act_whose_guard_is_missing_never_opens(name: str, guard: str, key: str) -> None:
    text = re.sub(rf'"{guard}", |, "{guard}"', "", without(TEXTS[name], guard))

    found = proved(name, text).proved.faults

    assert key in {fault.key for fault in found}, said(found)


# The interlock taken off an act: the proof says who then suffices, or that nobody need be wrong.
def test_a_vent_that_asks_for_no_cool_down_is_found() -> None:
    text = without(TEXTS["QP-6"], "cooled").replace(
        'sources = "cold", hv = "off", vent_gas', 'hv = "off", vent_gas'
    )

    faults = said(proved("QP-6", text).proved.faults)

    assert any("Followed rightly, this leads to vented-on-hot-sources" in each for each in faults)


def test_a_firing_before_its_gate_is_found() -> None:
    text = (
        TEXTS["QP-6"]
        .replace(', vacuum = "proved"', "")
        .replace('confirms = { vacuum = "proved", charges', "confirms = { charges")
    )
    gate = text.index('[[sections.steps]]\nid = "fire-gate"')
    end = text.index('[[sections.steps]]\nid = "wetting-power"')
    after = text.index('[[sections.steps]]\nid = "power-off"')
    moved = text[:gate] + text[end:after] + text[gate:end] + text[after:]
    moved = moved.replace('"fire-gate", ', "")

    faults = said(proved("QP-6", moved).proved.faults)

    assert any("Followed rightly, this leads to fired-in-bad-vacuum" in each for each in faults)


def test_a_pour_that_one_person_can_get_wrong_is_found() -> None:
    text = TEXTS["QP-5"].replace('confirms = { bath = "checked", eyewash', "confirms = { eyewash")
    text = planted(
        text,
        '{ what = "copper sulphate pentahydrate", amount = "1.8 kg" },\n]\nmakes = "90 l"\ntolerance = "2 %"\nsign = ["coating", "technician"]',
        '{ what = "copper sulphate pentahydrate", amount = "1.8 kg" },\n]\nmakes = "90 l"\ntolerance = "2 %"\nsign = ["coating"]',
    )

    faults = said(proved("QP-5", text).proved.faults)

    assert any("1 person is enough for acid-from-unchecked-batch" in each for each in faults)
