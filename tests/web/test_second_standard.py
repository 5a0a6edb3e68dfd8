"""A visit under another country's standard, which holds little: whole reports, and no number of BS 7671 in any of them."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from asked import Site, text_of
from click.testing import CliRunner

from earthwright.assess import assess
from earthwright.cli.main import main
from earthwright.desk import Desk
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document
from earthwright.paper.kinds import DOCUMENTS, REPORT
from earthwright.rules import load
from earthwright.visitbook import read_text

HERE = Path(__file__).parents[1]
RULES = HERE.parent / "src" / "earthwright" / "rules" / "data"
BOOKS = (
    "paper/complete.toml",
    "visits/10-adiabatic.toml",
    "visits/16-open-pen.toml",
    "visits/24-ragged-board.toml",
    "visits/practice/d15-tails-16-100A.toml",
)


def numbers() -> re.Pattern[str]:
    """Every clause and table that the data of BS 7671 name."""
    found = {
        n
        for path in (RULES / "bs-7671").rglob("*.toml")
        for n in re.findall(
            r"(?<=[\" ;,])(?:[4-7]\d\d|13\d|313)\.\d[\d.]*(?=[\";, ])|(?:table|appendix|part|section) \d\w*(?:\.\d+)?",
            path.read_text(encoding="utf-8"),
        )
    }
    assert len(found) > 150
    each = "|".join(re.escape(n) for n in sorted(found, key=len, reverse=True))
    return re.compile(rf"(?<![\d.,+-])(?:{each})(?![\d]| ?(?:Ω|V|A|m|mm|kA)\b)", re.IGNORECASE)


BS_7671 = numbers()


@pytest.fixture
def other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rule data with the invented standard in the place of BS 7671."""
    data = tmp_path / "data"
    data.mkdir()
    for folder in (*RULES.iterdir(), *(HERE / "rules" / "data_other").iterdir()):
        if folder.name != "bs-7671":
            (data / folder.name).symlink_to(folder)
    monkeypatch.setattr(load, "_package_data", lambda: data)


def book(name: str) -> str:
    text = (HERE / name).read_text(encoding="utf-8")
    text = re.sub(r'^clause = ".*"$', "", text, flags=re.MULTILINE)  # what the inspector typed is printed as it is
    return re.sub(r"^\[visit\]$", '[visit]\nedition = "NORM E:2024"', text, count=1, flags=re.MULTILINE)


def judged(name: str) -> Assessment:
    read = read_text(book(name))
    assert read.visit is not None
    return assess(read.visit, found=read.findings)


def clean(what: str, text: str) -> None:
    said = [text[max(0, m.start() - 60) : m.end() + 30] for m in BS_7671.finditer(text)]
    assert not said, f"{what}: {said[:5]}"


@pytest.mark.parametrize("name", BOOKS)
def test_terminal_record_and_proposals(other: None, name: str, tmp_path: Path) -> None:
    path = tmp_path / "visit.toml"
    path.write_text(book(name), encoding="utf-8")
    for asked in (["judge", "--full"], ["judge", "--json"], ["observe"]):
        said = CliRunner().invoke(main, [*asked, str(path)])
        assert said.exception is None or isinstance(said.exception, SystemExit), said.exception
        assert asked == ["observe"] or "NORM E" in said.output
        clean(" ".join(asked), said.output)


def test_papers(other: None, tmp_path: Path) -> None:
    a = judged(BOOKS[0])
    for document in DOCUMENTS:
        (tmp_path / "d.pdf").write_bytes(make_document(a, document, draft=True))
        done = subprocess.run(
            ["pdftotext", "-layout", tmp_path / "d.pdf", "-"], capture_output=True, text=True, check=True
        )
        assert len(done.stdout) > 500
        clean(document, done.stdout)
        assert "E-14" in done.stdout or document != REPORT  # its own clauses are printed, where they belong


def test_pages(other: None, site: Site, desk: Desk) -> None:
    base = f"/v/{desk.take_in(book(BOOKS[0]))}"
    waiting, seen = [f"{base}/"], set[str]()
    while waiting:
        path = waiting.pop()
        kind = re.sub(r"(entry|bond|circuits|findings|along|fill|paper|add)/[^/?]+", r"\1/…", path)
        if path in seen or sum(k.startswith(f"{kind} ") for k in seen) > 2:
            continue
        seen |= {path, f"{kind} {path}"}
        answer = site.get(path)
        assert answer.status_code in (200, 303), path
        clean(path, text_of(answer))
        waiting += [
            p for p in re.findall(r'href="(/v/[^"#]+)"', answer.text) if not p.endswith((".pdf", ".svg", ".png"))
        ]
    assert len(seen) > 60
