"""The load centre against worked values."""

from __future__ import annotations

import pytest

from app.calculations.load_centre import load_centre

# Statics of parallel forces: each row can be worked by hand from x = r sum(F cos a) / sum(F).
# Cells at 90, 210, 330 degrees on 3 m (from memory; printed to five places).
THREE_CELLS = (
    ((75, 75, 75), 0.0, 0.0, 1e-9),
    ((80, 73, 72), -0.01155, 0.10000, 1e-5),
)
# The same ring the other way round: a centre at (0.05, -0.10) m under 222 kN gives these reactions,
# solved as three linear equations with numpy.linalg.solve; printed to 1 N, so the centre is good to
# 3 m * 0.0005 / 222 per cell, under 1e-4 m.
REACTIONS = ((69.067, 74.330, 78.603), 0.05, -0.10)
# Cells at (+2, +2), (-2, +2), (-2, -2), (+2, -2) m: statics, from memory.
SQUARE = ((56, 54, 55, 57), 0.03604, -0.01802)
# Six hooks of the demo's lift, 0, 60, ... 300 degrees on 2.04 m, in kN; worked by a script of its own
# for the trade notes, printed to 0.1 mm. The second set sums right and is still too far off.
HOOKS = (
    ((6.81, 6.72, 6.66, 6.71, 6.82, 6.86), 40.58, 15.1),
    ((7.05, 6.92, 6.60, 6.45, 6.62, 6.93), 40.57, 46.0),
)


@pytest.mark.parametrize(("forces", "x", "y", "within"), THREE_CELLS)
def test_three_cells(forces: tuple[float, ...], x: float, y: float, within: float) -> None:
    centre = load_centre(forces, (90, 210, 330), 3.0)

    assert centre.along == pytest.approx(x, abs=within)
    assert centre.across == pytest.approx(y, abs=within)


def test_the_centre_that_gave_the_reactions_comes_back() -> None:
    forces, x, y = REACTIONS

    centre = load_centre(forces, (90, 210, 330), 3.0)

    assert [centre.along, centre.across] == pytest.approx([x, y], abs=1e-4)


def test_four_cells_on_a_square() -> None:
    forces, x, y = SQUARE

    centre = load_centre(forces, (45, 135, 225, 315), 2 * 2**0.5)

    assert [centre.along, centre.across] == pytest.approx([x, y], abs=1e-5)


@pytest.mark.parametrize(("forces", "total", "offset_mm"), HOOKS)
def test_six_hooks(forces: tuple[float, ...], total: float, offset_mm: float) -> None:
    centre = load_centre(forces, range(0, 360, 60), 2040)

    assert sum(forces) == pytest.approx(total, abs=1e-9)
    assert centre.offset == pytest.approx(offset_mm, abs=0.05)


def test_cells_that_carry_nothing_have_no_centre() -> None:
    with pytest.raises(ValueError, match="carry nothing"):
        load_centre((0.0, 0.0, 0.0), (90, 210, 330), 3.0)


def test_each_cell_needs_its_angle() -> None:
    with pytest.raises(ValueError, match="3 forces stand against 2 angles"):
        load_centre((1.0, 1.0, 1.0), (90, 210), 3.0)
