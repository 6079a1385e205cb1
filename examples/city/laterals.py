"""What is done with a table of whole laterals, wherever it lies: readings in, one row a lateral out.

The programs beside this file differ in who hands the tables out; this is all that fallwise does in them.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

import fallwise as fw

#: Says which lateral a row is of.
BY = "lateral_id"

_summary = pa.table(fw.solve_many({}).summary).schema
#: One row a lateral: its summary; or none of it, and why. What goes with every figure goes with the table.
SCHEMA = pa.schema(
    [*(field.with_nullable(True) for field in _summary), pa.field("error", pa.string())],
    metadata={"cautions": "\n".join(fw.cautions())},
)


def solve(table: Any, *, threads: int | None = None) -> pa.Table:
    """Solve the laterals of a table, which must have all rows of each."""
    # Every column by its name: what were only found could be found otherwise in another table.
    runs = fw.read_runs(table, by=BY, counter="counter_m", reading="reading_rad", row="row")
    # What else is known of a lateral stands in each of its rows, so that it is where they are. The first is taken.
    first: dict[str, int] = {}
    for at, name in enumerate(table[BY]):
        if isinstance(name, str) and name.strip():
            first.setdefault(name.strip(), at)
    known = {name: np.asarray(table[name])[list(first.values())] for name in ("size", "check_first_rad", "check_second_rad")}
    with warnings.catch_warnings():
        # It says how many errors there are; they are in the table.
        warnings.simplefilter("ignore", fw.Warning)
        many = fw.solve_many(
            runs,
            pipes={BY: list(first), "pipe_class": ["SDR 35"] * len(first), "size": known["size"]},
            ties={
                BY: list(first),
                "kind": ["reversal_check"] * len(first),
                "first_rad": known["check_first_rad"],
                "second_rad": known["check_second_rad"],
            },
            rulebook="upc-2021",
            draws=200,
            threads=threads,
        )
    # A lateral that could not be solved has one row too. A row without an id is nobody's, and has one of its own.
    failed: dict[str, str] = {}
    nobodys: list[str] = []
    for error in many.errors:
        name, message = error["id"], error["message"]
        if not name:
            nobodys.append(message)
        else:
            failed[name] = f"{failed[name]}\n{message}" if name in failed else message
    ids, errors = [*failed, *([""] * len(nobodys))], [*failed.values(), *nobodys]
    both = [pa.table(many.summary), pa.table({"id": pa.array(ids, pa.string()), "error": pa.array(errors, pa.string())})]
    return pa.concat_tables(both, promote_options="default").select(SCHEMA.names).cast(SCHEMA)


def write_cautions(results: Path) -> None:
    """Lay the cautions beside results; readers of Parquet pass over a name that begins so."""
    (results / "_cautions.txt").write_text("\n".join(fw.cautions()) + "\n", encoding="utf-8")
