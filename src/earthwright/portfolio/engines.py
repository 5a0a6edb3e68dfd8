"""The tables as lazy frames of one layer, whichever engine works them out: polars, DuckDB, Dask or Spark."""

from __future__ import annotations

import hashlib
import warnings
from collections.abc import Iterator, Mapping
from typing import Any

import narwhals.stable.v2 as nw

from .store import Store

POLARS, DUCKDB, DASK, SPARK = "polars", "duckdb", "dask", "spark"
ENGINES = (POLARS, DUCKDB, DASK, SPARK)
Frame = nw.LazyFrame[Any]


class Frames(Mapping[str, Frame]):
    """The tables of a store by name, all of the moment it was made. ``session``: a Spark session or the like that is there already."""

    def __init__(self, store: Store, engine: str = POLARS, session: Any = None) -> None:
        self.store, self.engine = store, engine
        self._session = session
        self._files = store.counted()

    def beside(self, table: str, store: Store) -> Frames:
        """The same with one table from another store."""
        made = Frames(self.store, self.engine, self._session)
        made._files = self._files | {table: store.files(table)}
        return made

    def __getitem__(self, table: str) -> Frame:
        files = [str(f) for f in self._files.get(table, ())]
        if not files:
            raise KeyError(table)
        native = self._scan(files)
        with warnings.catch_warnings():  # that its way to Dask is to become a package of its own
            warnings.simplefilter("ignore", FutureWarning)
            frame: Frame = nw.from_native(native).lazy()
        return frame

    def _scan(self, files: list[str]) -> Any:
        if self.engine == POLARS:
            import polars as pl

            return pl.scan_parquet(files)
        if self.engine == DUCKDB:
            import duckdb

            self._session = self._session or duckdb.connect()
            return self._session.read_parquet(files)
        if self.engine == DASK:
            import dask.dataframe as dd

            return dd.read_parquet(files, dtype_backend="pyarrow")
        if self._session is None:
            self._session = spark_here()
        return self._session.read.parquet(*files)

    def __iter__(self) -> Iterator[str]:
        return iter(sorted(t for t, files in self._files.items() if files))

    def __len__(self) -> int:
        return sum(1 for _ in self)


def spark_here() -> Any:
    """A Spark session on this machine alone, for a look at small stores; a cluster's own session is passed in instead."""
    import os
    import sys

    from pyspark.sql import SparkSession

    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    made = (
        SparkSession.builder.master("local[*]")
        .config("spark.ui.enabled", "false")
        .config("spark.sql.shuffle.partitions", "4")
    )
    return made.getOrCreate()


def rows_of(frame: Frame) -> list[tuple[Any, ...]]:
    """The rows of a lazy frame, in order of their values; worked out now, by whichever engine it belongs to."""
    native: Any = nw.to_native(frame)
    if hasattr(native, "collect_schema"):  # polars
        rows = native.collect().rows()
    elif hasattr(native, "fetchall"):  # DuckDB
        rows = native.fetchall()
    elif hasattr(native, "compute"):  # Dask
        rows = [tuple(_plain(v) for v in row) for row in native.compute().itertuples(index=False, name=None)]
    else:
        rows = [tuple(row) for row in native.collect()]
    return sorted(rows, key=lambda row: tuple((v is not None, v) for v in row))


def _plain(value: Any) -> Any:
    import pandas as pd

    if value is pd.NA or value is None or value != value:
        return None
    return value.date() if isinstance(value, pd.Timestamp) else getattr(value, "item", lambda: value)()


def digest(rows: list[tuple[Any, ...]]) -> str:
    """SHA-256 of rows: equal on every engine when their whole numbers, days and texts are."""
    said = "\n".join(
        "\t".join("" if v is None else str(int(v)) if isinstance(v, bool) else str(v) for v in row) for row in rows
    )
    return hashlib.sha256(said.encode()).hexdigest()
