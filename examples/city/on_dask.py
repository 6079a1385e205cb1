"""Solve a city on Dask: here on worker processes of this machine, elsewhere on any cluster that Dask has a client for.

python on_dask.py city results
"""

from __future__ import annotations

import sys
from pathlib import Path

import dask.dataframe as dd
import pandas as pd
from dask.distributed import Client, LocalCluster
from laterals import BY, SCHEMA, solve, write_cautions

EMPTY: pd.DataFrame = SCHEMA.empty_table().to_pandas(types_mapper=pd.ArrowDtype)


def solved(readings: pd.DataFrame) -> pd.DataFrame:
    """One partition. Arrow's types stay, so that what is absent stays absent and whole numbers whole."""
    if readings.empty:
        return EMPTY
    # The engine has one task a core already.
    table = solve(readings.sort_values([BY, "row"]), threads=1)
    frame: pd.DataFrame = table.to_pandas(types_mapper=pd.ArrowDtype)
    return frame


def main() -> None:
    readings, results = map(Path, sys.argv[1:3])
    results.mkdir(parents=True)  # what is there is not written over
    write_cautions(results)
    with LocalCluster(threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster) as client:
        client.upload_file(str(Path(__file__).with_name("laterals.py")))
        rows = dd.read_parquet(readings)
        # All rows of an id into one partition, whatever file they stand in; their order there is any, so `solved` sorts.
        whole = rows.shuffle(on=BY, npartitions=max(16, rows.npartitions))
        whole.map_partitions(solved, meta=EMPTY).to_parquet(results, schema=SCHEMA, write_index=False)


if __name__ == "__main__":
    main()
