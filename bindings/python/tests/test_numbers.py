"""Functions by themselves: each name does what it says. What they are good to is tested in Rust."""

from __future__ import annotations

import math

import numpy as np
import pytest
from conftest import truth
from hypothesis import given
from hypothesis import strategies as st

import fallwise as fw
from fallwise import chain, path, pool, profile, section, simulation, units
from fallwise import math as fmath

# Not among the least of numbers, which have fewer digits.
finite = st.floats(-1e6, 1e6).filter(lambda x: x == 0 or abs(x) > 1e-300)


@given(finite)
def test_conversions_go_there_and_back(x: float) -> None:
    for name in units.__all__:
        if name.startswith("to_"):
            there, back = getattr(units, name[3:]), getattr(units, name)
            if name == "to_one_in" and x == 0:
                continue
            # One rounding each way, each less than 1 ulp.
            assert math.isclose(back(there(x)), x, rel_tol=4e-16, abs_tol=0), name


def test_units_by_their_definition() -> None:
    assert units.ft(1) == 0.3048
    assert units.inch(1) == 0.0254
    assert units.yard(1) == 0.9144
    assert units.us_ft(3937) == pytest.approx(1200, rel=1e-15)
    assert units.deg(180) == math.pi
    assert units.percent(2) == 0.02
    assert units.one_in(40) == 0.025
    assert units.in_per_ft(0.25) == 0.25 / 12
    assert units.mm_per_m(5) == 0.005
    assert units.litre(1) == 0.001
    assert units.cm(10) == 0.1
    assert units.cubic_foot(1) == pytest.approx(0.3048**3, rel=1e-15)
    assert units.gallon(1) == pytest.approx(231 * 0.0254**3, rel=1e-15)
    assert units.imperial_gallon(1) == pytest.approx(units.litre(4.54609), rel=1e-15)
    assert units.mm(1) == 0.001
    assert units.slope_to_tilt(1.0) == pytest.approx(math.pi / 4)


def test_texts() -> None:
    assert units.parse_length("6' 3\"") == 1.905
    assert units.parse_station("0+42.5") == units.ft(42.5)
    assert units.parse_slope("1/4 in/ft") == units.in_per_ft(0.25)
    assert units.parse_tilt("1 deg") == units.deg(1)
    assert units.parse_angle("45 deg") == units.deg(45)
    assert units.parse_volume("2 gal") == units.gallon(2)
    with pytest.raises(fw.InputError, match="12") as told:
        units.parse_length("12")
    assert told.value.value == "12"
    assert units.say_slope(0.02) == "1 in 50"
    assert units.say_length(units.inch(488.5), "us") == "40 ft 8 1/2 in"
    assert units.say_about(26.2) == "26 m"
    assert units.say_probability(0.97) == "about 97 %"
    assert units.say_small(0.023) == "23 mm"
    assert units.say_station(12.4, words="us") == "0+40.7"
    assert units.say_volume(0.0016) == "1.6 litres"
    assert units.say_angle(units.deg(0.3)) == "0.30 degrees"
    with pytest.raises(fw.UnknownWordError):
        units.say_slope(0.02, "fr")


@given(st.floats(-3, 3))
def test_elementary_functions(x: float) -> None:
    # Both are within an ulp or two of the truth.
    same = {"sin": math.sin, "cos": math.cos, "tan": math.tan, "atan": math.atan, "exp": math.exp, "exp_m1": math.expm1}
    same |= {"cbrt": math.cbrt, "erf": math.erf, "erfc": math.erfc}
    for name, function in same.items():
        assert getattr(fmath, name)(x) == pytest.approx(function(x), rel=1e-14, abs=1e-300), name
    positive = abs(x) + 1e-3
    for name, function in {"ln": math.log, "log10": math.log10, "ln_1p": math.log1p}.items():
        assert getattr(fmath, name)(positive) == pytest.approx(function(positive), rel=1e-13, abs=1e-16), name
    small = x / 3
    for name, function in {"asin": math.asin, "acos": math.acos}.items():
        assert getattr(fmath, name)(small) == pytest.approx(function(small), rel=1e-14, abs=1e-16), name
    assert fmath.hypot(x, 1.0) == pytest.approx(math.hypot(x, 1.0), rel=1e-15)
    assert fmath.atan2(x, 2.0) == pytest.approx(math.atan2(x, 2.0), rel=1e-15)
    assert fmath.pow(positive, 1.5) == pytest.approx(positive**1.5, rel=1e-14)
    # Where the distribution is flat the quantile loses what it is flat by.
    assert fmath.normal_quantile(fmath.normal_cdf(x)) == pytest.approx(x, abs=1e-12)


def test_sums_and_quantiles() -> None:
    assert fmath.sum([1, 2, 3]) == 6.0
    assert fmath.median([3, 1, 2]) == 2.0
    assert fmath.quantile([1, 2, 3], 0.5) == 2.0
    assert fmath.chi_square_above(0.0, 3) == 1.0
    with pytest.raises(fw.InputError):
        fmath.quantile([2, 1], 0.5)
    with pytest.raises(fw.InputError):
        fmath.quantile([1, 2], 1.5)


def test_bore_by_integration() -> None:
    bore = 0.1
    depth = np.linspace(0, bore, 20001)
    width = section.top_width(depth, bore_m=bore)
    # The trapezoidal rule at a vertical tangent errs as the 3/2th power of the step.
    assert np.trapezoid(width, depth) == pytest.approx(section.full_area(bore_m=bore), rel=1e-5)
    area = section.area(depth, bore_m=bore)
    assert np.trapezoid(area, depth) == pytest.approx(section.antiderivative(bore, bore_m=bore), rel=1e-8)
    assert section.area(bore / 2, bore_m=bore) == pytest.approx(math.pi * bore**2 / 8, rel=1e-15)
    assert section.wetted_perimeter(bore, bore_m=bore) == pytest.approx(math.pi * bore, rel=1e-15)
    assert section.hydraulic_radius(bore / 2, bore_m=bore) == pytest.approx(bore / 4, rel=1e-15)
    assert section.depth_for_area(area[1:-1], bore_m=bore) == pytest.approx(depth[1:-1], rel=1e-9)
    assert section.full_area(bore_m=0.1, width_m=0.2) == pytest.approx(math.pi * 0.1 * 0.2 / 4, rel=1e-15)
    assert section.mean_area(0.02, 0.05, bore_m=bore) == pytest.approx(
        (section.antiderivative(0.05, bore_m=bore) - section.antiderivative(0.02, bore_m=bore)) / 0.03, rel=1e-12
    )
    with pytest.raises(fw.InputError, match="bore"):
        section.area(0.01, bore_m=-1.0)


def test_path_profile_and_pools() -> None:
    end = path.minimum_curvature([0, 100 * math.pi / 2], [math.pi / 2, 0], 0.0)[-1]
    assert end == pytest.approx([0, 100, -100], abs=1e-12)
    assert path.dogleg(0.0, 0.0, [0.0, 1e-9], 1e-9) == pytest.approx([1e-9, math.sqrt(2) * 1e-9], rel=1e-12)
    laid = profile.from_segments([0, 10, 12, 14], [0.02, -0.01, 0.02])
    assert len(laid) == 4
    assert laid.height_at([0.0, 14.0, 15.0]) == pytest.approx(
        [10 * math.sin(0.02) + 2 * math.sin(0.02) - 2 * math.sin(0.01), 0.0, math.nan], nan_ok=True
    )
    assert laid.fall_between(0.0, 10.0) == pytest.approx(10 * math.sin(0.02))
    assert laid.slope_between(0.0, 10.0) == pytest.approx(math.tan(0.02))
    assert laid.length_between(1.0, [2.0, 3.0]) == pytest.approx([1.0, 2.0])
    assert laid.drop_fall_between(0.0, 14.0) == 0.0
    assert laid.lowest() == (14.0, 0.0)
    assert len(laid.crossings(laid.height_at(11.0))) == 3
    found = pool.pools(laid, fw.Circle(diameter_m=0.1))
    assert found.depth_m == pytest.approx([2 * math.sin(0.01) / math.cos(0.02)], rel=1e-12)
    assert math.isnan(pool.pools(laid).volume_m3[0])
    assert pool.water_level(laid)[1] == pytest.approx(laid.height_m[2])
    assert len(pool.pools(laid, flow="decreasing")) == 1
    with pytest.raises(fw.UnknownWordError) as told:
        pool.pools(laid, flow="increasin")  # type: ignore[arg-type]
    assert told.value.nearest == "increasing"
    assert profile.cover(10.0, 8.0, bore_m=0.1) == pytest.approx(1.9)
    points = [fw.GroundPoint(station_m=0, elevation_m=10, sd_m=0.1), fw.GroundPoint(station_m=10, elevation_m=11, sd_m=0.1)]
    ground = profile.ground(points, [0.0, 5.0])
    assert ground["elevation_m"] == pytest.approx([10.0, 10.5])
    assert ground["sd_m"] == pytest.approx([0.1, 0.1 / math.sqrt(2)])


def test_chains(run: fw.Run) -> None:
    trace = fw.condition.condition(run)
    fit = chain.fit_chain(trace.station_m, trace.tilt_rad, weight=trace.weight)
    assert len(fit.breaks_m) == len(fit.tilt_rad) + 1 == len(fit.starts) + 1
    assert abs(fit.breaks_m[1] - 10.0) < 0.5  # where the truth has it, give or take a few readings
    given = chain.given(trace.station_m, trace.tilt_rad, fit.breaks_m, weight=trace.weight)
    # A reading on a break belongs to the segment after it, in both.
    assert given.tilt_rad == pytest.approx(fit.tilt_rad, rel=1e-12)
    assert len(chain.raw(trace.station_m, trace.tilt_rad).tilt_rad) == len(trace.station_m)
    robust = chain.fit_chain(trace.station_m, trace.tilt_rad, loss="biweight", threshold_sds=3.0)
    assert robust == chain.fit_chain(trace.station_m, trace.tilt_rad, loss="biweight")
    with pytest.raises(fw.UnknownWordError) as told:
        chain.fit_chain([0, 1], [0, 0], loss="square")  # type: ignore[arg-type]
    assert told.value.nearest == "squares"
    assert fw.condition.display_step_rad(units.deg(np.arange(40) % 7)) == pytest.approx(units.deg(1))


def test_simulation() -> None:
    made = fw.simulate(truth(), head=simulation.Head(noise_sd_rad=0.0, head_length_m=0.0), spacing_m=0.5)
    # Without noise, and with a head of no length, a reading is the tilt.
    assert made.run.reading_rad.tolist() == made.true_tilt_rad.tolist()
    assert truth().fall_m(0.0, 10.0) == pytest.approx(10 * math.sin(0.02))
    assert truth().height_m([0.0, 10.0]) == pytest.approx([0.0, -10 * math.sin(0.02)])
    assert truth().slope(0.0, 10.0) == pytest.approx(math.tan(0.02))
    flaws = simulation.Flaws(list=[simulation.Flaw("pull_back", at_m=14.0, length_m=2.0), simulation.Flaw("turns_over")])
    flawed = fw.simulate(truth(), flaws=flaws, seed=1)
    assert len(flawed.run) > len(fw.simulate(truth(), seed=1).run)
    assert flawed == fw.simulate(truth(), flaws=flaws, seed=1)
    scattered = simulation.Flaws.scattered(0.0, 24.0, spikes=3, gaps=1, seed=2)
    assert [flaw.kind for flaw in scattered.list] == ["spike"] * 3 + ["gap"]
    rounded = fw.simulate(truth(), head=simulation.Head(rounding=simulation.Rounding(unit="degrees", step=0.5)))
    assert units.to_deg(rounded.run.reading_rad) * 2 == pytest.approx(np.round(units.to_deg(rounded.run.reading_rad) * 2))
    with pytest.raises(fw.UnknownWordError) as told:
        fw.simulate(truth(), flaws=simulation.Flaws(list=[simulation.Flaw("spikes", at_m=1.0, rad=0.1)]))
    assert told.value.nearest == "spike"


def test_places_on_the_earth() -> None:
    origin = fw.Origin(longitude_rad=0.1, latitude_rad=0.8)
    there = fw.geographic.place(origin, 0.0, [0.0, 10.0])
    assert there.longitude_rad == pytest.approx([0.1, 0.1], abs=1e-12)
    # A metre north is about 1 / 6.38e6 rad.
    assert there.latitude_rad[1] - 0.8 == pytest.approx(10 / 6.37e6, rel=0.01)
    with pytest.raises(fw.InputError, match="latitude"):
        fw.geographic.place(fw.Origin(longitude_rad=0.0, latitude_rad=2.0), 0.0, 0.0)
