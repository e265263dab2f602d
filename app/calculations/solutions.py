"""Baths and what comes of them: mixing, dilution, hydrogen, and what makes them neutral again."""

from __future__ import annotations

from collections.abc import Mapping

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.constants import GAS, ZERO_CELSIUS
from app.calculations.rounding import short

# g/mol, from the standard atomic weights, as periodictable 2.1.0 prints them.
MOLAR_MASS: Mapping[str, float] = {
    "HCl": 36.458,
    "KOH": 56.105,
    "HNO3": 63.012,
    "NaOH": 39.997,
    "NaHCO3": 84.006,
    "Na2CO3": 105.988,
    "Al": 26.98154,
}
ACIDS, BASES = ("HCl", "HNO3"), ("NaHCO3", "Na2CO3", "NaOH", "KOH")
TAKES_UP: Mapping[str, int] = {"NaHCO3": 1, "Na2CO3": 2, "NaOH": 1, "KOH": 1}  # protons each
HYDROGEN_EACH = 1.5  # mol of H2 for each mol of Al, in acid and in lye alike
HCL_EACH, KOH_EACH = 3.0, 1.0  # mol used up for each mol of Al
ACID_TO_WATER = (
    "Always acid or lye into water, never water into it. Goggles, face shield, gloves, apron; "
    "eyewash and shower within reach. The safety data sheet and the site's rules come first."
)


def molarity(percent: float, density: float, molar_mass: float) -> float:
    """Return the concentration of a stock solution, mol/l: 10 rho w / M.

    Args:
        percent: Mass of the substance in the mass of the solution, %, 0 to 100.
        density: Of the solution, g/ml, above 0.
        molar_mass: Of the substance, g/mol.

    Source: Definition. Reagent tables print it within 1 %, for they round the density.
    """
    return 10 * density * percent / molar_mass


def stock_volume(wanted: float, volume: float, stock: float) -> float:
    """Return how much stock makes a volume of the wanted concentration: c1 V1 = c2 V2.

    Args:
        wanted: Concentration wanted, at most that of the stock.
        volume: Of the finished bath.
        stock: Concentration of the stock, above 0, in the unit of `wanted`.

    Source: The substance stays what it is. Volumes do not quite add: fill up to the mark.
    """
    return wanted * volume / stock


def hydrogen_litres(aluminium_g: float, temperature_c: float, pressure_pa: float) -> float:
    """Return the hydrogen that comes off when aluminium dissolves, l.

    Args:
        aluminium_g: g, 0 or more.
        temperature_c: Of the gas, degC.
        pressure_pa: At the place, Pa, above 0.

    Source: 2 Al + 6 HCl = 2 AlCl3 + 3 H2, 2 Al + 2 KOH + 6 H2O = 2 K[Al(OH)4] + 3 H2; ideal gas,
        0.06 % under the real one.
    """
    moles = HYDROGEN_EACH * aluminium_g / MOLAR_MASS["Al"]
    return 1000 * moles * GAS * (temperature_c + ZERO_CELSIUS) / pressure_pa


def _stock(given: Values) -> tuple[float, str]:
    substance = given.word("substance")
    stock = molarity(given["percent"], given["density"], MOLAR_MASS[substance])
    said = (
        f"Stock: 10 x {given['density']:g} g/ml x {given['percent']:g} % / "
        f"{MOLAR_MASS[substance]:g} g/mol = {short(stock)} mol/l."
    )
    return stock, said


def _molarity(given: Values) -> Answer:
    stock, said = _stock(given)
    return Answer(values=(stock, 1000 / stock), working=(said,))


def _dilution(given: Values) -> Answer:
    stock, said = _stock(given)
    wanted, volume = given["wanted"], given["volume"]
    if wanted > stock:
        raise ValueError(f"The stock has only {short(stock)} mol/l.")
    litres = stock_volume(wanted, volume, stock)
    working = (
        said,
        f"{wanted:g} mol/l x {volume:g} l / {short(stock)} mol/l = {short(litres)} l of stock.",
        f"Start with about {short(volume - litres, 3)} l of water, pour the stock in, fill up to {volume:g} l.",
    )
    return Answer(values=(litres, volume - litres), working=working)


def _dilution_mass(given: Values) -> Answer:
    mass, wanted, stock = given["mass"], given["wanted"], given["stock"]
    if wanted > stock:
        raise ValueError(f"The stock has only {stock:g} %.")
    part = stock_volume(wanted, mass, stock)
    working = (
        f"{wanted:g} % x {mass:g} kg / {stock:g} % = {short(part, 5)} kg of stock.",
        f"Into {short(mass - part, 6)} kg of water.",
    )
    return Answer(values=(part, mass - part), working=working)


def _hydrogen(given: Values) -> Answer:
    grams = given["aluminium"]
    temperature, pressure = given.get("temperature", 20.0), given.get("pressure", 1013.25)
    moles = grams / MOLAR_MASS["Al"]
    litres = hydrogen_litres(grams, temperature, pressure * 100)
    acid, lye = moles * HCL_EACH * MOLAR_MASS["HCl"], moles * KOH_EACH * MOLAR_MASS["KOH"]
    working = (
        f"{grams:g} g / 26.98 g/mol = {short(moles)} mol of aluminium, "
        f"{short(HYDROGEN_EACH * moles, 5)} mol of hydrogen.",
        f"At {temperature:g} degC and {pressure:g} hPa: {short(litres, 5)} l.",
        f"It uses up {short(acid)} g of HCl, or {short(lye)} g of KOH.",
    )
    return Answer(values=(litres, HYDROGEN_EACH * moles, acid, lye), working=working)


def _neutralisation(given: Values) -> Answer:
    base = given.word("base")
    moles = given["volume"] * given["concentration"]
    grams = moles / TAKES_UP[base] * MOLAR_MASS[base]
    working = (
        f"{given['volume']:g} l x {given['concentration']:g} mol/l = {short(moles)} mol of acid.",
        f"Each mol of {base} takes up {TAKES_UP[base]}: {short(moles / TAKES_UP[base])} mol "
        f"x {MOLAR_MASS[base]:g} g/mol = {short(grams, 5)} g.",
    )
    return Answer(values=(grams / 1000,), working=working)


_STOCK = (
    Input(name="substance", title="Substance", form="choice", choices=(*ACIDS, "KOH", "NaOH")),
    amount("percent", "Mass of it in the stock", "%", above="0", high="100"),
    amount("density", "Density of the stock", "g/ml", low="0.7", high="2.5"),
)
_SOURCE = "Amount of substance; molar masses from the standard atomic weights."
_CARE_GAS = (
    "Hydrogen burns from 4 % in air, and gathers under roofs. Exhaust on, nothing that sparks. "
    + ACID_TO_WATER
)

SUMS = (
    Calculation(
        name="molarity",
        title="Concentration of a stock",
        subject="Baths",
        inputs=_STOCK,
        outputs=(
            output("concentration", "Concentration", "mol/l", "0.01"),
            output("per_litre", "Stock for a litre of 1 mol/l", "ml", "0.1"),
        ),
        work=_molarity,
        formula="c = 10 rho w / M",
        source=_SOURCE,
        care=ACID_TO_WATER,
    ),
    Calculation(
        name="dilution",
        title="Stock for a bath, by volume",
        subject="Baths",
        inputs=(
            *_STOCK,
            amount("wanted", "Concentration wanted", "mol/l", above="0"),
            amount("volume", "Volume of the bath", "l", above="0", high="100000"),
        ),
        outputs=(
            output("stock", "Stock", "l", "0.01"),
            output("water", "Water, about", "l", "0.1"),
        ),
        work=_dilution,
        formula="V1 = c2 V2 / c1, c1 = 10 rho w / M",
        source=_SOURCE,
        care=ACID_TO_WATER,
    ),
    Calculation(
        name="dilution-mass",
        title="Stock for a bath, by mass",
        subject="Baths",
        inputs=(
            amount("mass", "Mass of the bath", "kg", above="0", high="100000"),
            amount("wanted", "Share wanted", "%", low="0", high="100"),
            amount("stock", "Share in the stock", "%", above="0", high="100"),
        ),
        outputs=(
            output("part", "Stock", "kg", "0.0001"),
            output("water", "Water", "kg", "0.0001"),
        ),
        work=_dilution_mass,
        formula="m1 = w2 m2 / w1",
        source="Mass of substance stays what it is.",
        care=ACID_TO_WATER,
    ),
    Calculation(
        name="hydrogen",
        title="Hydrogen from dissolved aluminium",
        subject="Baths",
        inputs=(
            amount("aluminium", "Aluminium", "g", low="0", high="100000"),
            amount(
                "temperature",
                "Temperature",
                "degC",
                low="-20",
                high="100",
                optional=True,
                hint="Left out: 20.",
            ),
            amount(
                "pressure",
                "Pressure at the place",
                "hPa",
                low="500",
                high="1100",
                optional=True,
                hint="Left out: 1013.25.",
            ),
        ),
        outputs=(
            output("hydrogen", "Hydrogen", "l", "0.001"),
            output("moles", "The same", "mol", "0.0001"),
            output("acid", "HCl used up", "g", "0.01"),
            output("lye", "or KOH used up", "g", "0.01"),
        ),
        work=_hydrogen,
        formula="n(H2) = 1.5 n(Al); V = n R T / p; 3 HCl or 1 KOH for each Al",
        source="Stoichiometry, ideal gas.",
        care=_CARE_GAS,
    ),
    Calculation(
        name="neutralisation",
        title="What makes an acid bath neutral",
        subject="Baths",
        inputs=(
            amount("volume", "Volume of the bath", "l", above="0", high="100000"),
            amount("concentration", "Acid left in it", "mol/l", low="0", high="20"),
            Input(name="base", title="Neutralise with", form="choice", choices=BASES),
        ),
        outputs=(output("mass", "Mass", "kg", "0.0001"),),
        work=_neutralisation,
        formula="m = c V M / protons taken up",
        source=_SOURCE,
        care="It heats up, and carbonates foam: add slowly, then measure the pH before anything is "
        "let go. What may go down the drain the law of the place says. " + ACID_TO_WATER,
    ),
)
