"""A city solved by the programs of `examples/city`: the same bits from each, nothing lost, also where a worker is killed.

    python check.py WORKFOLDER                      what tests/city.sh runs
    python check.py WORKFOLDER --measure 1000 10000 memory and time of `one_machine.py`, printed
    python check.py WORKFOLDER --without-spark      where there is no Java

The programs are run as a user runs them, and watched from outside.
"""

from __future__ import annotations

import argparse
import math
import os
import re
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import pyarrow as pa
import pyarrow.dataset as ds
import pyarrow.parquet as pq

CITY = Path(__file__).resolve().parents[2] / "examples" / "city"
sys.path.insert(0, str(CITY))

import laterals  # noqa: E402
import make_city  # noqa: E402

#: A city for the engines: some hundred thousand readings in several files.
LATERALS = 3000
#: Seconds between two looks at the workers, and the part of a core above which one is at work.
LOOK, BUSY = 0.5, 0.08
#: So long an engine may take to say that it has lost a worker.
SIGN_SECONDS = 15
TICKS = os.sysconf("SC_CLK_TCK")
#: No program of this test takes nearly as long on two busy cores; it ends what hangs.
SECONDS = 1800


class Run(NamedTuple):
    seconds: float
    cpu_seconds: float
    peak_mib: float


@dataclass
class Program:
    """A program of the examples, running, with what it says in a file."""

    process: subprocess.Popen[bytes]
    said: Path
    started: float
    cpu_seconds: float = 0.0
    peak_mib: float = 0.0

    @classmethod
    def start(cls, work: Path, name: str, *arguments: object) -> Program:
        said = work / f"{name.removesuffix('.py')}.log"
        environment = {**os.environ, "PYTHONUNBUFFERED": "1", "SPARK_LOCAL_IP": "127.0.0.1"}
        with said.open("wb") as log:
            process = subprocess.Popen(
                [sys.executable, str(CITY / name), *map(str, arguments)],
                stdout=log,
                stderr=subprocess.STDOUT,
                cwd=work,
                env=environment,
                start_new_session=True,
            )
        return cls(process, said, time.monotonic())

    def text(self) -> str:
        return self.said.read_text(encoding="utf-8", errors="replace")

    def fail(self, why: str) -> SystemExit:
        """Ends it with all that it started, and says why."""
        if self.process.returncode is None:
            os.killpg(self.process.pid, signal.SIGKILL)
        return SystemExit(f"{self.said.name}: {why}\n{self.text()[-6000:]}")

    def ended(self, most_seconds: float = SECONDS) -> bool:
        if time.monotonic() - self.started > most_seconds:
            raise self.fail(f"it has run for {most_seconds} s")
        if self.process.returncode is not None:
            return True
        pid, status, usage = os.wait4(self.process.pid, os.WNOHANG)
        if not pid:
            return False
        self.process.returncode = os.waitstatus_to_exitcode(status)
        # Of the program, and of whatever it has started and waited for; Linux counts memory in KiB.
        self.cpu_seconds = usage.ru_utime + usage.ru_stime
        self.peak_mib = usage.ru_maxrss / 1024
        return True

    def wait(self, most_seconds: float = SECONDS) -> Run:
        while not self.ended(most_seconds):
            time.sleep(0.02)
        seconds = time.monotonic() - self.started
        if self.process.returncode != 0:
            raise self.fail(f"it ended with {self.process.returncode}")
        return Run(seconds, self.cpu_seconds, self.peak_mib)


# What processes there are, from /proc.


class Seen(NamedTuple):
    parent: int
    state: str
    ticks: int
    command: str


def process(pid: int) -> Seen | None:
    try:
        stat = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
        command = Path(f"/proc/{pid}/cmdline").read_text(encoding="utf-8", errors="replace").replace("\0", " ")
    except OSError:
        return None
    # The name of the program, in brackets, may have blanks in it.
    fields = stat[stat.rindex(")") + 2 :].split()
    return Seen(int(fields[1]), fields[0], int(fields[11]) + int(fields[12]), command)


def below(root: int) -> Iterator[tuple[int, Seen]]:
    """Every process that descends from one."""
    all_there = {int(name): seen for name in os.listdir("/proc") if name.isdigit() and (seen := process(int(name)))}
    for pid, seen in all_there.items():
        parent = seen.parent
        while parent in all_there and parent != root:
            parent = all_there[parent].parent
        if parent == root:
            yield pid, seen


def running(pid: int) -> bool:
    """Whether one of its threads has something to compute at this moment."""
    try:
        stats = [file.read_text(encoding="utf-8", errors="replace") for file in Path(f"/proc/{pid}/task").glob("*/stat")]
    except OSError:
        return False
    return any(stat[stat.rindex(")") + 2 :].startswith("R") for stat in stats)


def kill_one_at_work(
    program: Program, is_worker: Callable[[Seen, dict[int, Seen]], bool], parts_done: Callable[[], int], sign: str
) -> str:
    """Kills a worker process that is computing while some parts are done and others are not; says when that was.

    One that ends its task in that very moment loses nothing: where the engine gives no sign of a loss, another is killed.
    """
    before: dict[int, int] = {}
    killed = 0
    while True:
        if program.ended():
            raise program.fail(f"it ended before a worker was lost at work, {killed} killed")
        done = parts_done()
        there = dict(below(program.process.pid))
        workers = {pid: seen for pid, seen in there.items() if is_worker(seen, there)}
        # Busy: it has worked since the last look, more than it takes to wait. Other work may leave it a small part of a core.
        busy = [pid for pid, seen in workers.items() if pid in before and seen.ticks - before[pid] >= BUSY * LOOK * TICKS]
        victim = next(filter(running, busy), None)
        if done >= 2 and victim is not None:
            os.kill(victim, signal.SIGKILL)
            killed += 1
            patience = time.monotonic() + SIGN_SECONDS
            while time.monotonic() < patience and not program.ended():
                if sign in program.text():
                    return f"worker {victim} of {len(workers)} killed with {done} parts done"
                time.sleep(LOOK)
        before = {pid: seen.ticks for pid, seen in workers.items()}
        time.sleep(LOOK)


# What came out.


def results(folder: Path) -> pa.Table:
    """All rows, in one order."""
    table = ds.dataset(folder, format="parquet").to_table()
    return table.sort_by([("id", "ascending"), ("error", "ascending")]).combine_chunks()


def bits(column: pa.ChunkedArray) -> list[object]:
    """Values, of which two are equal where they are the same bits; what is absent is None."""
    if pa.types.is_floating(column.type):
        # Through numpy, in which a double and a whole number of 64 bits lie alike.
        values = column.fill_null(0.0).to_numpy().view("int64").tolist()
        return [None if absent else value for value, absent in zip(values, column.is_null().to_pylist(), strict=True)]
    return list(column.to_pylist())


def differences(one: pa.Table, other: pa.Table) -> list[str]:
    """Names of the columns that are not the same to the bit; "rows" where there are not as many."""
    if one.num_rows != other.num_rows:
        return ["rows"]
    if one.schema.names != other.schema.names or one.schema.types != other.schema.types:
        return ["schema"]
    return [name for name in one.schema.names if bits(one[name]) != bits(other[name])]


def must(condition: bool, otherwise: str) -> None:
    if not condition:
        raise SystemExit(otherwise)


def must_be_the_same(expected: pa.Table, folder: Path) -> None:
    found = results(folder)
    odd = differences(expected, found)
    must(not odd, f"{folder.name}: not the same bits as on one machine: {', '.join(odd)}")
    cautions = (folder / "_cautions.txt").read_text(encoding="utf-8")
    must("Other buried services are not shown" in cautions, f"{folder.name}: cautions are missing")


def must_be_whole(found: pa.Table, count: int) -> Counter[str]:
    """Every lateral once, solved or with an error, as the city was made."""
    ids = [name for name in found["id"].to_pylist() if name]
    must(sorted(ids) == [f"L{number:07}" for number in range(count)], "not every lateral comes once")
    errors = {
        name: error for name, error in zip(found["id"].to_pylist(), found["error"].to_pylist(), strict=True) if error and name
    }
    # By what `make_city` spoils; of the sixth kind only the row without an id is lost.
    spoilt = {number: (number // make_city.RUBBISH) % 6 for number in range(make_city.RUBBISH - 1, count, make_city.RUBBISH)}
    unsolved = {f"L{number:07}" for number, kind in spoilt.items() if kind != 5}
    must(set(errors) == unsolved, f"errors of {sorted(set(errors) ^ unsolved)[:5]} are not as the city was made")
    nobodys = [error for name, error in zip(found["id"].to_pylist(), found["error"].to_pylist(), strict=True) if not name]
    must(len(nobodys) == sum(kind == 5 for kind in spoilt.values()), f"{len(nobodys)} rows without an id are told")
    must(all(re.search(r"row \d+", error) for error in nobodys), f"no row is named: {nobodys[:1]}")
    solved = found.filter(found["error"].is_null())
    must(solved["slope"].null_count == 0 and solved["finding"].null_count == 0, "a lateral without an error has no figures")
    return Counter(solved["finding"].to_pylist())


def must_find_what_is_wrong(expected: pa.Table, readings: Path) -> None:
    """The comparison sees a last bit, and a lateral that was solved in two halves because a file ends within it."""
    at = expected.schema.get_field_index("slope")
    slope = expected["slope"].to_pylist()
    number = next(number for number, value in enumerate(slope) if value is not None)
    slope[number] = math.nextafter(slope[number], math.inf)
    odd = differences(expected, expected.set_column(at, expected.schema.field(at), pa.chunked_array([pa.array(slope)])))
    must(odd == ["slope"], f"a slope is one bit off, and the comparison says {odd}")
    cut = pa.concat_tables([laterals.solve(columns(file)) for file in sorted(readings.glob("*.parquet"))[:2]])
    twice = [name for name, count in Counter(cut["id"].to_pylist()).items() if name and count > 1]
    must(len(twice) == 1, f"files that are solved one by one should cut one lateral in two, not {twice}")


def columns(file: Path) -> dict[str, object]:
    table = pq.read_table(file)
    return {
        name: table[name].to_pylist() if pa.types.is_string(table[name].type) else table[name].to_numpy()
        for name in table.schema.names
    }


# The programs, one after the other.


def make(work: Path, count: int) -> Path:
    folder = work / f"city-{count}"
    if not folder.exists():
        Program.start(work, "make_city.py", count, folder).wait(math.inf)
    return folder


def measure(work: Path, counts: list[int]) -> None:
    for count in counts:
        readings = make(work, count)
        out = work / f"measured-{count}"
        run = Program.start(work, "one_machine.py", readings, out).wait(math.inf)
        found = results(out)
        must_be_whole(found, count)
        size = sum(file.stat().st_size for file in readings.iterdir()) / 2**20
        rows = sum(pq.ParquetFile(file).metadata.num_rows for file in readings.iterdir())
        print(
            f"{count:7} laterals, {rows:9} readings, {size:6.1f} MiB of Parquet: {run.seconds:7.1f} s, "
            f"{1e3 * run.cpu_seconds / count:.1f} ms of processor a lateral, peak {run.peak_mib:.0f} MiB",
            flush=True,
        )


def one_machine(work: Path, readings: Path) -> pa.Table:
    few = Program.start(work, "one_machine.py", make(work, LATERALS // 3), work / "one-few").wait()
    run = Program.start(work, "one_machine.py", readings, work / "one").wait()
    expected = results(work / "one")
    found = must_be_whole(expected, LATERALS)
    must(len(found) == 3, f"a city in which all is alike proves little: {found}")
    must_find_what_is_wrong(expected, readings)
    peaks = f"peak {few.peak_mib:.0f} MiB of {LATERALS // 3} laterals, {run.peak_mib:.0f} MiB of {LATERALS}"
    print(f"one machine: {run.seconds:.1f} s, {dict(sorted(found.items()))}; {peaks}", flush=True)
    # Of three times as many laterals nothing is kept but ids; what allocators and threads leave differs by some mebibytes.
    must(run.peak_mib < few.peak_mib + 40, "memory grows with the city")
    return expected


def dask(work: Path, readings: Path, expected: pa.Table) -> None:
    run = Program.start(work, "on_dask.py", readings, work / "dask").wait()
    must_be_the_same(expected, work / "dask")
    print(f"Dask: {run.seconds:.1f} s, the same bits", flush=True)

    out = work / "dask-killed"
    program = Program.start(work, "on_dask.py", readings, out)

    def parts() -> int:
        return len(list(out.glob("*.parquet")))

    def is_worker(seen: Seen, _: dict[int, Seen]) -> bool:
        return seen.parent == program.process.pid and "multiprocessing" in seen.command and "resource_tracker" not in seen.command

    told = kill_one_at_work(program, is_worker, parts, "Restarting worker")
    program.wait()
    must_be_the_same(expected, out)
    print(f"Dask, {told} of {parts()}: nothing lost, nothing twice, the same bits", flush=True)


def spark(work: Path, readings: Path, expected: pa.Table) -> None:
    run = Program.start(work, "on_spark.py", readings, work / "spark", "local[2,4]").wait()
    must_be_the_same(expected, work / "spark")
    print(f"Spark: {run.seconds:.1f} s, the same bits", flush=True)
    spark_killed(work, readings, expected)


def spark_killed(work: Path, readings: Path, expected: pa.Table) -> None:
    out = work / "spark-killed"
    program = Program.start(work, "on_spark.py", readings, out, "local[2,4]")

    def parts() -> int:
        # Parts of tasks that are done wait there until all are.
        return len(list(out.glob("_temporary/0/task_*")))

    def is_worker(seen: Seen, there: dict[int, Seen]) -> bool:
        parent = there.get(seen.parent)
        return "pyspark.daemon" in seen.command and parent is not None and "pyspark.daemon" in parent.command

    told = kill_one_at_work(program, is_worker, parts, "Lost task")
    program.wait()
    lost = re.findall(r"Lost task \S+ in stage", program.text())
    must_be_the_same(expected, out)
    print(f"Spark, {told}: {len(lost)} task tried again, nothing lost, nothing twice, the same bits", flush=True)


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("work", type=Path)
    arguments.add_argument("--measure", type=int, nargs="+")
    arguments.add_argument("--without-spark", action="store_true")
    given = arguments.parse_args()
    given.work.mkdir(parents=True, exist_ok=True)
    work = given.work.resolve()
    if given.measure:
        measure(work, given.measure)
        return
    readings = make(work, LATERALS)
    expected = one_machine(work, readings)
    dask(work, readings, expected)
    if not given.without_spark:
        spark(work, readings, expected)


if __name__ == "__main__":
    main()
