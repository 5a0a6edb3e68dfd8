"""One invented visit, judged and printed."""

from __future__ import annotations

from importlib import resources

from ...assess import assess
from ...outcomes.assessment import Assessment
from ...paper.earthmap import earth_map
from ...paper.pdf import bonding_record
from ...report.record import as_text
from ...visitbook import read_text


def visit_text() -> str:
    """The demo visit book as text."""
    return (resources.files(__package__) / "visit.toml").read_text(encoding="utf-8")


def judge_demo() -> Assessment:
    """The demo visit, judged."""
    book = read_text(visit_text(), "visit.toml")
    assert book.visit is not None  # the demo visit book is whole
    return assess(book.visit, found=book.findings, broken=book.broken)


def demo_files() -> tuple[Assessment, dict[str, tuple[bytes, str]]]:
    """The demo, judged, and its files by name: visit book, record, map and JSON, each with what it is."""
    a = judge_demo()
    return a, {
        "visit.toml": (visit_text().encode(), "the visit book; change a reading and judge it again"),
        "record.pdf": (bonding_record(a, visit_text()), "the printed record"),
        "map.svg": (earth_map(a).encode(), "the earth map"),
        "record.json": (as_text(a).encode(), "everything, for other programs"),
    }
