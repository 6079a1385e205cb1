"""Segments of constant tilt: squares about the means plus a penalty a break, at its exact optimum."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fallwise import chain

from .measure import Given, Way, check, row
from .packages import compiled, package
from .record import Check, Row

Floats = npt.NDArray[np.float64]
NOISE = 0.004

TITLE = "Segments at the exact optimum"
SAYS = (
    """Readings with noise of 0.004 rad about steps of four times that; a penalty of three times the logarithm of their
    number, in units of the noise variance. All ways reach the same optimum, and at the same breaks.""",
    """PELT drops fewer candidates the fewer breaks there are: few breaks are what a drain has, and its bad case. fallwise
    goes by functional pruning, which has none.""",
    """ruptures' Pelt is run with `jump=1`: as it comes, with `jump=5`, it is quicker and misses the optimum. Fits of more
    than 2,500 readings are handed by fallwise to one thread of its own, so that they can be interrupted.""",
)


class Readings(NamedTuple):
    """What a head read."""

    station: Floats
    tilt: Floats

    @property
    def penalty(self) -> float:
        """In units of the noise variance."""
        return 3 * math.log(len(self.tilt))


def readings(n: int, breaks: int) -> Readings:
    """Pieces of one length that are steeper by turns, with noise."""
    random = np.random.default_rng(3)
    level = np.where(np.arange(breaks + 1) % 2 == 0, 0.02, 0.02 + 4 * NOISE)
    tilt = np.repeat(level, np.diff(np.linspace(0, n, breaks + 2).astype(int))) + random.normal(0, NOISE, n)
    return Readings(np.linspace(0, 0.05 * (n - 1), n), tilt)


def pelt(x: Floats, penalty: float) -> npt.NDArray[np.int64]:
    """PELT for numba, after Killick, Fearnhead and Eckley 2012: starts of the segments.

    Squares about a mean are the sum of squares, which is the same for all segmentations, less sum^2/n.
    """
    n = len(x)
    total = np.zeros(n + 1)
    mean = x.mean()
    for i in range(n):
        total[i + 1] = total[i] + (x[i] - mean)
    best, last = np.empty(n + 1), np.zeros(n + 1, np.int64)
    value, candidate = np.empty(n + 1), np.zeros(n + 1, np.int64)
    best[0] = -penalty
    count = 1
    for end in range(1, n + 1):
        least, at = np.inf, 0
        for k in range(count):
            start = candidate[k]
            rise = total[end] - total[start]
            value[k] = best[start] - rise * rise / (end - start)
            if value[k] < least:
                least, at = value[k], start
        best[end], last[end] = least + penalty, at
        kept = 0
        for k in range(count):
            if value[k] <= best[end]:
                candidate[kept] = candidate[k]
                kept += 1
        candidate[kept] = end
        count = kept + 1
    count, at = 0, n
    while at > 0:
        at = last[at]
        candidate[count] = at
        count += 1
    return candidate[:count][::-1].copy()


def by_kernel(of: Readings) -> Any:
    """Its compiled way, with the kernel that stands for squares. Its penalty has the unit of the data squared."""
    method = package("ruptures").KernelCPD(kernel="linear", min_size=1)
    return method.fit(of.tilt.reshape(-1, 1)).predict(pen=of.penalty * NOISE**2)


def by_ruptures_pelt(of: Readings) -> Any:
    """Its way in plain Python."""
    method = package("ruptures").Pelt(model="l2", min_size=1, jump=1)
    return method.fit(of.tilt.reshape(-1, 1)).predict(pen=of.penalty * NOISE**2)


def starts(ends: list[int]) -> npt.NDArray[np.int64]:
    """Starts of segments from their ends."""
    return np.array([0, *ends[:-1]], dtype=np.int64)


def ways(of: Readings, slow: str = "") -> list[Way]:
    """All ways."""
    return [
        Way(
            "fallwise",
            lambda: chain.fit_chain(of.station, of.tilt, noise_sd_rad=NOISE, penalty=of.penalty),
            read=lambda found: (of, found.starts.astype(np.int64)),
        ),
        Way(
            "numba PELT",
            lambda: compiled(pelt)(of.tilt, of.penalty * NOISE**2),
            ("numba",),
            lambda found: (of, found),
        ),
        Way("ruptures KernelCPD", lambda: by_kernel(of), ("ruptures",), lambda found: (of, starts(found))),
        Way("ruptures Pelt, jump=1", lambda: by_ruptures_pelt(of), ("ruptures",), lambda found: (of, starts(found)), slow),
    ]


def objective(of: Readings, start: npt.NDArray[np.int64]) -> float:
    """Squares about the means and penalties, rad²."""
    count = np.diff(np.append(start, len(of.tilt)))
    mean = np.add.reduceat(of.tilt, start) / count
    return float(((of.tilt - np.repeat(mean, count)) ** 2).sum() + of.penalty * NOISE**2 * (len(start) - 1))


def compare(name: str, ours: Any, theirs: Any) -> list[Check]:
    """Objectives, and breaks."""
    of, found = ours
    _, other = theirs
    apart = abs(objective(of, other) / objective(of, found) - 1)
    why = "fallwise promises the cost to 1e-9; sums without care lose as much"
    unlike = len(np.setxor1d(found, other))
    return [
        check(f"{name}: objective, relative", apart, 1e-9, why),
        check(f"{name}: breaks that only one has", unlike, 0, "both are exact, and noise leaves no two optima"),
    ]


def among(of: Readings, breaks: int, quick: bool) -> list[Way]:
    """Those that are done before long."""
    n, many = len(of.tilt), breaks > 6
    found = ways(of, "" if many and n == 10_000 and not quick else "takes from ten seconds to hours")
    if many or n == 10_000:
        return found
    why = "with few breaks its time goes with the square of the number of readings"
    return [found[0], *(replace(way, not_run=way.not_run or why) for way in found[1:])]


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    for n in (10_000,) if given.pace.quick else (10_000, 100_000, 1_000_000):
        for breaks in (n // 40, 6, 0):
            of = readings(n, breaks)
            yield row(f"{n:,} readings, {breaks:,} breaks", among(of, breaks, given.pace.quick), compare, given.pace)
