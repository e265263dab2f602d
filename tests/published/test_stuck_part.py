"""Whether a part is stuck, and whether all pieces are accounted for, against worked values."""

from __future__ import annotations

from decimal import Decimal

import pytest

from app.calculations.stuck_part import stuck_part
from app.calculations.tally import unaccounted

WEIGHT = Decimal("40.57")  # kN: the demo's mirror, 4137 kg at 9.80665 m/s2
ALLOWED = Decimal("0.8114")  # 2 % of it; the trade notes print 811 N

# Common practice, no source: sum F - W > 2 % W and displacement < 0.2 mm. Both ends are the good side.
STUCK = (
    ("41.3814", "0.19", False),  # exactly 2 % over
    ("41.3815", "0.19", True),
    ("41.3815", "0.20", False),  # it has moved
    ("41.3815", "0", True),
    ("40.57", "0", False),
    ("0", "0", False),
)


@pytest.mark.parametrize(("total", "moved", "stuck"), STUCK)
def test_a_pull_beyond_the_weight_that_moves_nothing(total: str, moved: str, stuck: bool) -> None:
    pull = stuck_part(Decimal(total), WEIGHT, Decimal(moved))

    assert pull.stuck is stuck
    assert pull.allowed == ALLOWED
    assert pull.excess == Decimal(total) - WEIGHT


def test_a_weight_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        stuck_part(Decimal(1), Decimal(0), Decimal(0))


# The reconciliation of the demo's release: 21 brackets, 42 bolts. Common practice, no source.
TALLIES = (
    ((21, 0, 21, 0), 0),
    ((42, 0, 42, 0), 0),
    ((42, 1, 40, 0), 1),
    ((42, 0, 41, 1), 0),
    ((42, 1, 42, 0), -1),
)


@pytest.mark.parametrize(("counts", "missing"), TALLIES)
def test_what_nobody_has_seen(counts: tuple[int, int, int, int], missing: int) -> None:
    assert unaccounted(*counts) == missing


def test_a_count_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="below 0"):
        unaccounted(42, -1, 43)
