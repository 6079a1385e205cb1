"""Make a city: the logs of N invented laterals, as Parquet files, to try the programs beside this one on.

    python make_city.py 20000 city

A lateral is a function of the seed and its number alone. One in fifty is rubbish of one kind or another, as it comes in life. A
file ends after so many rows, wherever that is: most files end within a lateral.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

SCHEMA = pa.schema(
    [
        ("lateral_id", pa.string()),
        ("row", pa.int64()),  # in the whole city, from 1: so rows find back into their order, and errors can be found
        ("counter_m", pa.float64()),
        ("reading_rad", pa.float64()),
        ("size", pa.string()),
        ("check_first_rad", pa.float64()),  # the head on a steady surface, and turned end for end
        ("check_second_rad", pa.float64()),
    ]
)
ROWS_A_FILE = 100_000
RUBBISH = 50


def lateral(seed: int, number: int) -> dict[str, Any]:
    """The columns of one lateral."""
    rng = np.random.default_rng([seed, number])
    readings = int(rng.integers(60, 201))
    counter_m = 0.15 * np.arange(readings)
    # Sticks of three metres, each a little off the grade; in one lateral of five two of them make a belly.
    sticks = int(counter_m[-1] // 3.0) + 1
    tilt_rad = rng.uniform(0.008, 0.04) + rng.normal(0.0, 0.003, sticks)
    if rng.random() < 0.2 and sticks > 3:
        at = int(rng.integers(1, sticks - 1))
        tilt_rad[at - 1] += 0.02
        tilt_rad[at] -= 0.04
    zero_rad, surface_rad = rng.normal(0.0, 0.005), rng.normal(0.0, 0.01)
    seen_rad = tilt_rad[(counter_m // 3.0).astype(int)] + zero_rad + rng.normal(0.0, 0.003, readings)
    columns: dict[str, Any] = {
        "lateral_id": [f"L{number:07}"] * readings,
        "counter_m": counter_m.tolist(),
        "reading_rad": np.radians(np.round(np.degrees(seen_rad), 1)).tolist(),  # the display shows tenths of a degree
        "size": ["6 in" if rng.random() < 0.3 else "4 in"] * readings,
        "check_first_rad": [zero_rad + surface_rad] * readings,
        "check_second_rad": [zero_rad - surface_rad] * readings,
    }
    return spoilt(columns, number // RUBBISH) if number % RUBBISH == RUBBISH - 1 else columns


def spoilt(columns: dict[str, Any], kind: int) -> dict[str, Any]:
    """The same with one thing wrong."""
    match kind % 6:
        case 0:
            columns["reading_rad"][7] = None
        case 1:
            columns["counter_m"][3:5] = [float("nan"), float("inf")]
        case 2:
            columns["counter_m"][-1] = 1e9
        case 3:
            columns = {name: cells[:1] for name, cells in columns.items()}
        case 4:
            columns["size"] = ["40 in"] * len(columns["size"])
        case _:
            columns["lateral_id"][20] = None
    return columns


def tables(laterals: int, seed: int) -> Iterator[pa.Table]:
    """The city in tables of equally many rows, but for the last."""
    rows: dict[str, list[Any]] = {name: [] for name in SCHEMA.names}
    last = 0
    for number in range(laterals):
        one = lateral(seed, number)
        readings = len(one["lateral_id"])
        one["row"] = range(last + 1, last + 1 + readings)
        last += readings
        for name, cells in rows.items():
            cells += one[name]
        if len(rows["row"]) >= ROWS_A_FILE:
            yield pa.table({name: cells[:ROWS_A_FILE] for name, cells in rows.items()}, schema=SCHEMA)
            rows = {name: cells[ROWS_A_FILE:] for name, cells in rows.items()}
    if rows["row"]:
        yield pa.table(rows, schema=SCHEMA)


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("laterals", type=int)
    arguments.add_argument("folder", type=Path, help="made anew; one that is there is an error")
    arguments.add_argument("--seed", type=int, default=0)
    given = arguments.parse_args()
    given.folder.mkdir(parents=True)
    for number, table in enumerate(tables(given.laterals, given.seed)):
        pq.write_table(table, given.folder / f"readings-{number:05}.parquet", row_group_size=ROWS_A_FILE // 4)


if __name__ == "__main__":
    main()
