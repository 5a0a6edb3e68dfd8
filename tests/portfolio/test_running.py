"""Jobs in processes of their own."""

from __future__ import annotations

import os
import time

import pytest

from earthwright.portfolio.running import HANGS, KILLED, guarded, run


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
