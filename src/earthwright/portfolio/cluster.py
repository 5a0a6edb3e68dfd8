"""The same jobs on a cluster that is there: Dask or Spark. Each of its workers guards what it does as this machine would.

A worker of a cluster that dies takes its whole batch with it, or the whole run; so each keeps one process beside it that may
die instead, and a visit book that does costs one row there too. What the jobs read (a folder, a database) and this program
must be reachable from every worker.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache, partial
from typing import Any

from attrs import evolve

from .running import KILLED, LONGEST_S, Done, Runner, pool_of, run_in

MOST = 100  # jobs that travel together
AT_ONCE = 4  # batches for each core between two lots of results from Spark, which gives them all at once


@lru_cache(maxsize=1)
def _guard(module: str) -> Any:
    """The process beside this worker, kept from batch to batch."""
    return pool_of(1, module)


def packed(function: Callable[[Any], Any], job: Any) -> bytes:
    """What comes of a job, as it travels: whoever hands it on need not look into it."""
    return pickle.dumps(function(job), pickle.HIGHEST_PROTOCOL)


def some(function: Callable[[Any], Any], jobs: list[Any], longest_s: float) -> list[Done[Any, bytes]]:
    """A batch of jobs, done on a worker of a cluster."""
    return list(run_in(_guard(function.__module__), partial(packed, function), jobs, 3, longest_s))


def unpacked(batch: list[Done[Any, bytes]]) -> Iterator[Done[Any, Any]]:
    """What came of a batch."""
    for done in batch:
        yield done if done.result is None else evolve(done, result=pickle.loads(done.result))


def batches(jobs: list[Any], workers: int) -> Iterator[list[Any]]:
    """Jobs that travel together: fewer towards the end, so that no worker waits for another's last batch."""
    at = 0
    while at < len(jobs):
        size = max(1, min(MOST, (len(jobs) - at) // (2 * max(workers, 1))))
        yield jobs[at : at + size]
        at += size


def on_dask(address: str, longest_s: float = LONGEST_S) -> Runner:
    """Jobs on a Dask cluster. Its workers need ``distributed.worker.daemon: false``, so that they may have a process each."""
    from distributed import Client, as_completed

    def go(function: Callable[[Any], Any], jobs: list[Any]) -> Iterator[Done[Any, Any]]:
        with Client(address) as client:
            client.wait_for_workers(1)
            workers = sum(client.nthreads().values())
            there = {client.submit(some, function, b, longest_s, pure=False): b for b in batches(jobs, workers)}
            for future in as_completed(list(there)):
                batch = there.pop(future)
                if future.status == "finished":
                    yield from unpacked(future.result())
                else:
                    yield from _lost(batch, str(future.exception()))

    return go


def on_spark(master: str, longest_s: float = LONGEST_S) -> Runner:
    """Jobs on a Spark cluster, by the address of its master (``local-cluster[2,1,1024]`` makes one here to try it)."""
    from pyspark.sql import SparkSession

    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)

    def go(function: Callable[[Any], Any], jobs: list[Any]) -> Iterator[Done[Any, Any]]:
        made = SparkSession.builder.master(master).appName("portfolio").config("spark.ui.enabled", "false")
        context = made.getOrCreate().sparkContext
        cores = context.defaultParallelism
        every, size = list(batches(jobs, cores)), AT_ONCE * cores

        def lot(part: list[list[Any]]) -> list[list[Done[Any, bytes]]]:
            found: list[list[Done[Any, bytes]]]
            found = context.parallelize(part, len(part)).map(lambda b: some(function, b, longest_s)).collect()
            return found

        two = ThreadPoolExecutor(2)  # lots at a time: while the last of one is done, the other cores are in the next
        try:
            for made_of in two.map(lot, [every[i : i + size] for i in range(0, len(every), size)]):
                for batch in made_of:
                    yield from unpacked(batch)
        finally:
            two.shutdown(wait=False, cancel_futures=True)
            context.cancelAllJobs()

    return go


def _lost(batch: list[Any], said: str) -> list[Done[Any, Any]]:
    return [Done(job, None, KILLED, said) for job in batch]
