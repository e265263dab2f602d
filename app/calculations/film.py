"""The film: its mass, its thickness, how long it takes, what a quartz crystal says of it."""

from __future__ import annotations

import math

from app.calculations.calculation import Answer, Calculation, Values, amount, output
from app.calculations.constants import ALUMINIUM_DENSITY
from app.calculations.rounding import short

NANO = 1e-9
QUARTZ_DENSITY = 2648.0  # kg/m3; pages print 2648 and 2643, which is 0.1 % of the result
MICROGRAM_CM2 = 1e5  # ug/cm2 in one kg/m2, exact
QUARTZ_SHEAR = 2.947e10  # Pa, AT cut (from memory)


def film_mass(thickness_m: float, area_m2: float, density: float) -> float:
    """Return the mass of a film, kg: rho A t.

    Args:
        thickness_m: Mean thickness, m, 0 or more.
        area_m2: Area that is covered, m2, above 0.
        density: kg/m3, above 0; aluminium in bulk 2700 (from memory), sputtered a little less.

    Source: Geometry.
    """
    return density * area_m2 * thickness_m


def film_thickness(mass_kg: float, area_m2: float, density: float) -> float:
    """Return the mean thickness of a film from its mass, m; arguments as for its mass."""
    return mass_kg / (density * area_m2)


def crystal_thickness(shift_hz: float, crystal_hz: float, density: float) -> float:
    """Return the thickness on a quartz crystal, m, from how far its frequency fell.

    Args:
        shift_hz: Fall of the frequency, Hz, 0 or more; up to 2 % of the crystal's own.
        crystal_hz: Frequency of the bare crystal, Hz, above 0.
        density: Of the film, kg/m3, above 0.

    Source: Sauerbrey, Z. Phys. 155 (1959) 206: dm/A = df sqrt(rho_q mu_q) / (2 f^2); constants
        from memory, the sensitivity of 17.7 ng/cm2 for each Hz at 5 MHz is printed widely.
    """
    stiffness = math.sqrt(QUARTZ_DENSITY * QUARTZ_SHEAR)
    return shift_hz * stiffness / (2 * crystal_hz**2) / density


def _mass(given: Values) -> Answer:
    thickness, area = given["thickness"], given["area"]
    density = given.get("density", ALUMINIUM_DENSITY)
    grams = 1000 * film_mass(thickness * NANO, area, density)
    working = (
        f"{density:g} kg/m3 x {area:g} m2 x {thickness:g} nm = {short(grams)} g.",
        "What reaches the mirror is only a part of what is evaporated.",
    )
    return Answer(values=(grams,), working=working)


def _thickness(given: Values) -> Answer:
    mass, area = given["mass"], given["area"]
    density = given.get("density", ALUMINIUM_DENSITY)
    nm = film_thickness(mass / 1000, area, density) / NANO
    parts = (
        given.get("mass_uncertainty", 0.0) / mass,
        given.get("area_uncertainty", 0.0) / area,
        given.get("density_uncertainty", 0.0) / density,
    )
    spread = nm * math.hypot(*parts)
    working = (
        f"{mass:g} g / ({density:g} kg/m3 x {area:g} m2) = {short(nm)} nm.",
        f"Uncertainties added as squares, each over its value: {short(spread, 2)} nm, standard.",
    )
    return Answer(values=(nm, spread), working=working)


def _time(given: Values) -> Answer:
    thickness, rate, pace = given["thickness"], given["rate"], given["pace"]
    passes = thickness / rate
    minutes = passes / pace
    working = (
        f"{thickness:g} nm / {rate:g} nm for each pass = {short(passes)} passes.",
        f"{short(passes)} / {pace:g} for each minute = {short(minutes)} min.",
    )
    return Answer(values=(minutes, passes), working=working)


def _crystal(given: Values) -> Answer:
    density = given.get("density", ALUMINIUM_DENSITY)
    crystal, shift = given["crystal"] * 1e6, given["shift"]
    if shift > 0.02 * crystal:
        raise ValueError("The frequency fell by more than 2 %: the sum is not good that far.")
    metres = crystal_thickness(shift, crystal, density)
    ratio = given.get("ratio", 1.0)
    area_mass = metres * density * MICROGRAM_CM2
    working = (
        f"{shift:g} Hz on {given['crystal']:g} MHz: {short(area_mass)} ug on each cm2.",
        f"At {density:g} kg/m3: {short(metres / NANO)} nm on the crystal.",
        f"On the mirror {ratio:g} times as much: {short(ratio * metres / NANO)} nm.",
    )
    return Answer(values=(ratio * metres / NANO, area_mass), working=working)


def difference(one: float, other: float) -> float:
    """Return how far two thicknesses differ, over their mean, %.

    Args:
        one: Thickness at one monitor, nm, above 0.
        other: At the other, nm, above 0.

    Source: common practice, no source.
    """
    return 100 * abs(one - other) / ((one + other) / 2)


def _difference(given: Values) -> Answer:
    one, other = given["one"], given["other"]
    apart = difference(one, other)
    working = (
        f"|{one:g} - {other:g}| / {short((one + other) / 2)} nm, their mean = {short(apart)} %.",
    )
    return Answer(values=(apart, (one + other) / 2), working=working)


_THICKNESS = amount("thickness", "Thickness", "nm", above="0", high="10000")
_AREA = amount("area", "Area", "m^2", above="0", high="1000")
_DENSITY = amount(
    "density",
    "Density of the film",
    "kg/m^3",
    low="500",
    high="23000",
    optional=True,
    hint="Left out: 2700, aluminium in bulk.",
)
_CARE = "A film is less dense than the bulk by some percent. Prove the thickness on a witness."

SUMS = (
    Calculation(
        name="film-mass",
        title="Mass of a film",
        subject="Coating",
        inputs=(_THICKNESS, _AREA, _DENSITY),
        outputs=(output("mass", "Mass", "g", "0.001"),),
        work=_mass,
        formula="m = rho A t",
        source="Geometry; the density is from memory.",
        care=_CARE,
    ),
    Calculation(
        name="film-thickness",
        title="Thickness of a film from its mass",
        subject="Coating",
        inputs=(
            amount("mass", "Mass on the mirror", "g", above="0", high="10000"),
            _AREA,
            _DENSITY,
            amount("mass_uncertainty", "Uncertainty of the mass", "g", low="0", optional=True),
            amount("area_uncertainty", "Uncertainty of the area", "m^2", low="0", optional=True),
            amount(
                "density_uncertainty",
                "Uncertainty of the density",
                "kg/m^3",
                low="0",
                optional=True,
                hint="Each a standard uncertainty. Left out: 0.",
            ),
        ),
        outputs=(
            output("thickness", "Mean thickness", "nm", "0.1"),
            output("uncertainty", "Its standard uncertainty", "nm", "0.1"),
        ),
        work=_thickness,
        formula="t = m / (rho A); u(t)/t = sqrt((u(m)/m)^2 + (u(A)/A)^2 + (u(rho)/rho)^2)",
        source="Geometry; the density is from memory. Uncertainty: GUM, JCGM 100.",
        care=_CARE,
    ),
    Calculation(
        name="film-time",
        title="Time for a film, pass by pass",
        subject="Coating",
        inputs=(
            _THICKNESS,
            amount("rate", "Thickness of one pass", "nm", above="0"),
            amount("pace", "Passes in a minute", "rpm", above="0"),
        ),
        outputs=(
            output("time", "Time", "min", "0.01"),
            output("passes", "Passes", "", "0.01"),
        ),
        work=_time,
        formula="time = thickness / (thickness of one pass x passes in a minute)",
        source="Arithmetic. The rate is the chamber's own.",
        care="The rate comes from the last test shot, and drifts as a target wears.",
    ),
    Calculation(
        name="crystal-thickness",
        title="Thickness by a quartz crystal",
        subject="Coating",
        inputs=(
            amount("crystal", "Frequency of the bare crystal", "MHz", low="1", high="20"),
            amount("shift", "Fall of the frequency", "Hz", low="0"),
            _DENSITY,
            amount(
                "ratio",
                "Mirror over crystal",
                above="0",
                high="20",
                optional=True,
                hint="The chamber's own ratio. Left out: 1.",
            ),
        ),
        outputs=(
            output("thickness", "Thickness on the mirror", "nm", "0.1"),
            output("area_mass", "Mass on each square centimetre of the crystal", "ug/cm^2", "0.01"),
        ),
        work=_crystal,
        formula="dm/A = df sqrt(rho_q mu_q) / (2 f^2); t = dm / (A rho)",
        source="Sauerbrey, Z. Phys. 155 (1959) 206; constants from memory.",
        care="Good while the frequency has fallen by at most 2 %. A hot crystal shows what is not there.",
    ),
    Calculation(
        name="thickness-difference",
        title="Difference of two monitors",
        subject="Coating",
        inputs=(
            amount("one", "Thickness at one monitor", "nm", above="0", high="10000"),
            amount("other", "Thickness at the other", "nm", above="0", high="10000"),
        ),
        outputs=(
            output("difference", "Difference, over their mean", "%", "0.01"),
            output("mean", "Mean", "nm", "0.1"),
        ),
        work=_difference,
        formula="|a - b| / ((a + b) / 2)",
        source="Common practice, no source.",
        care="Two monitors that disagree are not averaged: find out which of them is wrong.",
    ),
)
