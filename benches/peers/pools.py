"""Water that bellies can hold: volumes of a hundred pools in a circular pipe of a few thousand straight pieces."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

import fallwise as fw
from fallwise import pool, profile

from .measure import Given, Way, check, row
from .packages import compiled, package
from .record import Check, Row

Floats = npt.NDArray[np.float64]
PIECES, POOLS, PIECE_M, BORE_M = 4332, 100, 0.1, 0.1
#: Ends of a piece whose depths differ by less have the area half way between: what that loses is the square of it.
ALIKE_M = 1e-7

TITLE = "Volumes of pools"
SAYS = (
    """Water stands level in each belly, up to the next sill, in some above the crown. The integral of the wetted area over
    depth has a closed form in a circle, so that a piece is a difference of two values.""",
    """Beside the volumes fallwise gives ends, sill, level, deepest point and depth of each pool, for circles and ellipses,
    and keeps its digits in a film of water, where the closed form by hand loses them.""",
)


class Laid(NamedTuple):
    """A pipe of straight pieces."""

    station: Floats
    height: Floats
    tilt: Floats
    profile: fw.Profile


def wavy() -> Laid:
    """Bellies of different depths on a fall of 1 %, a few of them deeper than the bore."""
    random = np.random.default_rng(5)
    turns = np.arange(PIECES) * POOLS / PIECES
    size = 0.012 + 0.03 * random.uniform(size=POOLS)
    tilt = 0.01 + size[turns.astype(int)] * np.cos(2 * math.pi * turns)
    station = np.linspace(0, PIECE_M * PIECES, PIECES + 1)
    height = -np.append(0.0, np.cumsum(np.diff(station) * np.sin(tilt)))
    return Laid(station, height, tilt, profile.from_segments(station, tilt))


def by_fallwise(of: Laid) -> Floats:
    """Volumes, in order of station."""
    found: Floats = pool.pools(of.profile, fw.Circle(diameter_m=BORE_M)).volume_m3
    return found


def depths(of: Laid) -> tuple[Floats, Floats, Floats]:
    """Level over each piece, and depths at right angles to the pipe at its two ends, below 0 where it is dry."""
    level = np.maximum.accumulate(of.height[:0:-1])[::-1]
    cosine = np.cos(of.tilt)
    return level, (level - of.height[:-1]) / cosine, (level - of.height[1:]) / cosine


def integral(depth: Floats) -> Floats:
    """Of the wetted area from 0 to a depth, above the crown too."""
    radius = BORE_M / 2
    angle = 2 * np.arcsin(np.sqrt(np.clip(depth / BORE_M, 0, 1)))
    sine, cosine = np.sin(angle), np.cos(angle)
    within = radius**3 * (sine - sine**3 / 3 - angle * cosine)
    found: Floats = within + math.pi * radius**2 * np.maximum(depth - BORE_M, 0)
    return found


def area(depth: Floats) -> Floats:
    """Wetted area."""
    angle = 2 * np.arcsin(np.sqrt(np.clip(depth / BORE_M, 0, 1)))
    found: Floats = (BORE_M / 2) ** 2 * (angle - np.sin(angle) * np.cos(angle))
    return found


def by_pool(level: Floats, wet: npt.NDArray[np.bool_], volume: Floats) -> Floats:
    """Sums over pieces that stand under one level."""
    level, volume = level[wet], volume[wet]
    begins = np.append(0, 1 + np.flatnonzero(np.diff(level)))
    found: Floats = np.add.reduceat(volume, begins)
    return found


def by_numpy(of: Laid) -> Floats:
    """By whole arrays."""
    level, a, b = depths(of)
    alike = np.abs(b - a) < ALIKE_M
    mean = np.where(alike, area((a + b) / 2), (integral(b) - integral(a)) / np.where(alike, 1.0, b - a))
    return by_pool(level, np.maximum(a, b) > 0, mean * np.diff(of.station))


def loop(station: Floats, height: Floats, tilt: Floats, bore: float) -> Floats:
    """By one loop against the flow, for numba; volumes in order of station."""
    found = np.zeros(len(tilt))
    radius, full = bore / 2, math.pi * bore * bore / 4
    count, level, volume = 0, -np.inf, 0.0
    for i in range(len(tilt) - 1, -1, -1):
        if height[i + 1] > level:
            level = height[i + 1]
            if volume > 0:
                found[count] = volume
                count += 1
                volume = 0.0
        if level <= height[i] and level <= height[i + 1]:
            continue
        cosine = math.cos(tilt[i])
        ends = ((level - height[i]) / cosine, (level - height[i + 1]) / cosine)
        length = station[i + 1] - station[i]
        alike = abs(ends[1] - ends[0]) < 1e-7
        sums = 0.0
        for k in range(2):
            depth = (ends[0] + ends[1]) / 2 if alike else ends[k]
            angle = 2 * math.asin(math.sqrt(min(max(depth / bore, 0.0), 1.0)))
            s, c = math.sin(angle), math.cos(angle)
            if alike:
                sums = radius * radius * (angle - s * c)
                break
            value = radius * radius * radius * (s - s * s * s / 3 - angle * c) + full * max(depth - bore, 0.0)
            sums += value if k == 1 else -value
        volume += length * (sums if alike else sums / (ends[1] - ends[0]))
    if volume > 0:
        found[count] = volume
        count += 1
    return found[:count][::-1].copy()


def by_quadrature(of: Laid) -> Floats:
    """Piece by piece, without an absolute tolerance, which by default is more than a small pool; numbers, no arrays, within."""
    quad = package("scipy.integrate").quad
    level, first, second = depths(of)
    volume = np.zeros(PIECES)
    wet = np.maximum(first, second) > 0
    for i in np.flatnonzero(wet).tolist():
        a, b, length = float(first[i]), float(second[i]), float(of.station[i + 1] - of.station[i])
        # Depth goes straight along a piece; where it passes through 0 only the wet part is gone over.
        begin = a / (a - b) * length if a < 0 else 0.0
        end = a / (a - b) * length if b < 0 else length

        def wetted(s: float, a: float = a, rise: float = (b - a) / length) -> float:
            angle = 2 * math.asin(math.sqrt(min(max((a + rise * s) / BORE_M, 0.0), 1.0)))
            return (BORE_M / 2) ** 2 * (angle - math.sin(angle) * math.cos(angle))

        volume[i] = quad(wetted, begin, end, epsabs=0.0, epsrel=1e-8)[0]
    return by_pool(level, wet, volume)


def compare(name: str, ours: Any, theirs: Any) -> list[Check]:
    """Volumes, one by one."""
    tolerance, why = (1e-8, "asked of the quadrature") if "quad" in name else (1e-10, LOST)
    apart = float(np.abs(theirs / ours - 1).max()) if len(theirs) == len(ours) else math.inf
    return [
        check(f"{name}: pools more or fewer than {POOLS}", max(abs(len(of) - POOLS) for of in (ours, theirs)), 0, "a count"),
        check(f"{name}: volume of each pool, relative", apart, tolerance, why),
    ]


#: 1e-16 of the cube of the radius, over 1e-7 m times an area.
LOST = "a piece whose depths differ by as little as 1e-7 m is a difference of values of 16 digits: 1e-10 of it"


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    of = wavy()
    ways = [
        Way("fallwise", lambda: by_fallwise(of)),
        Way("numba, closed form", lambda: compiled(loop)(of.station, of.height, of.tilt, BORE_M), ("numba",)),
        Way("numpy, closed form", lambda: by_numpy(of)),
        Way("scipy quad by piece", lambda: by_quadrature(of), ("scipy.integrate",)),
    ]
    yield row("100 pools over 4,332 pieces", ways, compare, given.pace)
