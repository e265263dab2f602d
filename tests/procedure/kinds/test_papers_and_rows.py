"""Papers, areas, logs, batches and maps of defects: good, out of limit, out of turn, unreadable."""

from __future__ import annotations

import pytest

from app.procedure.entry import Judged, Unreadable
from app.procedure.usual import UsualKind
from tests.procedure.kinds.stand import Stand, step_of, told

KEYS = {
    "permit": 'papers = ["Lift permit", "Spider certificate"]\nvalid_for = "8 h"',
    "area": 'area = "chamber"',
    "log": """
points = ["Gate", "Bend"]
values = [
  { name = "tilt", unit = "deg", at_most = "1.5" },
  { name = "shock", unit = "m/s^2", at_most = "2.0" },
]""",
    "batch": """
recipe = [{ what = "water", amount = "79.4 l" }, { what = "acid", amount = "10.6 l" }]
makes = "90 l"
tolerance = "2 %"
at_least = "45 l"
at_most = "90 l" """,
    "defects": """
known = [{ name = "chip A", angle = "212 deg", radius = "2100 mm", size = "3.0 mm" }]
largest = "5.0 mm"
growth = "0.5 mm"
radius = { at_least = "360 mm", at_most = "2180 mm" }""",
}
PAPER = {"number": "P-7", "until": "2027-05-12", "standing": "in force"}
PLACE = {"angle": "10", "radius": "1000"}
LEVEL = {"tilt": "1", "shock": "1"}

# kind, part, values, verdict ("" where nothing is kept), the sentence or how it begins
TRIED: tuple[tuple[str, str, dict[str, str], str, str], ...] = (
    (
        "permit",
        "Lift permit",
        PAPER,
        "good",
        "Lift permit P-7: in force until 2027-05-13 00:00 UTC.",
    ),
    (
        "permit",
        "Lift permit",
        {**PAPER, "until": "2027-05-08 18:00"},
        "out",
        "Lift permit P-7 ends in 5 h 36 min 35 s. It must last for 8 h more.",
    ),
    (
        "permit",
        "Lift permit",
        {**PAPER, "until": "2027-05-07"},
        "out",
        "Lift permit P-7 ended at 2027-05-08 00:00 UTC.",
    ),
    (
        "permit",
        "Lift permit",
        {**PAPER, "standing": "withdrawn"},
        "out",
        "Lift permit P-7 was withdrawn.",
    ),
    ("permit", "Lift permit", {**PAPER, "until": "12/5/27"}, "", '"12/5/27" is no day.'),
    ("permit", "Lift permit", {**PAPER, "standing": ""}, "", "Lift permit: say in force or"),
    ("permit", "Lift permit", {**PAPER, "number": ""}, "", "Nothing was typed."),
    ("permit", "Ticket", PAPER, "", '"Ticket" is not one of the papers here.'),
    ("area", "", {"count": "0"}, "good", "Nobody is in: chamber."),
    ("area", "", {"count": "1"}, "out", "1 person is in: chamber. Ask them out, and look again."),
    ("area", "", {"count": "two"}, "", '"two" is not a whole number.'),
    ("log", "Gate", LEVEL, "good", "Gate: tilt 1 deg, shock 1 m/s^2."),
    (
        "log",
        "Gate",
        {"tilt": "1.6", "shock": "1"},
        "out",
        "Gate: Tilt: 1.6 deg is above the limit, 1.5 deg. Stop here, and read again.",
    ),
    ("log", "Bend", LEVEL, "", "Bend is not next. Record Gate first. Nothing was saved."),
    ("log", "Gate", {"tilt": "1"}, "", "Shock: Nothing was typed."),
    ("log", "Gate", {"tilt": "1 rad", "shock": "1"}, "", 'Tilt: Use deg here. You typed "rad".'),
    ("log", "Hall", LEVEL, "", '"Hall" is not one of the points here.'),
    ("batch", "batch", {"number": "B-1", "size": "45"}, "good", "Batch B-1, 45 l."),
    ("batch", "batch", {"number": "B-1", "size": "91"}, "", "A batch of 91 l is not made here"),
    ("batch", "batch", {"number": "", "size": "45"}, "", "Nothing was typed."),
    ("batch", "acid", {"value": "5.3"}, "", "acid is not next. First comes batch: keep the order."),
    ("defects", "chip A", {"size": "3.5"}, "good", "chip A: 3.5 mm at 212 deg, 2100 mm."),
    (
        "defects",
        "chip A",
        {"size": "3.6"},
        "out",
        "chip A: 3.6 mm at 212 deg, 2100 mm. It was 3.0 mm: it has changed by 0.6 mm",
    ),
    ("defects", "new 1", {**PLACE, "size": "5.0"}, "good", "new 1: 5.0 mm at 10 deg, 1000 mm."),
    (
        "defects",
        "new 1",
        {**PLACE, "size": "5.1"},
        "out",
        "new 1: 5.1 mm at 10 deg, 1000 mm. 5.1 mm is above the limit, 5.0 mm. Report it.",
    ),
    (
        "defects",
        "new 1",
        {**PLACE, "radius": "2181", "size": "1"},
        "",
        "Radius: no place on the glass is 2181 mm. It has 360 to 2180 mm.",
    ),
    (
        "defects",
        "new 1",
        {**PLACE, "angle": "361", "size": "1"},
        "",
        "Angle: no place on the glass is 361 deg.",
    ),
    ("defects", "new 2", {**PLACE, "size": "1"}, "", '"new 2" is no defect of this map.'),
    ("defects", "map", {}, "", "Measure chip A again first. Nothing was saved."),
)


@pytest.mark.parametrize(("kind", "part", "values", "verdict", "saying"), TRIED)
def test_each_entry_is_judged_or_not_kept(
    kind: str, part: str, values: dict[str, str], verdict: str, saying: str
) -> None:
    found = Stand(step_of(kind, KEYS[kind])).judge(values, part)

    if verdict:
        assert isinstance(found, Judged)
        assert found.verdict == verdict
        assert found.saying.startswith(saying)
    else:
        assert isinstance(found, Unreadable)
        assert found.sentence.startswith(saying)


def test_the_tally_of_an_area_is_on_the_board() -> None:
    found = Stand(step_of("area", KEYS["area"])).out({"count": "2"})

    assert (found.readings["chamber"].value, found.readings["chamber"].unit) == ("2", "")


def batched(size: str = "45") -> Stand:
    stand = Stand(step_of("batch", KEYS["batch"]))
    stand.enter({"number": "B-1", "size": size}, "batch")
    return stand


# 10.6 l of acid in 90 l (the demo's bath) is 5.3 l in 45 l, with 2 % 5.194 to 5.406.
AMOUNTS = (("39.7", "5.194", "good"), ("39.7", "5.406", "good"), ("39.7", "5.41", "out"))


@pytest.mark.parametrize(("water", "acid", "verdict"), AMOUNTS)
def test_the_recipe_is_scaled_to_the_size(water: str, acid: str, verdict: str) -> None:
    stand = batched()
    stand.enter({"value": water}, "water")

    assert stand.enter({"value": acid}, "acid").verdict == verdict
    assert bool(stand.missing()) is (verdict == "out")


def test_acid_does_not_come_before_water() -> None:
    refused = batched().refused({"value": "5.3"}, "acid")

    assert refused.code == "order.recipe"
    assert refused.sentence == (
        "acid is not next. First comes water: keep the order. Nothing was saved."
    )
    assert batched().card("acid").off == "acid is not next. First comes water"


def test_too_much_is_not_mended_by_adding() -> None:
    out = batched().out({"value": "42"}, "water")

    assert out.saying.endswith("Do not add anything to mend it. Report it.")


def test_a_map_is_whole_when_somebody_says_so() -> None:
    stand = Stand(step_of("defects", KEYS["defects"]))
    stand.enter({"size": "3.0"}, "chip A")
    assert stand.missing() == "Nobody has said that there is nothing more."
    stand.enter({**PLACE, "size": "1.0"}, "new 1")
    assert stand.card().part == "new 2"
    stand.enter({}, "map")

    assert stand.missing() == ""
    assert stand.card().answer == "The map is whole: 1 new, 1 known."


def test_a_log_gives_its_values_to_a_sum() -> None:
    stand = Stand(step_of("log", KEYS["log"]))
    for point in ("Gate", "Bend"):
        stand.enter(LEVEL, point)
    assert isinstance(stand.kind, UsualKind)
    known = stand.kind.known(stand.step, stand.so_far(), "tilt")

    assert known is not None
    assert (len(known.values), known.unit) == (2, "deg")
    assert [line.what for line in stand.lines()][:2] == ["Gate, tilt", "Gate, shock"]


FAULTS = (
    ("permit", "papers = []", "papers: There are no papers."),
    ("permit", 'papers = ["a", "a"]', "papers: Two papers are alike, or one is empty."),
    ("area", "", "area: This step has no area."),
    ("log", 'points = ["a"]\nvalues = []', "values: There is nothing to read."),
    (
        "log",
        'points = ["a", "a"]\nvalues = [{ name = "t", unit = "K", at_most = 1 }]',
        "points: Two points are alike, or one is empty.",
    ),
    (
        "log",
        'points = ["a"]\nvalues = [{ name = "tool", unit = "K", at_most = 1 }]',
        "values.name: tool already names something.",
    ),
    (
        "batch",
        'recipe = [{ what = "a", amount = "0 l" }]\nmakes = "1 l"\ntolerance = "1 %"',
        "recipe.amount: The amount is not above 0.",
    ),
    (
        "batch",
        'recipe = []\nmakes = "0 l"\ntolerance = "1 %"',
        "makes: The recipe makes nothing.",
    ),
    ("defects", "", "largest: There is no limit."),
)


@pytest.mark.parametrize(("kind", "keys", "fault"), FAULTS)
def test_keys_that_nobody_can_follow_are_a_fault(kind: str, keys: str, fault: str) -> None:
    assert fault in told(kind, keys)
