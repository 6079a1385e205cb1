"""Ways of doing one thing: first seen to agree, then timed by turns, so that what else the machine does falls on all of them."""

from __future__ import annotations

import gc
import math
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, process_time
from typing import Any, NamedTuple

from .packages import missing
from .record import Check, LeftOut, Row, Timed

#: A measurement takes at least this long: what is quicker is called several times in it. A clock's tick is 0.1 µs or less.
LEAST_S = 2e-4


class DisagreementError(Exception):
    """Two ways do not do the same."""


@dataclass(frozen=True)
class Way:
    """A way of doing it."""

    name: str
    call: Callable[[], Any]
    #: Modules that it needs beyond numpy and fallwise.
    needs: tuple[str, ...] = ()
    #: What is compared of what the call gives.
    read: Callable[[Any], Any] = lambda found: found
    #: Why it is not run, if it is not.
    not_run: str = ""


@dataclass(frozen=True)
class Pace:
    """How long to measure."""

    quick: bool
    #: Of one way in one row, over all its rounds.
    budget_s: float
    least: int
    most: int = 100


class Given(NamedTuple):
    """What a theme is given."""

    pace: Pace
    #: For files that it makes, or leaves for the processes that are measured after it.
    folder: Path


FULL = Pace(quick=False, budget_s=1.5, least=5)
QUICK = Pace(quick=True, budget_s=0.2, least=3, most=15)

#: Checks of what another way found (third) against what fallwise did (second); the first is its name.
Compare = Callable[[str, Any, Any], Sequence[Check]]


def check(what: str, difference: float, tolerance: float, why: str) -> Check:
    """A difference that may not be more than its tolerance, for which there is a reason."""
    # Not-a-number is never within.
    if not difference <= tolerance:
        raise DisagreementError(f"{what}: {difference:.3g} apart, where {tolerance:.3g} is allowed ({why})")
    return {"what": what, "difference": float(f"{difference:.3g}"), "tolerance": float(f"{tolerance:.3g}"), "why": why}


def row(work: str, ways: Iterable[Way], compare: Compare, pace: Pace) -> Row:
    """One row: the first way is fallwise, and all others are held against it."""
    out: Row = {"work": work, "timed": [], "left_out": [], "checks": []}
    runs: list[tuple[Way, Timed]] = []
    reference: Any = None
    for way in ways:
        why = way.not_run or missing(way.needs)
        if why:
            left: LeftOut = {"way": way.name, "why": why}
            out["left_out"].append(left)
            continue
        start = process_time()
        found = way.call()
        first_s = rounded(process_time() - start)
        runs.append((way, {"way": way.name, "seconds": [], "processor": [], "first_s": first_s}))
        found = way.read(found)
        if reference is None:
            reference = found
        else:
            out["checks"] += compare(way.name, reference, found)
    by_turns(runs, pace)
    out["timed"] = [timed for _, timed in runs]
    print(f"  {work}: {', '.join(t['way'] for t in out['timed'])}", file=sys.stderr, flush=True)
    return out


def by_turns(runs: Sequence[tuple[Way, Timed]], pace: Pace) -> None:
    """Rounds in which each way has its turn, until each has had its time."""
    # The first call may have compiled, for a second or two; what is slow for a better reason need not be called for this.
    warm = {way.name: timed["first_s"] if timed["first_s"] > 8 else once(way.call, 1)[0] for way, timed in runs}
    counts = {name: max(1, math.ceil(LEAST_S / seconds)) for name, seconds in warm.items()}
    gc.collect()
    gc.disable()
    try:
        open_ = list(runs)
        while open_:
            for way, timed in open_:
                seconds, processor = once(way.call, counts[way.name])
                timed["seconds"].append(rounded(seconds))
                timed["processor"].append(rounded(processor))
            open_ = [(way, timed) for way, timed in open_ if goes_on(timed, counts[way.name], pace)]
    finally:
        gc.enable()


def once(call: Callable[[], Any], count: int) -> tuple[float, float]:
    """Seconds of one of so many calls: waited, and of the processor."""
    start, used = perf_counter(), process_time()
    for _ in range(count):
        call()
    return (perf_counter() - start) / count, (process_time() - used) / count


def goes_on(timed: Timed, count: int, pace: Pace) -> bool:
    """Whether a way has another turn. What takes seconds has two."""
    rounds, spent = len(timed["seconds"]), sum(timed["seconds"]) * count
    least = 2 if timed["seconds"][0] > 2 else pace.least
    return rounds < least or (spent < pace.budget_s and rounds < pace.most)


def rounded(seconds: float) -> float:
    """To four digits: more would be noise in a file that is compared line by line."""
    return float(f"{seconds:.4g}")
