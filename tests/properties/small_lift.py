"""A small lift that has every sort of rule in it, the crew for it, and what might be typed."""

from __future__ import annotations

from app.procedure.loader import load_procedure, load_site
from app.procedure.model import Procedure, Site
from app.run.crew import Person

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
brackets = { from = 0, to = 2, now = 2 }
doors = { values = ["open", "shut"], now = "open" }
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
purpose = "To try the rules in every order."
planned = "1 h"
safe_state = "Load on the supports."
crew = { technician = 2, supervisor = 1 }
starts_with = { load_on = "cell", brackets = 2 }
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
at_most = 9.0
usual = { at_least = 0, at_most = 30 }

[[sections]]
title = "Unfasten"
order = "any"

[[sections.steps]]
id = "brackets-off"
kind = "items"
do = "Take each bracket off."
after = ["doors"]
layout = { shape = "ring", count = 2, label = "B{:02d}" }
results = ["off", "seized"]
sets = { brackets = 0 }
photo = 1

[[sections.steps]]
id = "doors"
kind = "tick"
do = "Shut the doors."
sets = { doors = "shut" }

[[sections.steps]]
id = "air"
kind = "reading"
do = "Read the air, once the doors are shut."
needs = { doors = "shut" }
reading = "air"
unit = "degC"
at_least = 18
at_most = 22
sign = ["technician", "technician"]

[[sections]]
title = "Count and hold"

[[sections.steps]]
id = "count"
kind = "count"
do = "Count what is in place, and what lies in the tray."
of = "washers"
parts = { in_place = 0, tray = 7193 }
sign = ["technician", "technician", "supervisor"]
check = "independent"
apart = "2 min"
starts = ["A", "B", "C"]
confirms = { brackets = 0 }

[[sections.steps]]
id = "look"
kind = "items"
do = "Measure the gap at each mark."
layout = { shape = "list", names = ["north", "south"] }
unit = "mm"
at_least = 70
at_most = 75
sign = ["technician", "technician"]
check = "independent"
apart = "2 min"

[[sections.steps]]
id = "left"
kind = "calculation"
do = "Set what was counted against what was installed."
calculation = "tally"
inputs = { installed = 21, in_place = "count.in_place", removed = "typed" }

[[sections.steps]]
id = "free"
kind = "hold"
do = "Hold before the lift."
statement = "Nothing holds the mirror."
evidence = ["brackets-off", "count", "left"]
at_mirror = true
sign = ["technician", "supervisor"]
confirms = { brackets = 0 }

[[sections]]
title = "Lift"

[[sections.steps]]
id = "lift"
kind = "reading"
do = "Take the load on the hooks, and read it."
reading = "hook-load"
unit = "kN"
at_least = 40
at_most = 41
critical = true
back_out = "Lower to the supports."
check = "before"
sign = ["technician", "technician", "supervisor"]
needs = { brackets = 0, doors = "shut" }
fresh = [{ reading = "gust", at_most = "9.0 m/s", age = "40 min" }]
sets = { load_on = "hooks" }
tool = "spider"

[[sections.steps]]
id = "hang"
kind = "tick"
do = "Look whether it hangs still."
not_same_as = ["lift"]
within = { of = "lift", at_least = "5 min", at_most = "3 h" }
needs = { load_on = "hooks" }

[[sections.steps]]
id = "landed"
kind = "hold"
do = "Give the mirror to the next crew."
statement = "It hangs still."
evidence = ["lift", "hang"]
sign = ["lead"]
safe_point = true
"""

CREW = (
    Person(id="AB", name="Ada", roles=frozenset({"technician"})),
    Person(id="KM", name="Kim", roles=frozenset({"technician"})),
    Person(id="RS", name="Ros", roles=frozenset({"technician"})),
    Person(id="NN", name="Nan", roles=frozenset({"technician", "supervisor"})),
    Person(id="SL", name="Sol", roles=frozenset({"supervisor"})),
    Person(id="HL", name="Hal", roles=frozenset({"lead"})),
    Person(id="AU", name="Aud", roles=frozenset({"auditor"})),
    Person(id="RT", name="Ret", roles=frozenset({"technician"}), active=False),
)
RELIEF = (
    Person(id="TA", name="Tai", roles=frozenset({"technician"})),
    Person(id="TB", name="Tub", roles=frozenset({"technician"})),
    Person(id="TC", name="Tec", roles=frozenset({"technician"})),
    Person(id="SA", name="Sam", roles=frozenset({"supervisor"})),
    Person(id="SB", name="Sid", roles=frozenset({"supervisor"})),
    Person(id="LA", name="Lea", roles=frozenset({"lead"})),
)  # a shift that comes in at the end: they have done nothing yet

# What each step rests on: a change there opens it again.
RESTS = {
    "left": ("count",),
    "free": ("brackets-off", "count", "left"),
    "landed": ("lift", "hang"),
}
ONES_OWN_SECRET = ("brief", "count")  # steps whose entry is itself a signature

PHOTO = "0123456789abcdef" * 4
EXPECTED = "7193"  # what must be counted; nobody who counts may see it

GOOD: dict[str, dict[str, str]] = {
    "wind": {"value": "3.2"},
    "brackets-off": {"result": "off", "photo": PHOTO},
    "air": {"value": "20.5"},
    "count": {"in_place": "0", "tray": EXPECTED},
    "look": {"value": "72.01"},
    "left": {"removed": "21"},
    "lift": {"value": "40.6", "tool": "SP-1"},
}
ODD: dict[str, tuple[dict[str, str], ...]] = {
    "wind": (
        {"value": "12.0"},
        {"value": "99", "sure": "yes"},
        {"value": "99"},
        {"value": "1,234"},
    ),
    "brackets-off": ({"result": "seized", "photo": PHOTO}, {"result": "off"}, {"photo": PHOTO}),
    "air": ({"value": "25"}, {"value": "-"}),
    "count": ({"in_place": "0", "tray": "7191"}, {"in_place": "1", "tray": "7192"}, {"tray": "x"}),
    "look": ({"value": "72.02"}, {"value": "88.81"}, {"value": ""}),
    "left": ({"removed": "20"}, {"removed": "many"}),
    "lift": ({"value": "44.4", "tool": "SP-1"}, {"value": "40.6"}, {"value": "40,60", "tool": "S"}),
}


def the_site() -> Site:
    """Return the site of the small lift."""
    site, faults = load_site(SITE, "site.toml")
    assert site is not None, faults
    return site


def the_procedure() -> Procedure:
    """Return the small lift."""
    procedure, faults = load_procedure(TEXT, "QP-9.toml", the_site())
    assert procedure is not None, [str(fault) for fault in faults]
    return procedure
