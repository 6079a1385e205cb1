"""A whole lateral: 2,000 readings and four levelled inverts, from the log to heights, pools and, by fallwise, a verdict."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

import fallwise as fw
from fallwise.units import deg

from . import with_fallwise, with_packages
from .measure import Given, Way, check, row
from .record import Check, Row

Floats = npt.NDArray[np.floating[Any]]

TITLE = "A whole lateral"
SAYS = (
    """Beside fallwise stands what a notebook does today: pandas reads, ruptures (KernelCPD) finds segments, scipy adjusts
    them with one zero error and the levels, and heights, their standard deviations and pools are written by hand
    (`benches/peers/with_packages.py`). Warm is with everything imported and called before; cold processes stand further
    below.""",
    """It is not the same work. Only fallwise looks the log over for flaws, averages over all segmentations that the readings
    allow, finds how far noise hangs together, tests each level against the others, checks a rulebook, proposes what to
    measure next, and with draws gives pools their intervals; it writes a summary too. The notebook's standard deviations
    count its breaks as known. The figures that both have were seen to agree within what is stated.""",
)

BREAKS_M = (0.0, 20.0, 23.0, 50.0, 54.0, 100.0)
TILT_RAD = (0.020, -0.010, 0.024, -0.014, 0.022)
LEVEL_SD_M = 0.005


class Files(NamedTuple):
    """What both ways read."""

    log: Path
    levels: Path


def files(folder: Path) -> Files:
    """A drain with two bellies, its log and its levels; the processes that are measured cold find them by these names."""
    truth = fw.simulation.Truth(breaks_m=BREAKS_M, tilt_rad=TILT_RAD)
    head = fw.simulation.Head(zero_rad=deg(-0.18), noise_sd_rad=deg(0.25))
    run = fw.simulate(truth, head=head, spacing_m=0.05, seed=12).run
    found = Files(folder / "lateral.csv", folder / "levels.json")
    pairs = zip(run.counter_m, run.reading_rad, strict=True)
    lines = [f"{counter:.3f},{math.degrees(reading):.3f}" for counter, reading in pairs]
    found.log.write_text("distance (m),tilt (deg)\n" + "\n".join(lines) + "\n", encoding="utf-8")
    height = 50 - np.append(0.0, np.cumsum(np.diff(BREAKS_M) * np.sin(TILT_RAD)))
    errors = np.random.default_rng(19).normal(0, LEVEL_SD_M, 4)
    levels = [
        [station, float(np.interp(station, BREAKS_M, height)) + error, LEVEL_SD_M]
        for station, error in zip((0.0, 30.0, 70.0, 99.9), errors.tolist(), strict=True)
    ]
    found.levels.write_text(json.dumps(levels), encoding="utf-8")
    return found


class Figures(NamedTuple):
    """What both have: heights every two metres with their standard deviations, and volumes of pools."""

    height: Floats
    height_sd: Floats
    pools_m3: Floats


STATIONS = np.arange(1.0, 99.0, 2.0)


def of_fallwise(found: tuple[fw.Lateral, str]) -> Figures:
    """From a solved lateral."""
    lateral, _ = found
    at = lateral.at(STATIONS)
    return Figures(at.elevation_m, at.elevation_sd_m, lateral.pools().volume_m3)


def of_packages(found: with_packages.Found) -> Figures:
    """From the notebook."""
    height = np.interp(STATIONS, found.edge, found.height)
    return Figures(height, np.interp(STATIONS, found.edge, found.height_sd), found.pools_m3)


def compare(name: str, ours: Any, theirs: Any) -> list[Check]:
    """Heights, and what the large pools hold."""
    apart = np.abs(ours.height - theirs.height) / ours.height_sd
    large = [np.sort(of.pools_m3)[::-1][:2] for of in (ours, theirs)]
    why = "both estimate the same heights from the same readings, with other breaks and weights: well within one"
    return [
        check(f"{name}: heights every 2 m, standard deviations", float(apart.max()), 1.0, why),
        check(f"{name}: volume of the two bellies, relative", float(np.abs(large[1] / large[0] - 1).max()), 0.1, VOLUME),
    ]


VOLUME = "a standard deviation of the sill is some millimetres in a depth of thirty, and a volume goes as its 5/2 power"


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    of = files(given.folder)
    ways = [
        Way("fallwise", lambda: with_fallwise.solve(*of, 0), read=of_fallwise),
        Way("fallwise, 1,000 draws", lambda: with_fallwise.solve(*of, 1000), read=of_fallwise),
        Way("notebook of packages", lambda: with_packages.solve(*of), ("pandas", "ruptures", "scipy.optimize"), of_packages),
    ]
    yield row("2,000 readings, 4 levels: log to heights and pools, warm", ways, compare, given.pace)
