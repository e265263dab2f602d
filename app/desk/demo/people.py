"""The people of the demo. All are invented, and their secrets are told to everyone."""

from __future__ import annotations

from dataclasses import dataclass

from app.run.crew import Person


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """Someone who works at Quillmoor."""

    id: str
    name: str
    roles: tuple[str, ...]
    briefed: bool = True  # is at the mirror today

    @property
    def secret(self) -> str:
        """Return the secret: the same word for all, so that it can be tried without a list."""
        return f"{self.id.lower()}-quillmoor"

    def person(self) -> Person:
        """Return them as the register knows them."""
        return Person(id=self.id, name=self.name, roles=frozenset(self.roles))


PEOPLE = (
    Invented(id="JB", name="Joaquin Belmarez", roles=("technician",)),
    Invented(id="AN", name="Aroha Ngatere", roles=("technician",)),
    Invented(id="SH", name="Sunniva Hallgarth", roles=("technician",)),
    Invented(id="ET", name="Emre Taskoparan", roles=("technician", "driver")),
    Invented(id="HR", name="Hamid Rostamkhani", roles=("lift-director",)),
    Invented(id="TW", name="Tomasz Wierzbin", roles=("supervisor",)),
    Invented(id="LK", name="Leilani Kahananui", roles=("supervisor",), briefed=False),
    Invented(id="NA", name="Nkechi Adeyaro", roles=("lead",)),
    Invented(id="DP", name="Devraj Pillakkat", roles=("safety",)),
    Invented(id="YT", name="Yuki Tanamori", roles=("technician", "coating"), briefed=False),
    Invented(
        id="MD",
        name="Mirela Dumbravan",
        roles=("technician", "vacuum", "keeper"),
        briefed=False,
    ),
    Invented(id="BQ", name="Beatriz Quadrelho", roles=("auditor",), briefed=False),
)
REVIEWER, RELEASER = "TW", "NA"
SUPERVISOR, LEAD = "TW", "NA"
BY_ID = {each.id: each for each in PEOPLE}
