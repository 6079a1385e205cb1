"""Streams of tables cut anew: every row once, every lateral whole, and the same figures however a city is cut."""

from __future__ import annotations

import warnings
import zlib
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import fallwise as fw

arrow: Any = pa


def city(sizes: Sequence[int], names: Sequence[str | None] | None = None) -> dict[str, Any]:
    """Rows of laterals, one after the other."""
    ids = [f"L{n}" if names is None else names[n] for n, size in enumerate(sizes) for _ in range(size)]
    rows = len(ids)
    counter = [float(at) for size in sizes for at in range(size)]
    return {
        "lateral_id": ids,
        "row": list(range(1, rows + 1)),
        "counter_m": counter,
        "reading_rad": [0.02 + 0.001 * (at % 7) for at in range(rows)],
        "operator": [f"{at % 3}" for at in range(rows)],
    }


def cut(columns: dict[str, Any], at: Sequence[int]) -> Iterator[dict[str, Any]]:
    rows = len(columns["row"])
    for start, end in pairwise([0, *sorted(min(place, rows) for place in at), rows]):
        yield {name: column[start:end] for name, column in columns.items()}


def joined(parts: Sequence[dict[str, Any]], name: str) -> list[Any]:
    return [cell for part in parts for cell in list(part[name])]


@given(sizes=st.lists(st.integers(1, 6), min_size=1, max_size=8), at=st.lists(st.integers(0, 48), max_size=8))
@settings(deadline=None)
def test_every_row_comes_once_and_every_lateral_whole(sizes: list[int], at: list[int]) -> None:
    columns = city(sizes)
    parts = list(fw.whole_laterals(cut(columns, at)))
    for name, column in columns.items():
        assert joined(parts, name) == column
    of = [set(part["lateral_id"]) for part in parts]
    assert all(of)
    assert sum(map(len, of)) == len(set().union(*of)) == len(sizes)
    assert len(parts) <= len(at) + 2


@pytest.mark.parametrize("made", [pd.DataFrame, pl.DataFrame, arrow.table, arrow.RecordBatch.from_pydict])
def test_any_kind_of_table_will_do(made: Any) -> None:
    columns = city([3, 4, 2, 5])
    columns["reading_rad"][5] = None
    parts = list(fw.whole_laterals(made(part) for part in cut(columns, [5, 8, 8])))
    assert joined(parts, "lateral_id") == columns["lateral_id"]
    assert joined(parts, "row") == columns["row"]
    runs = {name: run for part in parts for name, run in fw.read_runs(part, row="row").items()}
    assert list(runs) == ["L0", "L2", "L3"]
    assert runs["L3"].reading_rad.tolist() == columns["reading_rad"][9:]


def test_rows_without_an_id_go_with_those_before_them() -> None:
    columns = city([2, 1, 2, 1, 1, 2], [None, "A", "A", " ", "A ", "B"])
    for place in range(10):
        parts = list(fw.whole_laterals(cut(columns, [place])))
        assert joined(parts, "row") == columns["row"]
        assert sum("A" in part["lateral_id"] for part in parts) == 1
    assert list(fw.whole_laterals([])) == []
    assert list(fw.whole_laterals([city([])])) == []
    assert [part["row"].tolist() for part in fw.whole_laterals([city([2, 1], [None, None])])] == [[1, 2, 3]]


@pytest.mark.parametrize("at", [[], [2], [4], [3, 4], [5], [6]])
def test_an_id_that_comes_again_is_an_error(at: list[int]) -> None:
    columns = city([2, 2, 2], ["A", "B", "A"])
    with pytest.raises(fw.InputError, match=r'lateral_id "A" comes again after rows of others') as error:
        list(fw.whole_laterals(cut(columns, at)))
    assert error.value.value == "A"
    assert error.value.expected == "rows sorted by id"


def test_tables_that_do_not_go_together_are_errors() -> None:
    with pytest.raises(fw.UnknownWordError, match=r'no column "id"; the columns: lateral_id'):
        next(fw.whole_laterals([city([2])], by="id"))
    other = {name: column for name, column in city([2]).items() if name != "operator"}
    with pytest.raises(fw.InputError, match="the first has lateral_id, row, counter_m, reading_rad, operator"):
        list(fw.whole_laterals([city([2]), other]))
    with pytest.raises(fw.InputError, match="columns of"):
        next(fw.whole_laterals([{**city([2]), "row": [1]}]))


def test_no_more_is_held_than_one_table_and_a_lateral() -> None:
    taken = 0

    def endless() -> Iterator[dict[str, Any]]:
        nonlocal taken
        while True:
            taken += 1
            yield city([3, 3], [f"{2 * taken}", f"{2 * taken + 1}"])

    parts = fw.whole_laterals(endless())
    for number in range(1, 200):
        assert len(next(parts)["row"]) <= 6
        assert taken == number
    # One that waits is a copy, and keeps no table from being freed.
    assert next(fw.whole_laterals([{**city([2, 2]), "counter_m": np.zeros(4)}]))["counter_m"].base is None


BAD = {6: ("reading_rad", None), 11: ("counter_m", 1e9), 17: ("lateral_id", None)}


def own_seed(name: str) -> int:
    return zlib.crc32(name.encode())


def solved(parts: Iterator[dict[str, Any]], seed: Any) -> dict[str, list[dict[str, Any]]]:
    """Rows of all tables that come of some parts, sorted."""
    rows: dict[str, list[dict[str, Any]]] = {"summary": [], "findings": [], "pools": [], "warnings": [], "errors": []}
    for part in parts:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", fw.Warning)
            runs = fw.read_runs(part, counter="counter_m", reading="reading_rad", row="row")
            many = fw.solve_many(runs, rulebook="upc-2021", pipes=fw.Pipe.standard("SDR 35", "4 in"), draws=30, seed=seed)
        for name, all_of_it in rows.items():
            all_of_it += getattr(many, name).to_rows()
    return {name: sorted(all_of_it, key=lambda row: (row["id"], str(row))) for name, all_of_it in rows.items()}


@given(at=st.lists(st.integers(0, 36), max_size=6), own=st.booleans())
@settings(deadline=None, max_examples=20)
def test_results_do_not_depend_on_how_a_city_is_cut(at: list[int], own: bool) -> None:
    columns = city([5, 5, 5, 1, 6, 5, 4, 5])
    for row, (name, cell) in BAD.items():
        columns[name][row] = cell
    seed: Any = own_seed if own else 3
    whole = solved(iter([columns]), seed)
    assert solved(fw.whole_laterals(cut(columns, at)), seed) == whole
    assert [row["id"] for row in whole["summary"]] == ["L0", "L4", "L5", "L6", "L7"]
    assert [(row["id"], row["row"]) for row in whole["errors"]] == [("", 18), ("L1", 7), ("L2", 12), ("L3", None)]


def test_rows_are_counted_as_the_column_says(tmp_path: Any) -> None:
    columns: dict[str, Any] = {**city([2, 3], ["A", "B"]), "row": [11, 12, 105, 106, 107]}
    columns["counter_m"][3] = float("nan")
    runs = fw.read_runs(columns, row="row")
    assert runs["A"].source_row is not None
    assert list(runs["A"].source_row) == [11, 12]
    assert [(error["id"], error["row"]) for error in runs.errors] == [("B", 106)]
    columns["counter_m"][3] = 1e9
    with pytest.warns(fw.Warning):
        many = fw.solve_many(fw.read_runs(columns, row="row"), draws=0)
    assert [(error["id"], error["row"]) for error in many.errors] == [("B", 106)]
    for wrong in ([0, 1, 2, 3, 4], [1, 2, None, 4, 5], [1, 2, 3, 4, 5.5], ["a", "b", "c", "d", "e"], [1, 2, 3, 4, float("inf")]):
        with pytest.raises(fw.InputError, match="whole numbers") as error:
            fw.read_runs({**columns, "row": wrong}, row="row")
        assert error.value.field == "row"
    with pytest.raises(fw.UnknownWordError, match='no column "line"'):
        fw.read_runs(columns, row="line")
    with pytest.raises(fw.InputError, match="rows are its lines"):
        fw.read_runs(tmp_path / "log.csv", row="row")


def test_seeds_by_id() -> None:
    truth = fw.simulation.Truth(breaks_m=[0, 10, 12, 24], tilt_rad=[0.02, -0.001, 0.022])
    run = fw.simulate(truth, spacing_m=0.5, seed=1).run
    asked: list[str] = []

    def own(name: str) -> int:
        asked.append(name)
        return {"A": 5, "B": 6}[name]

    many = fw.solve_many({"A": run, "B": run}, draws=50, seed=own)
    assert asked == ["A", "B"]
    for name, seed in {"A": 5, "B": 6}.items():
        alone = fw.solve(run, draws=50, seed=seed).answers
        assert [row for row in many.pools.to_rows() if row["id"] == name] == [
            {"id": name, **row} for row in alone.pools.to_rows()
        ]
    pools = [[{**row, "id": ""} for row in many.pools.to_rows() if row["id"] == name] for name in "AB"]
    assert pools[0]
    assert pools[0] != pools[1]


def test_cautions_are_there_before_anything_is_solved() -> None:
    run = fw.Run(counter_m=[0, 1, 2], reading_rad=[0.02, 0.021, 0.019], by_hand=True)
    assert fw.cautions() == fw.solve(run, draws=0).answers.cautions
    assert len(fw.cautions()) > 5
