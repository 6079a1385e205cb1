"""Whole processes: how long each takes, and the most memory that it has. By turns, as all that is measured."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

from .record import LeftOut, Process, Processes

BENCHES = Path(__file__).resolve().parents[1]

#: Modules with what each is for.
IMPORTS = (
    "fallwise",
    "wellpathpy",
    "welleng.survey",
    "fluids",
    "pandas",
    "polars",
    "numba",
    "gtsam",
    "scipy.optimize",
    "ruptures",
)

BEYOND = "Times and memory are those beyond a process that imports numpy alone."
IMPORTING = f"Processes that import numpy and one package, and end. {BEYOND}"
COLD = f"The same programs as in the row of the whole lateral above, from the start of Python to the last line printed. {BEYOND}"

#: Libraries read these once, when they are loaded.
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS", "POLARS_MAX_THREADS")

#: Of everything that is measured: one thread each.
ENVIRONMENT = {**os.environ, **dict.fromkeys(THREADS, "1"), "PYTHONPATH": str(BENCHES)}


def one(arguments: list[str]) -> tuple[float, float, float]:
    """Seconds, seconds of the processor and peak in MB of a process that must end well.

    This process is small, so that what a child has before it has loaded its own program is below any peak.
    """
    start = perf_counter()
    child = subprocess.Popen([sys.executable, *arguments], stdout=subprocess.DEVNULL, env=ENVIRONMENT)
    _, status, used = os.wait4(child.pid, 0)
    took = perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise subprocess.CalledProcessError(child.returncode, child.args)
    processor = used.ru_utime + used.ru_stime
    return took, processor, used.ru_maxrss / 1e6 if sys.platform == "darwin" else used.ru_maxrss * 1024 / 1e6


def by_turns(programs: dict[str, list[str]], rounds: int) -> list[Process]:
    """All of them, in rounds. The first round is not counted: it writes bytecode and fills the system's cache of files."""
    runs: list[Process] = [{"what": what, "seconds": [], "processor": [], "peak_mb": 0.0} for what in programs]
    peaks: list[list[float]] = [[] for _ in programs]
    for turn in range(rounds + 1):
        for run, of, arguments in zip(runs, peaks, programs.values(), strict=True):
            took, processor, peak = one(arguments)
            if turn > 0:
                run["seconds"].append(float(f"{took:.4g}"))
                run["processor"].append(float(f"{processor:.4g}"))
                of.append(peak)
    for run, of in zip(runs, peaks, strict=True):
        run["peak_mb"] = round(sorted(of)[len(of) // 2], 1)
    return runs


def had(name: str) -> bool:
    """Whether a module can be imported."""
    command = [sys.executable, "-c", f"import {name}"]
    return subprocess.run(command, check=False, capture_output=True, env=ENVIRONMENT).returncode == 0


def imports(rounds: int) -> Processes:
    """What a program waits before its first line."""
    there = [name for name in IMPORTS if had(name)]
    left: list[LeftOut] = [{"way": name, "why": "could not be imported"} for name in IMPORTS if name not in there]
    programs = {"numpy": ["-c", "import numpy"], **{name: ["-c", f"import numpy, {name}"] for name in there}}
    return {
        "title": "Importing a package",
        "says": [IMPORTING],
        "same_work": False,
        "runs": by_turns(programs, rounds),
        "left_out": left,
    }


def whole(folder: Path, rounds: int) -> Processes:
    """The lateral of the theme `lateral`, which has left its files in the folder."""
    log, levels = str(folder / "lateral.csv"), str(folder / "levels.json")
    programs = {
        "numpy": ["-c", "import numpy"],
        "fallwise": ["-m", "peers.with_fallwise", log, levels, "0"],
        "fallwise, 1,000 draws": ["-m", "peers.with_fallwise", log, levels, "1000"],
    }
    left: list[LeftOut] = []
    if all(had(name) for name in ("pandas", "ruptures", "scipy.optimize")):
        programs["notebook of packages"] = ["-m", "peers.with_packages", log, levels]
    else:
        left = [{"way": "notebook of packages", "why": "its packages could not be imported"}]
    return {
        "title": "The whole lateral from a cold process",
        "says": [COLD],
        "same_work": True,
        "runs": by_turns(programs, rounds),
        "left_out": left,
    }
