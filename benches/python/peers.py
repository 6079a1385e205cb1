"""The Python package beside general packages and plain numpy, in the same run: prints a table.

Build a wheel and install it beside what it is measured against, then run this file:

    python -m venv venv && venv/bin/pip install -r benches/python/requirements.txt fallwise-*.whl
    venv/bin/python benches/python/peers.py

Everything on one thread unless the row says otherwise; medians. What is compared is first seen to agree, so that no row is of
two different things.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# Most of the packages have no types, or only some.

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

# Before numpy is imported, which reads it once.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import fluids  # noqa: E402
import fluids.vectorized  # noqa: E402
import numpy as np  # noqa: E402
import ruptures  # noqa: E402
import wellpathpy  # noqa: E402

import fallwise as fw  # noqa: E402
from fallwise import chain, path, section  # noqa: E402
from fallwise.units import deg  # noqa: E402

# Seconds that a row may take, over all its rounds.
BUDGET_S = 2.0
PROCESSES = 15


def seconds(call: Callable[[], Any], least: int = 3) -> float:
    """Median time of a call, after one that is not counted."""
    call()
    times: list[float] = []
    while len(times) < least or (sum(times) < BUDGET_S and len(times) < 200):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return statistics.median(times)


def each(call: Callable[[], Any], count: int = 20_000) -> float:
    """Time of one of many calls, for what takes microseconds."""

    def loop() -> None:
        for _ in range(count):
            call()

    return seconds(loop) / count


def processes(*codes: str) -> list[float]:
    """Median time of whole processes, by turns, so that what else the machine does falls on all of them."""
    times: list[list[float]] = [[] for _ in codes]
    for turn in range(PROCESSES + 1):
        for code, of in zip(codes, times, strict=True):
            start = perf_counter()
            subprocess.run([sys.executable, "-c", code], check=True, stdout=subprocess.DEVNULL)
            if turn > 0:  # the first writes bytecode and fills the cache of files
                of.append(perf_counter() - start)
    return [statistics.median(of) for of in times]


def say(seconds: float) -> str:
    """A time in the unit that suits it."""
    for unit, factor in (("s", 1.0), ("ms", 1e3), ("µs", 1e6)):
        if seconds * factor >= 1.0:
            return f"{seconds * factor:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"


def row(work: str, ours: float, *peers: tuple[str, float]) -> None:
    """One line of the table."""
    beside = "; ".join(f"{name} {say(time)} ({ours / time:.2g})" for name, time in peers)
    print(f"| {work} | {say(ours)} | {beside} |", flush=True)


def imports() -> None:
    """What a program waits before its first line."""
    names = ("fallwise", "wellpathpy", "fluids", "scipy.optimize", "ruptures")
    plain, *times = processes("import numpy", *(f"import numpy, {name}" for name in names))
    ours, *others = (time - plain for time in times)
    row(f"import beyond numpy (which takes {say(plain)} with its process)", ours, *zip(names[1:], others, strict=True))


def scalars() -> None:
    """What a call costs that computes next to nothing."""
    depth, bore = 0.03, 0.1

    def plain() -> float:
        angle = 2 * math.asin(math.sqrt(depth / bore))
        return bore * bore / 4 * (angle - math.sin(angle) * math.cos(angle))

    assert math.isclose(section.area(depth, bore_m=bore), plain(), rel_tol=1e-14)
    assert math.isclose(fluids.A_partial_circle(bore, depth), plain(), rel_tol=1e-12)
    row(
        "area of one depth: a call with numbers",
        each(lambda: section.area(depth, bore_m=bore)),
        ("fluids", each(lambda: fluids.A_partial_circle(bore, depth))),
        ("math by hand", each(plain)),
    )
    one = np.array(0.5)
    row(
        "sine of one number",
        each(lambda: fw.math.sin(0.5)),
        ("math", each(lambda: math.sin(0.5))),
        ("numpy", each(lambda: np.sin(one))),
    )


def paths() -> None:
    """A direction at each of a million stations."""
    n = 1_000_000
    station = 0.1 * np.arange(n)
    tilt, azimuth = 0.02 + 0.01 * np.sin(0.37 * np.arange(n)), 1.0 + 0.05 * np.sin(0.011 * np.arange(n))
    inclination, bearing = 90 - np.degrees(tilt), np.degrees(azimuth)

    def plain() -> Any:
        """Chord form, by whole arrays."""
        across = np.cos(tilt)
        u = np.column_stack([across * np.sin(azimuth), across * np.cos(azimuth), -np.sin(tilt)])
        half = np.arcsin(0.5 * np.sqrt(((u[1:] - u[:-1]) ** 2).sum(axis=1)))
        ratio = np.where(half < 1e-4, 1 + half**2 / 3, np.tan(half) / np.where(half < 1e-4, 1.0, half))
        moves = (0.5 * np.diff(station) * ratio)[:, None] * (u[1:] + u[:-1])
        return np.concatenate([np.zeros((1, 3)), np.cumsum(moves, axis=0)])

    def theirs() -> Any:
        return wellpathpy.deviation(station, inclination, bearing).minimum_curvature()

    found = path.minimum_curvature(station, tilt, azimuth)
    # A million sums along 100 km, each rounded to 1.5e-11 at most: metres.
    assert np.abs(found - plain()).max() < 1e-6
    assert np.abs(found[:, 0] - theirs().easting).max() < 1e-6
    ours = seconds(lambda: path.minimum_curvature(station, tilt, azimuth))
    row("path by minimum curvature, 1e6 stations", ours, ("wellpathpy", seconds(theirs)), ("numpy", seconds(plain)))


def sections() -> None:
    """An array of depths in one bore."""
    vectorized: Any = fluids.vectorized
    depth = np.random.default_rng(1).uniform(0.002, 0.098, 10_000)

    def plain() -> Any:
        angle = 2 * np.arcsin(np.sqrt(depth / 0.1))
        return 0.1 * 0.1 / 4 * (angle - np.sin(angle) * np.cos(angle))

    def theirs() -> Any:
        return vectorized.A_partial_circle(0.1, depth)

    assert np.allclose(section.area(depth, bore_m=0.1), plain(), rtol=1e-12, atol=0)
    assert np.allclose(theirs(), plain(), rtol=1e-11, atol=0)
    ours = seconds(lambda: section.area(depth, bore_m=0.1))
    row("area of 1e4 depths in a circle", ours, ("fluids.vectorized", seconds(theirs)), ("numpy", seconds(plain)))


def breaks() -> None:
    """The exact optimum of squares and a penalty."""
    n, noise = 10_000, 0.004
    random = np.random.default_rng(3)
    for count in (250, 6, 0):
        level = np.where(np.arange(count + 1) % 2 == 0, 0.02, 0.02 + 4 * noise)
        tilt = np.repeat(level, np.diff(np.linspace(0, n, count + 2).astype(int))) + random.normal(0, noise, n)
        station, penalty = 0.05 * np.arange(n), 3 * math.log(n)
        column = tilt.reshape(-1, 1)

        def ours(station: Any = station, tilt: Any = tilt, penalty: float = penalty) -> Any:
            return chain.fit_chain(station, tilt, noise_sd_rad=noise, penalty=penalty)

        def kernel(column: Any = column, penalty: float = penalty) -> Any:
            return ruptures.KernelCPD(kernel="linear", min_size=1).fit(column).predict(pen=penalty * noise**2)

        assert ours().starts.tolist() == [0, *kernel()[:-1]]
        row(f"breaks in 1e4 readings, {count} there (L2, exact)", seconds(ours), ("ruptures KernelCPD", seconds(kernel)))


def log(seed: int, metres: float, spacing_m: float) -> fw.Run:
    """Pipe with a belly in every third, as the benchmarks of the core have it."""
    middle = -0.010 if seed % 3 == 0 else 0.018
    truth = fw.simulation.Truth(breaks_m=[0, 10, 12, metres], tilt_rad=[0.022, middle, 0.024])
    rounding = fw.simulation.Rounding(unit="degrees", step=0.1)
    head = fw.simulation.Head(zero_rad=deg(0.1), noise_sd_rad=deg(0.25), rounding=rounding)
    return fw.simulate(truth, head=head, spacing_m=spacing_m, seed=seed).run


def cold() -> None:
    """A program that reads a log, solves it and says what was found."""
    run = log(0, 100.0, 0.05)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "log.csv"
        lines = [
            f"{counter:.3f},{math.degrees(reading):.2f}" for counter, reading in zip(run.counter_m, run.reading_rad, strict=True)
        ]
        file.write_text("counter_m,tilt_deg\n" + "\n".join(lines) + "\n", encoding="utf-8")
        read = f"import numpy, fallwise as fw; log = fw.read_log({str(file)!r}); pipe = fw.Pipe.standard('SDR 35', '4 in')"
        solve = "fw.solve(log.run, pipe=pipe, rulebook='ipc-2021', draws={}).summary()"
        codes = ["import numpy", "import numpy, fallwise", *(f"{read}; {solve.format(draws)}" for draws in (0, 1000))]
        plain, imported, *whole = processes(*codes)
    for draws, time in zip((0, 1000), whole, strict=True):
        work = f"whole lateral from a cold process, beyond numpy: log of {len(run)} readings, {draws} draws, summary"
        row(work, time - plain, ("of which the import", imported - plain))


def many() -> None:
    """All laterals of an export."""
    runs = {f"lateral {i}": log(i % 60, 25.0, 0.05) for i in range(300)}
    pipe = {"lateral_id": list(runs), "pipe_class": ["SDR 35"] * len(runs), "size": ["4 in"] * len(runs)}

    def solve(threads: int, draws: int) -> fw.Many:
        return fw.solve_many(runs, pipes=pipe, rulebook="ipc-2021", draws=draws, threads=threads)

    found = solve(2, 0)
    assert len(found.summary) == 300
    assert len(found.errors) == 0
    for draws in (0, 200):
        one, two = (seconds(partial(solve, threads, draws)) for threads in (1, 2))
        row(f"300 laterals of {len(runs['lateral 0'])} readings, {draws} draws, two threads", two, ("one thread", one))


def main() -> None:
    """Print the table."""
    print("| work | fallwise | beside it (ours over theirs) |")
    print("| --- | --- | --- |")
    for part in (imports, scalars, paths, sections, breaks, cold, many):
        part()


if __name__ == "__main__":
    main()
