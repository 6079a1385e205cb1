"""The same lateral as a notebook does it today, by general packages: pandas, ruptures and scipy, with the rest written by hand.

As a program, `python -m peers.with_packages LOG LEVELS`, it prints what it found. It has no rule, no intervals of pools, no
second look at a level that does not fit, no message for a bad row; breaks count as known once they are found.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from .packages import package

Floats = npt.NDArray[np.floating[Any]]

BORE_M = 0.1
ZERO_SD_RAD = math.radians(0.3)
#: Fewest readings in a segment: a head of 0.3 m, 0.05 m apart.
LEAST = 6


class Found(NamedTuple):
    """What the notebook found."""

    edge: Floats
    tilt: Floats
    tilt_sd: Floats
    zero: float
    zero_sd: float
    height: Floats
    height_sd: Floats
    pools_m3: Floats


class Segments(NamedTuple):
    """Ends of the segments, mean reading of each and its standard deviation."""

    edge: Floats
    mean: Floats
    sd: Floats


def segments(station: Floats, reading: Floats) -> Segments:
    """By the exact optimum of squares; noise from differences of neighbours, of which breaks are few."""
    noise = float(np.median(np.abs(np.diff(reading)))) / (0.6745 * math.sqrt(2))
    method = package("ruptures").KernelCPD(kernel="linear", min_size=LEAST)
    ends = method.fit((reading - reading.mean()).reshape(-1, 1)).predict(pen=3 * math.log(len(reading)) * noise**2)
    start = np.array([0, *ends[:-1]])
    count = np.diff([*start, len(reading)])
    inner = (station[start[1:] - 1] + station[start[1:]]) / 2
    mean = np.add.reduceat(reading, start) / count
    return Segments(np.concatenate([station[:1], inner, station[-1:]]), mean, noise / np.sqrt(count))


def adjusted(of: Segments, levels: Floats) -> tuple[Floats, Floats]:
    """Tilts, zero error and height of the start by least squares, and their covariance."""
    at, elevation, sd = levels.T
    # What of each segment lies before a level.
    before = np.clip(at[:, None] - of.edge[:-1], 0, np.diff(of.edge))

    def residuals(x: Floats) -> Floats:
        height = x[-1] - before @ np.sin(x[:-2])
        found: Floats = np.concatenate([(of.mean - x[:-2] - x[-2]) / of.sd, [x[-2] / ZERO_SD_RAD], (elevation - height) / sd])
        return found

    start = np.concatenate([of.mean, [0.0, elevation[0]]])
    found = package("scipy.optimize").least_squares(residuals, start, method="lm")
    derivative: Floats = found.jac
    return found.x, np.linalg.inv(derivative.T @ derivative)


def pools(edge: Floats, height: Floats, tilt: Floats) -> Floats:
    """Volumes: running maximum against the flow, and the closed form of the integral of the wetted area in a circle."""
    level = np.maximum.accumulate(height[:0:-1])[::-1]
    a, b = (level - height[:-1]) / np.cos(tilt), (level - height[1:]) / np.cos(tilt)
    radius = BORE_M / 2

    def integral(depth: Floats) -> Floats:
        angle = 2 * np.arcsin(np.sqrt(np.clip(depth / BORE_M, 0, 1)))
        sine, cosine = np.sin(angle), np.cos(angle)
        within = radius**3 * (sine - sine**3 / 3 - angle * cosine)
        found: Floats = within + math.pi * radius**2 * np.maximum(depth - BORE_M, 0)
        return found

    wet = np.maximum(a, b) > 0
    if not wet.any():
        return np.zeros(0)
    volume = ((integral(b) - integral(a)) / (b - a) * np.diff(edge))[wet]
    sums: Floats = np.add.reduceat(volume, np.append(0, 1 + np.flatnonzero(np.diff(level[wet]))))
    return sums


def solve(log: Path, levels: Path) -> Found:
    """All of it."""
    table = package("pandas").read_csv(log)
    station, reading = table.iloc[:, 0].to_numpy(), np.radians(table.iloc[:, 1].to_numpy())
    of = segments(station, reading)
    known = np.array(json.loads(levels.read_text(encoding="utf-8")))
    x, covariance = adjusted(of, known)
    tilt, length = x[:-2], np.diff(of.edge)
    height = x[-1] - np.append(0.0, np.cumsum(length * np.sin(tilt)))
    rows = np.zeros((len(of.edge), len(x)))
    rows[:, :-2] = -np.tri(len(of.edge), len(tilt), -1) * (length * np.cos(tilt))
    rows[:, -1] = 1
    height_sd = np.sqrt(((rows @ covariance) * rows).sum(axis=1))
    sd = np.sqrt(np.diag(covariance))
    return Found(of.edge, tilt, sd[:-2], float(x[-2]), float(sd[-2]), height, height_sd, pools(of.edge, height, tilt))


if __name__ == "__main__":
    for _name, _value in solve(Path(sys.argv[1]), Path(sys.argv[2]))._asdict().items():
        print(_name, _value)
