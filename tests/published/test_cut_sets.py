"""Minimal cut sets against published worked examples.

Sources, and how far each was read:
- Fault Tree Handbook, NUREG-0492 (1981), page VIII-13, the pressure tank: the reduced tree, its
  gates read in a public transcription of the tree, its five cut sets from memory of the handbook.
- The same, page XI-3: six stages, each of a primary failure, a secondary failure and a command or
  environment; gates read in the same transcription. Its cut sets are worked here by hand.
- The same, chapter VII, section 4: T = E1 E2 with E1 = A + E3, E3 = B + C, E2 = C + E4, E4 = A B,
  and its two cut sets C and A B: from memory of the handbook.
- R. E. Barlow, Engineering Reliability (SIAM, 1998), section 7.3, figure 7.3.1 and equation (7.3.1):
  the rows of the top-down method, the nine indicated cut sets but for the last, and the seven
  minimal ones were read; which events stand under which gate follows from those rows.
- C. E. Ebeling's brake example as discussed by a reader: event = (w1 + b1)(w2 + b2)(w3 + b3)(w4 +
  b4) b3 b4. The reduction by absorption to four sets was read; it is the rule that is checked here.
- NASA Fault Tree Handbook with Aerospace Applications (2002): not at hand, so nothing of it is here.
"""

from __future__ import annotations

from itertools import combinations

import pytest

from app.proof.cut_sets import Gate, all_of, any_of, cut_sets

PRESSURE_TANK = {
    "E1": any_of("T", "E2"),
    "E2": any_of("E3", "K2"),
    "E3": all_of("S", "E4"),
    "E4": any_of("S1", "E5"),
    "E5": any_of("K1", "R"),
}
CHAPTER_7 = {
    "T": all_of("E1", "E2"),
    "E1": any_of("A", "E3"),
    "E3": any_of("B", "C"),
    "E2": any_of("C", "E4"),
    "E4": all_of("A", "B"),
}
PAGE_XI_3 = {
    "G8": any_of("S6", "P6", "E6"),
    "G7": any_of("P5", "G8", "S5"),
    "G6": any_of("S4", "P4", "E4"),
    "G4": any_of("G6", "G7"),
    "G5": any_of("S3", "P3", "E3"),
    "G3": all_of("G4", "G5"),
    "G2": any_of("P2", "S2", "G3"),
    "G1": any_of("G2", "E1"),
    "T": any_of("P1", "G1", "S1"),
}
TOP_DOWN = {
    "TOP": any_of("1", "2", "G1"),
    "G1": any_of("G2", "G3"),
    "G2": all_of("G4", "G5"),
    "G3": any_of("3", "6", "8"),
    "G4": any_of("4", "5"),
    "G5": any_of("6", "7"),
}
BRAKES = {
    "event": all_of("wheels", "b3", "b4"),
    "wheels": all_of("W1", "W2", "W3", "W4"),
    "W1": any_of("w1", "b1"),
    "W2": any_of("w2", "b2"),
    "W3": any_of("w3", "b3"),
    "W4": any_of("w4", "b4"),
}

EXAMPLES = [
    pytest.param(PRESSURE_TANK, "E1", ["T", "K2", "S S1", "S K1", "S R"], id="NUREG-0492 VIII-13"),
    pytest.param(CHAPTER_7, "T", ["C", "A B"], id="NUREG-0492 chapter VII"),
    pytest.param(
        PAGE_XI_3,
        "T",
        ["P1", "S1", "E1", "P2", "S2"]
        + [f"{one} {other}" for one in ("S3", "P3", "E3") for other in ("S4", "P4", "E4", "P5", "S5", "S6", "P6", "E6")],
        id="NUREG-0492 XI-3",
    ),
    pytest.param(TOP_DOWN, "TOP", ["1", "2", "4 7", "5 7", "3", "6", "8"], id="Barlow (7.3.1)"),
    pytest.param(
        BRAKES,
        "event",
        ["w1 w2 b3 b4", "w1 b2 b3 b4", "b1 w2 b3 b4", "b1 b2 b3 b4"],
        id="brakes, by absorption",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("gates", "top", "published"), EXAMPLES)
def test_the_published_minimal_cut_sets_are_found(
    gates: dict[str, Gate], top: str, published: list[str]
) -> None:
    assert cut_sets(gates, top) == {frozenset(each.split()) for each in published}


def test_two_of_three_fail_by_any_pair() -> None:
    """A vote of two of three has its three pairs; the definition of the gate."""
    found = cut_sets({"T": Gate(2, ("A", "B", "C"))}, "T")

    assert found == {frozenset(pair) for pair in combinations("ABC", 2)}
