"""Air and wind: pressure at a height, density, what wind presses with, wind at another height."""

from __future__ import annotations

import math

from app.calculations.calculation import Answer, Calculation, Values, amount, output
from app.calculations.constants import ATMOSPHERE, ZERO_CELSIUS
from app.calculations.rounding import short

# US Standard Atmosphere 1976 and ISO 2533:1975, layer up to 11 km (from memory).
SEA_TEMPERATURE = 288.15  # K
LAPSE = 0.0065  # K for each geopotential metre
EXPONENT = 5.25588  # g M / (R lapse)
EARTH_RADIUS = 6356766.0  # m, for geopotential heights
# CIPM-2007: Picard et al., Metrologia 45 (2008) 149. R and Ma as the formula fixes them.
CIPM_GAS = 8.314472  # J/(mol K)
DRY_AIR = 0.02896546  # kg/mol at 400 ppm of carbon dioxide
WATER_SHARE = 0.3780  # 1 - Mv / Ma
_VAPOUR = (1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3)  # psv, eq. A1.1 (from memory)
_ENHANCED = (1.00062, 3.14e-8, 5.6e-7)  # enhancement factor (from memory)
_Z_PRESSURE = (1.58123e-6, -2.9331e-8, 1.1043e-10)  # K/Pa and on; compressibility (from memory)
_Z_WATER = (5.707e-6, -2.051e-8, 1.9898e-4, -2.376e-6)
_Z_SQUARE = (1.83e-11, -0.765e-8)
WIND_EXPONENT = 0.14  # over open land; common practice, no source
BEAUFORT = 0.836  # m/s; v = 0.836 B^1.5, WMO (from memory)


def standard_pressure(height_m: float) -> float:
    """Return the pressure of the standard atmosphere, Pa.

    Args:
        height_m: Geometric height above the sea, m, -500 to 11 000.

    Source: US Standard Atmosphere 1976 / ISO 2533:1975, lowest layer. The weather of the day
        departs from it by some hPa; where a barometer hangs, read that.
    """
    temperature = SEA_TEMPERATURE - LAPSE * _geopotential(height_m)
    return ATMOSPHERE * math.pow(temperature / SEA_TEMPERATURE, EXPONENT)


def standard_temperature(height_m: float) -> float:
    """Return the temperature of the standard atmosphere, K; range and source as for its pressure."""
    return SEA_TEMPERATURE - LAPSE * _geopotential(height_m)


def air_density(pressure_pa: float, temperature_c: float, humidity: float) -> float:
    """Return the density of moist air, kg/m3.

    Args:
        pressure_pa: Pressure, Pa; the formula is made for 60 000 to 110 000.
        temperature_c: Temperature, degC; made for 15 to 27, used here from -30 to 50.
        humidity: Relative humidity over water, 0 to 1.

    Source: CIPM-2007, Picard et al., Metrologia 45 (2008) 149-155; coefficients from memory.
        Agrees with the real-gas equation of CoolProp within 0.0001 kg/m3 at 20 and 5 degC.
    """
    kelvin = temperature_c + ZERO_CELSIUS
    a, b, c, d = _VAPOUR
    vapour = math.exp(a * kelvin**2 + b * kelvin + c + d / kelvin)
    alpha, beta, gamma = _ENHANCED
    enhanced = alpha + beta * pressure_pa + gamma * temperature_c**2
    water = humidity * enhanced * vapour / pressure_pa
    squeezed = _compressibility(pressure_pa, temperature_c, water)
    dry = pressure_pa * DRY_AIR / (squeezed * CIPM_GAS * kelvin)
    return dry * (1 - WATER_SHARE * water)


def wind_pressure(speed_ms: float, density: float) -> float:
    """Return the dynamic pressure of a wind, Pa: rho v^2 / 2.

    Args:
        speed_ms: Wind speed, m/s, 0 or more.
        density: Of the air, kg/m3, above 0.

    Source: Bernoulli (from memory).
    """
    return density * speed_ms**2 / 2


def wind_at(speed: float, height: float, other_height: float, exponent: float) -> float:
    """Return the wind at another height by the power law, in the unit of `speed`.

    Args:
        speed: Wind at `height`, 0 or more.
        height: Where it was measured, m, above 0.
        other_height: Where it is wanted, m, above 0; within some tens of metres of the ground.
        exponent: 0.1 over water, 0.14 over open land, 0.3 among buildings.

    Source: Power law; its exponent is common practice, no source. A ridge or a dome makes its own wind.
    """
    return speed * math.pow(other_height / height, exponent)


def beaufort(speed_ms: float) -> int:
    """Return the Beaufort number of a mean wind, m/s.

    Source: WMO, v = 0.836 B^1.5 (from memory); gives the printed class bounds within 0.11 m/s.
    """
    return min(12, math.floor(math.pow(speed_ms / BEAUFORT, 2 / 3) + 0.5))


def _geopotential(height_m: float) -> float:
    return EARTH_RADIUS * height_m / (EARTH_RADIUS + height_m)


def _compressibility(pressure: float, celsius: float, water: float) -> float:
    """Return Z of moist air: CIPM-2007, eq. A1.4 (from memory)."""
    kelvin = celsius + ZERO_CELSIUS
    a0, a1, a2 = _Z_PRESSURE
    b0, b1, c0, c1 = _Z_WATER
    d, e = _Z_SQUARE
    first = a0 + a1 * celsius + a2 * celsius**2
    first += (b0 + b1 * celsius) * water + (c0 + c1 * celsius) * water**2
    return 1 - pressure / kelvin * first + (pressure / kelvin) ** 2 * (d + e * water**2)


def _pressure(given: Values) -> Answer:
    height = given["height"]
    pressure = standard_pressure(height)
    kelvin = standard_temperature(height)
    working = (
        f"Standard air at {height:g} m: {short(kelvin - ZERO_CELSIUS, 3)} degC.",
        f"1013.25 hPa x ({short(kelvin, 5)} / 288.15)^5.25588 = {short(pressure / 100)} hPa.",
    )
    return Answer(values=(pressure / 100,), working=working)


def _density(given: Values) -> Answer:
    density = air_density(given["pressure"] * 100, given["temperature"], given["humidity"] / 100)
    dry = air_density(given["pressure"] * 100, given["temperature"], 0.0)
    working = (
        f"Dry air would weigh {short(dry)} kg/m3.",
        f"Vapour is lighter than air: {short(dry - density, 2)} kg/m3 less.",
    )
    return Answer(values=(density,), working=working)


def _wind_pressure(given: Values) -> Answer:
    gust = given["speed"] * given.get("gust", 1.0)
    pressure = wind_pressure(gust, given["density"])
    force = pressure * given.get("area", 1.0) * given.get("drag", 1.0)
    working = [f"q = {given['density']:g} kg/m3 x ({gust:g} m/s)^2 / 2 = {short(pressure)} Pa."]
    if "gust" in given:
        working.insert(0, f"Gust: {given['speed']:g} m/s x {given['gust']:g} = {gust:g} m/s.")
    area, drag = given.get("area", 1.0), given.get("drag", 1.0)
    working.append(f"On {area:g} m2 with drag {drag:g}: {short(force)} N.")
    return Answer(values=(pressure, force), working=tuple(working))


def _wind_at(given: Values) -> Answer:
    exponent = given.get("exponent", WIND_EXPONENT)
    speed, low, high = given["speed"], given["height"], given["other_height"]
    found = wind_at(speed, low, high, exponent)
    working = (f"{speed:g} m/s x ({high:g} m / {low:g} m)^{exponent:g} = {short(found)} m/s.",)
    return Answer(values=(found, float(beaufort(found))), working=working)


_SPEED = amount("speed", "Wind", "m/s", low="0", high="100")

SUMS = (
    Calculation(
        name="air-pressure",
        title="Pressure at a height",
        subject="Air and wind",
        inputs=(amount("height", "Height above the sea", "m", low="-500", high="11000"),),
        outputs=(output("pressure", "Pressure of the standard atmosphere", "hPa", "0.1"),),
        work=_pressure,
        formula="p = 1013.25 hPa ((288.15 - 0.0065 H) / 288.15)^5.25588",
        source="US Standard Atmosphere 1976; ISO 2533:1975.",
        care="The weather of the day departs from it. Where a barometer hangs, read that.",
    ),
    Calculation(
        name="air-density",
        title="Density of the air",
        subject="Air and wind",
        inputs=(
            amount("pressure", "Pressure at the place", "hPa", low="600", high="1100"),
            amount("temperature", "Temperature", "degC", low="-30", high="50"),
            amount("humidity", "Relative humidity", "%", low="0", high="100"),
        ),
        outputs=(output("density", "Density", "kg/m^3", "0.0001"),),
        work=_density,
        formula="rho = p Ma / (Z R T) (1 - 0.378 xv)",
        source="CIPM-2007, Picard et al., Metrologia 45 (2008) 149; coefficients from memory.",
        care="Pressure at the place, not brought down to the sea as forecasts give it.",
    ),
    Calculation(
        name="wind-pressure",
        title="Wind pressure",
        subject="Air and wind",
        inputs=(
            _SPEED,
            amount("density", "Density of the air", "kg/m^3", low="0.3", high="1.6"),
            amount(
                "gust",
                "Gust over mean",
                low="1",
                high="3",
                optional=True,
                hint="Left out: the wind is the gust. Open land: 1.4 to 1.5.",
            ),
            amount("area", "Area that stands in the wind", "m^2", above="0", optional=True),
            amount("drag", "Drag coefficient", above="0", high="3", optional=True),
        ),
        outputs=(
            output("pressure", "Wind pressure", "Pa", "0.001"),
            output("force", "Force on the area", "N", "0.1"),
        ),
        work=_wind_pressure,
        formula="q = rho v^2 / 2, F = cd A q",
        source="Bernoulli; the gust factor is common practice, no source.",
        care="The load grows with the square of the gust.",
    ),
    Calculation(
        name="wind-height",
        title="Wind at another height",
        subject="Air and wind",
        inputs=(
            _SPEED,
            amount("height", "Height of that wind", "m", above="0", high="200"),
            amount("other_height", "Height wanted", "m", above="0", high="200"),
            amount(
                "exponent",
                "Exponent",
                low="0",
                high="0.5",
                optional=True,
                hint="0.1 over water, 0.3 among buildings. Left out: 0.14, open land.",
            ),
        ),
        outputs=(
            output("wind", "Wind there", "m/s", "0.01"),
            output("beaufort", "Beaufort, if it is a mean wind", "", "1"),
        ),
        work=_wind_at,
        formula="v2 = v1 (h2 / h1)^a",
        source="Power law; the exponent is common practice, no source.",
        care="Domes, ridges and doors make a wind of their own. Measure at the load where you can.",
    ),
)
