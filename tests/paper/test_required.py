"""The table of what each document must say, held against the documents as printed, both ways."""

from __future__ import annotations

import re
import shutil
import subprocess
from functools import lru_cache
from pathlib import Path

import made
import pytest
from attrs import evolve

from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document
from earthwright.paper.kinds import CERTIFICATE, MINOR, RECORD, REPORT
from earthwright.paper.requirements import groups_of

PAGE = (Path(__file__).parents[2] / "docs" / "documents.md").read_text(encoding="utf-8")
COLUMNS = (RECORD, CERTIFICATE, REPORT, MINOR)


def rows() -> list[list[str]]:
    """The rows of the table: what, source, words on the page, and a word for each document."""
    table = PAGE[PAGE.index("| asked for |") :].split("\n\n")[0].splitlines()
    assert [c.strip() for c in table[0].strip("|").split("|")][3:] == list(COLUMNS)
    return [[c.strip() for c in line.strip("|").split("|")] for line in table[2:]]


def whole(document: str) -> Assessment:
    """A job in which everything was entered."""
    a = made.job(4, 3, 0 if document == CERTIFICATE else 1)
    report = evolve(a.visit.paperwork.report, circuit="C2")
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, report=report)))


@lru_cache(maxsize=4)
def printed(document: str, folder: Path) -> str:
    """All words of a document, in one line."""
    reader = shutil.which("pdftotext")
    assert reader
    file = folder / f"{document}.pdf"
    file.write_bytes(make_document(whole(document), document, book=made.BOOK))
    done = subprocess.run([reader, "-raw", str(file), "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("required")


@pytest.mark.parametrize("document", COLUMNS)
def test_what_the_table_says_is_there_is_there(document: str, folder: Path) -> None:
    text = printed(document, folder)
    mine = [(r[0], r[2].split("; ")) for r in rows() if r[3 + COLUMNS.index(document)] == "there"]
    assert mine
    assert [(what, words) for what, all_words in mine for words in all_words if words not in text] == []


@pytest.mark.parametrize("document", COLUMNS[1:])
def test_whatever_a_document_requires_stands_in_the_table(document: str) -> None:
    told = {w for r in rows() if r[3 + COLUMNS.index(document)] == "there" for w in r[2].split("; ")}
    needed = {f.label for g in groups_of(whole(document), document) for f in g.fields if f.need}
    assert needed - told == set()


def test_every_row_has_its_source_and_says_there_or_a_dash() -> None:
    for row in rows():
        assert row[1] in ("memory", "read", "our own", "common practice, no source"), row
        assert set(row[3:]) <= {"there", "–"}, row
        assert "there" in row[3:], row


def test_nothing_that_can_be_worked_out_is_asked_for() -> None:
    """The highest Zs follows from the device and the subject-to from the codes: neither is a field of the visit book."""
    assert not re.search(r"^(highest_zs|max_zs|subject_to) =", PAGE, re.MULTILINE)
    assert printed
