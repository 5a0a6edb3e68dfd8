"""Thousands of visits judged: by this machine's processes, by a Dask cluster of two workers and by Spark in local cluster mode.

Run: python benchmarks/judging_many.py [VISITS] [HOW …]; HOW: here, dask, spark, poisoned; all when left out. Each way is told beside
*here* in the same run; the start of a cluster is not counted and told apart. *cores*: processor time inside the jobs against
all there was, so that whatever else is done counts as lost. *poisoned*: of the same visits one in a thousand cannot be read,
one ends its process and one hangs; each way must lose these and no other. It asserts that, and that all rows are equal.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
os.environ["PYTHONPATH"] = os.pathsep.join([str(HERE), *filter(None, [os.environ.get("PYTHONPATH", "")])])

from helpers.poison import HANGS, KILLS, timed  # noqa: E402
from invented.estate import estate  # noqa: E402

from earthwright.portfolio.cluster import on_dask, on_spark  # noqa: E402
from earthwright.portfolio.keys import Keys  # noqa: E402
from earthwright.portfolio.running import get_ready, run  # noqa: E402
from earthwright.portfolio.sources import Job  # noqa: E402

CORES = 2
LONGEST_S = 20.0  # after which a visit that hangs is given up
WHOLE = 300_000
Run = Callable[[list[Job]], Iterator[Any]]


@contextlib.contextmanager
def here() -> Iterator[Run]:
    """Processes of this machine."""
    get_ready("helpers.poison")
    yield lambda jobs: run(timed, jobs, CORES, LONGEST_S)


@contextlib.contextmanager
def dask() -> Iterator[Run]:
    """A scheduler and two workers, each a process of its own, as docs/portfolio.md has it."""
    address, bins = "tcp://127.0.0.1:8786", Path(sys.executable).parent
    environment = {
        **os.environ, "DASK_DISTRIBUTED__WORKER__DAEMON": "False", "DASK_DISTRIBUTED__WORKER__PROFILE__ENABLED": "False",
    }  # fmt: skip
    quiet: dict[str, Any] = {"env": environment, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    worker = [str(bins / "dask"), "worker", address, "--nworkers", str(CORES), "--nthreads", "1", "--no-dashboard"]
    scheduler = [str(bins / "dask"), "scheduler", "--host", "127.0.0.1", "--port", "8786", "--no-dashboard"]
    processes = [subprocess.Popen(command, **quiet) for command in (scheduler, worker)]
    try:
        yield lambda jobs: on_dask(address, LONGEST_S)(timed, jobs)
    finally:
        for process in reversed(processes):
            process.terminate()
            process.wait()


@contextlib.contextmanager
def spark() -> Iterator[Run]:
    """A master and two workers with one core each, made by Spark itself."""
    yield lambda jobs: on_spark(f"local-cluster[{CORES},1,1024]", LONGEST_S)(timed, jobs)
    from pyspark.sql import SparkSession

    if (session := SparkSession.getActiveSession()) is not None:
        session.stop()


WAYS = {"here": here, "dask": dask, "spark": spark}
NEEDS = {"here": "pebble", "dask": "distributed", "spark": "pyspark"}


def make(folder: Path, visits: int) -> list[Job]:
    """The books of as many visits."""
    books = dict(sorted(estate(visits).books.items())[:visits])
    for name, text in books.items():
        (folder / name).write_text(text, encoding="utf-8")
    return [Job(str(folder), name, "", Keys(b"k" * 32)) for name in books]


def go(runs: Run, jobs: list[Job]) -> tuple[dict[str, Any], Counter[str], float, float]:
    """The rows of each visit, how many were lost and why, the time it took [s], and that inside the jobs [s of processor]."""
    began, rows, lost, used = time.perf_counter(), {}, Counter[str](), 0.0
    for done in runs(jobs):
        if done.result is None:
            lost[done.why] += 1
        else:
            rows[done.job.name] = done.result[0].rows
            used += done.result[1]
            if not done.result[0].year:
                lost[next(iter(done.result[0].words))] += 1
    return rows, lost, time.perf_counter() - began, used


def main() -> None:
    """Every way that was asked for."""
    asked = [a for a in sys.argv[1:] if not a.isdigit()] or [*WAYS, "poisoned"]
    visits = next((int(a) for a in sys.argv[1:] if a.isdigit()), 1000)
    ways = [w for w in WAYS if w in asked] or list(WAYS)
    with tempfile.TemporaryDirectory() as name:
        jobs = make(Path(name), visits)
        print(f"{visits:,} visits; load of this machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores", flush=True)
        first: tuple[dict[str, Any], float] | None = None
        if set(ways) & set(asked):
            print(
                f"{'':8}{'start s':>9}{'wall s':>9}{'visits/s':>10}{'cores':>8}{'beside here':>13}{f'{WHOLE:,} in h':>15}  lost"
            )
        for way in ways:
            if find_spec(NEEDS[way]) is None:
                print(f"{way:8}not run: {NEEDS[way]} is not installed")
                continue
            began = time.perf_counter()
            with WAYS[way]() as runs:
                list(runs(jobs[:20]))  # the cluster is up, and each process has the program loaded
                start = time.perf_counter() - began
                if way in asked:
                    rows, lost, wall, used = go(runs, jobs)
                    first = first or (rows, wall)
                    assert rows == first[0], f"{way}: other rows"
                    print(
                        f"{way:8}{start:9.1f}{wall:9.1f}{visits / wall:10.1f}{used / wall / CORES:8.1%}{wall / first[1] - 1:+13.1%}"
                        f"{WHOLE / visits * wall / 3600:15.2f}  {dict(lost)}",
                        flush=True,
                    )
                if "poisoned" in asked:
                    _poisoned(way, runs, jobs, Path(name))


def _poisoned(way: str, runs: Run, jobs: list[Job], folder: Path) -> None:
    """Of every thousand visits (or of fewer that there are) one of each kind of poison."""
    kept, bad = {}, Counter[str]()
    for at in range(0, len(jobs), 1000):
        for job, text in zip(jobs[at + 3 : at + 6], ("= none\n", KILLS, HANGS), strict=True):
            path = folder / job.name
            kept[path] = path.read_text(encoding="utf-8")
            path.write_text(text if text[0] == "=" else text + kept[path], encoding="utf-8")
            bad[job.name] += 1
    try:
        before = sum(1 for j in jobs if "no day" in (folder / j.name).read_text(encoding="utf-8"))  # planted: not read
        rows, lost, wall, _ = go(runs, jobs)
    finally:
        for path, text in kept.items():
            path.write_text(text, encoding="utf-8")
    print(
        f"{way:8}{len(bad)} poisoned in {len(jobs):,} ({before} more that were planted): lost {dict(lost)} in {wall:.0f} s",
        flush=True,
    )
    assert sum(lost.values()) == len(bad) + before
    assert len(rows) + sum(lost.values()) == len(jobs) + before + len(bad) // 3


if __name__ == "__main__":
    main()
