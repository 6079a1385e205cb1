"""Nothing is left behind by calls, whether they end well or in an error.

Calls are made by this file as a program of its own: what a process that has run other tests holds free would hide a leak.
"""

from __future__ import annotations

import gc
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import fallwise as fw
from fallwise import section

STATM = Path("/proc/self/statm")
# The least that a call can leave is one float, 24 bytes, which of 1e5 calls are 2.4 MB. What allocators keep at hand after the
# warming up comes in arenas of 1 MiB.
CALLS = 100_000
BOUND = 2_000_000


def resident() -> int:
    """Bytes of this process that are in memory."""
    gc.collect()
    return int(STATM.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def scalars() -> None:
    section.area(0.05, bore_m=0.1)


DEPTHS = np.linspace(0.0, 0.1, 20)


def arrays() -> None:
    section.area(DEPTHS, bore_m=0.1)


def lists() -> None:
    fw.units.ft([1.0, 2, 3.0])


def paths() -> None:
    fw.path.minimum_curvature(DEPTHS, 0.02, DEPTHS)


def words() -> None:
    fw.units.say_slope(0.02)


def errors() -> None:
    try:
        section.area([0.01, float("nan")], bore_m=0.1)
    except fw.InputError:
        return
    raise AssertionError("no error")


def no_numbers() -> None:
    try:
        section.area("deep", bore_m=0.1)
    except fw.InputError:
        return
    raise AssertionError("no error")


RUN = fw.Run(counter_m=[0.5, 1.5, 2.5], reading_rad=[0.02, 0.021, 0.019], by_hand=True)
LATERAL = fw.solve(RUN, draws=0)


def columns() -> None:
    _ = LATERAL.segments.tilt_rad


def rows() -> None:
    _ = LATERAL.segments[0]


def streams() -> None:
    LATERAL.segments.__arrow_c_stream__()


def laterals() -> None:
    fw.solve(RUN, draws=0)


KEPT: list[float] = []


def leaking() -> None:
    """What this file is to find."""
    KEPT.append(section.area(0.05, bore_m=0.1))


# A table, a row or a stream that is left takes more than ten floats do, and a lateral more than four hundred.
KINDS: dict[Callable[[], None], int] = {
    **dict.fromkeys([scalars, arrays, lists, paths, words, errors, no_numbers, leaking], CALLS),
    **dict.fromkeys([columns, rows, streams], CALLS // 10),
    laterals: CALLS // 400,
}


def main() -> None:
    grown = {}
    for call, calls in KINDS.items():
        for _ in range(calls // 5):
            call()
        before = resident()
        for _ in range(calls):
            call()
        grown[call.__name__] = resident() - before
    print(json.dumps(grown))


@pytest.mark.skipif(not STATM.exists(), reason="memory is read from /proc, which Linux has")
def test_memory_does_not_grow() -> None:
    told = subprocess.run([sys.executable, __file__], capture_output=True, text=True, check=True, timeout=120).stdout
    grown = json.loads(told)
    assert grown.pop("leaking") > BOUND
    assert {name: size for name, size in grown.items() if size >= BOUND} == {}
    assert len(grown) == len(KINDS) - 1


if __name__ == "__main__":
    main()
