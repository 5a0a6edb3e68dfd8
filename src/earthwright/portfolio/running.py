"""One function over many jobs in processes of their own. A job that fails, hangs or kills its process costs itself alone.

With pebble (an extra) a process that dies takes one job with it, and one that takes too long is ended; the standard
library's pools hang or lose everything then. Without it the jobs are done one after another in this process.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, TimeoutError, wait
from typing import Any, Generic, TypeVar

from attrs import frozen

J = TypeVar("J")
R = TypeVar("R")
LONGEST_S = 120.0  # of one visit; the largest that is taken is judged in a few seconds
FEW = 8  # jobs that are not worth starting processes for
KILLED, HANGS, FAULT = "it ended its process", "it took too long", "a fault of the program"


@frozen
class Done(Generic[J, R]):
    """A job with its result; ``why`` says why there is none, ``said`` what was said of it."""

    job: J
    result: R | None
    why: str = ""
    said: str = ""


def run(
    function: Callable[[J], R], jobs: Iterable[J], processes: int, longest_s: float = LONGEST_S, *, few: int = FEW
) -> Iterator[Done[J, R]]:
    """Results as they are done, one for each job, in no order. ``longest_s``: after which a job is given up [s].

    An interruption is for this process alone: it ends the others, and what was done until then has been given out.
    """
    listed = list(jobs)
    pool = pool_of(min(processes, len(listed)), function.__module__) if len(listed) >= few else None
    if pool is None:
        for job in listed:
            yield _here(function, job)
        return
    with pool:
        try:
            yield from run_in(pool, function, listed, 3 * processes, longest_s)
        except BaseException:
            pool.stop()
            raise


def run_in(
    pool: Any, function: Callable[[J], R], jobs: Iterable[J], most_waiting: int, longest_s: float = LONGEST_S
) -> Iterator[Done[J, R]]:
    """The same in a pool that is there already and stays."""
    waiting: dict[Future[R], J] = {}
    ahead = iter(jobs)
    while True:
        while len(waiting) < most_waiting and (job := next(ahead, _NONE)) is not _NONE:
            waiting[pool.schedule(function, args=(job,), timeout=longest_s)] = job
        if not waiting:
            return
        for future in wait(waiting, return_when=FIRST_COMPLETED).done:
            yield _there(future, waiting.pop(future))


_NONE: Any = object()


def pool_of(processes: int, module: str) -> Any:
    """A pool whose processes may die; None where pebble is not installed. ``module``: as for :func:`get_ready`."""
    try:
        from pebble import ProcessPool
    except ModuleNotFoundError:
        return None
    context = get_ready(module)
    return ProcessPool(processes, initializer=signal.signal, initargs=(signal.SIGINT, signal.SIG_IGN), context=context)


def get_ready(module: str) -> Any:
    """How processes are started. Where the system can, one of them loads ``module`` once and the others are copies of it.

    Asked early, it loads while this process is still busy with other things.
    """
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    from multiprocessing import forkserver

    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([module])
    forkserver.ensure_running()
    return context


def _here(function: Callable[[J], R], job: J) -> Done[J, R]:
    try:
        return Done(job, function(job))
    except Exception as error:  # one job must not cost the others their results
        return Done(job, None, FAULT, f"{type(error).__name__}: {error}")


def _there(future: Future[R], job: J) -> Done[J, R]:
    from pebble import ProcessExpired

    try:
        return Done(job, future.result())
    except TimeoutError:
        return Done(job, None, HANGS)
    except ProcessExpired as error:
        return Done(job, None, KILLED, f"exit code {error.exitcode}")
    except Exception as error:
        return Done(job, None, FAULT, f"{type(error).__name__}: {error}")


def guarded() -> bool:
    """Whether jobs are done in processes of their own, so that one that dies costs itself alone."""
    try:
        import pebble  # noqa: F401
    except ModuleNotFoundError:
        return False
    return True


Runner = Callable[[Callable[[Any], Any], "list[Any]"], "Iterator[Done[Any, Any]]"]  # does jobs, here or on a cluster
