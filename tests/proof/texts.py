"""A small site and a small lift that can be proved, to be spoilt one thing at a time."""

from __future__ import annotations

from app.procedure.loader import load_procedure, load_site
from app.procedure.model import Procedure, Site
from app.proof.prove import BOUND, prove_one
from app.proof.report import Proof, Shown

SITE = """format = 1
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
[asset.primary]
title = "Primary mirror"
[asset.primary.facts]
place = { values = ["hall", "road"], now = "hall" }
doors = { values = ["open", "shut"], now = "open" }
cover = { values = ["off", "on"], now = "on" }
brackets = { from = 0, to = 3, now = 3 }
load_on = { values = ["cell", "hooks"], now = "cell" }
[[asset.primary.hazards]]
id = "lifted-while-fastened"
harm = "The edge breaks."
never = { load_on = "hooks", brackets = { at_least = 1 } }
people = 3
[[asset.primary.hazards]]
id = "uncovered-to-daylight"
harm = "Daylight burns at the focus."
never = { cover = "off", doors = "open" }
people = 2
"""

HEAD = """format = 1
id = "QP-9"
revision = 1
title = "A small lift"
asset = "primary"
purpose = "To be proved."
planned = "1 h"
safe_state = "Load on the supports."
crew = { technician = 3, supervisor = 1 }
starts_with = { load_on = "cell", brackets = 3, cover = "on" }
leaves = { load_on = "hooks", brackets = 0, cover = "off", doors = "shut" }
"""
READY = """[[sections]]
title = "Make ready"
"""
BRIEF = """[[sections.steps]]
id = "brief"
kind = "brief"
do = "Brief everyone who is present."
topics = ["What could go wrong"]
sign = ["supervisor"]
"""
DOORS = """[[sections.steps]]
id = "doors-shut"
kind = "tick"
do = "Shut every door."
sets = { doors = "shut" }
"""
COVER = """[[sections.steps]]
id = "cover-off"
kind = "tick"
do = "Take the cover off."
sign = ["technician", "technician"]
check = "before"
needs = { doors = "shut" }
confirms = { doors = "shut" }
sets = { cover = "off" }
"""
LET_GO = """[[sections]]
title = "Let go"
order = "any"
"""
CLAMPS = """[[sections.steps]]
id = "clamp-a"
kind = "tick"
do = "Open the first clamp."
[[sections.steps]]
id = "clamp-b"
kind = "tick"
do = "Open the second clamp."
"""
RELEASE = """[[sections.steps]]
id = "brackets-off"
kind = "tick"
do = "Unfasten each of them."
needs = { cover = "off" }
sets = { brackets = 0 }
"""
KNOW = """[[sections]]
title = "Know that it is free"
"""
COUNT = """[[sections.steps]]
id = "count"
kind = "count"
do = "Count what still holds the glass."
of = "clips"
expect = 0
sign = ["technician", "technician", "technician"]
check = "independent"
confirms = { brackets = 0 }
"""
HOLD = """[[sections.steps]]
id = "hold"
kind = "hold"
do = "Hold before the lift."
statement = "Nothing holds the glass."
evidence = ["brackets-off"]
sign = ["supervisor"]
confirms = { brackets = 0 }
"""
LIFT = """[[sections.steps]]
id = "lift"
kind = "tick"
do = "Take the load on the hooks."
critical = true
back_out = "Lower to the supports."
check = "before"
sign = ["technician", "supervisor"]
tool = "spider"
needs = { brackets = 0, cover = "off" }
sets = { load_on = "hooks" }
"""
GOOD = HEAD + READY + BRIEF + DOORS + COVER + LET_GO + CLAMPS + RELEASE + KNOW + COUNT + HOLD + LIFT


def the_site(text: str = SITE) -> Site:
    site, faults = load_site(text, "site.toml")
    assert site is not None, [str(fault) for fault in faults]
    return site


def the_procedure(text: str = GOOD, site: Site | None = None) -> Procedure:
    procedure, faults = load_procedure(text, "QP-9.toml", site or the_site())
    assert procedure is not None, [str(fault) for fault in faults]
    return procedure


def proof_of(text: str = GOOD, *, site: Site | None = None, bound: int = BOUND) -> Proof:
    site = site or the_site()
    return prove_one(the_procedure(text, site), site, bound=bound)


def shown(proof: Proof, hazard: str = "lifted-while-fastened") -> Shown:
    return next(each for each in proof.hazards if each.id == hazard)
