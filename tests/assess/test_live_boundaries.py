"""Every limit just below, at and just above."""

from __future__ import annotations

import pytest
from boundaries import EDGES, Edge
from boundary_report import main


@pytest.mark.parametrize(
    ("edge", "digits", "expected"),
    [(e, digits, expected) for e in EDGES for digits, expected in e.tries],
    ids=[f"{e.what}: {digits}" for e in EDGES for digits, _ in e.tries],
)
def test_each_limit_below_at_and_above(edge: Edge, digits: str, expected: str) -> None:
    assert edge.outcome(digits) == expected


def test_the_printed_table_has_no_wrong_outcome(capsys: pytest.CaptureFixture[str]) -> None:
    assert main() == 0
    assert f"{len(EDGES)} limits, 0 wrong outcomes" in capsys.readouterr().out
