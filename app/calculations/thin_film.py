"""What a film on glass reflects and lets through: the transfer matrix of thin layers."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from app.calculations.aluminium import LONGEST_NM, SHORTEST_NM, aluminium_index
from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.rounding import short

AIR = 1.0
OXIDE = 1.66  # of the few nm of oxide that grow on aluminium in air (from memory)
GLASS = 1.54  # glass-ceramic at 550 nm (from memory, a maker's data sheet)
Polarisation = Literal["s", "p"]
THICKEST_NM = Decimal(400)  # beyond, nothing comes through and the matrix outgrows its numbers


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer: its refractive index n + ik, and its thickness, nm."""

    index: complex
    thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """What a stack does with light, as shares of what comes in."""

    reflected: float
    transmitted: float


def stack_light(
    layers: tuple[Layer, ...],
    substrate: float,
    wavelength_nm: float,
    *,
    angle_deg: float = 0.0,
    polarisation: Polarisation = "s",
) -> Light:
    """Return what a stack of layers between air and glass reflects, and lets into the glass.

    Args:
        layers: From the air inwards; smooth, each of one index.
        substrate: Refractive index of the glass, 1 to 3, clear.
        wavelength_nm: In vacuum, nm, above 0.
        angle_deg: Of the light in air, degrees from upright, 0 to below 90.
        polarisation: "s" or "p"; at 0 degrees they are the same.

    Source: Characteristic matrices, as in Macleod, Thin-Film Optical Filters, ch. 2 (from memory).
        Agrees with the library tmm 0.2.0, and with the closed form for one film.
    """
    sine = AIR * math.sin(math.radians(angle_deg))
    b, c = complex(1), _admittance(complex(substrate), sine, polarisation)
    glass = c
    for layer in reversed(layers):
        cosine = cmath.sqrt(1 - (sine / layer.index) ** 2)
        delta = 2 * math.pi * layer.index * cosine * layer.thickness / wavelength_nm
        own = _admittance(layer.index, sine, polarisation)
        turned, crossed = cmath.cos(delta), -1j * cmath.sin(delta)
        b, c = turned * b + crossed * c / own, crossed * own * b + turned * c
    air = _admittance(complex(AIR), sine, polarisation)
    amplitude = (air * b - c) / (air * b + c)
    through = 4 * air.real * glass.real / abs(air * b + c) ** 2
    return Light(reflected=abs(amplitude) ** 2, transmitted=through)


def _admittance(index: complex, sine: float, polarisation: Polarisation) -> complex:
    cosine = cmath.sqrt(1 - (sine / index) ** 2)
    return index * cosine if polarisation == "s" else index / cosine


def film_on_glass(
    thickness_nm: float,
    wavelength_nm: float,
    *,
    oxide_nm: float = 0.0,
    substrate: float = GLASS,
    angle_deg: float = 0.0,
) -> Light:
    """Return what an aluminium film on glass does with unpolarised light.

    Args:
        thickness_nm: Of the aluminium, nm, 0 to 400.
        wavelength_nm: nm, 210 to 2470.
        oxide_nm: Of its oxide, on the side of the air, nm, 0 or more.
        substrate: Refractive index of the glass.
        angle_deg: Of the light in air, degrees, 0 to below 90.

    Source: As above, with the optical constants of Rakic 1995. Smooth, clean and dense: a real
        mirror reflects a little less. Reflectance does not tell the thickness; what comes through does.
    """
    layers = (Layer(OXIDE, oxide_nm), Layer(aluminium_index(wavelength_nm), thickness_nm))
    both = [
        stack_light(layers, substrate, wavelength_nm, angle_deg=angle_deg, polarisation=way)
        for way in ("s", "p")
    ]
    return Light(
        reflected=(both[0].reflected + both[1].reflected) / 2,
        transmitted=(both[0].transmitted + both[1].transmitted) / 2,
    )


def _reflectance(given: Values) -> Answer:
    wavelength, thickness = given["wavelength"], given["thickness"]
    oxide, glass = given.get("oxide", 0.0), given.get("substrate", GLASS)
    angle = given.get("angle", 0.0)
    light = film_on_glass(thickness, wavelength, oxide_nm=oxide, substrate=glass, angle_deg=angle)
    index = aluminium_index(wavelength)
    working = (
        f"Aluminium at {wavelength:g} nm: n + ik = {index.real:.4f} + {index.imag:.4f} i (Rakic 1995).",
        f"Air, {oxide:g} nm oxide of {OXIDE:g}, {thickness:g} nm aluminium, glass of {glass:g}; "
        f"{angle:g} deg from upright.",
        f"Reflected {100 * light.reflected:.2f} %, through {short(100 * light.transmitted, 3)} %, "
        f"kept {100 * (1 - light.reflected - light.transmitted):.2f} %.",
    )
    return Answer(values=(100 * light.reflected, 100 * light.transmitted), working=working)


SUMS = (
    Calculation(
        name="film-reflectance",
        title="Reflectance of an aluminium film",
        subject="Optics of the film",
        inputs=(
            Input(
                name="wavelength",
                title="Wavelength",
                unit="nm",
                at_least=Decimal(SHORTEST_NM),
                at_most=Decimal(LONGEST_NM),
            ),
            Input(
                name="thickness",
                title="Thickness of the aluminium",
                unit="nm",
                at_least=Decimal(0),
                at_most=THICKEST_NM,
            ),
            amount(
                "oxide",
                "Thickness of its oxide",
                "nm",
                low="0",
                high="100",
                optional=True,
                hint="About 3 after a day in air. Left out: 0.",
            ),
            amount(
                "substrate",
                "Refractive index of the glass",
                low="1",
                high="3",
                optional=True,
                hint="Left out: 1.54, glass-ceramic.",
            ),
            amount(
                "angle", "Angle of the light from upright", "deg", low="0", high="89", optional=True
            ),
        ),
        outputs=(
            output("reflectance", "Reflectance", "%", "0.01"),
            output("transmittance", "Transmittance into the glass", "%", "0.000000001", digits=4),
        ),
        work=_reflectance,
        formula="(B, C) = product of [cos d, -i sin d / N; -i N sin d, cos d] (1, ns); "
        "R = |(B - C) / (B + C)|^2, T = 4 ns / |B + C|^2",
        source="Transfer matrix (Macleod, from memory); n, k: Rakic, Appl. Opt. 34 (1995) 4755.",
        care="Reflectance does not tell the thickness: from 40 to 80 nm it changes by less than 2 %. "
        "What comes through, or the mass, does.",
    ),
)
