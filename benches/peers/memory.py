"""Peak memory of one way in a process of its own: `python -m peers.memory THEME N FOLDER [WAY]` prints it as JSON.

Without a way it makes the input and prints the names of the ways, so that making it is in nobody's peak.
"""

from __future__ import annotations

import json
import resource
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from . import breaks, logs, paths
from .measure import Way
from .packages import missing

SMALL = 1000


def peak_mb() -> float:
    """Most that this process has had in memory so far."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 1e6 if sys.platform == "darwin" else most * 1024 / 1e6


def arrays_written(of: Any, file: Path) -> None:
    """A named tuple of arrays."""
    np.savez(file, **of._asdict())


def arrays_read(kind: Callable[..., Any], file: Path) -> Any:
    """The same again."""
    with np.load(file) as found:
        return kind(**{name: found[name] for name in found.files})


class Big(NamedTuple):
    """A row that is large enough to be asked for its memory."""

    suffix: str
    write: Callable[[int, Path], None]
    ways: Callable[[Path], list[Way]]


BIG = {
    "paths": Big(
        ".npz",
        lambda n, file: arrays_written(paths.survey(n), file),
        lambda file: paths.ways(arrays_read(paths.Survey, file)),
    ),
    "breaks": Big(
        ".npz",
        lambda n, file: arrays_written(breaks.readings(n, n // 40), file),
        lambda file: breaks.ways(arrays_read(breaks.Readings, file), "takes from ten seconds to hours"),
    ),
    "logs": Big(".csv", lambda n, file: logs.write(file, n), logs.ways),
}


def make(of: Big, theme: str, n: int, folder: Path) -> list[str]:
    """Both inputs; names of the ways."""
    for size in (SMALL, n):
        of.write(size, folder / f"{theme}-{size}{of.suffix}")
    return [way.name for way in of.ways(folder / f"{theme}-{SMALL}{of.suffix}")]


def measure(of: Big, theme: str, n: int, folder: Path, name: str) -> dict[str, Any]:
    """The peaks, or why there are none."""
    small = next(way for way in of.ways(folder / f"{theme}-{SMALL}{of.suffix}") if way.name == name)
    why = small.not_run or missing(small.needs)
    if why:
        return {"why": why}
    imported = peak_mb()
    small.call()
    after = peak_mb()
    large = next(way for way in of.ways(folder / f"{theme}-{n}{of.suffix}") if way.name == name)
    found = large.call()
    whole = peak_mb()
    del found
    return {"imported_mb": round(imported, 1), "small_mb": round(after, 1), "peak_mb": round(whole, 1)}


def main() -> None:
    """Run what the command line asks for."""
    theme, n, folder = sys.argv[1], int(sys.argv[2]), Path(sys.argv[3])
    of = BIG[theme]
    found = measure(of, theme, n, folder, sys.argv[4]) if len(sys.argv) > 4 else make(of, theme, n, folder)
    json.dump(found, sys.stdout)


if __name__ == "__main__":
    main()
