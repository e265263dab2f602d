"""The site and the procedures that are measured: plain ticks, few and many."""

from __future__ import annotations

from dataclasses import dataclass

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
[asset.primary]
title = "Primary mirror"
[asset.primary.facts]
load_on = { values = ["cell", "hooks"], now = "cell" }
"""

HEAD = """
format = 1
id = "{id}"
revision = 1
title = "Measured, {ticks} ticks"
asset = "primary"
purpose = "To be measured."
planned = "1 h"
safe_state = "Load on the cell."
crew = {{ technician = 1, supervisor = 1 }}

[[sections]]
title = "Measured"
order = "any"
"""

TICK = """
[[sections.steps]]
id = "t{number:03d}"
kind = "tick"
do = "Look at place {number} of the work, and say that it is as it must be."
"""

ITEMS = """
[[sections.steps]]
id = "i{number:02d}"
kind = "items"
do = "Look at each of the fasteners of row {number}."
layout = {{ shape = "ring", count = {count}, label = "F{{:03d}}" }}
results = ["good", "seized"]
"""

SECRETS = {name: f"{name.lower()}-tells-nobody" for name in ("AB", "KM", "RS", "SL", "HL")}
PEOPLE = [
    (Person(id="AB", name="Person AB", roles=frozenset({"technician"})), SECRETS["AB"]),
    (Person(id="KM", name="Person KM", roles=frozenset({"technician"})), SECRETS["KM"]),
    (Person(id="RS", name="Person RS", roles=frozenset({"technician"})), SECRETS["RS"]),
    (Person(id="SL", name="Person SL", roles=frozenset({"supervisor"})), SECRETS["SL"]),
    (Person(id="HL", name="Person HL", roles=frozenset({"lead"})), SECRETS["HL"]),
]


@dataclass(frozen=True, slots=True)
class Measured:
    """One procedure: so many ticks, and rows of fasteners beside them."""

    id: str
    ticks: int
    rows: int = 0
    in_row: int = 0

    @property
    def text(self) -> str:
        """Return its text."""
        ticks = [TICK.format(number=each) for each in range(1, self.ticks + 1)]
        rows = [ITEMS.format(number=each, count=self.in_row) for each in range(1, self.rows + 1)]
        return HEAD.format(id=self.id, ticks=self.ticks) + "".join((*ticks, *rows))

    @property
    def parts(self) -> list[tuple[str, str]]:
        """Return every fastener, as (step, part)."""
        return [
            (f"i{row:02d}", f"F{part:03d}")
            for row in range(1, self.rows + 1)
            for part in range(1, self.in_row + 1)
        ]

    def step(self, number: int) -> str:
        """Return the id of a tick, counted from 0."""
        return f"t{number + 1:03d}"


SHORT = Measured("QB-30", 30)
LONG = Measured("QB-300", 300)
ROWS = Measured("QB-64", 64, rows=20, in_row=100)
PAST = Measured("QB-250", 250)  # what has been done at the site before
ALL = (SHORT, LONG, ROWS, PAST)
