"""What rests on particulars that are missing is said below the schedule of its board, on paper too."""

from __future__ import annotations

from pathlib import Path

from earthwright.assess import assess
from earthwright.paper.contents import schedules
from earthwright.visitbook import read_text

VISIT = Path(__file__).parents[1] / "visits" / "practice" / "c02-no-rcd-sockets.toml"


def test_what_a_board_leaves_open_stands_below_its_results() -> None:
    text = VISIT.read_text(encoding="utf-8")
    for given, open_ in (
        (text, True),
        (text.replace("[[circuit]]", '[[circuit]]\nreference = "C"\nwiring = "A"'), False),
    ):
        book = read_text(given)
        assert book.visit is not None
        lines = [line for s in schedules(assess(book.visit)) for line in s["open"]]  # type: ignore[attr-defined]
        assert any("overload is not decided" in line and "c1" in line for line in lines) is open_
