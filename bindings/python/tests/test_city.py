"""The programs of `examples/city` that need no engine; `tests/city.sh` runs the others."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow.parquet
import pytest

import fallwise as fw

pq: Any = pyarrow.parquet


@pytest.fixture(scope="module")
def solved(root: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """Folder of a small city in several files, and what was made of it."""
    folder = tmp_path_factory.mktemp("city")
    programs = root / "examples" / "city"
    small = "import make_city; make_city.ROWS_A_FILE = 9_000; make_city.main()"
    subprocess.run([sys.executable, "-c", small, "301", folder / "city"], check=True, cwd=programs)
    subprocess.run([sys.executable, programs / "one_machine.py", folder / "city", folder / "out"], check=True)
    return folder, pq.read_table(folder / "out" / "results.parquet")


def test_every_lateral_has_a_row(solved: tuple[Path, Any]) -> None:
    folder, table = solved
    assert len(list((folder / "city").glob("*.parquet"))) == 5
    rows = table.to_pylist()
    assert sorted(row["id"] for row in rows if row["id"]) == [f"L{n:07}" for n in range(301)]
    failed = {row["id"]: row["error"] for row in rows if row["error"] is not None}
    expected = {
        "L0000049": "the cell is empty; expected a number",
        "L0000099": "the cell is empty; expected a number",
        "L0000149": "counter_m",
        "L0000199": "at least 2 needed",
        "L0000249": "40 in",
        "": "the id of the lateral",
    }
    assert failed.keys() == expected.keys()
    for name, word in expected.items():
        assert word in failed[name]
    assert all((row["slope"] is None) == (row["error"] is not None) for row in rows)
    assert {row["finding"] for row in rows} == {"meets", "fails", "undecided", None}


def test_each_is_what_it_is_by_itself(solved: tuple[Path, Any]) -> None:
    folder, table = solved
    readings = pq.read_table(folder / "city").to_pandas()
    # Of the first and of those in which a file ends.
    names = ["L0000000", *(pq.read_table(file)["lateral_id"][-1].as_py() for file in sorted((folder / "city").glob("*.parquet")))]
    for name in names:
        own = readings[readings["lateral_id"] == name]
        answers = fw.solve(
            fw.Run(counter_m=own["counter_m"].to_numpy(), reading_rad=own["reading_rad"].to_numpy()),
            pipe=fw.Pipe.standard("SDR 35", own["size"].iloc[0]),
            ties=[fw.ReversalCheck(first_rad=own["check_first_rad"].iloc[0], second_rad=own["check_second_rad"].iloc[0])],
            rulebook="upc-2021",
            draws=200,
        ).answers
        row = next(row for row in table.to_pylist() if row["id"] == name)
        assert row["sentence"] == answers.sentence
        assert row["finding"] == answers.findings[0]["finding"]
        assert np.float64(row["slope"]).tobytes() == np.float64(answers.total[0]["slope"]).tobytes()
        assert np.float64(row["slope_sd"]).tobytes() == np.float64(answers.total[0]["slope_sd"]).tobytes()


def test_cautions_lie_beside_and_in_the_file(solved: tuple[Path, Any]) -> None:
    folder, table = solved
    assert (folder / "out" / "_cautions.txt").read_text(encoding="utf-8").splitlines() == fw.cautions()
    assert table.schema.metadata[b"cautions"].decode().splitlines() == fw.cautions()


def test_nothing_is_written_over(solved: tuple[Path, Any], root: Path) -> None:
    folder, _ = solved
    again = subprocess.run(
        [sys.executable, root / "examples/city/one_machine.py", folder / "city", folder / "out"], capture_output=True, text=True
    )
    assert again.returncode != 0
    assert "FileExistsError" in again.stderr
