"""Figures beside those of general packages, which compute the same in other ways. Versions are those of `requirements-test.txt`.

scipy 1.17.1, mpmath 1.4.1, fluids 1.3.1, wellpathpy 0.5.2, ruptures 1.1.10; pandas 3.1.1, polars 2.1.0, pyarrow 26.0.1,
duckdb 2.0.1. Cases keep away from where a package is known to be wrong in silence; one such place is stated at the end, so that
nobody takes it for a reference.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false, reportAttributeAccessIssue=false
# pyright: reportArgumentType=false, reportOptionalSubscript=false
# Most of the packages have no types, or only some, or types that say less than they do.

from __future__ import annotations

import math
from array import array
from collections.abc import Callable, Sequence
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

import duckdb
import fluids
import numpy as np
import numpy.typing as npt
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest
import ruptures
import wellpathpy
from hypothesis import given
from hypothesis import strategies as st
from mpmath import mp, mpf
from scipy import integrate, optimize, special, stats

import fallwise as fw
from fallwise import chain, hydraulics, path, pool, profile, section, units
from fallwise import math as fmath

Floats = npt.NDArray[np.float64]
EPS = 2.0**-52


def near(found: Any, expected: Any, relative: float) -> None:
    np.testing.assert_allclose(found, expected, rtol=relative, atol=0.0)


# Statistics and integrals: scipy ------------------------------------------------------------------------------------------------


def test_error_function_and_normal_distribution() -> None:
    x = np.linspace(-5.9, 5.9, 2001)
    # Each of the two is within an ulp or two of the truth.
    near(fmath.erf(x), special.erf(x), 4 * EPS)
    # In the tail exp(-x^2) carries the rounding of x^2, up to 35, in both.
    near(fmath.erfc(x), special.erfc(x), 40 * EPS)
    near(fmath.normal_cdf(x), special.ndtr(x), 40 * EPS)
    p = np.concatenate(
        [10.0 ** np.linspace(-300, -1, 500), np.linspace(0.001, 0.999, 999), 1 - 10.0 ** np.linspace(-15, -1, 100)]
    )
    # scipy's quantile states a peak relative error of 6e-16 (in the source of ndtri.c, from memory); about a half both near 0.
    found, theirs = fmath.normal_quantile(p), special.ndtri(p)
    np.testing.assert_allclose(found, theirs, rtol=1e-14, atol=4 * EPS)


def test_chi_square() -> None:
    for degrees in (1, 2, 3, 7, 30, 101):
        x = degrees * np.array([0.01, 0.2, 0.7, 1.0, 1.5, 3.0])
        found = [fmath.chi_square_above(float(value), degrees) for value in x]
        # exp(-x/2) for x up to 300 has 150 roundings; 1e-12 is what the Rust tests hold it to.
        near(found, stats.chi2.sf(x, degrees), 1e-12)


def test_heights_are_the_integral_of_the_sine() -> None:
    rng = np.random.default_rng(5)
    breaks = np.cumsum(np.append(0.0, rng.uniform(0.1, 4.0, 300)))
    tilt = rng.normal(0.02, 0.02, 300)
    laid = profile.from_segments(breaks, tilt)
    # Constant between breaks, so that the rule is exact: each sine twice, before and after its break.
    station, sine = np.repeat(breaks, 2)[1:-1], np.repeat(np.sin(tilt), 2)
    fall = integrate.cumulative_trapezoid(sine, station, initial=0.0)[::2]
    # 300 sums of numbers below 20 m, each rounded to 4e-15.
    np.testing.assert_allclose(laid.fall_between(breaks[0], breaks[:-1]), fall, rtol=0, atol=300 * 4e-15)


def test_path_of_a_smooth_pipe() -> None:
    station = np.linspace(0.0, 50.0, 501)
    tilt, azimuth = 0.02 + 0.01 * np.sin(0.3 * station), 1.0 + 0.02 * station
    found = path.minimum_curvature(station, tilt, azimuth)
    fine = np.linspace(0.0, 50.0, 50001)
    tilt, azimuth = 0.02 + 0.01 * np.sin(0.3 * fine), 1.0 + 0.02 * fine
    directions = np.column_stack([np.cos(tilt) * np.sin(azimuth), np.cos(tilt) * np.cos(azimuth), -np.sin(tilt)])
    truth = integrate.cumulative_simpson(directions, x=fine, axis=0, initial=0.0)[::100]
    # An arc errs by h^2/12 times the change of curvature over its length: 0.1^2/12 times 50 m times 0.02 * 0.3 * 0.01 at most,
    # with a factor of four for what turns in plan.
    assert np.abs(found - truth).max() < 4 * 0.1**2 / 12 * 50 * 0.02 * 0.3 * 0.01


def test_volume_below_a_depth() -> None:
    for bore in (0.1, 0.3):
        for share in (1e-3, 0.02, 0.3, 0.5, 0.9, 1.0):
            # Without an absolute tolerance, which by default is more than a small volume.
            theirs, _ = integrate.quad(lambda d, of=bore: section.area(d, bore_m=of), 0.0, share * bore, epsabs=0.0, epsrel=1e-12)
            near(section.antiderivative(share * bore, bore_m=bore), theirs, 1e-11)  # ten times what was asked of the quadrature


# Fifty digits: mpmath -----------------------------------------------------------------------------------------------------------


@pytest.fixture
def digits() -> Any:
    with mp.workdps(50):
        yield


def half_angle(depth: float, bore: float) -> Any:
    return 2 * mp.asin(mp.sqrt(mpf(depth) / mpf(bore)))


def circle_area(depth: Any, bore: float) -> Any:
    angle = 2 * mp.asin(mp.sqrt(mpf(depth) / mpf(bore)))
    return mpf(bore) ** 2 / 4 * (angle - mp.sin(angle) * mp.cos(angle))


@pytest.mark.usefixtures("digits")
@pytest.mark.parametrize("share", [1e-9, 1e-4, 0.03, 0.25, 0.5, 0.8, 1 - 1e-9])
def test_bore_to_fifty_digits(share: float) -> None:
    bore = 0.10226
    depth = share * bore
    angle = half_angle(depth, bore)
    # 1e-12 is the promise; a few roundings each. Near full, bore - depth is exact and its root halves what is left.
    near(section.top_width(depth, bore_m=bore), float(mpf(bore) * mp.sin(angle)), 4 * EPS)
    radius = circle_area(depth, bore) / (mpf(bore) * angle)
    near(section.hydraulic_radius(depth, bore_m=bore), float(radius), 8 * EPS)
    near(hydraulics.shear(depth, bore_m=bore, slope=0.01), float(1000 * mpf("9.80665") * radius * mpf(0.01)), 10 * EPS)
    speed = mpf(0.002) / circle_area(depth, bore)
    froude = speed / mp.sqrt(mpf("9.80665") * circle_area(depth, bore) / (mpf(bore) * mp.sin(angle)))
    near(hydraulics.froude(depth, 0.002, bore_m=bore), float(froude), 20 * EPS)


@pytest.mark.usefixtures("digits")
def test_what_it_takes_to_fifty_digits() -> None:
    bore, depth, rough, viscosity, flow = 0.15, 0.06, 1.5e-3, 1.31e-6, 0.004
    area = circle_area(depth, bore)
    radius = area / (mpf(bore) * half_angle(depth, bore))

    def misses(slope: Any) -> Any:
        pull = mp.sqrt(8 * mpf("9.80665") * radius * slope)
        inside = mpf(rough) / (mpf("14.8") * radius) + mpf("2.51") * mpf(viscosity) / (4 * radius * pull)
        return -2 * pull * mp.log10(inside) * area - mpf(flow)

    slope = mp.findroot(misses, (mpf("0.001"), mpf("0.1")), solver="anderson")
    found = hydraulics.slope_for_flow(flow, depth_m=depth, bore_m=bore, roughness_m=rough)
    near(found, float(slope), 2e-14)  # a flow is good to 1e-14, and the slope goes as its square
    # Manning solved for the diameter: Q = D^(8/3) q sqrt(S) / n, with q the flow of a bore of 1.
    angle = half_angle(0.7, 1.0)
    unit = circle_area(0.7, 1.0) * (circle_area(0.7, 1.0) / angle) ** (mpf(2) / 3)
    diameter = (mpf(flow) * mpf(0.011) / (unit * mp.sqrt(mpf(0.01)))) ** (mpf(3) / 8)
    near(hydraulics.diameter_for_flow(flow, slope=0.01, filling=0.7, manning_n=0.011), float(diameter), 1e-14)


@pytest.mark.usefixtures("digits")
def test_pool_to_fifty_digits() -> None:
    first, second, bore = 0.02, 0.01, 0.1
    laid = profile.from_segments([0.0, 10.0, 12.0, 14.0], [first, -second, first])
    found = pool.pools(laid, fw.Circle(diameter_m=bore))[0]
    level = 2 * mp.sin(mpf(second))  # above the lowest place
    near(found["depth_m"], float(level / mp.cos(mpf(first))), 8 * EPS)
    # Water stands level; its depth in a cross-section is the upright one over the cosine of the tilt.
    up = mp.quad(lambda s: circle_area(s * mp.tan(mpf(first)), bore), [0, level / mp.sin(mpf(first))])
    down = mp.quad(lambda s: circle_area(s * mp.tan(mpf(second)), bore), [0, 2])
    # Levels are differences of heights of 0.2 m that are rounded to 3e-17, in 0.02 m of water: 1e-15, 5/2 times.
    near(found["volume_m3"], float(up + down), 1e-14)


@pytest.mark.usefixtures("digits")
def test_slopes_and_angles_to_fifty_digits() -> None:
    for slope in (1e-12, 0.02, 1.0, 50.0):
        near(units.slope_to_tilt(slope), float(mp.atan(mpf(slope))), 2 * EPS)
        near(units.tilt_to_slope(units.slope_to_tilt(slope)), slope, 2 * EPS * (1 + slope**2) / slope * math.atan(slope))
    laid = profile.from_segments([0.0, 3.0, 7.5], [0.02, 0.031])
    falls = 3 * mp.sin(mpf(0.02)) + mpf(4.5) * mp.sin(mpf(0.031))
    along = 3 * mp.cos(mpf(0.02)) + mpf(4.5) * mp.cos(mpf(0.031))
    near(laid.slope_between(0.0, 7.5), float(falls / along), 8 * EPS)  # some eight roundings
    near(path.dogleg(0.0, 0.0, 1e-9, 0.0), 1e-9, 4 * EPS)


# Pipes: fluids ------------------------------------------------------------------------------------------------------------------


def test_circular_section_and_flow() -> None:
    bore = 0.3
    for share in np.linspace(0.02, 0.98, 97):
        depth = float(share) * bore
        # Their area is a difference: an eps of 1 - 2h/D beside an area as the 3/2 power of h/D: three digits at 0.02.
        near(section.area(depth, bore_m=bore), fluids.A_partial_circle(bore, depth), 1e-12)
        wetted = fluids.geometry.SA_partial_cylindrical_body(1.0, bore, depth)
        # arc cosine of 1 - 2h/D, which is rounded to half an eps beside an angle of 0.28 and more.
        near(section.wetted_perimeter(depth, bore_m=bore), wetted, 1e-14)
        radius = section.area(depth, bore_m=bore) / wetted
        near(section.hydraulic_radius(depth, bore_m=bore), radius, 1e-14)
        # The same formula of the same radius: a dozen roundings.
        near(hydraulics.velocity(depth, bore_m=bore, slope=0.01, manning_n=0.013), fluids.V_Manning(radius, 0.01, 0.013), 1e-14)


@pytest.mark.parametrize("roughness", [1e-5, 1e-4, 1.5e-3])
def test_friction_of_colebrook_and_white(roughness: float) -> None:
    bore = 0.15
    for depth in (0.01, 0.04, 0.075, 0.12, 0.15):
        radius = section.hydraulic_radius(depth, bore_m=bore)
        slope = 0.008
        speed = hydraulics.velocity(depth, bore_m=bore, slope=slope, roughness_m=roughness)
        # Theirs is implicit in the friction factor, of the hydraulic diameter; ours is explicit in the velocity. 14.8 R is 3.7 D.
        reynolds = speed * 4 * radius / hydraulics.EN_12056_VISCOSITY_M2_S
        friction = fluids.friction.Colebrook(reynolds, roughness / (4 * radius))
        theirs = math.sqrt(8 * hydraulics.GRAVITY_M_S2 * radius * slope / friction)
        near(speed, theirs, 1e-13)  # solved by Lambert's function in floats, some hundred roundings


# Paths: wellpathpy --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(5))
def test_minimum_curvature_of_surveys(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = 1000
    depth = np.cumsum(np.append(0.0, rng.uniform(0.05, 2.0, n - 1)))
    inclination = np.clip(90 + np.cumsum(rng.normal(0, 0.4, n)), 5, 175)
    azimuth = 180 + 170 * np.sin(np.cumsum(rng.normal(0, 0.01, n)))
    theirs = wellpathpy.deviation(depth, inclination, azimuth).minimum_curvature(course_length=30)
    tilt, direction = units.deg(90 - inclination), units.deg(azimuth)
    found = path.minimum_curvature(depth, tilt, direction)
    # A thousand sums of up to 1 km, each rounded to 6e-14, on both sides.
    expected = np.column_stack([theirs.easting, theirs.northing, -theirs.depth])
    np.testing.assert_allclose(found, expected, rtol=0, atol=2 * n * 6e-14)
    turns = path.dogleg(tilt[:-1], direction[:-1], tilt[1:], direction[1:])
    # 90 less an inclination rounds to 7e-15 degrees and theirs again in radians: 1e-15 rad beside a turn.
    np.testing.assert_allclose(turns, np.radians(theirs.dls[1:]) * np.diff(depth) / 30, rtol=1e-13, atol=2e-15)


# Segments: ruptures, and a program of our own --------------------------------------------------------------------------------


def steps(rng: np.random.Generator, n: int, every: int, noise: float) -> Floats:
    """Tilts of sticks about 1 in 50 with noise."""
    tilt: Floats = np.repeat(rng.normal(0.02, 3 * noise, n // every + 1), every)[:n] + rng.normal(0, noise, n)
    return tilt


def cost(tilt: Floats, weight: Floats, starts: Sequence[int], penalty: float) -> float:
    """Weighted squares about the means, and penalties."""
    ends = [*starts[1:], len(tilt)]
    total = penalty * (len(starts) - 1)
    for start, end in zip(starts, ends, strict=True):
        values, weights = tilt[start:end], weight[start:end]
        total += float(weights @ (values - np.average(values, weights=weights)) ** 2)
    return total


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("least", [1, 6])
def test_breaks_of_an_exact_method(seed: int, least: int) -> None:
    rng, noise = np.random.default_rng(seed), 0.004
    n = 400
    tilt = steps(rng, n, 40, noise)
    penalty = (2.0 + seed) * math.log(n)
    found = chain.fit_chain(0.05 * np.arange(n), tilt, noise_sd_rad=noise, penalty=penalty, least_readings=least)
    # Their penalty has the unit of the data squared. They do not take the mean off, which loses nothing of tilts this small.
    theirs = ruptures.KernelCPD(kernel="linear", min_size=least).fit(tilt.reshape(-1, 1)).predict(pen=penalty * noise**2)
    assert found.starts.tolist() == [0, *theirs[:-1]]
    near(found.cost, cost(tilt, np.ones(n), found.starts.tolist(), penalty * noise**2), 1e-9)  # what the fit promises of its cost
    assert len(found.starts) > 2  # there was something to find


@pytest.mark.parametrize("seed", range(4))
def test_breaks_with_weights_by_dynamic_programming(seed: int) -> None:
    rng, noise, least = np.random.default_rng(100 + seed), 0.003, 2
    n = 250
    tilt, weight = steps(rng, n, 25, noise), rng.uniform(0.2, 3.0, n)
    penalty = 10.0 * noise**2
    # Sums of squares about the mean from sums of what is centred: 250 values of one size lose nothing that matters.
    centred = tilt - tilt.mean()
    w, wx, wxx = (np.append(0.0, np.cumsum(v)) for v in (weight, weight * centred, weight * centred**2))
    best = np.full(n + 1, np.inf)
    best[0] = -penalty
    before = np.zeros(n + 1, dtype=int)
    for end in range(least, n + 1):
        start = np.arange(0, end - least + 1)
        squares = wxx[end] - wxx[start] - (wx[end] - wx[start]) ** 2 / (w[end] - w[start])
        total = best[start] + squares + penalty
        before[end] = int(np.argmin(total))
        best[end] = total[before[end]]
    starts: list[int] = []
    at = n
    while at > 0:
        at = int(before[at])
        starts.insert(0, at)
    found = chain.fit_chain(
        np.arange(n), tilt, weight=weight, noise_sd_rad=noise, penalty=penalty / noise**2, least_readings=least
    )
    assert found.starts.tolist() == starts
    near(found.cost, best[n], 1e-9)  # what the fit promises
    assert len(starts) > 3


# Adjustment: scipy --------------------------------------------------------------------------------------------------------------


class Chain:
    """Tilts of sticks, a common zero error, and heights: least squares written out, by a general solver and an inverse."""

    def __init__(self, breaks: Floats, reading: Floats, noise: float, zero: tuple[float, float]) -> None:
        self.breaks, self.reading, self.noise, self.zero = breaks, reading, noise, zero
        self.levels: list[tuple[float, float, float]] = []
        self.differences: list[tuple[float, float, float, float]] = []
        self.checks: list[tuple[float, float]] = []

    def lengths(self, station: float) -> Floats:
        """Of each stick, how much lies before a station."""
        within: Floats = np.clip(station - self.breaks[:-1], 0.0, np.diff(self.breaks))
        return within

    def residuals(self, x: Floats) -> Floats:
        tilt, zero, height = x[:-2], x[-2], x[-1]
        at = {station: height - self.lengths(station) @ np.sin(tilt) for station in self.stations()}
        return np.concatenate(
            [
                (self.reading - tilt - zero) / self.noise,
                [(zero - self.zero[0]) / self.zero[1]],
                [(value - zero) / sd for value, sd in self.checks],
                [(elevation - at[s]) / sd for s, elevation, sd in self.levels],
                [(rise - (at[b] - at[a])) / sd for a, b, rise, sd in self.differences],
            ]
        )

    def stations(self) -> set[float]:
        return {s for s, _, _ in self.levels} | {s for a, b, _, _ in self.differences for s in (a, b)}

    def jacobian(self, x: Floats) -> Floats:
        # By complex steps, which lose no digits.
        columns = [self.residuals(x + 1e-30j * unit).imag / 1e-30 for unit in np.eye(len(x))]
        return np.column_stack(columns)

    def solve(self) -> tuple[Floats, Floats, float]:
        """Unknowns, their covariance and chi-square."""
        start = np.concatenate([self.reading, [0.0, self.levels[0][1]]])
        found = optimize.least_squares(self.residuals, start, self.jacobian, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale="jac")
        inverse = np.linalg.inv(np.linalg.qr(self.jacobian(found.x))[1])
        return found.x, inverse @ inverse.T, 2 * found.cost


@pytest.mark.parametrize("checked", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_ties_by_general_least_squares(seed: int, checked: bool) -> None:
    rng = np.random.default_rng(seed)
    n, noise, zero = 12, 2e-3, 0.004
    counter, tilt = np.cumsum(rng.uniform(1.5, 3.5, n)), rng.normal(0.02, 0.01, n)
    reading = tilt + zero + rng.normal(0, noise, n)
    run = fw.Run(counter_m=counter, reading_rad=reading, by_hand=True)
    head = replace(fw.Instrument.exact(), noise_sd_rad=noise, zero_sd_rad=5e-3)
    alone = fw.solve(run, instrument=head, draws=0).segments  # where one stick ends and the next begins
    ours = Chain(np.append(alone.from_m, alone.to_m[-1]), reading, noise, (0.0, 5e-3))

    def height(station: float) -> float:
        return float(10.0 - ours.lengths(station) @ np.sin(tilt))

    start, middle, end = (float(s) for s in (ours.breaks[0], counter[n // 2], ours.breaks[-1]))
    levels = [(s, height(s) + rng.normal(0, 0.004), 0.004) for s in (start, middle, end)]
    low, high = float(counter[2]), float(counter[8])
    difference = (low, high, height(high) - height(low) + rng.normal(0, 0.002), 0.002)
    ties: list[Any] = [fw.InvertTie(station_m=s, elevation_m=e, sd_m=sd, station_sd_m=0.0) for s, e, sd in levels]
    ties.append(fw.HeightDifferenceTie(station_m=(low, high), rise_m=difference[2], sd_m=difference[3], station_sd_m=0.0))
    if checked:
        ties.append(fw.ReversalCheck(first_rad=zero + 0.02, second_rad=zero - 0.019, sd_rad=1e-3))
    lateral = fw.solve(run, instrument=head, ties=ties, draws=0)
    segments = lateral.segments

    ours.levels, ours.differences = levels, [difference]
    if checked:
        # The mean of two readings. What heads commonly have is then no longer assumed, but that the error is within some
        # 10 degrees of what the check says.
        mean = (zero + 0.02 + zero - 0.019) / 2
        ours.checks, ours.zero = [(mean, 1e-3 / math.sqrt(2))], (mean, math.pi / 18)
    x, covariance, chi_square = ours.solve()
    sd = np.sqrt(np.diag(covariance))
    # The promise of an adjustment is 1e-8 of a standard deviation, and of it (tests/ties_reference.rs); the general solver stops
    # where its steps drown in rounding, at some 1e-10.
    assert np.abs(segments.tilt_rad - x[:-2]).max() < 1e-8 * sd[:-2].min()
    near(segments.tilt_sd_rad, sd[:-2], 1e-8)
    parameters = {row["name"]: row for row in lateral.parameters}
    assert parameters["zero_rad"]["value"] == pytest.approx(x[-2], abs=1e-8 * sd[-2])
    near(parameters["zero_rad"]["sd"], sd[-2], 1e-8)
    adjustment = lateral.answers.adjustment
    assert adjustment is not None
    near(adjustment["chi_square"], chi_square, 1e-8)
    # Four ties and what is known of the zero beforehand, less the datum and, where it is left to its check, the zero.
    assert adjustment["degrees_of_freedom"] == 3
    stations = np.linspace(start, end, 7)
    rows = np.array([np.concatenate([-ours.lengths(s) * np.cos(x[:-2]), [0.0, 1.0]]) for s in stations])
    expected = rows @ covariance @ rows.T
    assert np.abs(lateral.covariance(stations) - expected).max() < 1e-8 * expected.max()
    heights = x[-1] - np.array([ours.lengths(s) @ np.sin(x[:-2]) for s in stations])
    assert np.abs(lateral.at(stations).elevation_m - heights).max() < 1e-8 * math.sqrt(expected.max())


# Tables: pandas, polars, pyarrow, duckdb ----------------------------------------------------------------------------------------


def asked(base: duckdb.DuckDBPyConnection, query: str, rows: Any) -> Any:
    """What a query of `rows` gives, which the data base finds by that name."""
    relation = base.sql(query)
    assert relation is not None
    return relation.to_arrow_table()


def test_tables_go_to_a_data_base_and_back(lateral: fw.Lateral, tmp_path: Path) -> None:
    with duckdb.connect() as base:
        for name in ("segments", "findings", "ties", "path", "parameters", "as_built"):
            rows = getattr(lateral, name)
            # Read by its Arrow stream where it stands.
            assert asked(base, "select * from rows", rows).to_pylist() == rows.to_rows(), name
            base.execute(f"create table {name} as select * from rows")
            base.execute(f"copy {name} to '{tmp_path / name}.parquet'")
            # Through a file, read by two others: the same bits and nothing for what is not determined.
            assert pl.read_parquet(tmp_path / f"{name}.parquet").to_dicts() == rows.to_rows(), name
            assert pa.table(pl.read_parquet(tmp_path / f"{name}.parquet")).to_pylist() == rows.to_rows(), name
        segments = lateral.segments
        total = base.execute("select sum(fall_m), count(*), count(break_probability) from segments").fetchone()
        assert total is not None
        # A sum in any order of fewer than a hundred numbers.
        assert total[0] == pytest.approx(segments.fall_m.sum(), rel=1e-14)
        assert total[1:] == (len(segments), int(np.isfinite(segments.break_probability).sum()))


def test_columns_come_back_as_inputs(run: fw.Run) -> None:
    frame = pd.DataFrame({"counter": run.counter_m, "reading": run.reading_rad})
    arrow = pa.Table.from_pandas(frame)
    with duckdb.connect() as base:
        sorted_there = asked(base, "select counter, reading from rows order by counter", arrow)
    tables: list[Any] = [frame, pl.from_pandas(frame), arrow, sorted_there]
    for table in tables:
        again = fw.Run(counter_m=table["counter"], reading_rad=table["reading"])
        assert again.counter_m.tobytes() == run.counter_m.tobytes()
        assert again.reading_rad.tobytes() == run.reading_rad.tobytes()


def test_one_table_of_many_from_anywhere(run: fw.Run) -> None:
    n = 20
    columns = {
        "lateral_id": ["a"] * n + ["b"] * n,
        "dist (m)": [*range(n)] * 2,
        "tilt (deg)": [1.0 + 0.1 * (i % 3) for i in range(2 * n)],
    }
    frame = pd.DataFrame(columns)
    tables: list[Any] = [
        columns,
        frame,
        pl.DataFrame(columns),
        pa.table(columns),
        asked(duckdb.connect(), "select * from rows", frame),
    ]
    read = [fw.read_runs(table) for table in tables]
    for runs in read:
        assert [(key, value.counter_m.tolist(), value.reading_rad.tolist()) for key, value in runs.items()] == [
            (key, value.counter_m.tolist(), value.reading_rad.tolist()) for key, value in read[0].items()
        ]


# Array-likes: hypothesis --------------------------------------------------------------------------------------------------------

DRESSES: dict[str, Callable[[list[float]], Any]] = {
    "tuple": tuple,
    "numpy": np.array,
    "every other": lambda v: np.repeat(np.array(v, dtype=float), 2)[::2],
    "backwards": lambda v: np.array(v[::-1], dtype=float)[::-1],
    "big endian": lambda v: np.array(v, dtype=">f8"),
    "long double": lambda v: np.array(v, dtype=np.longdouble),
    "object": lambda v: np.array(v, dtype=object),
    "column": lambda v: np.column_stack([np.array(v, dtype=float), np.zeros(len(v))])[:, 0],
    "memory": lambda v: memoryview(array("d", v)),
    "pandas": lambda v: pd.Series(v, dtype="float64", index=range(len(v), 0, -1)),
    "pandas Float64": lambda v: pd.Series(v, dtype="Float64"),
    "pandas Arrow": lambda v: pd.Series(v, dtype="double[pyarrow]"),
    "polars": lambda v: pl.Series(v, dtype=pl.Float64),
    "pyarrow": lambda v: pa.array(v, type=pa.float64()),
    "pyarrow chunks": lambda v: pa.chunked_array([v[: len(v) // 2], v[len(v) // 2 :]], type=pa.float64()),
    "pyarrow slice": lambda v: pa.array([9.0, *v, 9.0], type=pa.float64())[1:-1],
}


@given(st.lists(st.floats(0.0, 0.12), max_size=12), st.sampled_from(sorted(DRESSES)))
def test_any_dress_gives_the_same_bits(values: list[float], dress: str) -> None:
    worn = DRESSES[dress](values)
    expected = np.array([section.area(value, bore_m=0.1) for value in values], dtype=float)
    found = section.area(worn, bore_m=0.1)
    assert type(found) is np.ndarray
    assert (found.dtype, found.tobytes()) == (np.dtype(np.float64), expected.tobytes())
    if not values:
        return
    station = np.arange(len(values))
    assert path.minimum_curvature(station, worn, 0.3).tobytes() == path.minimum_curvature(station, values, 0.3).tobytes()
    assert fmath.sum(worn) == fmath.sum(values)


# A fault of a peer that is no reference -----------------------------------------------------------------------------------------


def test_a_depth_that_is_no_depth() -> None:
    """fluids 1.3.1 searches the depth of an area up to the radius only, and gives half of the bore for all areas above half."""
    bore, depth = 0.3, 0.27
    area = section.area(depth, bore_m=bore)
    near(section.depth_for_area(area, bore_m=bore), depth, 4 * EPS)
    assert fluids.circle_segment_h_from_A(area, bore) == bore / 2


def test_versions_are_those_stated() -> None:
    stated = " ".join((__doc__ or "").split())
    packages = ("scipy", "mpmath", "fluids", "wellpathpy", "ruptures", "pandas", "polars", "pyarrow", "duckdb")
    assert [name for name in packages if f"{name} {version(name)}" not in stated] == []
