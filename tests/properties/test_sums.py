"""Laws that the sums keep to: units, directions, limits, and what must cancel."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from app.calculations.air import air_density, standard_pressure, wind_at, wind_pressure
from app.calculations.calculation import Output
from app.calculations.catalogue import CALCULATIONS
from app.calculations.decision import Tolerance, conformance, guarded, wrong_share
from app.calculations.humidity import OVER_ICE, settling_point, vapour_pressure
from app.calculations.lashing import Load, direct_effect, direct_need, needed_over
from app.calculations.quantity import Quantity
from app.calculations.rounding import rounded
from app.calculations.sun import Place, next_crossing
from app.calculations.sun_position import sun_at
from app.calculations.thin_film import film_on_glass
from app.calculations.threads import Thread, long_torque, yield_preload
from app.calculations.torque_tool import set_torque
from app.calculations.vacuum import mean_free_path, pump_time
from app.procedure.typed_inputs import in_own_unit, read_inputs
from tests.calculations.examples import EXAMPLES

VERDICTS = ["fail", "conditional fail", "conditional pass", "pass"]
frictions = st.floats(min_value=0.05, max_value=0.5)
angles = st.floats(min_value=1, max_value=90)
positive = st.floats(min_value=0.1, max_value=1000)
celsius = st.floats(min_value=-40, max_value=50)
humid = st.floats(min_value=0.02, max_value=1)
moments = st.integers(min_value=0, max_value=60 * 365 * 24 * 60).map(
    lambda minutes: datetime(1990, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
)
latitudes = st.floats(min_value=-65, max_value=65)
longitudes = st.floats(min_value=-180, max_value=180)

# Inputs that people may have in another unit: a calculation, an input, a unit of the same dimension.
OTHER_UNITS = (
    ("bolt-torque", "preload", "lbf"),
    ("torque-adapter", "torque", "ft lbf"),
    ("mirror-mass", "outer", "inch"),
    ("stopping-distance", "speed", "m/s"),
    ("air-density", "temperature", "degF"),
    ("air-density", "pressure", "torr"),
    ("pump-down", "end", "mbar"),
    ("film-mass", "thickness", "angstrom"),
    ("sun-altitude", "latitude", "arcmin"),
)


@pytest.mark.parametrize(("name", "key", "unit"), OTHER_UNITS)
def test_another_unit_gives_the_same_result(name: str, key: str, unit: str) -> None:
    calculation, example = CALCULATIONS[name], EXAMPLES[name]
    wanted = calculation.input(key)
    assert wanted is not None
    # Twelve places: what a person may write. The rest is lost, far below any resolution.
    there = Quantity(Decimal(example[key]), wanted.unit).to(unit).value.quantize(Decimal("1e-12"))

    again = {**example, key: in_own_unit(wanted, f"{there:f} {unit}")}

    values = [
        calculation.compute(read_inputs(calculation, typed)[0]).value for typed in (example, again)
    ]
    assert values[0] == values[1]


@given(st.floats(min_value=-1e6, max_value=1e6), st.sampled_from(["1", "0.1", "0.01"]), st.data())
def test_rounding_never_changes_on_which_side_of_a_turn_it_lies(
    value: float, resolution: str, data: st.DataObject
) -> None:
    turns = tuple(value + data.draw(st.floats(min_value=-2, max_value=2)) for _ in range(2))
    output = Output(name="a", title="A", resolution=Decimal(resolution))

    shown = output.cut(value, turns=turns)

    exact = rounded(value, Decimal("1e-9"))
    for turn in (rounded(each, Decimal("1e-9")) for each in turns):
        assert (shown > turn, shown < turn) == (exact > turn, exact < turn)


@given(frictions, frictions, st.floats(min_value=1.001, max_value=2))
def test_a_slipperier_bolt_takes_less_torque_and_bears_more(
    thread_mu: float, head_mu: float, more: float
) -> None:
    thread = Thread(diameter=16, pitch=2)

    assert long_torque(thread, 20, thread_mu * more, head_mu) > long_torque(
        thread, 20, thread_mu, head_mu
    )
    assert long_torque(thread, 20, thread_mu, head_mu * more) > long_torque(
        thread, 20, thread_mu, head_mu
    )
    assert yield_preload(thread, 640, thread_mu * more) < yield_preload(thread, 640, thread_mu)


@given(
    positive,
    st.floats(min_value=100, max_value=1000),
    st.floats(min_value=0, max_value=90),
    st.floats(min_value=0, max_value=89),
)
def test_an_adapter_lengthens_the_arm_less_the_further_it_is_turned(
    torque: float, length: float, adapter: float, angle: float
) -> None:
    turned, in_line = (
        set_torque(torque, length, adapter, angle),
        set_torque(torque, length, adapter),
    )

    assert in_line <= turned * (1 + 1e-12) <= torque * (1 + 1e-9)


@given(st.floats(min_value=0.05, max_value=0.45), angles, st.floats(min_value=0.46, max_value=1))
def test_more_friction_needs_fewer_lashings(friction: float, angle: float, c: float) -> None:
    rough, smooth = (
        Load(mass=1000, acceleration=c, friction=f) for f in (friction * 1.01, friction)
    )

    assert needed_over(rough, angle, 1000, 1) < needed_over(smooth, angle, 1000, 1)
    assert direct_need(rough) < direct_need(smooth)


@given(frictions, angles, st.floats(min_value=0, max_value=90))
def test_no_lashing_holds_more_than_it_can_by_statics(
    friction: float, angle: float, aside: float
) -> None:
    # Its pull along the bed and its friction add up to at most sqrt(1 + (0.75 mu)^2) of itself.
    assert direct_effect(friction, angle, aside) <= math.hypot(1, 0.75 * friction) + 1e-12


@given(st.floats(min_value=-400, max_value=10_900), st.floats(min_value=1, max_value=100))
def test_air_thins_with_height_and_warmth_and_water(height: float, step: float) -> None:
    pressure = standard_pressure(height)

    assert standard_pressure(height + step) < pressure
    assert air_density(pressure, 10, 0.5) < air_density(pressure, 10, 0.4)
    assert air_density(pressure, 11, 0.5) < air_density(pressure, 10, 0.5)


@given(positive, positive, positive, st.floats(min_value=0, max_value=0.5))
def test_the_wind_up_and_down_again_is_the_same(
    speed: float, low: float, high: float, exponent: float
) -> None:
    there = wind_at(speed, low, high, exponent)

    assert wind_at(there, high, low, exponent) == pytest.approx(speed)
    assert wind_pressure(2 * speed, 1) == pytest.approx(4 * wind_pressure(speed, 1))


@given(celsius, humid)
def test_the_dew_point_is_below_the_air_and_the_frost_point_above_the_dew_point(
    temperature: float, humidity: float
) -> None:
    vapour = vapour_pressure(temperature, humidity)
    dew = settling_point(vapour)

    assert dew <= temperature + 1e-9
    assert settling_point(vapour_pressure(dew, 1)) == pytest.approx(dew, abs=1e-6)
    if dew < -0.01:
        assert settling_point(vapour, OVER_ICE) > dew


@given(moments, latitudes, longitudes)
def test_the_sun_is_where_the_opposite_place_does_not_see_it(
    at: datetime, latitude: float, longitude: float
) -> None:
    here, there = sun_at(at, latitude, longitude), sun_at(at, -latitude, longitude + 180)

    # Opposite but for the parallax of both, 0.005 deg together.
    assert here.altitude == pytest.approx(-there.altitude, abs=0.006)
    assert abs(here.declination) < 23.45
    assert abs(here.equation_of_time) < 17


@settings(max_examples=25)
@given(moments, latitudes, longitudes, st.floats(min_value=-18, max_value=10))
def test_at_the_crossing_the_sun_is_at_the_altitude_and_not_before(
    since: datetime, latitude: float, longitude: float, altitude: float
) -> None:
    place = Place(latitude=latitude, longitude=longitude)
    crossing = next_crossing(place, altitude, since)
    assume(crossing is not None)
    assert crossing is not None

    assert place.altitude(crossing.at) == pytest.approx(altitude, abs=0.003)
    before = place.altitude(crossing.at - timedelta(seconds=1))
    assert (before < altitude) is crossing.rising


@given(
    st.floats(min_value=210, max_value=2470),
    st.floats(min_value=0, max_value=400),
    st.floats(min_value=0, max_value=80),
    st.floats(min_value=0, max_value=20),
)
def test_no_light_is_made_and_a_thicker_film_lets_less_through(
    wavelength: float, thickness: float, angle: float, oxide: float
) -> None:
    light = film_on_glass(thickness, wavelength, angle_deg=angle, oxide_nm=oxide)
    thicker = film_on_glass(thickness + 20, wavelength, angle_deg=angle, oxide_nm=oxide)

    assert 0 <= light.reflected <= 1
    assert light.transmitted >= 0
    assert light.reflected + light.transmitted <= 1 + 1e-9
    assert thicker.transmitted < light.transmitted


@given(
    positive,
    positive,
    st.floats(min_value=1.01, max_value=1e6),
    st.floats(min_value=1.01, max_value=100),
)
def test_pumping_in_two_stretches_takes_as_long_as_in_one(
    volume: float, speed: float, ratio: float, further: float
) -> None:
    whole = pump_time(volume, speed, ratio * further, 1)

    parts = pump_time(volume, speed, ratio * further, further) + pump_time(
        volume, speed, further, 1
    )

    assert parts == pytest.approx(whole)
    assert mean_free_path(2 * ratio, 20) == pytest.approx(mean_free_path(ratio, 20) / 2)


@given(
    st.floats(min_value=-10, max_value=10),
    st.floats(min_value=0.01, max_value=5),
    st.floats(min_value=0, max_value=3),
    st.floats(min_value=0, max_value=2),
)
def test_a_wider_guard_band_never_makes_a_verdict_better(
    value: float, uncertainty: float, guard: float, more: float
) -> None:
    tolerance = Tolerance(low=-5, high=5)
    narrow, wide = (guarded(value, w, tolerance) for w in (guard, guard + more))

    if tolerance.inside_by(value) >= 0:
        assert VERDICTS.index(wide) <= VERDICTS.index(narrow)
    assert 0 <= conformance(value, uncertainty, tolerance) <= 1


@given(st.integers(min_value=1, max_value=10_000))
def test_the_more_are_tested_the_fewer_may_be_wrong(tested: int) -> None:
    assert 0 < wrong_share(tested + 1) < wrong_share(tested) <= 0.95 + 1e-12
