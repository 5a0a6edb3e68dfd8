"""All bonds as one network on paper: the paragraph that was judged, the constants behind it, and the same when judged again."""

from __future__ import annotations

import datetime as dt
import io
import json

import pikepdf
import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.desk.demo import visit_text
from earthwright.evidence.network.model import QUADRATURE
from earthwright.evidence.network.words import site_constants
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document, page_of
from earthwright.paper.network import ASKED, TIED, network_page
from earthwright.paper.verify import verify
from earthwright.visitbook import read_text

BOOK = visit_text()
LATER = dt.date(2031, 1, 1)
DOCUMENTS = ["bonding record", "condition report"]


def judged(book: str = BOOK, **asked: bool) -> Assessment:
    read = read_text(book)
    assert read.visit is not None
    return assess(read.visit, found=read.findings, broken=read.broken, **asked)  # type: ignore[arg-type]


@pytest.mark.parametrize("document", DOCUMENTS)
def test_nothing_is_printed_where_it_was_not_worked_out(document: str) -> None:
    assert page_of(judged(), document)["network"] is None


@pytest.mark.parametrize("document", DOCUMENTS)
def test_the_paragraph_of_the_record_is_printed_with_its_constants(document: str) -> None:
    a = judged(whole_site=True)
    e = a.site_evidence
    assert e is not None
    said = page_of(evolve(a, site_evidence=evolve(e, words="What was judged.")), document)["network"]
    assert isinstance(said, dict)
    assert said["words"] == "What was judged."  # from what was judged, never a second sum
    assert f"seed {e.model.seed}" in said["constants"]
    assert f"8 batches of 120 networks, 16 of each gone on with once; {e.rounds} rounds kept" in said["constants"]
    assert f"near a verdict {e.error:.2f}" in said["constants"]
    assert "too small by half or more" in said["constants"]


def test_other_documents_do_not_hold_it() -> None:
    assert "network" not in page_of(judged(whole_site=True), "evidence sheet")


def test_why_it_stands_there_is_said() -> None:
    asked = judged(BOOK.replace('kind = "', 'whole_site = true\nkind = "', 1))
    assert asked.visit.choices.whole_site
    assert ASKED in network_page(asked)["why"]  # type: ignore[index]
    assert TIED in network_page(judged(whole_site=True))["why"]  # type: ignore[index]


def test_where_nothing_was_drawn_there_is_no_error_to_state() -> None:
    e = judged(whole_site=True).site_evidence
    assert e is not None
    said = site_constants(evolve(e, method=QUADRATURE))
    assert "no error of sampling" in said
    assert "seed" not in said


@pytest.mark.parametrize(
    "asked", [BOOK, BOOK.replace('kind = "', 'whole_site = true\nkind = "', 1)], ids=["by call", "by book"]
)
def test_a_paper_with_the_network_agrees_when_it_is_judged_again(asked: str) -> None:
    a = judged(asked, whole_site=True)
    made = make_document(a, "bonding record", book=asked, draft=True)
    with pikepdf.open(io.BytesIO(made)) as pdf:
        record = json.loads(pdf.attachments["record.json"].get_file().read_bytes())
    assert record["site_evidence"]["words"] == a.site_evidence.words  # type: ignore[union-attr]
    found = verify(made, LATER)
    assert {c.name: c.outcome for c in found.checks} == {
        "record inside": "agrees",
        "record and readings": "agrees",
        "paper and record": "agrees",
    }


def test_a_network_that_was_changed_or_taken_out_is_found() -> None:
    asked = BOOK.replace('kind = "', 'whole_site = true\nkind = "', 1)
    a = judged(asked)
    e = a.site_evidence
    assert e is not None
    for other in (None, evolve(e, words=e.words + " All is well.")):
        made = make_document(evolve(a, site_evidence=other), "bonding record", book=asked, draft=True)
        assert not verify(made, LATER).agrees
