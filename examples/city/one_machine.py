"""Solve a city on one machine, in memory that does not grow with it.

python one_machine.py city results
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
from laterals import BY, SCHEMA, solve, write_cautions

import fallwise as fw

#: Readings that are in hand at once, with what is made of them: some hundred laterals.
ROWS = 50_000


def batches(readings: Path) -> Iterator[pa.RecordBatch]:
    """The readings as they stand in the files, which are cut anywhere."""
    for file in sorted(readings.glob("*.parquet")):
        yield from pq.ParquetFile(file).iter_batches(batch_size=ROWS)


def main() -> None:
    readings, results = map(Path, sys.argv[1:3])
    results.mkdir(parents=True)  # what is there is not written over
    write_cautions(results)
    with pq.ParquetWriter(results / "results.parquet", SCHEMA) as writer:
        # A table at a time, with all rows of each lateral in it: the last of a batch waits for the next.
        for table in fw.whole_laterals(batches(readings), by=BY):
            writer.write_table(solve(table))


if __name__ == "__main__":
    main()
