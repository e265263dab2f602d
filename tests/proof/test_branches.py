"""Branches under proof: every way is followed, and what was passed over has made nothing true."""

from __future__ import annotations

from app.proof.prove import prove_one
from app.proof.report import Proof
from tests.run.stage import the_procedure, the_site

HEAD = """
format = 1
id = "QP-9"
revision = 1
title = "A choice before a lift"
asset = "primary"
purpose = "To try the proof."
planned = "1 h"
safe_state = "At rest."
crew = { technician = 3, supervisor = 1 }
starts_with = { load_on = "cell", brackets = BRACKETS }
leaves = { load_on = "hooks" }
[[sections]]
title = "Choose"
[[sections.steps]]
id = "choose"
kind = "choose"
do = "Decide on the brackets."
branches = [{ name = "leave them" }, { name = "change them", steps = ["change"] }]
[[sections]]
title = "Work"
[[sections.steps]]
id = "change"
kind = "tick"
do = "Change the brackets."
sets = { brackets = CHANGED }
[[sections.steps]]
id = "lift"
kind = "tick"
do = "Take the load on the hooks."
sets = { load_on = "hooks" }
"""


def proof(brackets: int, changed: int, lift: str = "") -> Proof:
    text = HEAD.replace("BRACKETS", str(brackets)).replace("CHANGED", str(changed)) + lift
    return prove_one(the_procedure(text), the_site())


def people(found: Proof) -> int | None:
    (hazard,) = [each for each in found.hazards if each.id == "lifted-while-fastened"]
    return hazard.people


def test_a_step_passed_over_has_made_nothing_true() -> None:
    found = proof(3, 0)

    assert people(found) == 0  # nobody need be wrong: "leave them" is allowed, and the lift follows
    assert any(
        "Followed rightly, this leads to lifted-while-fastened" in f.what for f in found.faults
    )


def test_the_branch_that_harms_is_found_though_the_other_ends_in_the_same_place() -> None:
    """Whichever way is followed first: both come to a state in which the same steps are settled."""
    assert people(proof(0, 3)) == 0


def test_a_need_that_one_branch_does_not_meet_is_a_dead_end() -> None:
    found = proof(3, 0, "needs = { brackets = 0 }\n")

    assert any("Step 3 stays shut for good after the order 1" in f.what for f in found.faults)


def test_a_need_that_every_branch_meets_is_none() -> None:
    assert proof(0, 0, "needs = { brackets = 0 }\n").questions == ()
    assert not any("shut" in f.what for f in proof(0, 0, "needs = { brackets = 0 }\n").faults)
