"""Normal depth by Manning in ten thousand circular pipes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fallwise import hydraulics

from .measure import Given, Way, check, row
from .packages import compiled, package
from .record import Check, Row

Floats = npt.NDArray[np.float64]
MANNING_N = 0.013
#: Half the angle of the wetted arc where a circle carries most (0.938 of the diameter), and a little less.
MOST = 2.6

TITLE = "Normal depth by Manning"
SAYS = (
    """Circles of 0.1 to 0.3 m at 0.2 to 3.2 %, flows from a film to nine tenths of what the full bore carries: one depth
    each.""",
    """fallwise also says of every pipe whether there is a second depth and which, or none and why, and how well the depth is
    known near the most that the pipe carries. By hand that stays to be written; scipy's answers to such flows are an error,
    the other depth, or a number that is none.""",
)


class Pipes(NamedTuple):
    """Flows in pipes."""

    diameter: Floats
    slope: Floats
    flow: Floats


def pipes(n: int = 10_000) -> Pipes:
    """Drawn ones."""
    random = np.random.default_rng(13)
    diameter, slope = random.uniform(0.1, 0.3, n), random.uniform(0.002, 0.032, n)
    full = math.pi * diameter**2 / 4 * (diameter / 4) ** (2 / 3) * np.sqrt(slope) / MANNING_N
    return Pipes(diameter, slope, random.uniform(0.001, 0.9, n) * full)


def wanted(of: Pipes) -> Floats:
    """(t - sin t cos t)^(5/3) t^(-2/3), of half the angle of the wetted arc, t."""
    scale = (of.diameter**2 / 4) ** (5 / 3) / of.diameter ** (2 / 3) * np.sqrt(of.slope) / MANNING_N
    found: Floats = of.flow / scale
    return found


def carried(t: Floats) -> Floats:
    """What is wanted, at t."""
    found: Floats = (t - np.sin(t) * np.cos(t)) ** (5 / 3) / t ** (2 / 3)
    return found


def depth(t: Floats, of: Pipes) -> Floats:
    """From half the angle."""
    found: Floats = of.diameter * np.sin(t / 2) ** 2
    return found


def by_halving(of: Pipes) -> Floats:
    """Halving by whole arrays, down to the last place."""
    want = wanted(of)
    low, high = np.zeros_like(want), np.full_like(want, MOST)
    for _ in range(53):
        t = 0.5 * (low + high)
        less = carried(t) < want
        low, high = np.where(less, t, low), np.where(less, high, t)
    return depth(0.5 * (low + high), of)


def by_secant(of: Pipes) -> Floats:
    """The newton of scipy without a derivative, of all pipes at once. From the middle it finds the lower depth of these flows."""
    want = wanted(of) ** 0.25
    found: Floats = package("scipy.optimize").newton(lambda t: carried(t) ** 0.25 - want, np.full_like(want, 1.4), tol=1e-13)
    return depth(found, of)


def loop(diameter: Floats, slope: Floats, flow: Floats, n: float) -> Floats:
    """Newton by numba, in logarithms of t and of what is carried, in which it goes nearly straight from a film to half full."""
    found = np.empty(len(flow))
    for i in range(len(flow)):
        d = diameter[i]
        want = math.log(flow[i] * n / (math.sqrt(slope[i]) * (d * d / 4) ** (5 / 3)) * d ** (2 / 3))
        t = min(math.exp((3 * want - 5 * math.log(2 / 3)) / 13), 2.0)  # as in a film, where t - sin t cos t is 2/3 t^3
        for _ in range(30):
            s, c = math.sin(t), math.cos(t)
            sector = t - s * c
            off = (5 * math.log(sector) - 2 * math.log(t)) / 3 - want
            step = off / ((10 * s * s * t / sector - 2) / 3)
            t *= math.exp(-step)
            if abs(step) < 1e-8:  # the next would be its square
                break
        half = math.sin(t / 2)
        found[i] = d * half * half
    return found


def compare(name: str, ours: Floats, theirs: Floats) -> list[Check]:
    """Depths."""
    asked = (1e-12, "the secant is asked for 1e-13 of an angle of 0.1 and more")
    roots = (1e-14, "roots to the last places, of powers and sines of some dozen roundings of 1e-16")
    return [check(f"{name}: depths, relative", float(np.abs(theirs / ours - 1).max()), *(asked if "secant" in name else roots))]


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    of = pipes()

    def ours() -> Any:
        return hydraulics.normal_depth(of.flow, bore_m=of.diameter, slope=of.slope, manning_n=MANNING_N)

    ways = [
        Way("fallwise", ours, read=lambda found: found.depth_m),
        Way("numba Newton", lambda: compiled(loop)(of.diameter, of.slope, of.flow, MANNING_N), ("numba",)),
        Way("scipy newton, secant", lambda: by_secant(of), ("scipy.optimize",)),
        Way("numpy halving", lambda: by_halving(of)),
    ]
    yield row("10,000 pipes", ways, compare, given.pace)
