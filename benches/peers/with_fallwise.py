"""A whole lateral by fallwise: a log read, solved with levelled inverts, held against a rule, summed up.

As a program, `python -m peers.with_fallwise LOG LEVELS DRAWS`, it prints the summary.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import fallwise as fw

BORE_M = 0.1


def solve(log: Path, levels: Path, draws: int) -> tuple[fw.Lateral, str]:
    """Solve it and sum it up, which asks for all answers."""
    run = fw.read_log(log).run
    known = json.loads(levels.read_text(encoding="utf-8"))
    ties = [fw.InvertTie(station_m=station, elevation_m=elevation, sd_m=sd) for station, elevation, sd in known]
    pipe = fw.Pipe(bore=fw.Circle(diameter_m=BORE_M), nominal=fw.Nominal.parse("4 in"))
    lateral = fw.solve(run, pipe=pipe, ties=ties, rulebook="ipc-2021", draws=draws)
    return lateral, lateral.summary()


if __name__ == "__main__":
    print(solve(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))[1])
