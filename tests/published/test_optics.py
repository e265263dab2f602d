"""Reflectance, transmittance and scatter against a thin-film library and printed values."""

from __future__ import annotations

import pytest

from app.calculations.aluminium import RAKIC_1995, aluminium_index
from app.calculations.scatter import dusty_reflectance, total_scatter
from app.calculations.thin_film import Layer, film_on_glass, stack_light
from tests.published.sums import values, worked

# tmm 0.2.0, coh_tmm('s', [1, N, 1.54], [inf, d, inf], 0, wavelength), with n and k of Rakic 1995 from
# pyElli 0.23.1: nm, n, k, then R and T at 40 and at 80 nm. R to 1e-4, T to 1 % (printed digits).
TMM = (
    (400, 0.4879, 4.8355, (0.92070, 1.899e-3), (0.92375, 4.360e-6)),
    (550, 1.0152, 6.6273, (0.91303, 1.071e-3), (0.91537, 2.509e-6)),
    (633, 1.4495, 7.5387, (0.90558, 8.821e-4), (0.90772, 2.219e-6)),
    (850, 2.5884, 8.1687, (0.86522, 2.151e-3), (0.86996, 1.728e-5)),
)
# tmm 0.2.0 with n and k fixed: N, glass, nm of film, wavelength, R, T.
FIXED = (
    (0.96 + 6.69j, 1.54, 80, 550, 0.920980, 2.2205e-6),
    (0.49 + 4.86j, 1.52, 30, 400, 0.911258, 8.3378e-3),
)


@pytest.mark.parametrize(("nm", "n", "k", "thin", "thick"), TMM)
def test_the_table_and_the_matrix_give_the_librarys_values(
    nm: int, n: float, k: float, thin: tuple[float, float], thick: tuple[float, float]
) -> None:
    index = aluminium_index(nm)
    assert (index.real, index.imag) == pytest.approx((n, k), abs=1e-4)

    for thickness, (reflected, transmitted) in ((40, thin), (80, thick)):
        light = film_on_glass(thickness, nm)
        assert light.reflected == pytest.approx(reflected, abs=1e-4)
        assert light.transmitted == pytest.approx(transmitted, rel=0.01)


@pytest.mark.parametrize(("index", "glass", "nm", "wavelength", "reflected", "transmitted"), FIXED)
def test_a_film_of_fixed_constants(  # noqa: PLR0917 - one row of the table
    index: complex, glass: float, nm: int, wavelength: int, reflected: float, transmitted: float
) -> None:
    light = stack_light((Layer(index, nm),), glass, wavelength)

    assert light.reflected == pytest.approx(reflected, abs=1e-6)
    assert light.transmitted == pytest.approx(transmitted, rel=1e-4)


def test_a_film_with_its_oxide() -> None:
    # tmm 0.2.0: 3 nm of n 1.66 on 80 nm, 550 nm.
    light = film_on_glass(80, 550, oxide_nm=3)

    assert light.reflected == pytest.approx(0.913779, abs=1e-5)
    assert light.transmitted == pytest.approx(2.5565e-6, rel=1e-3)


def test_bare_glass_is_fresnels() -> None:
    # ((n - 1)/(n + 1))^2, and all that is not reflected goes through.
    light = film_on_glass(0, 550)

    assert light.reflected == pytest.approx((0.54 / 2.54) ** 2, abs=1e-12)
    assert light.reflected + light.transmitted == pytest.approx(1, abs=1e-12)


def test_at_brewsters_angle_glass_reflects_half_of_nothing() -> None:
    # tan of the angle is n: p light is not reflected at all.
    light = stack_light((), 1.54, 550, angle_deg=57.0015, polarisation="p")

    assert light.reflected == pytest.approx(0, abs=1e-9)


def test_fresh_aluminium_as_a_maker_specifies_it() -> None:
    # Bare aluminium 500, 550, 600 nm: 91.8, 91.5, 91.1 % (an optics seller quoting a specification).
    # 0.3: the seller names no thickness, and films differ.
    for nm, percent in ((500, 91.8), (550, 91.5), (600, 91.1)):
        found = worked("film-reflectance", wavelength=nm, thickness=80)
        assert float(found.value) == pytest.approx(percent, abs=0.3)


def test_reflectance_does_not_tell_the_thickness_and_what_comes_through_does() -> None:
    thin, thick = (worked("film-reflectance", wavelength=550, thickness=t) for t in (40, 80))

    assert abs(thin.value - thick.value) < 1
    assert values(thin)["transmittance"] > 400 * values(thick)["transmittance"]


@pytest.mark.parametrize("nm", [209, 2471])
def test_outside_of_the_table_there_is_no_index(nm: int) -> None:
    with pytest.raises(ValueError, match="holds 210 to 2470 nm"):
        aluminium_index(nm)


def test_the_table_is_in_order() -> None:
    wavelengths = [row[0] for row in RAKIC_1995]

    assert wavelengths == sorted(set(wavelengths))


# Bennett and Porteus (form from memory), arithmetic done again.
@pytest.mark.parametrize(("rms", "nm", "share"), [(1, 633, 3.9411e-4), (2, 550, 2.0881e-3)])
def test_the_scatter_of_roughness(rms: int, nm: int, share: float) -> None:
    assert total_scatter(rms, nm) == pytest.approx(share, abs=1e-7)


def test_the_reflectance_under_dust() -> None:
    # From memory: 0.90 under 1 %, each grain counted once or twice.
    assert dusty_reflectance(0.90, 0.01) == pytest.approx(0.891, abs=1e-12)
    assert dusty_reflectance(0.90, 0.01, both_ways=True) == pytest.approx(0.882, abs=1e-12)
