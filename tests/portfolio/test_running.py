"""Jobs in processes of their own."""

from __future__ import annotations

import os
import time

import pytest

from earthwright.portfolio.cluster import MOST, batches, some, unpacked
from earthwright.portfolio.running import FAULT, HANGS, KILLED, guarded, run


def _odd(kind: str) -> str:
    if kind == "killed":
        os._exit(9)
    if kind == "hangs":
        time.sleep(60)
    if kind == "raises":
        raise ValueError("odd")
    return kind


@pytest.mark.skipif(not guarded(), reason="pebble is not installed")
def test_a_job_that_hangs_dies_or_fails_costs_itself_alone() -> None:
    jobs = ["good", "killed", "good", "hangs", "raises", "good", "good", "good"]
    done = list(run(_odd, jobs, 2, 4.0))
    assert sorted(d.job for d in done) == sorted(jobs)
    assert [d.why for d in done if d.job == "killed"] == [KILLED]
    assert [d.why for d in done if d.job == "hangs"] == [HANGS]
    assert [d.said for d in done if d.job == "raises"] == ["ValueError: odd"]
    assert [d.result for d in done if d.job == "good"] == ["good"] * 5


def test_jobs_of_a_cluster_travel_together_and_fewer_towards_the_end() -> None:
    for count in (0, 1, 20, 999):
        sizes = [len(b) for b in batches(list(range(count)), 2)]
        assert [j for b in batches(list(range(count)), 2) for j in b] == list(range(count))
        assert all(s <= MOST for s in sizes)
        assert sizes == sorted(sizes, reverse=True)
        assert sizes[-2:] in ([], [1], [1, 1])  # no worker waits long for the last
    assert len(list(batches(list(range(20)), 2))) > 2  # none of two is without


@pytest.mark.skipif(not guarded(), reason="pebble is not installed")
def test_a_batch_comes_back_as_it_would_here() -> None:
    done = list(unpacked(some(_odd, ["good", "killed", "raises", "good"], 30.0)))
    assert sorted((d.job, d.result, d.why, d.said) for d in done if d.result) == [("good", "good", "", "")] * 2
    assert {d.job: d.why for d in done if d.result is None} == {"killed": KILLED, "raises": FAULT}
