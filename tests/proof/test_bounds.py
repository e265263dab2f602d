"""How far the search goes, how long it takes, and that it says when it could not finish."""

from __future__ import annotations

import time

import pytest

from app.procedure.loader import load_procedure
from app.proof.checking import check_whole
from app.proof.prove import prove_one
from app.proof.report import Proof
from app.proof.words import told
from tests.procedure.texts import QP4_TEXT, SITE_TEXT, the_site
from tests.proof import texts
from tests.proof.by_lot import HEAD

FACTS = 10
STEPS = 300
LONG_SITE = texts.SITE[: texts.SITE.index("[asset.primary.facts]")] + "".join(
    [
        "[asset.primary.facts]\n",
        *(f'f{i} = {{ values = ["no", "yes"], now = "no" }}\n' for i in range(FACTS)),
        *(
            f'[[asset.primary.hazards]]\nid = "h{i}"\nharm = "It breaks."\npeople = 3\n'
            f'never = {{ f{i} = "no", f{(i + 1) % FACTS} = "yes", f{(i + 3) % FACTS} = "yes" }}\n'
            for i in range(FACTS)
        ),
    ]
)
"""Ten facts, and ten hazards that each rest on three of them."""


def long_text(order: str = "strict", steps: int = STEPS) -> str:
    """Facts made true one after another, each confirmed again and again between."""
    text = HEAD.replace("lead = 1", "supervisor = 1")
    text += "starts_with = { " + ", ".join(f'f{i} = "no"' for i in range(FACTS)) + " }\n"
    for n in range(steps):
        if n % 10 == 0:
            text += f'[[sections]]\ntitle = "S{n}"\norder = "{order}"\n'
        fact = f"f{n * FACTS // steps}"
        key = "sets" if n % (steps // FACTS) == 0 else "confirms"
        of_facts = f'{key} = {{ {fact} = "yes" }}\n' if n % 3 == 0 or key == "sets" else ""
        text += f'[[sections.steps]]\nid = "s{n}"\ndo = "Look."\nkind = "tick"\n{of_facts}'
        text += 'sign = ["technician", "supervisor"]\n' if n % 4 == 0 else ""
    return text.replace("technician = 1", "technician = 2")


def test_the_flagship_is_proved_within_a_second() -> None:
    check_whole({"site.toml": SITE_TEXT, "QP-4.toml": QP4_TEXT})  # units and kinds are read once
    site = the_site()
    procedure, _ = load_procedure(QP4_TEXT, "QP-4.toml", site)
    assert procedure is not None

    began = time.perf_counter()
    proof = prove_one(procedure, site)

    assert time.perf_counter() - began < 1
    assert proof.searched.whole


@pytest.mark.parametrize("order", ["strict", "any"])
def test_three_hundred_steps_and_ten_facts_are_proved_within_five_seconds(order: str) -> None:
    site = texts.the_site(LONG_SITE)
    procedure = texts.the_procedure(long_text(order), site)

    began = time.perf_counter()
    proof = prove_one(procedure, site)

    assert time.perf_counter() - began < 5
    assert proof.searched.whole
    assert len(proof.drawn.ruler) == STEPS
    assert any(shown.people for shown in proof.hazards)


def _tangled(bound: int) -> Proof:
    """Twelve steps in any order that all have to do with each other."""
    site = texts.the_site(LONG_SITE)
    text = HEAD.replace("lead = 1", "supervisor = 1") + '[[sections]]\ntitle = "S"\norder = "any"\n'
    for n in range(12):
        text += f'[[sections.steps]]\nid = "s{n}"\ndo = "Look."\nkind = "tick"\n'
        text += f'sets = {{ f{n % FACTS} = "yes" }}\n'
    return prove_one(texts.the_procedure(text, site), site, bound=bound)


def test_past_the_bound_the_proof_says_so_and_fails() -> None:
    proof = _tangled(bound=500)

    assert not proof.searched.whole
    (past,) = [fault for fault in proof.faults if fault.key == "sections"]
    assert past.what == (
        "The search passed its bound of 500 states and was not finished: nothing is proved."
    )


def test_within_the_bound_the_same_is_proved() -> None:
    proof = _tangled(bound=1_000_000)

    assert proof.searched.whole
    assert not [fault for fault in proof.faults if fault.key == "sections"]


def test_the_report_says_that_the_search_was_not_finished() -> None:
    given = {"site.toml": texts.SITE, "QP-9.toml": texts.GOOD}

    found = check_whole(given, bound=5)

    said = list(told(found))
    assert found.exit_code == 1
    assert said[0] == "Cannot be released. 1 fault."
    assert any(line.endswith("not finished; the bound is 5.") for line in said)
    assert not any("No allowed order" in line for line in said)
