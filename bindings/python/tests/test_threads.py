"""Other threads go on meanwhile, and Ctrl-C ends a wait."""

from __future__ import annotations

import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from conftest import truth

import fallwise as fw


def test_threads_get_the_same_answers(run: fw.Run, lateral: fw.Lateral) -> None:
    def solved(_: int) -> str:
        return fw.solve(run, draws=100).answers.to_json()

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(solved, range(8)))) == 1
    # One lateral asked by many threads at once computes its answers once.
    fresh = fw.solve(run, draws=100)
    with ThreadPoolExecutor(4) as pool:
        assert len({id(answers) for answers in pool.map(lambda _: fresh.answers, range(8))}) == 1


def test_other_threads_go_on() -> None:
    log = fw.simulate(truth(), spacing_m=0.002, seed=1).run
    ticks, done = [0], threading.Event()

    def tick() -> None:
        while not done.is_set():
            ticks[0] += 1
            time.sleep(0.001)

    thread = threading.Thread(target=tick)
    thread.start()
    before = time.perf_counter()
    fw.solve(log, draws=2000).summary()
    took = time.perf_counter() - before
    done.set()
    thread.join()
    # With the lock held there would be a handful at most.
    assert ticks[0] > 0.05 * took / 0.001


@pytest.mark.skipif(sys.platform == "win32", reason="signals are sent otherwise there")
def test_ctrl_c_ends_the_wait() -> None:
    code = """
import fallwise as fw
truth = fw.simulation.Truth(breaks_m=[0, 10, 12, 24], tilt_rad=[0.02, -0.01, 0.022])
lateral = fw.solve(fw.simulate(truth, seed=1).run, draws=0)
print("ready", flush=True)
try:
    lateral.draws(5_000_000)
except KeyboardInterrupt:
    print("stopped", flush=True)
    import os
    os._exit(0)
"""
    child = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    time.sleep(0.2)
    before = time.perf_counter()
    child.send_signal(signal.SIGINT)
    out, _ = child.communicate(timeout=30)
    assert out == "stopped\n"
    assert child.returncode == 0
    # It looks every 50 ms.
    assert time.perf_counter() - before < 2
