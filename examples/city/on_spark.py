"""Solve a city on Spark: here on this machine, elsewhere on the master that is named.

python on_spark.py city results
python on_spark.py city results local[2,4]
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pyarrow as pa
from pyspark.sql import SparkSession

# The workers of this machine run the same Python, unless they are told otherwise.
os.environ.setdefault("PYSPARK_PYTHON", sys.executable)


def solved(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
    """One partition, which the engine hands out in batches that are cut anywhere."""
    from laterals import BY, solve

    import fallwise as fw

    for table in fw.whole_laterals(batches, by=BY):
        # The engine has one task a core already.
        yield from solve(table, threads=1).to_batches()


def main() -> None:
    from laterals import BY, SCHEMA, write_cautions

    readings, results = map(Path, sys.argv[1:3])
    # On one machine a task is tried once only, unless the master says how often: here four times, as clusters do.
    master = sys.argv[3] if len(sys.argv) > 3 else "local[*,4]"
    spark = SparkSession.builder.appName("city").master(master).getOrCreate()
    spark.sparkContext.addPyFile(str(Path(__file__).with_name("laterals.py")))
    rows = spark.read.parquet(str(readings))
    # All rows of an id into one partition, and there one after the other in their order. So many partitions: where none are said,
    # the engine may put some together, or wait with it until it knows how large they are.
    whole = rows.repartition(16, BY).sortWithinPartitions(BY, "row")
    schema = spark.createDataFrame(SCHEMA.empty_table()).schema
    whole.mapInArrow(solved, schema).write.parquet(str(results))  # what is there is not written over
    write_cautions(results)
    spark.stop()


if __name__ == "__main__":
    main()
