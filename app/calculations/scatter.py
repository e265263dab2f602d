"""Light that a mirror scatters: by its roughness, and by the dust that lies on it."""

from __future__ import annotations

import math

from app.calculations.calculation import Answer, Calculation, Values, amount, output
from app.calculations.rounding import short

SMOOTH = 0.1  # of the wavelength: rougher, and the sum is not good


def total_scatter(roughness_nm: float, wavelength_nm: float) -> float:
    """Return the share of the reflected light that roughness scatters: (4 pi s / l)^2.

    Args:
        roughness_nm: Root mean square, nm, 0 to a tenth of the wavelength.
        wavelength_nm: nm, above 0; upright light.

    Source: Bennett and Porteus, J. Opt. Soc. Am. 51 (1961) 123; the exact form is 1 - exp(-x).
    """
    return (4 * math.pi * roughness_nm / wavelength_nm) ** 2


def dusty_reflectance(clean: float, covered: float, *, both_ways: bool = False) -> float:
    """Return the reflectance of a mirror of which dust covers a share.

    Args:
        clean: Without dust, 0 to 1.
        covered: Share of the area, 0 to 0.5.
        both_ways: Each grain shadows the light coming in and going out, so it counts twice.

    Source: Geometry; common practice, no source.
    """
    return clean * (1 - (2 if both_ways else 1) * covered)


def _scatter(given: Values) -> Answer:
    roughness, wavelength = given["roughness"], given["wavelength"]
    if roughness > SMOOTH * wavelength:
        raise ValueError("Rougher than a tenth of the wavelength: this sum is not good there.")
    share = total_scatter(roughness, wavelength)
    working = (
        f"x = (4 pi x {roughness:g} nm / {wavelength:g} nm)^2 = {short(share)}.",
        f"Exact, 1 - exp(-x): {short(1 - math.exp(-share))}.",
    )
    return Answer(values=(100 * share,), working=working)


def _dust(given: Values) -> Answer:
    clean, covered = given["clean"], given["covered"]
    once = 100 * dusty_reflectance(clean / 100, covered / 100)
    twice = 100 * dusty_reflectance(clean / 100, covered / 100, both_ways=True)
    working = (
        f"{clean:g} % x (1 - {covered / 100:g}) = {short(once)} %.",
        f"Where each grain shadows both ways: {clean:g} % x (1 - 2 x {covered / 100:g}) = {short(twice)} %.",
    )
    return Answer(values=(once, twice), working=working)


SUMS = (
    Calculation(
        name="scatter",
        title="Scatter by roughness",
        subject="Optics of the film",
        inputs=(
            amount("roughness", "Roughness, root mean square", "nm", low="0", high="100"),
            amount("wavelength", "Wavelength", "nm", low="100", high="20000"),
        ),
        outputs=(output("scatter", "Total scatter", "%", "0.00001"),),
        work=_scatter,
        formula="TIS = (4 pi s / l)^2",
        source="Bennett and Porteus, J. Opt. Soc. Am. 51 (1961) 123.",
        care="Roughness alone. Dust and marks scatter more.",
    ),
    Calculation(
        name="dust",
        title="Reflectance under dust",
        subject="Optics of the film",
        inputs=(
            amount("clean", "Reflectance without dust", "%", low="0", high="100"),
            amount("covered", "Area that dust covers", "%", low="0", high="50"),
        ),
        outputs=(
            output("reflectance", "Reflectance", "%", "0.01"),
            output("both_ways", "Reflectance, grains shadow both ways", "%", "0.01"),
        ),
        work=_dust,
        formula="R (1 - f); where grains shadow both ways, R (1 - 2 f)",
        source="Geometry; common practice, no source.",
    ),
)
