"""Adjustment: sixty sticks read by one head with an unknown zero error, twelve levelled inverts; all standard deviations."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

import fallwise as fw

from .measure import Given, Way, check, row
from .packages import package
from .record import Check, Row

Floats = npt.NDArray[np.floating[Any]]
STICKS, LEVELS = 60, 12
NOISE, ZERO_SD, LEVEL_SD = 2e-3, 5e-3, 4e-3
#: A step this small, in m, changes no figure by a thousandth of what is allowed: Newton's next is its square.
STEP_M = 1e-9

TITLE = "Adjustment with ties"
SAYS = (
    """62 unknowns: heights of 61 joints and the zero error of the head. What is asked for are all of them, each with its
    standard deviation. Heights are not linear in tilts, so that every way steps twice or three times.""",
    """In Python fallwise has no adjustment by itself: what is timed is a whole `solve` of the sixty readings. It conditions
    the log, tests every level against all the others, and gives the standard deviations of tilts and slopes too. The
    adjustment alone is timed in Rust (`cargo bench -p fallwise-benches --bench ties`); DEVELOPERS.md has the figure.""",
    """The way of gtsam is a graph of linear factors made anew at each step, and 62 marginals; factors written in Python are
    slower.""",
)


class Network(NamedTuple):
    """What was read and levelled."""

    counter: Floats
    edge: Floats
    reading: Floats
    node: npt.NDArray[np.int64]
    elevation: Floats


def network() -> Network:
    """A drawn pipe, read and levelled with drawn errors."""
    random = np.random.default_rng(7)
    counter = np.cumsum(random.uniform(1.5, 3.5, STICKS))
    tilt = random.normal(0.02, 0.01, STICKS)
    reading = tilt + 0.004 + random.normal(0, NOISE, STICKS)
    # Where one stick ends and the next begins, as fallwise has it of readings by hand.
    segments = fw.solve(fw.Run(counter_m=counter, reading_rad=reading, by_hand=True), draws=0).segments
    edge = np.append(segments.from_m, segments.to_m[-1])
    height = 10 - np.append(0.0, np.cumsum(np.diff(edge) * np.sin(tilt)))
    node = np.linspace(0, STICKS, LEVELS).astype(np.int64)
    return Network(counter, edge, reading, node, height[node] + random.normal(0, LEVEL_SD, LEVELS))


class Solution(NamedTuple):
    """Heights of the joints and zero error, and their standard deviations."""

    height: Floats
    height_sd: Floats
    zero: float
    zero_sd: float


def by_fallwise(of: Network) -> Solution:
    """As a user would."""
    head = replace(fw.Instrument.exact(), noise_sd_rad=NOISE, zero_sd_rad=ZERO_SD)
    run = fw.Run(counter_m=of.counter, reading_rad=of.reading, by_hand=True)
    levels = zip(of.edge[of.node].tolist(), of.elevation.tolist(), strict=True)
    ties = [fw.InvertTie(station_m=s, elevation_m=e, sd_m=LEVEL_SD, station_sd_m=0.0) for s, e in levels]
    lateral = fw.solve(run, instrument=head, ties=ties, draws=0)
    at = lateral.at(of.edge)
    zero = next(parameter for parameter in lateral.parameters if parameter["name"] == "zero_rad")
    return Solution(at.elevation_m, at.elevation_sd_m, zero["value"], zero["sd"])


def start(of: Network) -> Floats:
    """Unknowns as the readings have them: heights of the joints, and the zero error."""
    fall = np.append(0.0, np.cumsum(np.diff(of.edge) * np.sin(of.reading)))
    return np.append(of.elevation[0] - fall, 0.0)


def residuals(x: Floats, of: Network) -> Floats:
    """Of readings, zero error and levels, in standard deviations."""
    tilt = np.arcsin(-np.diff(x[:-1]) / np.diff(of.edge))
    found: Floats = np.concatenate(
        [(of.reading - tilt - x[-1]) / NOISE, [-x[-1] / ZERO_SD], (of.elevation - x[of.node]) / LEVEL_SD]
    )
    return found


def jacobian(x: Floats, of: Network) -> Floats:
    """Of the residuals."""
    length, fall = np.diff(of.edge), -np.diff(x[:-1])
    slope = 1 / (NOISE * np.sqrt(length**2 - fall**2))
    found = np.zeros((STICKS + 1 + LEVELS, STICKS + 2))
    k = np.arange(STICKS)
    found[k, k], found[k, k + 1], found[k, -1] = -slope, slope, -1 / NOISE
    found[STICKS, -1] = -1 / ZERO_SD
    found[STICKS + 1 + np.arange(LEVELS), of.node] = -1 / LEVEL_SD
    return found


def solution(x: Floats, variance: Floats) -> Solution:
    """From all unknowns."""
    sd = np.sqrt(variance)
    return Solution(x[:-1], sd[:-1], float(x[-1]), float(sd[-1]))


def by_numpy(of: Network) -> Solution:
    """Normal equations, solved until they stand, and inverted."""
    x = start(of)
    while True:
        derivative = jacobian(x, of)
        inverse = np.linalg.inv(derivative.T @ derivative)
        step = inverse @ (derivative.T @ residuals(x, of))
        x = x - step
        if np.abs(step).max() < STEP_M:
            return solution(x, inverse.diagonal())


def by_scipy(of: Network) -> Solution:
    """A general solver of least squares. It gives no covariance, which is an inverse at the solution."""
    found = package("scipy.optimize").least_squares(residuals, start(of), jacobian, method="lm", args=(of,))
    return solution(found.x, np.diag(np.linalg.inv(found.jac.T @ found.jac)))


def by_gtsam(of: Network) -> Solution:
    """A factor graph of linear factors, made anew at each step, and the marginals of every unknown."""
    gtsam = package("gtsam")
    unit = gtsam.noiseModel.Unit.Create(1)
    zero = STICKS + 1
    x = start(of)
    while True:
        graph = gtsam.GaussianFactorGraph()
        off, derivative = residuals(x, of), jacobian(x, of)
        for k in range(STICKS):
            parts = [derivative[k : k + 1, i : i + 1] for i in (k, k + 1, zero)]
            graph.add(k, parts[0], k + 1, parts[1], zero, parts[2], -off[k : k + 1], unit)
        graph.add(zero, derivative[STICKS : STICKS + 1, zero : zero + 1], -off[STICKS : STICKS + 1], unit)
        for i, node in enumerate(of.node.tolist(), STICKS + 1):
            graph.add(node, derivative[i : i + 1, node : node + 1], -off[i : i + 1], unit)
        found = graph.optimize()
        step = np.array([found.at(i)[0] for i in range(zero + 1)])
        x = x + step
        if np.abs(step).max() < STEP_M:
            marginals = gtsam.Marginals(graph, found)
            return solution(x, np.array([marginals.marginalCovariance(i)[0, 0] for i in range(zero + 1)]))


def compare(name: str, ours: Any, theirs: Any) -> list[Check]:
    """Estimates in standard deviations, and the standard deviations."""
    sd = np.append(ours.height_sd, ours.zero_sd)
    apart = np.abs(np.append(ours.height - theirs.height, ours.zero - theirs.zero)) / sd
    others = np.append(theirs.height_sd, theirs.zero_sd)
    stops = (1e-6, "scipy stops where a step is 1e-8 of the unknowns, its default") if "scipy" in name else PROMISE
    return [
        check(f"{name}: estimates, standard deviations", float(apart.max()), *stops),
        check(f"{name}: standard deviations, relative", float(np.abs(others / sd - 1).max()), *PROMISE),
    ]


#: The Rust tests hold it to that (`tests/ties_reference.rs`).
PROMISE = (1e-8, "fallwise promises 1e-8 of a standard deviation")


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    of = network()
    ways = [
        Way("fallwise, whole solve", lambda: by_fallwise(of)),
        Way("numpy normal equations", lambda: by_numpy(of)),
        Way("scipy least_squares", lambda: by_scipy(of), ("scipy.optimize",)),
        Way("gtsam factor graph", lambda: by_gtsam(of), ("gtsam",)),
    ]
    yield row("60 segments, one zero error, 12 levels", ways, compare, given.pace)
