"""Positions from directions at stations, by minimum curvature: one arc between each two."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fallwise import path

from .measure import Given, Way, check, row
from .packages import compiled, package
from .record import Check, Row

Floats = npt.NDArray[np.float64]

TITLE = "Path by minimum curvature"
SAYS = (
    """A direction at each station, 0.1 m apart; position at each. Every way has its input in the units that it wants, and its
    answer as it gives it.""",
    """fallwise alone looks at every value and names the one that is wrong; wellpathpy looks for not-a-numbers, stations that
    do not grow and angles out of range; the others look at nothing.""",
)


class Survey(NamedTuple):
    """Directions at stations, in both conventions: tilt from level, inclination from plumb."""

    station: Floats
    tilt: Floats
    azimuth: Floats
    inclination: Floats
    inclination_deg: Floats
    azimuth_deg: Floats


def survey(n: int) -> Survey:
    """A pipe at 2 % that winds, with noise in both angles."""
    random = np.random.default_rng(11)
    i = np.arange(n)
    tilt = 0.02 + random.normal(0, 0.004, n)
    azimuth = 1.0 + 0.05 * np.sin(0.011 * i) + random.normal(0, 0.004, n)
    inclination = math.pi / 2 - tilt
    return Survey(np.linspace(0, 0.1 * (n - 1), n), tilt, azimuth, inclination, np.degrees(inclination), np.degrees(azimuth))


def by_numpy(of: Survey) -> Floats:
    """By whole arrays, from chords between unit vectors."""
    across = np.cos(of.tilt)
    u = np.column_stack([across * np.sin(of.azimuth), across * np.cos(of.azimuth), -np.sin(of.tilt)])
    half: Floats = np.arcsin(0.5 * np.sqrt(((u[1:] - u[:-1]) ** 2).sum(axis=1)))
    small = half < 1e-4
    ratio = np.where(small, 1 + half**2 / 3, np.tan(half) / np.where(small, 1.0, half))
    moves = (0.5 * np.diff(of.station) * ratio)[:, None] * (u[1:] + u[:-1])
    found: Floats = np.concatenate([np.zeros((1, 3)), np.cumsum(moves, axis=0)])
    return found


def loop(station: Floats, tilt: Floats, azimuth: Floats) -> Floats:
    """By one loop, for numba: four sines and cosines a station, and a series where the turn is small, as in a pipe."""
    found = np.zeros((len(station), 3))
    east, north, up = math.cos(tilt[0]) * math.sin(azimuth[0]), math.cos(tilt[0]) * math.cos(azimuth[0]), -math.sin(tilt[0])
    for i in range(1, len(station)):
        across = math.cos(tilt[i])
        e, n, u = across * math.sin(azimuth[i]), across * math.cos(azimuth[i]), -math.sin(tilt[i])
        y = 0.25 * ((e - east) ** 2 + (n - north) ** 2 + (u - up) ** 2)
        if y < 1e-3:
            # tan(a)/a with sin(a)^2 = y: what is left out is y^5/36.
            series = 1 + y * (1 / 6 + y * (3 / 40 + y * (5 / 112 + y * (35 / 1152))))
            ratio = 1 / (math.sqrt(1 - y) * series)
        else:
            half = math.asin(math.sqrt(y))
            ratio = math.tan(half) / half
        step = 0.5 * (station[i] - station[i - 1]) * ratio
        found[i, 0] = found[i - 1, 0] + step * (e + east)
        found[i, 1] = found[i - 1, 1] + step * (n + north)
        found[i, 2] = found[i - 1, 2] + step * (u + up)
        east, north, up = e, n, u
    return found


def by_wellpathpy(of: Survey) -> Any:
    """A directional-survey package."""
    return package("wellpathpy").deviation(of.station, of.inclination_deg, of.azimuth_deg).minimum_curvature()


def by_welleng(of: Survey) -> Any:
    """Another one: the arithmetic alone, without its survey object and error model."""
    return package("welleng.utils").MinCurve(of.station, of.inclination, of.azimuth)


def ways(of: Survey) -> list[Way]:
    """All ways."""
    return [
        Way("fallwise", lambda: path.minimum_curvature(of.station, of.tilt, of.azimuth)),
        Way("numpy by hand", lambda: by_numpy(of)),
        Way("numba loop", lambda: compiled(loop)(of.station, of.tilt, of.azimuth), ("numba",)),
        Way(
            "wellpathpy",
            lambda: by_wellpathpy(of),
            ("wellpathpy",),
            lambda found: np.column_stack([found.easting, found.northing, -found.depth]),
        ),
        Way(
            "welleng MinCurve",
            lambda: by_welleng(of),
            ("welleng.utils",),
            lambda found: np.asarray(found.poss) * [1, 1, -1],
        ),
    ]


def compare(name: str, ours: Floats, theirs: Floats) -> list[Check]:
    """Positions in metres."""
    # Sums of n moves, each rounded to half a unit in the last place of the farthest coordinate, on both sides.
    tolerance = len(ours) * np.spacing(np.abs(ours).max())
    why = "sums of n moves, each rounded by half a unit in the last place of the farthest coordinate, on both sides"
    return [check(f"{name}: positions, m", float(np.abs(ours - theirs).max()), float(tolerance), why)]


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    sizes = (1_000, 10_000, 100_000, 1_000_000)
    for n in sizes[: 3 if given.pace.quick else 4]:
        yield row(f"{n:,} stations", ways(survey(n)), compare, given.pace)
