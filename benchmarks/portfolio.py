"""Five rules by edition over ten million readings: through the one layer, and the same by hand in polars and in SQL.

Run: python benchmarks/portfolio.py [READINGS]. Prints processor time, ratios and digests and asserts nothing but that all agree.
The layer is asked on polars and on DuckDB; where Dask and Spark are installed, on them too. Each round is a process of its own.
"""

from __future__ import annotations

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROUNDS = 3
EDITIONS, TESTS = 4, 5
# Largest (or least) value of each test by edition [thousandths]: invented, in the order of the editions.
LIMITS = (
    (1370, 1370, 1300, 1310),
    (300, 300, 300, 40),
    (1000, 1000, 500, 1000),
    (350, 350, 350, 340),
    (50, 50, 60, 50),
)
LEAST = (2,)  # tests whose limit is a least value


def make(folder: Path, count: int) -> None:
    """Readings as the table ``row`` has them, spread over ten files."""
    import numpy as np
    import polars as pl

    dice = np.random.default_rng(7)
    for part in range(10):
        n = count // 10
        frame = {
            "visit": np.sort(dice.integers(0, n // 30 + 1, n)) + part * 10**9,
            "test": dice.integers(0, TESTS, n).astype("int32"),
            "edition": dice.integers(0, EDITIONS, n).astype("int32"),
            "value": dice.integers(0, 2000, n).astype("int32"),
        }
        pl.DataFrame(frame).write_parquet(folder / f"{part}.parquet")


def through_the_layer(lazy: Any) -> Any:
    """Readings that fail, by test and edition: one expression."""
    import narwhals.stable.v2 as nw

    frame = nw.from_native(lazy).lazy()
    fails = nw.lit(False)
    for test, limits in enumerate(LIMITS):
        for edition, limit in enumerate(limits):
            beyond = nw.col("value") < limit if test in LEAST else nw.col("value") > limit
            fails = fails | ((nw.col("test") == test) & (nw.col("edition") == edition) & beyond)
    counted = frame.select("test", "edition", fails.cast(nw.Int64).alias("fails")).group_by("test", "edition")
    return nw.to_native(counted.agg(nw.col("fails").sum()))


def by_hand_polars(lazy: Any) -> Any:
    """The same in polars itself."""
    import polars as pl

    fails = pl.lit(False)
    for test, limits in enumerate(LIMITS):
        for edition, limit in enumerate(limits):
            beyond = pl.col("value") < limit if test in LEAST else pl.col("value") > limit
            fails = fails | ((pl.col("test") == test) & (pl.col("edition") == edition) & beyond)
    return (
        lazy.select("test", "edition", fails.cast(pl.Int64).alias("fails"))
        .group_by("test", "edition")
        .agg(pl.col("fails").sum())
    )


def by_hand_sql(files: str) -> str:
    """The same in SQL."""
    rules = " OR ".join(
        f"(test = {t} AND edition = {e} AND value {'<' if t in LEAST else '>'} {limit})"
        for t, limits in enumerate(LIMITS)
        for e, limit in enumerate(limits)
    )
    return f"SELECT test, edition, sum(CASE WHEN {rules} THEN 1 ELSE 0 END) FROM read_parquet('{files}') GROUP BY ALL"


def one(how: str, folder: str) -> None:
    """One way, once cold and then timed; prints its figures as JSON."""
    files = f"{folder}/*.parquet"

    def ask() -> list[tuple[int, ...]]:
        if how.startswith("polars"):
            import polars as pl

            lazy = pl.scan_parquet(files)
            return (through_the_layer(lazy) if "layer" in how else by_hand_polars(lazy)).collect().rows()  # type: ignore[no-any-return]
        if how.startswith("duckdb"):
            import duckdb

            con = duckdb.connect()
            found = through_the_layer(con.read_parquet(files)) if "layer" in how else con.sql(by_hand_sql(files))
            return found.fetchall()  # type: ignore[no-any-return]
        if how.startswith("dask"):
            import dask.dataframe as dd

            return list(through_the_layer(dd.read_parquet(files)).compute().itertuples(index=False, name=None))
        from earthwright.portfolio.engines import spark_here

        return [tuple(r) for r in through_the_layer(spark_here().read.parquet(folder)).collect()]

    rows = sorted(tuple(int(v) for v in r) for r in ask())
    walls, used = [], []
    for _ in range(ROUNDS):
        wall, cpu = time.perf_counter(), time.process_time()
        ask()
        walls.append(time.perf_counter() - wall)
        used.append(time.process_time() - cpu)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        json.dumps(
            {"wall": min(walls), "cpu": statistics.median(used), "mb": peak, "digest": hash(tuple(rows)) & 0xFFFFFFFF}
        )
    )


def main() -> None:
    """Every way beside the others."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000_000
    with tempfile.TemporaryDirectory() as name:
        make(Path(name), count)
        print(
            f"{count:,} readings, {TESTS} rules by {EDITIONS} editions; load of this machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
        )
        print(f"{'':22}{'wall s':>8}{'cpu s':>8}{'MB':>8}  digest")
        for how in (
            "polars by hand",
            "polars, one layer",
            "duckdb by hand",
            "duckdb, one layer",
            "dask, one layer",
            "spark, one layer",
        ):
            done = subprocess.run(
                [sys.executable, "-W", "ignore", __file__, "--one", how, name], capture_output=True, text=True
            )
            if done.returncode:
                print(f"{how:22} not run: {done.stderr.strip().splitlines()[-1][:80] if done.stderr else ''}")
                continue
            r = json.loads(done.stdout.strip().splitlines()[-1])
            print(f"{how:22}{r['wall']:8.2f}{r['cpu']:8.2f}{r['mb']:8.0f}  {r['digest']:08x}", flush=True)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2], sys.argv[3])
    else:
        main()
