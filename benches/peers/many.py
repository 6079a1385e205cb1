"""All laterals of an export. Nothing else does it, so that fallwise stands beside itself, on one thread and on two."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

import fallwise as fw
from fallwise.units import deg

from .measure import Given, Way, check, row
from .record import Check, Row

TITLE = "Many laterals at once"
SAYS = (
    """An export of a street: laterals of 500 readings each, solved and held against a rulebook by `solve_many`. No package is
    beside it; the row shows what a second thread is worth. Results are the same bits on any number of threads.""",
)


def log(seed: int) -> fw.Run:
    """25 m of pipe, with a belly in every third."""
    middle = -0.010 if seed % 3 == 0 else 0.018
    truth = fw.simulation.Truth(breaks_m=[0, 10, 12, 25], tilt_rad=[0.022, middle, 0.024])
    rounding = fw.simulation.Rounding(unit="degrees", step=0.1)
    head = fw.simulation.Head(zero_rad=deg(0.1), noise_sd_rad=deg(0.25), rounding=rounding)
    return fw.simulate(truth, head=head, spacing_m=0.05, seed=seed).run


def compare(name: str, ours: fw.Many, theirs: fw.Many) -> list[Check]:
    """Rows of the summary that are unlike."""
    unlike = sum(one != other for one, other in zip(ours.summary.to_rows(), theirs.summary.to_rows(), strict=True))
    return [check(f"{name}: laterals summed up in other words or figures", unlike, 0, "the same bits are promised")]


def rows(given: Given) -> Iterator[Row]:
    """The theme."""
    count = 30 if given.pace.quick else 100
    runs = {f"lateral {i}": log(i % 60) for i in range(count)}
    pipes = {"lateral_id": list(runs), "pipe_class": ["SDR 35"] * count, "size": ["4 in"] * count}

    def solve(threads: int, draws: int) -> Any:
        return fw.solve_many(runs, pipes=pipes, rulebook="ipc-2021", draws=draws, threads=threads)

    for draws in (0, 200):
        ways = [
            Way("fallwise, one thread", partial(solve, 1, draws)),
            Way("fallwise, two threads", partial(solve, 2, draws)),
        ]
        yield row(f"{count} laterals, {draws} draws", ways, compare, given.pace)
