"""Many laterals at once are what each is by itself, to the bit; what is wrong with one leaves the others alone."""

from __future__ import annotations

import gc
import itertools
import os
import signal
import subprocess
import sys
import time
import tracemalloc
import types
import warnings
import weakref
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest
from conftest import truth
from hypothesis import given, settings
from hypothesis import strategies as st

import fallwise as fw
from fallwise.units import deg, to_deg

PIPE = fw.Pipe.standard("SDR 35", "4 in")


def simulated(seed: int, *, spacing_m: float = 0.5) -> fw.Run:
    head = fw.simulation.Head(noise_sd_rad=deg(0.2), zero_rad=deg(0.1))
    return fw.simulate(truth(), head=head, spacing_m=spacing_m, seed=seed).run


@pytest.fixture(scope="module")
def runs() -> dict[str, fw.Run]:
    return {f"{n:03}": simulated(n) for n in range(12)}


def rows(runs: dict[str, fw.Run]) -> dict[str, list[Any]]:
    """The runs in one table."""
    table: dict[str, list[Any]] = {"lateral_id": [], "cable (m)": [], "tilt (rad)": []}
    for name, run in runs.items():
        table["lateral_id"] += [name] * len(run)
        table["cable (m)"] += run.counter_m.tolist()
        table["tilt (rad)"] += run.reading_rad.tolist()
    return table


def as_csv(table: dict[str, list[Any]]) -> str:
    lines = [",".join(table), *(",".join(str(cell) for cell in row) for row in zip(*table.values(), strict=True))]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("threads", [1, 2, 7])
def test_each_is_what_it_is_by_itself(runs: dict[str, fw.Run], threads: int) -> None:
    ties: dict[str, list[Any]] = {
        "003": [fw.ReversalCheck(first_rad=0.004, second_rad=-0.001)],
        "005": [fw.InvertTie(station_m=0, elevation_m=9, sd_m=0.01)],
    }
    bends = {"004": [fw.Bend(station_m=6.0, deflection_rad=deg(45))]}
    head = {"006": fw.Instrument(zero_sd_rad=deg(0.1))}
    results = fw.iter_many(
        runs, pipes=PIPE, ties=ties, bends=bends, instrument=head, rulebook="upc-2021", draws=50, threads=threads
    )
    for (name, run), one in zip(runs.items(), results, strict=True):
        alone = fw.solve(
            run,
            pipe=PIPE,
            ties=ties.get(name, ()),
            bends=bends.get(name, ()),
            instrument=head.get(name),
            rulebook="upc-2021",
            draws=50,
        )
        assert one.id == name
        assert one.errors == []
        assert one.answers is not None
        assert one.answers.to_json() == alone.answers.to_json()


def test_tables_are_the_rows_of_each(runs: dict[str, fw.Run]) -> None:
    many = fw.solve_many(runs, pipes=PIPE, rulebook="upc-2021", draws=20)
    assert list(many.summary["id"]) == list(runs)
    for name in ("total", "segments", "pools", "findings", "next", "parameters", "budget"):
        table: fw.Table = getattr(many, name)
        assert table.columns[0] == "id"
        for lateral, run in list(runs.items())[:3]:
            answers = fw.solve(run, pipe=PIPE, rulebook="upc-2021", draws=20).answers
            own = getattr(answers, name)
            assert [row for row in table.to_rows() if row["id"] == lateral] == [{"id": lateral, **row} for row in own.to_rows()]
    first = fw.solve(runs["000"], pipe=PIPE, rulebook="upc-2021", draws=20).answers
    assert many.summary[0]["sentence"] == first.sentence
    assert many.summary[0]["finding"] == first.findings[0]["finding"]
    assert len(many.errors) == 0
    assert len(many) == 12


def test_a_file_gives_the_same_as_runs(runs: dict[str, fw.Run], tmp_path: Path) -> None:
    path = tmp_path / "export.csv"
    path.write_text(as_csv(rows(runs)), encoding="utf-8")
    read = fw.read_runs(path)
    assert list(read) == list(runs)
    assert "007" in read
    assert "7" not in read
    for name, run in read.items():
        assert np.array_equal(run.counter_m, runs[name].counter_m)
        assert np.array_equal(run.reading_rad, runs[name].reading_rad)
    assert fw.solve_many(read, pipes=PIPE, draws=10).summary == fw.solve_many(runs, pipes=PIPE, draws=10).summary


def test_any_kind_of_table_gives_the_same(runs: dict[str, fw.Run], tmp_path: Path) -> None:
    columns = rows(runs)
    read = fw.read_runs(columns)
    arrays = {name: np.array(column) for name, column in columns.items()}
    arrow: Any = pa
    tables: list[Any] = [pd.DataFrame(columns), pl.DataFrame(columns), arrow.table(columns), arrays]
    for table in tables:
        other = fw.read_runs(table)
        assert list(other) == list(read)
        assert all(other[name] == read[name] for name in read)


def test_ids_of_tables_are_text() -> None:
    frame = pd.DataFrame({"id": [7, 7, None, 8, 8], "cable (m)": [0, 1, 2, 0, 1], "grade (%)": [2, 2, 2, 1.5, 1]})
    read = fw.read_runs(frame, by="id")
    assert list(read) == ["7", "8"]
    assert [(row["id"], row["row"], row["column"]) for row in read.errors] == [("", 3, "id")]
    times = {"id": ["a"] * 2, "cable (m)": [0, 1], "tilt (deg)": [1, 1], "time": pd.to_datetime(["2024-05-01T10:00:00"] * 2)}
    assert list(fw.read_runs(pd.DataFrame(times), by="id")["a"].time_s) == [0, 0]  # type: ignore[arg-type]
    comma = fw.read_runs({"id": ["a", "a"], "cable (m)": ["0,5", "1,5"], "tilt (deg)": ["1", "1"]}, by="id", decimal="comma")
    assert list(comma["a"].counter_m) == [0.5, 1.5]


BAD = """lateral_id,cable (ft),tilt (deg)
 010,0,1.2
010,10,1.1
B,0,1
B,x,1
B,20,
C,0,1
,5,1
D,0,1.0
D,10,1.0
010,20,1.1
"""


def test_bad_rows_are_errors_of_their_lateral(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(BAD, encoding="utf-8")
    read = fw.read_runs(path)
    assert list(read) == ["010", "D"]
    with pytest.raises(fw.FormatError, match="row 5"):
        read["B"]
    with pytest.raises(KeyError):
        read["E"]
    errors = [(row["id"], row["row"], row["column"], row["value"]) for row in read.errors]
    expected = [
        ("B", 5, "cable (ft)", "x"),
        ("B", 6, "tilt (deg)", ""),
        ("C", None, None, "1"),
        ("", 8, "lateral_id", ""),
    ]
    assert errors == expected
    assert [(row["id"], row["warning"][:7]) for row in read.warnings] == [("010", "row 2: "), ("010", "its row")]
    with pytest.warns(fw.Warning, match="errors: see") as told:
        many = fw.solve_many(read, draws=0)
    assert len(told) == 1
    assert list(many.summary["id"]) == ["010", "D"]
    assert [(row["id"], row["row"], row["column"], row["value"]) for row in many.errors] == expected
    assert all(row["message"] for row in many.errors)
    assert [row["warning"][:7] for row in many.warnings if row["id"] == "010"][:2] == ["row 2: ", "its row"]
    assert many.summary[0]["warnings"] == sum(1 for row in many.warnings if row["id"] == "010")


def test_what_cannot_be_solved_is_an_error_of_its_own(runs: dict[str, fw.Run]) -> None:
    broken = fw.Run(counter_m=[0, 1, 2], reading_rad=[0.01, np.nan, 0.01])
    given: dict[str, Any] = {"a": runs["000"], "b": broken, "c": runs["001"], "d": 5, "e": [runs["002"]]}
    with pytest.warns(fw.Warning):
        many = fw.solve_many(given, draws=0)
    assert list(many.summary["id"]) == ["a", "c", "e"]
    assert [(row["id"], row["index"]) for row in many.errors] == [("b", 1), ("d", None)]
    # Of a table, with the row: here one that is no tilt.
    with pytest.warns(fw.Warning):
        many = fw.solve_many(fw.read_runs({"lateral_id": ["a"] * 3, "cable (m)": [0, 1, 1e9], "tilt (rad)": [0.02] * 3}), draws=0)
    assert [(row["id"], row["field"], row["row"]) for row in many.errors] == [("a", "counter_m", 3)]


@pytest.mark.filterwarnings("ignore::fallwise.Warning")
def test_ids_that_no_run_has_and_ids_twice_are_named(runs: dict[str, fw.Run]) -> None:
    tie = fw.ReversalCheck(first_rad=0.001, second_rad=0.001)
    pairs = [("a", runs["000"]), ("b", runs["001"]), ("a", runs["002"])]
    many = fw.solve_many(iter(pairs), ties={"a": [tie], "z": [tie]}, pipes={"y": PIPE}, draws=0)
    assert list(many.summary["id"]) == ["a", "b"]
    assert sorted((row["id"], row["field"]) for row in many.errors) == [("a", "runs"), ("y", "pipes"), ("z", "ties")]
    job = fw.Job(runs=[runs["000"]])
    many = fw.solve_many({"a": job, "b": job}, ties={"b": [tie]})
    assert [(row["id"], row["field"]) for row in many.errors] == [("b", "ties")]


@pytest.mark.filterwarnings("ignore::fallwise.Warning")
def test_tables_beside_the_runs(runs: dict[str, fw.Run]) -> None:
    pipes = {"lateral_id": ["000", "001"], "pipe_class": ["SDR 35", "SDR 35"], "size": ["4 in", "6 in"]}
    ties = pd.DataFrame(
        {
            "lateral_id": ["000", "001", "001", "002", "002"],
            "kind": ["reversal_check", "invert", "water_level", "level", "invert"],
            "first_rad": [0.002, None, None, None, None],
            "second_rad": [0.001, None, None, None, None],
            "station_m": [None, 0.0, 9.05, None, 0.0],
            "to_station_m": [None, None, 11.95, None, None],
            "elevation_m": [None, 10.0, None, None, None],
            "sd_m": [None, 0.005, None, None, 0.005],
        }
    )
    bends = pl.DataFrame({"lateral_id": ["000"], "station_m": [6.0], "deflection_rad": [0.5]})
    many = fw.solve_many({name: runs[name] for name in ("000", "001", "002")}, pipes=pipes, ties=ties, bends=bends, draws=20)
    alone = fw.solve(
        runs["001"],
        pipe=fw.Pipe.standard("SDR 35", "6 in"),
        ties=[
            fw.InvertTie(station_m=0.0, elevation_m=10.0, sd_m=0.005),
            fw.WaterLevelTie(station_m=(9.05, 11.95)),
        ],
        draws=20,
    )
    assert [row for row in many.segments.to_rows() if row["id"] == "001"] == [{"id": "001", **row} for row in alone.segments]
    errors = [(row["id"], row["row"], row["value"]) for row in many.errors]
    assert errors[0] == ("002", 4, "level")
    assert errors[1][:2] == ("002", 5)
    assert len(errors) == 2
    with pytest.raises(fw.UnknownWordError, match="no column"):
        fw.solve_many(runs, ties={"lateral": ["000"], "kind": ["invert"]}, by="lateral_id", bends=pd.DataFrame({"x": [1]}))
    # What is wrong in one table is no reason to say that rows of another are without a run.
    tie = {"kind": ["reversal_check"], "first_rad": [0.001], "second_rad": [0.001]}
    wrong = {"lateral_id": ["000"], "pipe_class": ["SDR 35"], "size": ["40 in"]}
    many = fw.solve_many({"000": runs["000"]}, pipes=wrong, ties={"lateral_id": ["000"], **tie}, draws=0)
    assert [(row["id"], row["row"], row["value"]) for row in many.errors] == [("000", 1, "40 in")]
    reaches = {"lateral_id": ["000"], "from_m": [0.0], "to_m": [24.0], "bore_m": [0.1], "nominal": ["4 in"], "name": ["all"]}
    assert fw.solve_many({"000": runs["000"]}, reaches=reaches, draws=0).reaches[0]["name"] == "all"


def test_an_endless_iterator_is_held_within_bounds() -> None:
    run = simulated(1, spacing_m=0.2)
    taken = 0

    def endless() -> Iterator[tuple[str, fw.Run]]:
        nonlocal taken
        for n in itertools.count():
            taken += 1
            yield str(n), run

    solved = fw.iter_many(endless(), draws=0, threads=2)

    def resident() -> int:
        return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * os.sysconf("SC_PAGE_SIZE")

    assert [one.id for one in itertools.islice(solved, 100)] == [str(n) for n in range(100)]
    assert taken <= 100 + 2 * 4
    tracemalloc.start()
    before, of_python = (resident() if sys.platform == "linux" else 0), tracemalloc.get_traced_memory()[0]
    assert sum(1 for _ in itertools.islice(solved, 400)) == 400
    # Kept, 400 laterals would take a hundred kilobytes each: their readings and paths alone.
    assert tracemalloc.get_traced_memory()[0] - of_python < 1 << 20
    tracemalloc.stop()
    if sys.platform == "linux":
        assert resident() - before < 20 << 20
    solved.close()  # type: ignore[attr-defined]


@pytest.mark.filterwarnings("ignore::fallwise.Warning")
def test_what_is_solved_in_parts_is_freed_at_once(runs: dict[str, fw.Run]) -> None:
    # Each kind of error: an unreadable row, an unsolvable lateral, a wrong row of another table, an id without a run.
    columns = rows({name: runs[name] for name in ("000", "001", "002")})
    columns["tilt (rad)"][0] = None
    columns["cable (m)"][-1] = 1e9
    ties = {"lateral_id": ["001", "x"], "kind": ["level", "invert"]}
    gc.collect()
    gc.disable()
    try:
        read = fw.read_runs(columns)
        of_table = weakref.ref(read)
        many = fw.solve_many(read, ties=ties, draws=0)
        assert {row["id"] for row in many.errors} == {"000", "001", "002", "x"}
        del read, many
        assert of_table() is None
        job = fw.Job(runs=[runs["000"]])
        of_job = weakref.ref(job)
        pairs: Any = iter([("a", job), ("b", 5), ("c", fw.Run(counter_m=[0, 1], reading_rad=[np.nan, 0]))])
        solved = list(fw.iter_many(pairs, ties={"a": []}, draws=0))
        assert [bool(one.errors) for one in solved] == [True, True, True]
        del job, pairs
        assert of_job() is None
        assert all(error.__traceback__ is None for one in solved for error in one.errors)
    finally:
        gc.enable()


def test_a_failure_in_a_row_of_many_does_not_stop_an_endless_one() -> None:
    # More failures than are looked ahead, behind one that is solved.
    run = simulated(1)
    pairs: Any = itertools.chain([("a", run)], ((str(n), 5) for n in itertools.count()))
    solved = list(itertools.islice(fw.iter_many(pairs, threads=2, draws=0), 50))
    assert [bool(one.errors) for one in solved] == [False] + [True] * 49


@given(order=st.permutations(range(6)), threads=st.integers(1, 5))
@settings(max_examples=15, deadline=None)
def test_order_and_threads_change_nothing(order: list[int], threads: int) -> None:
    made = {
        str(n): fw.Run(counter_m=[0, 1, 2, 3, 4], reading_rad=[0.01 * n, 0.02, 0.01, 0.02, 0.03], by_hand=True) for n in order
    }
    got = {one.id: one.answers for one in fw.iter_many(made, threads=threads, draws=20)}
    assert list(got) == [str(n) for n in order]
    for name, answers in got.items():
        assert answers is not None
        assert answers.to_json() == fw.solve(made[name], draws=20).answers.to_json()


@given(st.lists(st.tuples(st.sampled_from(["0", "00", "x", " x", "ü"]), st.floats(-1e3, 1e3), st.floats(-1, 1)), min_size=1))
@settings(deadline=None)
def test_a_table_is_read_row_by_row(table: list[tuple[str, float, float]]) -> None:
    columns = {"lateral_id": [r[0] for r in table], "cable (m)": [r[1] for r in table], "tilt (rad)": [r[2] for r in table]}
    read = fw.read_runs(columns)
    for name in {row[0].strip() for row in table}:
        own = [row for row in table if row[0].strip() == name]
        assert (name in read) == (len(own) > 1)
        if name in read:
            assert read[name].counter_m.tolist() == [row[1] for row in own]
            assert read[name].reading_rad.tolist() == [row[2] for row in own]
    assert len(read.errors) == sum(1 for name in {r[0].strip() for r in table} if name not in read)


def test_progress_is_shown_where_there_is_a_library(runs: dict[str, fw.Run], monkeypatch: pytest.MonkeyPatch) -> None:
    totals: list[tuple[int, str]] = []

    def tqdm(results: Iterator[Any], total: int, unit: str) -> Iterator[Any]:
        totals.append((total, unit))
        return results

    fake = types.ModuleType("tqdm.auto")
    fake.tqdm = tqdm  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "tqdm", types.ModuleType("tqdm"))
    monkeypatch.setitem(sys.modules, "tqdm.auto", fake)
    assert len(fw.solve_many(runs, draws=0, progress=True)) == 12
    assert totals == [(12, "lateral")]
    monkeypatch.setitem(sys.modules, "tqdm.auto", None)
    with pytest.warns(fw.Warning, match="tqdm is not installed"):
        assert len(fw.solve_many(runs, draws=0, progress=True)) == 12


def test_arguments_that_make_no_sense() -> None:
    with pytest.raises(fw.InputError, match="threads"):
        fw.solve_many({}, threads=0)
    with pytest.raises(fw.UnknownWordError, match="rulebook"):
        fw.solve_many({}, rulebook="ipc-2022")
    with pytest.raises(fw.InputError, match="pairs"):
        fw.solve_many([1, 2])  # type: ignore[list-item]
    with pytest.raises(fw.InputError, match="table"):
        fw.read_runs(5)  # type: ignore[arg-type]
    with pytest.raises(fw.FormatError, match="no column"):
        fw.read_runs({"id": ["a"], "cable (m)": [1], "tilt (deg)": [1]})
    with pytest.raises(fw.FormatError, match="no unit"):
        fw.read_runs({"id": ["a"], "cable": [1], "tilt (deg)": [1]}, by="id")
    assert len(fw.solve_many({})) == 0
    assert fw.solve_many({}).segments.columns[:2] == ["id", "number"]


@pytest.mark.skipif(sys.platform == "win32", reason="signals are sent otherwise there")
def test_ctrl_c_stops() -> None:
    code = """
import itertools, os
import fallwise as fw
truth = fw.simulation.Truth(breaks_m=[0, 10, 12, 24], tilt_rad=[0.02, -0.01, 0.022])
run = fw.simulate(truth, seed=1).run
print("ready", flush=True)
try:
    fw.solve_many(((str(n), run) for n in itertools.count()))
except KeyboardInterrupt:
    print("stopped", flush=True)
    os._exit(0)
"""
    child = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    time.sleep(0.5)
    before = time.perf_counter()
    child.send_signal(signal.SIGINT)
    out, _ = child.communicate(timeout=30)
    assert out == "stopped\n"
    # It looks every 50 ms, and between two laterals.
    assert time.perf_counter() - before < 2


def test_three_thousand_laterals_timed(capsys: pytest.CaptureFixture[str]) -> None:
    """Prints what it takes; nothing is asserted of that, since machines differ."""
    made = {str(n): simulated(n, spacing_m=0.048) for n in range(60)}
    table = rows({f"{n:05}": made[str(n % 60)] for n in range(3000)})
    table["tilt (deg)"] = to_deg(table.pop("tilt (rad)")).tolist()
    started = time.perf_counter()
    read = fw.read_runs(table)
    lines = [f"{len(table['lateral_id'])} rows of a table read in {time.perf_counter() - started:.1f} s"]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", fw.Warning)
        started = time.perf_counter()
        many = fw.solve_many(read, rulebook="upc-2021", draws=0)
        lines.append(f"3000 laterals without draws, threads as there are: {time.perf_counter() - started:.1f} s")
        assert len(many) == 3000
    with capsys.disabled():
        print("\n" + "\n".join(lines))


def test_cautions_go_with_the_tables(runs: dict[str, fw.Run]) -> None:
    many = fw.solve_many(runs, draws=0)
    alone = fw.solve(next(iter(runs.values())), draws=0)
    assert many.cautions == alone.answers.cautions
    possible = [sum(row["id"] == name and row["state"] == "possible" for row in many.pools.to_rows()) for name in runs]
    assert list(many.summary.pools_possible) == possible
    assert sum(possible) > 0
