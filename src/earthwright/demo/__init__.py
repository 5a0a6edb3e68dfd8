"""One invented visit, judged and printed."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from ..assess import assess
from ..judged import Assessment
from ..paper.earthmap import earth_map
from ..paper.pdf import bonding_record
from ..record import as_text
from ..visitbook import read_text


def visit_text() -> str:
    """The demo visit book as text."""
    return (resources.files(__package__) / "visit.toml").read_text(encoding="utf-8")


def judge_demo() -> Assessment:
    """The demo visit, judged."""
    book = read_text(visit_text(), "visit.toml")
    assert book.visit is not None  # the demo visit book is whole
    return assess(book.visit, found=book.findings, broken=book.broken)


def write_demo(folder: Path) -> tuple[Assessment, dict[Path, str]]:
    """Judge the demo and write visit book, record, map and JSON into a folder; each file with what it is."""
    a = judge_demo()
    made = {
        folder / "visit.toml": (visit_text().encode(), "the visit book; change a reading and judge it again"),
        folder / "record.pdf": (bonding_record(a, visit_text()), "the printed record"),
        folder / "map.svg": (earth_map(a).encode(), "the earth map"),
        folder / "record.json": (as_text(a).encode(), "everything, for other programs"),
    }
    folder.mkdir(parents=True, exist_ok=True)
    for path, (content, _) in made.items():
        path.write_bytes(content)
    return a, {path: what for path, (_, what) in made.items()}
