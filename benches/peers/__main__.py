"""The run: every theme in a process of its own, then whole processes, then memory; at the end the page."""

from __future__ import annotations

import argparse
import json
import os
import re
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from time import perf_counter
from typing import Any

from . import processes
from .machine import machine, versions
from .page import page
from .record import LeftOut, Measured, Peak, Theme

#: In the order of the page.
THEMES = ("paths", "breaks", "ties", "pools", "depths", "logs", "lateral", "sections", "many")

#: Themes with a row that is asked for its memory, and what is said of it.
MEMORY = {"paths": "path, {:,} stations", "breaks": "fit, {:,} readings, a break in 40", "logs": "log, {:,} rows"}


def child(*arguments: str) -> Any:
    """What a module of this package prints, as JSON. Where it fails, so does the run: its own words have been said."""
    command = [sys.executable, "-m", *arguments]
    ran = subprocess.run(command, stdout=subprocess.PIPE, env=processes.ENVIRONMENT, check=False)
    if ran.returncode != 0:
        sys.exit(f"peers: {' '.join(arguments)} failed, so that there is no page")
    return json.loads(ran.stdout)


def themes(names: list[str], folder: Path, quick: bool) -> list[Theme]:
    """Every theme."""
    found: list[Theme] = []
    for name in names:
        print(name, file=sys.stderr, flush=True)
        found.append(child("peers.theme", name, str(folder), *(["--quick"] if quick else [])))
    return found


def memory(n: int, folder: Path) -> tuple[list[Peak], list[LeftOut]]:
    """Peaks of the large rows."""
    peaks: list[Peak] = []
    left: list[LeftOut] = []
    for theme, words in MEMORY.items():
        work = words.format(n)
        for way in child("peers.memory", theme, str(n), str(folder)):
            print(f"memory: {work}, {way}", file=sys.stderr, flush=True)
            found = child("peers.memory", theme, str(n), str(folder), way)
            if "why" in found:
                left.append({"way": f"{way} ({work})", "why": found["why"]})
            else:
                small, large = found["small_mb"], found["peak_mb"]
                peaks.append({"work": work, "way": way, "imported_mb": found["imported_mb"], "small_mb": small, "peak_mb": large})
    return peaks, left


def run(quick: bool, only: list[str]) -> Measured:
    """All of it, or some themes alone."""
    began = perf_counter()
    # Before anything is run: the load is what others have made of the machine.
    on = machine()
    found, missing = versions()
    date = datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")
    with tempfile.TemporaryDirectory(prefix="peers-") as name:
        folder = Path(name)
        measured: Measured = {
            "date": date,
            "quick": quick,
            "minutes": 0.0,
            "load_after": 0.0,
            "machine": on,
            "versions": found,
            "missing": missing,
            "themes": themes(only or list(THEMES), folder, quick),
            "processes": [],
            "memory": [],
            "memory_left_out": [],
        }
        if not only:
            rounds = 3 if quick else 11
            measured["processes"] = [processes.imports(rounds), processes.whole(folder, rounds)]
            measured["memory"], measured["memory_left_out"] = memory(100_000 if quick else 1_000_000, folder)
    measured["load_after"] = round(os.getloadavg()[0], 2)
    measured["minutes"] = round((perf_counter() - began) / 60, 1)
    return measured


def as_text(of: Measured) -> str:
    """One line a list of figures, so that a run can be compared with the one before."""
    text = json.dumps(of, indent=1, ensure_ascii=False)
    return re.sub(r"\[([\d\s.,e+-]+)\]", lambda match: f"[{' '.join(match[1].split())}]", text) + "\n"


def main() -> None:
    """Run it as the command line asks."""
    parser = argparse.ArgumentParser(prog="run.sh", description=__doc__)
    parser.add_argument("--out", type=Path, help="where the page goes; without it, it is printed")
    parser.add_argument("--json", type=Path, help="where the figures go that the page is made from")
    parser.add_argument("--quick", action="store_true", help="smaller sizes and fewer rounds: to see that it runs")
    parser.add_argument("--only", nargs="+", choices=THEMES, default=[], help="these themes alone")
    asked = parser.parse_args()
    measured = run(asked.quick, asked.only)
    if asked.json:
        asked.json.write_text(as_text(measured), encoding="utf-8")
    text = page(measured)
    if asked.out:
        asked.out.write_text(text, encoding="utf-8")
    else:
        print(text, end="")


if __name__ == "__main__":
    main()
