from __future__ import annotations

import pytest

from app.procedure.loader import load_site
from app.procedure.model import FactTest
from tests.procedure.texts import SITE_TEXT, line_of, planted, said, the_site


def test_the_site_is_read() -> None:
    site = the_site()

    assert (site.name, site.latitude, site.longitude) == ("Quillmoor Observatory", -31.2, -29.4)
    assert str(site.elevation) == "2380 m"
    assert site.roles["supervisor"] == {"perform", "release-hold", "restart"}
    assert site.roles["lift-director"] == {"perform"}
    primary = site.assets["primary"]
    assert primary.facts["brackets"].values == tuple(range(22))
    assert primary.facts["load_on"].values == ("cell", "hooks", "stand", "vessel")
    assert primary.facts["load_on"].now == "cell"


def test_its_hazards_are_conjunctions_over_facts() -> None:
    hazards = {hazard.id: hazard for hazard in the_site().assets["primary"].hazards}

    fastened = hazards["lifted-while-fastened"]
    assert fastened.people == 3
    assert fastened.never == (
        FactTest("load_on", "is", "hooks"),
        FactTest("brackets", "at_least", 1),
    )
    assert hazards["lifted-without-cutoff"].never[1] == FactTest("cutoff", "not", "set")
    assert hazards["lifted-with-laterals-attached"].people == 3
    assert hazards["uncovered-to-daylight"].people == 2


PLANTED = [
    ("format = 1", "format = 2", "format", "This is format 2. Only format 1 is known here."),
    ("latitude = -31.20", "latitude = -91", "latitude", "latitude is -91. It must be -90 to 90 degrees."),
    ('elevation = "2380 m"', 'elevation = "2380 kg"', "site.elevation", "2380 kg does not measure what m measures. Give it in m, or in a unit of the same dimension."),
    ('time_zone = "Etc/GMT+2"', 'time_zone = "Etc/Nowhere"', "time_zone", "Etc/Nowhere is not a known time zone. Give its IANA name."),
    ('lift-director = ["perform"]', 'lift-director = ["preform"]', "roles.lift-director", "preform is not an ability. Did you mean perform?"),
    ("from = 0, to = 21, now = 21", "from = 0, to = 21, now = 22", "asset.primary.facts.brackets.now", "brackets does not say what is so now. It can be 0 to 21."),
    ('values = ["open", "shut"], now', 'values = ["open", "open"], now', "values", "doors has no two different values. Give each value once."),
    ("brackets = { at_least = 1 }", "bracket = { at_least = 1 }", "hazards.never.bracket", "bracket is not a fact of the asset. Did you mean brackets?"),
    ("brackets = { at_least = 1 }", "brackets = { at_last = 1 }", "hazards.never.brackets.at_last", "at_last is not a key of this condition. Did you mean at_least?"),
    ("brackets = { at_least = 1 }", "brackets = { at_least = 22 }", "brackets.at_least", "brackets cannot be 22. It can be 0 to 21."),
    ('laterals = "attached" }', 'laterals = { at_most = 1 } }', "laterals.at_most", "laterals is a word, not a number. Compare it with not, or name it."),
    ('title = "Primary mirror"', 'titel = "Primary mirror"', "asset.primary.titel", "titel is not a key of this asset. Did you mean title?"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "sentence"), PLANTED)
def test_a_planted_fault_is_found_at_its_line(old: str, new: str, key: str, sentence: str) -> None:
    text = planted(SITE_TEXT, old, new)

    site, faults = load_site(text, "site.toml")

    assert site is None
    line = line_of(text, new)
    wanted = [str(f) for f in faults if f.line == line and f.key.endswith(key)]
    assert [each.endswith(sentence) for each in wanted] == [True], said(faults)


def test_all_faults_come_at_once() -> None:
    text = SITE_TEXT
    for old, new, _, _ in (PLANTED[1], PLANTED[4], PLANTED[7]):
        text = planted(text, old, new)

    _, faults = load_site(text, "site.toml")

    assert len(faults) == 3
