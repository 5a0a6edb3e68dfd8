"""Thirty thousand visits in the tables, and a hundred new ones: what ``portfolio build`` takes then.

Run: python benchmarks/incremental.py [VISITS [NEW]]. 200 invented visits are judged, and their rows stand there as often as it
takes, each time under numbers and homes of their own; so do their books in the folder. Then NEW books come that are there
under no other name. Printed: the whole process as a person waits for it [s], what of it goes to judging alone [s of
processor], and the most memory of any of its processes [MB]. Asserted: that the new ones are in and no other was judged.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import polars as pl
from invented.estate import estate

from earthwright.portfolio.build import build
from earthwright.portfolio.keys import Keys
from earthwright.portfolio.sources import Job, judge
from earthwright.portfolio.store import Store, schema_of
from earthwright.portfolio.tables import BY_YEAR

JUDGED, ROUNDS = 200, 3


def multiply(store: Store, books: Path, visits: int) -> None:
    """Let each visit stand there so often that there are ``visits``, each with numbers of its own; hard links to its book."""
    once, keys, all_of = store.names(), store.keys(), []
    for turn in range(-(-visits // once.height)):
        part = once.head(min(once.height, visits - turn * once.height))
        (books / f"{turn:04d}").mkdir()
        for name in part["name"]:
            os.link(books / name, books / f"{turn:04d}" / name)
        places = [f"{turn} {place}" for place in part["place"]]
        names = [f"{turn:04d}/{name}" for name in part["name"]]
        new = {
            "name": names,
            "place": places,
            "visit": [keys.of("visit", n) for n in names],
            "home": [keys.of("home", p) for p in places],
        }
        all_of.append(part.with_columns(pl.col("visit").alias("was"), *(pl.Series(k, v) for k, v in new.items())))
    names_now = pl.concat(all_of)
    for name in once["name"]:
        (books / name).unlink()
    number = names_now.select(
        pl.col("was").alias("visit"), pl.col("visit").alias("_visit"), pl.col("home").alias("_home")
    )
    for table in BY_YEAR:
        for file in store.files(table.name):
            rows = pl.read_parquet(file).join(number, on="visit").with_columns(visit="_visit")
            rows = rows.with_columns(home="_home") if "home" in rows.columns else rows
            rows.select(list(schema_of(table))).sort("visit", maintain_order=True).write_parquet(
                file, compression="zstd"
            )
    names_now.drop("was").sort("name").write_parquet(next(store.private.glob("names*.parquet")))


def main() -> None:
    """Make them, and add some, three times."""
    visits, new = [*map(int, sys.argv[1:]), *(30_000, 100)[len(sys.argv) - 1 :]]
    with tempfile.TemporaryDirectory() as name:
        books, store = Path(name) / "books", Store(Path(name) / "tables")
        books.mkdir()
        every = list(estate(JUDGED + ROUNDS * new).books.items())
        for book, text in every[:JUDGED]:
            (books / book).write_text(text, encoding="utf-8")
        build(str(books), store, processes=os.cpu_count() or 1)
        multiply(store, books, visits)
        print(
            f"{store.names().height:,} visits in the tables; load of this machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
        )
        command = [sys.executable, "-m", "earthwright", "portfolio", "build", str(books), "-o", str(store.folder)]
        for turn in range(ROUNDS):
            some = every[JUDGED + turn * new :][:new]
            for book, text in some:
                (books / book).write_text(text, encoding="utf-8")
            cpu = time.process_time()
            for book, _ in some:
                judge(Job(str(books), book, "", Keys(b"k" * 32)))
            alone = time.process_time() - cpu
            began = time.perf_counter()
            done = subprocess.run(command, capture_output=True, text=True)
            wall = time.perf_counter() - began
            peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
            assert f": {new} visits judged." in done.stdout, done.stdout + done.stderr
            print(f"{new} new: {wall:.2f} s; judging them alone {alone:.2f} s of processor; {peak:.0f} MB", flush=True)
        assert store.names().height == visits + ROUNDS * new


if __name__ == "__main__":
    main()
