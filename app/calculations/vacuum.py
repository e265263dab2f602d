"""Vacuum: how long a chamber takes to pump, how fast its pressure rises, how far a molecule flies."""

from __future__ import annotations

import math

from app.calculations.calculation import Answer, Calculation, Values, amount, output
from app.calculations.constants import GAS, ZERO_CELSIUS
from app.calculations.rounding import short

MBAR_LITRE = 0.1  # Pa m3/s in one mbar l/s, exact
DRY_AIR_MASS = 0.0289647  # kg/mol
SUTHERLAND = (1.458e-6, 110.4)  # kg/(s m K^0.5), K: viscosity of air, US Standard Atmosphere 1976


def pump_time(volume: float, speed: float, start: float, end: float) -> float:
    """Return how long an ideal pump takes, in the unit of time of `speed`.

    Args:
        volume: Of the chamber, above 0.
        speed: Pumping speed at the chamber, the unit of `volume` for each unit of time, above 0.
        start: Pressure at first, above `end`.
        end: Pressure at last, above 0.

    Source: (V/S) ln(p0/p1), one volume and a constant speed (from memory; solved as a differential
        equation it comes out the same). A real chamber gives off gas: 1.5 to 2.5 times as long.
    """
    return volume / speed * math.log(start / end)


def gas_load(volume: float, rise: float, time: float) -> float:
    """Return the gas that leaks in and comes off the walls, Pa m3/s: V dp / dt.

    Args:
        volume: m3, above 0.
        rise: Of the pressure with the pump shut off, Pa, 0 or more.
        time: In which it rose, s, above 0.

    Source: Ideal gas at one temperature (from memory).
    """
    return volume * rise / time


def mean_free_path(pressure_pa: float, temperature_c: float) -> float:
    """Return how far a molecule of air flies on average, m.

    Args:
        pressure_pa: Pa, above 0.
        temperature_c: degC, -100 to 500.

    Source: mu sqrt(pi R T / (2 M)) / p, with the viscosity of the US Standard Atmosphere 1976
        (Sutherland's form, from memory). 6.6e-3 Pa m at 20 degC; handbooks print 6.5 to 6.8e-3.
    """
    kelvin = temperature_c + ZERO_CELSIUS
    scale, constant = SUTHERLAND
    viscosity = scale * math.pow(kelvin, 1.5) / (kelvin + constant)
    return viscosity * math.sqrt(math.pi * GAS * kelvin / (2 * DRY_AIR_MASS)) / pressure_pa


def _pump_down(given: Values) -> Answer:
    volume, speed, start, end = (given[each] for each in ("volume", "speed", "start", "end"))
    if start <= end:
        raise ValueError("The pressure at the end must be below that at the start.")
    hours = pump_time(volume, speed, start, end)
    real = given.get("factor", 1.0)
    working = (
        f"V / S = {volume:g} m3 / {speed:g} m3/h = {short(60 * volume / speed)} min.",
        f"ln({start:g} / {end:g}) = {short(math.log(start / end))}.",
        f"Ideal {short(60 * hours)} min, times {real:g} for a real chamber: {short(60 * hours * real)} min.",
    )
    return Answer(values=(60 * hours * real, 60 * hours), working=working)


def _rate_of_rise(given: Values) -> Answer:
    volume, rise, time = given["volume"], given["rise"], given["time"]
    load = gas_load(volume, rise, time)
    working = [
        f"{volume:g} m3 x {rise:g} Pa / {time:g} s = {short(load)} Pa m3/s.",
        f"In the older unit {short(load / MBAR_LITRE)} mbar l/s.",
    ]
    ultimate = 0.0
    if "speed" in given:
        ultimate = load / given["speed"]
        working.append(f"A pump of {given['speed']:g} m3/s gets down to {short(ultimate, 3)} Pa.")
    else:
        working.append("No pumping speed is given: the lowest pressure stands as 0.")
    return Answer(values=(load / MBAR_LITRE, load, ultimate), working=tuple(working))


def _mean_free_path(given: Values) -> Answer:
    pressure, temperature = given["pressure"], given.get("temperature", 20.0)
    path = mean_free_path(pressure, temperature)
    working = [
        f"At {temperature:g} degC path times pressure is {short(path * pressure, 3)} m Pa.",
        f"At {pressure:g} Pa: {short(path, 3)} m.",
    ]
    if "distance" in given:
        times = path / given["distance"]
        working.append(
            f"That is {short(times, 3)} times the {given['distance']:g} m to the mirror."
        )
    return Answer(values=(path,), working=tuple(working))


_VOLUME = amount("volume", "Volume of the chamber", "m^3", above="0", high="10000")

SUMS = (
    Calculation(
        name="pump-down",
        title="Time to pump down",
        subject="Vacuum",
        inputs=(
            _VOLUME,
            amount("speed", "Pumping speed at the chamber", "m^3/h", above="0"),
            amount("start", "Pressure at first", "Pa", above="0", high="120000"),
            amount("end", "Pressure at last", "Pa", above="0"),
            amount(
                "factor",
                "Real over ideal",
                low="1",
                high="20",
                optional=True,
                hint="1.5 to 2.5 for a clean dry chamber. Left out: 1.",
            ),
        ),
        outputs=(
            output("time", "Time", "min", "0.1"),
            output("ideal", "Time of an ideal chamber", "min", "0.01"),
        ),
        work=_pump_down,
        formula="t = (V / S) ln(p0 / p1)",
        source="One volume, constant speed, no gas from the walls; from memory.",
        care="For roughing. Below 1 Pa water from the walls decides, not this sum.",
    ),
    Calculation(
        name="rate-of-rise",
        title="Leak and outgassing",
        subject="Vacuum",
        inputs=(
            _VOLUME,
            amount("rise", "Rise of the pressure", "Pa", low="0"),
            amount("time", "In which it rose", "s", above="0"),
            amount("speed", "Pumping speed at the chamber", "m^3/s", above="0", optional=True),
        ),
        outputs=(
            output("load", "Leak and outgassing", "mbar l/s", "0.000001", digits=4),
            output("load_si", "The same", "Pa m^3/s", "0.0000001", digits=4),
            output("lowest", "Lowest pressure against it", "Pa", "0.000000001", digits=3),
        ),
        work=_rate_of_rise,
        formula="Q = V dp / dt; p = Q / S",
        source="Ideal gas; from memory.",
        care="A leak rises evenly; outgassing slows down. Watch the curve, not the end alone.",
    ),
    Calculation(
        name="mean-free-path",
        title="Mean free path",
        subject="Vacuum",
        inputs=(
            amount("pressure", "Pressure", "Pa", above="0", high="110000"),
            amount(
                "temperature",
                "Temperature",
                "degC",
                low="-100",
                high="500",
                optional=True,
                hint="Left out: 20.",
            ),
            amount("distance", "Source to the mirror", "m", above="0", optional=True),
        ),
        outputs=(output("path", "Mean free path", "m", "0.000000001", digits=3),),
        work=_mean_free_path,
        formula="l = mu sqrt(pi R T / (2 M)) / p",
        source="Kinetic theory; viscosity of the US Standard Atmosphere 1976, from memory.",
        care="Below a few times the distance the metal meets gas on its way, and the film turns dull.",
    ),
)
