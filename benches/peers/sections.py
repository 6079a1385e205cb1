"""The bore, and what a single call costs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

import fallwise as fw
from fallwise import section

from .measure import Compare, Given, Way, check, row
from .packages import package
from .record import Check, Row

Floats = npt.NDArray[np.float64]
BORE_M, DEPTH_M = 0.1, 0.03

TITLE = "The bore, and single calls"
SAYS = (
    """A call with a number takes as long as it takes to look at its arguments. Every call here is through one more function
    of Python, which is some 0.05 µs in each column.""",
    "The area of an array is exact at any depth in fallwise; the closed form by hand loses its digits in a film of water.",
)


def by_hand(depth: float) -> float:
    """Of a number."""
    angle = 2 * math.asin(math.sqrt(depth / BORE_M))
    return BORE_M * BORE_M / 4 * (angle - math.sin(angle) * math.cos(angle))


def by_numpy(depth: Floats) -> Floats:
    """Of an array."""
    angle = 2 * np.arcsin(np.sqrt(depth / BORE_M))
    found: Floats = BORE_M * BORE_M / 4 * (angle - np.sin(angle) * np.cos(angle))
    return found


def within(tolerance: float, why: str) -> Compare:
    """A check of relative differences."""

    def compare(name: str, ours: Any, theirs: Any) -> list[Check]:
        return [check(f"{name}: relative", float(np.abs(np.asarray(theirs) / np.asarray(ours) - 1).max()), tolerance, why)]

    return compare


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    one = [
        Way("fallwise", lambda: section.area(DEPTH_M, bore_m=BORE_M)),
        Way("math by hand", lambda: by_hand(DEPTH_M)),
        Way("fluids", lambda: package("fluids").A_partial_circle(BORE_M, DEPTH_M), ("fluids",)),
    ]
    yield row("area of one depth", one, within(1e-14, "a dozen roundings, at three tenths of the bore"), given.pace)
    half = np.array(0.5)
    sine = [
        Way("fallwise", lambda: fw.math.sin(0.5)),
        Way("math by hand", lambda: math.sin(0.5)),
        Way("numpy by hand", lambda: np.sin(half)),
    ]
    yield row("sine of one number", sine, within(5e-16, "each is right to a unit in the last place"), given.pace)
    depth = np.random.default_rng(1).uniform(0.002, 0.098, 10_000)
    many = [
        Way("fallwise", lambda: section.area(depth, bore_m=BORE_M)),
        Way("numpy by hand", lambda: by_numpy(depth)),
        Way("fluids.vectorized", lambda: package("fluids.vectorized").A_partial_circle(BORE_M, depth), ("fluids.vectorized",)),
    ]
    why = "at a fiftieth of the bore the angle less its sine times cosine loses three digits, and the arc cosine two more"
    yield row("area of 10,000 depths", many, within(1e-11, why), given.pace)
