"""From a C2 to the closing statement: what was put right, by whom, by what it was checked; what is passed on names no client."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
from pathlib import Path

import made
import pytest
from attrs import evolve
from click.testing import CliRunner
from remedied import CHECKED, DONE, FOUND, visit

from earthwright.assess import assess
from earthwright.cli.main import main
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import NotIssued, make_document, missing_fields, page_of
from earthwright.paper.kinds import ALL
from earthwright.visitbook import read_text


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    assert not [f.sentence() for f in book.findings if f.severity.value == "error"]
    return assess(book.visit, found=book.findings, broken=book.broken)


def lacking(a: Assessment, document: str) -> list[str]:
    return [m.what for m in missing_fields(a, document) if not m.what.startswith("Signature")]


def pages_of(content: bytes, tmp_path: Path) -> str:
    reader = shutil.which("pdftotext")
    assert reader
    (tmp_path / "d.pdf").write_bytes(content)
    done = subprocess.run([reader, "-layout", tmp_path / "d.pdf", "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


def test_no_closing_statement_before_everything_is_put_right_and_checked() -> None:
    found = judged(visit())
    assert lacking(found, "closing statement") == ["Observation 3: put right and checked"]
    assert lacking(found, "confirmation of work") == ["Observation 3: put right and checked"]
    with pytest.raises(NotIssued):
        make_document(found, "closing statement")
    half = judged(visit(FOUND + DONE))
    assert lacking(half, "closing statement") == ["Observation 3: put right and checked"]
    assert lacking(half, "confirmation of work") == [], "that more is needed can be confirmed as well"
    assert page_of(half, "confirmation of work")["outcome"]["head"] == "Further work is needed"  # type: ignore[index]


def test_a_reading_that_does_not_confirm_closes_nothing() -> None:
    a = judged(visit(FOUND + DONE + CHECKED, after="1700"))
    assert lacking(a, "closing statement")
    row = page_of(a, "closing statement")["rows"][0]  # type: ignore[index]
    assert row["open"]
    assert "does not confirm it" in row["faults"][0]


def test_it_says_what_was_done_by_whom_and_by_what_it_was_checked(tmp_path: Path) -> None:
    a = judged(visit(FOUND + DONE + CHECKED, after="0.62"))
    assert lacking(a, "closing statement") == []
    text = pages_of(make_document(a, "closing statement", draft=True), tmp_path)
    for words in (
        "Put right and checked",
        "1 December 2026 by P. Fitter, Example Electrical: Loose earth wire at the socket remade",
        "2 December 2026 by J. Example: reading r",
        "confirmation to tenant and authority",
        "29 December 2026",
        "Netherby Homes (invented)",
        "I answer for those checks",
    ):
        squeezed = "".join(words.split()).lower()
        assert squeezed in "".join(text.split()).lower() or all(w in text for w in words.split()), words
    letter = pages_of(make_document(a, "letter", draft=True), tmp_path)
    assert "It was put right, and that was checked on 2 December 2026" in letter
    assert "All that we found has been put right" not in letter, "the advice of the report still stands"


def test_the_minor_works_certificate_takes_over_what_was_put_right() -> None:
    text = visit(FOUND + DONE + CHECKED, after="0.62")
    for line in ('work = "A socket-outlet added to circuit 1"\n', "completed = 2026-11-19\n", 'circuit = "1"\n'):
        assert line in text
        text = text.replace(line, "", 1)
    a = judged(text)
    said = {f["label"]: f["value"] for g in page_of(a, "minor works certificate")["groups"] for f in g["fields"]}  # type: ignore[attr-defined]
    assert (
        said["Description and place"] == "Loose earth wire at the socket remade (observation 3; Main board, circuit 1)"
    )
    assert said["Completed on"] == "1 December 2026"
    assert said["Circuit"].startswith("1 ")


@pytest.mark.parametrize("document", [d.name for d in ALL if not d.private])
def test_what_is_passed_on_names_no_client_and_holds_no_record(document: str, tmp_path: Path) -> None:
    a = made.put_right(made.job(3, 3, 1))
    report = evolve(
        a.visit.paperwork.report, agreed_with="Ashgarth Lettings (invented), by letter", copies=("A. Private",)
    )
    a = evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, report=report)))
    content = make_document(a, document, book=made.BOOK, draft=True)
    text = pages_of(content, tmp_path)
    for private in ("Ashgarth Lettings", "Chandler", "A. Private"):
        assert private in pages_of(make_document(a, "condition report", draft=True), tmp_path)
        assert private not in text
        assert private.encode() not in content
    assert "The Old Maltings, 3 Quillet Street" in text
    assert "ask for the original" in text
    copy = tmp_path / "copy.pdf"
    copy.write_bytes(content)
    done = CliRunner().invoke(main, ["verify", str(copy)])
    assert done.exit_code == 4
    said = " ".join(done.output.split())
    assert "Ask for the original file; its footer must show this hash:" in said
    assert str(page_of(a, document)["hash"]) in said.replace(" ", "")


def test_a_client_who_lives_there_keeps_the_address_of_the_installation() -> None:
    a = made.put_right(made.job(2, 2, 0))
    report = evolve(a.visit.paperwork.report, client_address=a.visit.site.place)
    a = evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, report=report)))
    page = page_of(a, "report to pass on")
    assert page["place"] == a.visit.site.place
    fields = {f["label"]: f["value"] for g in page["groups"] for f in g["fields"]}  # type: ignore[attr-defined]
    assert fields["Address of the client"] == "not in this copy"
    assert fields["Installation"] == a.visit.site.place
    assert a.visit.date == dt.date(2026, 11, 20)
