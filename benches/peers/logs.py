"""Reading a log: a million rows of cable counter and tilt."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

import fallwise as fw

from .measure import Given, Way, check, row
from .packages import package
from .record import Check, Row

TITLE = "Reading a log"
SAYS = (
    """Two columns, metres and degrees, in a file that the system has in memory. fallwise finds delimiter, decimal mark,
    columns and units, gives radians, and names row and column of the first cell that is wrong. The other ways give columns as
    they stand; of a bad cell pandas and polars make a column of texts, without a word.""",
)


def write(file: Path, n: int) -> None:
    """A log of so many rows."""
    tilt = np.random.default_rng(17).normal(1.2, 0.2, n)
    rows = (f"{0.01 * i:.2f},{of:.2f}" for i, of in enumerate(tilt.tolist()))
    file.write_text("distance (m),tilt (deg)\n" + "\n".join(rows) + "\n", encoding="utf-8")


def by_csv(file: Path) -> Any:
    """The standard library."""
    with file.open(newline="", encoding="utf-8") as lines:
        reader = csv.reader(lines)
        next(reader)
        pairs = [(float(counter), float(tilt)) for counter, tilt in reader]
    return np.array(pairs)


def by_pandas(file: Path) -> Any:
    """Its parser in C."""
    return package("pandas").read_csv(file)


def by_polars(file: Path) -> Any:
    """On one thread."""
    return package("polars").read_csv(file)


def ways(file: Path) -> list[Way]:
    """All ways; what is compared are counter in metres and tilt in degrees, before any conversion of units."""
    return [
        Way(
            "fallwise",
            lambda: fw.read_log(file),
            read=lambda found: np.column_stack([found.run.counter_m, np.degrees(found.run.reading_rad)]),
        ),
        Way("pandas read_csv", lambda: by_pandas(file), ("pandas",), lambda found: found.to_numpy()),
        Way("polars read_csv", lambda: by_polars(file), ("polars",), lambda found: found.to_numpy()),
        Way("numpy loadtxt", lambda: np.loadtxt(file, delimiter=",", skiprows=1)),
        Way("csv and float", lambda: by_csv(file)),
    ]


def compare(name: str, ours: Any, theirs: Any) -> list[Check]:
    """Counters, which are exact, and tilts, which have been to radians and back."""
    why = "every way rounds a decimal to the nearest number"
    there = "to radians and back are four roundings"
    return [
        check(f"{name}: counter, m", float(np.abs(theirs[:, 0] - ours[:, 0]).max()), 0.0, why),
        check(f"{name}: tilt, degrees", float(np.abs(theirs[:, 1] - ours[:, 1]).max()), 4 * float(np.spacing(2.5)), there),
    ]


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    n = 100_000 if given.pace.quick else 1_000_000
    file = given.folder / f"log-{n}.csv"
    write(file, n)
    yield row(f"{n:,} rows, {file.stat().st_size / 1e6:.1f} MB", ways(file), compare, given.pace)
