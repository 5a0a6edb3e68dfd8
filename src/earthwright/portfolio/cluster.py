"""The same jobs on a cluster that is there: Dask or Spark. Each of its workers guards what it does as this machine would.

A worker of a cluster that dies takes its whole batch with it, or the whole run; so each keeps one process beside it that may
die instead, and a visit book that does costs one row there too. What the jobs read (a folder, a database) and this program
must be reachable from every worker.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

from .running import KILLED, LONGEST_S, Done, Runner, pool_of, run_in

BATCH = 50  # jobs that travel together
AT_ONCE = 4  # batches for each core between two lots of results from Spark, which gives them all at once


@lru_cache(maxsize=1)
def _guard(module: str) -> Any:
    """The process beside this worker, kept from batch to batch."""
    return pool_of(1, module)


def some(function: Callable[[Any], Any], jobs: list[Any], longest_s: float) -> list[Done[Any, Any]]:
    """A batch of jobs, done on a worker of a cluster."""
    return list(run_in(_guard(function.__module__), function, jobs, 3, longest_s))


def _batches(jobs: list[Any]) -> list[list[Any]]:
    return [jobs[i : i + BATCH] for i in range(0, len(jobs), BATCH)]


def on_dask(address: str, longest_s: float = LONGEST_S) -> Runner:
    """Jobs on a Dask cluster. Its workers need ``distributed.worker.daemon: false``, so that they may have a process each."""
    from distributed import Client, as_completed

    def go(function: Callable[[Any], Any], jobs: list[Any]) -> Iterator[Done[Any, Any]]:
        with Client(address) as client:
            there = {client.submit(some, function, b, longest_s, pure=False): b for b in _batches(jobs)}
            for future in as_completed(list(there)):
                batch = there.pop(future)
                yield from future.result() if future.status == "finished" else _lost(batch, str(future.exception()))

    return go


def on_spark(master: str, longest_s: float = LONGEST_S) -> Runner:
    """Jobs on a Spark cluster, by the address of its master (``local-cluster[2,1,1024]`` makes one here to try it)."""
    from pyspark.sql import SparkSession

    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)

    def go(function: Callable[[Any], Any], jobs: list[Any]) -> Iterator[Done[Any, Any]]:
        made = SparkSession.builder.master(master).appName("portfolio").config("spark.ui.enabled", "false")
        context = made.getOrCreate().sparkContext
        batches, lot = _batches(jobs), AT_ONCE * context.defaultParallelism
        for i in range(0, len(batches), lot):
            part = batches[i : i + lot]
            for done in context.parallelize(part, len(part)).map(lambda b: some(function, b, longest_s)).collect():
                yield from done

    return go


def _lost(batch: list[Any], said: str) -> list[Done[Any, Any]]:
    return [Done(job, None, KILLED, said) for job in batch]
