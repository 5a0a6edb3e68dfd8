"""Signatures drawn by hand and receipts: kept with their strokes, printed, told when anything of them was changed, bounded."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from asked import Site, text_of
from attrs import evolve

from earthwright.outcomes.assessment import Assessment
from earthwright.paper.answers import AGREES, DIFFERS
from earthwright.paper.documents import missing_fields, page_of
from earthwright.paper.signatures import given_checks
from earthwright.paper.verify import verify
from earthwright.site.particulars import CHANGED, COPIED, UNLIKE, Receipt
from earthwright.site.strokes import as_svg, binding
from earthwright.visitbook import read_text
from earthwright.web.words import say

COMPLETE = Path(__file__).parents[1] / "paper" / "complete.toml"
CERTIFICATE = "installation certificate"
HAND = "10 80 40 20 70 80;25 55 55 55;90 90"
THEIRS = "12 80 40 20 70 80;90 91"
HEAD = '[visit]\nplace = "–"\ndate = 2026-11-28\n'


@pytest.fixture
def paper(site: Site) -> str:
    assert site.post("/book", {"uid": "b" * 24}, files={"book": ("v.toml", COMPLETE.read_bytes(), "text/plain")})
    (visit,) = site.desk.visits()
    return f"/v/{visit.id}/paper/installation-certificate"


def judged(site: Site) -> Assessment:
    (visit,) = site.desk.visits()
    a = site.desk.record(visit.id)
    assert a is not None
    return a


def test_what_is_drawn_is_kept_printed_verified_received_and_erased(site: Site, paper: str) -> None:
    """One job, for each step costs a visit: a bad drawing, a good one, every forgery of it, a receipt, the issue, an erasure."""
    back = site.send(site.get(paper), paper, do="sign", name="J. Example", strokes="10 20 30")
    assert back.status_code == 422
    assert "Stroke 1 is none" in text_of(back)
    assert 'value="10 20 30"' in back.text
    early = site.post(paper, {"do": "receive", "client": "T. Enant", "uid": "c" * 24})
    assert early.status_code == 422
    assert "no finished document" in text_of(early)
    assert judged(site).visit.paperwork.given() == set()

    for role in ("designer + constructor + inspected and tested by", "authorised for issue"):
        done = site.send(site.get(paper), paper, do="sign", role=role, name="J. Example", strokes=HAND)
        assert done.status_code == 303
    a = judged(site)
    assert [(s.how, s.strokes, a.visit.paperwork.void(s)) for s in a.visit.paperwork.signs] == [
        ("drawn", tuple(HAND.split(";")), "")
    ] * 4
    page = site.get(paper)
    assert 'd="M10 80L40 20L70 80M25 55L55 55M90 90L90 90"' in page.text
    no_forgery_holds(a)

    assert "not that I agree with what it finds" in text_of(page)
    assert site.send(page, paper, do="receive", client="").status_code == 422
    assert site.send(page, paper, do="receive", client="T. Enant", client_strokes=THEIRS).status_code == 303
    a = judged(site)
    assert all(a.visit.paperwork.holds(s) for s in a.visit.paperwork.signs)  # a receipt voids nothing
    says = page_of(a, CERTIFICATE)
    assert all("L40 20" in b["strokes"] for b in says["signatures"])  # type: ignore[attr-defined]
    (line,) = says["receipts"]  # type: ignore[misc]
    assert (line["name"], line["state"], "L40 20" in line["strokes"]) == (
        "T. Enant",
        "This version was received.",
        True,
    )
    assert "not that I ordered any work" in line["statement"]
    assert page_of(a, "condition report")["receipts"] == []

    assert site.send(site.get(paper), paper, do="issue").status_code == 303
    link = re.findall(r'href="([^"]+/issued/[^"]+)"', site.get(paper).text)[0]
    found = verify(site.get(link).content, dt.date(2026, 11, 28))
    assert {c.outcome for c in (*found.checks, *given_checks(found.assessment))} == {AGREES}

    book = site.desk.as_visit_book(visit_of(paper))  # by export into another program and back
    again = read_text(book).visit
    assert again is not None
    assert all(again.paperwork.holds(x) for x in (*again.paperwork.signs, *again.paperwork.receipts))
    site.desk.erase(visit_of(paper), "asked for", "P. Sample")
    text = site.desk.as_visit_book(visit_of(paper))
    left = read_text(text).visit
    assert left is not None
    assert "T. Enant" not in text
    assert [(r.name, as_svg(r.strokes)) for r in left.paperwork.receipts] == [("[erased]", "")]
    assert [s.name for s in left.paperwork.signs] == ["J. Example"] * 4


def test_a_bonding_record_is_signed_by_hand_where_somebody_wants_to_and_issued_without(site: Site, demo: str) -> None:
    record = f"{demo}/paper/bonding-record"
    page = site.get(record)
    assert 'name="strokes"' in page.text
    assert say("paper.sign_again") not in text_of(page)
    visit = site.desk.record(visit_of(record))
    assert visit is not None
    assert missing_fields(visit, "bonding record") == []
    assert page_of(visit, "bonding record")["signatures"] == []  # printed with a line to sign on, as before
    assert (
        site.send(page, record, do="sign", role="inspected and tested by", name="J. Example", strokes=HAND).status_code
        == 303
    )
    signed = site.desk.record(visit_of(record))
    assert signed is not None
    (block,) = page_of(signed, "bonding record")["signatures"]  # type: ignore[misc]
    assert "L40 20" in block["strokes"]
    assert block["statement"] == page_of(visit, "bonding record")["declaration"]
    assert not block["void"]
    site.send(site.get(f"{demo}/leads"), f"{demo}/leads", check="shorted", shown="0.00", key="digits")
    later = site.desk.record(visit_of(record))
    assert later is not None
    (block,) = page_of(later, "bonding record")["signatures"]  # type: ignore[misc]
    assert block["void"]
    assert str(block["state"]).startswith("VOID")


def visit_of(paper: str) -> str:
    return paper.split("/")[2]


def no_forgery_holds(a: Assessment) -> None:
    papers = a.visit.paperwork
    mine, other = papers.signs[0], ("10 80 40 20 70 81",)
    for fields in (
        {"strokes": other}, {"strokes": mine.strokes[:-1]}, {"strokes": mine.strokes[::-1]}, {"name": "K. Other"}, {"role": "authorised for issue"},
        {"at": "2026-11-29T10:00"}, {"position": "foreman"}, {"firm": "Other"}, {"bound": ""}, {"bound": "0" * 64}, {"strokes": ()},
    ):  # fmt: skip
        lie = evolve(papers, signs=(evolve(mine, **fields),))  # type: ignore[arg-type]
        assert lie.void(lie.signs[0]) == UNLIKE, fields
        (said,) = given_checks(evolve(a, visit=evolve(a.visit, paperwork=lie)))
        assert said.outcome == DIFFERS
    assert papers.void(evolve(mine, content="0" * 64)) == CHANGED  # lifted from another version
    # An act of an earlier version that was changed as well is told as that, not only as being of an earlier one.
    old = Receipt("condition report", "T. Enant", "2026-11-21T10:00", "0" * 64, "drawn", ("1 1 2 2",))
    for lie_at in ("", "2026-11-25T10:00"):
        receipt = evolve(evolve(old, bound=binding(old)), **({"at": lie_at} if lie_at else {}))
        held = evolve(a, visit=evolve(a.visit, paperwork=evolve(papers, signs=(), receipts=(receipt,))))
        assert [c.outcome for c in given_checks(held)] == [DIFFERS if lie_at else AGREES]
    # The strokes of one person, bound anew under the name of another: neither counts any more.
    stolen = evolve(mine, name="K. Other")
    stolen = evolve(stolen, bound=binding(stolen))
    both = evolve(papers, signs=(mine, stolen))
    assert [both.void(s) for s in both.signs] == [COPIED, COPIED]
    # Bound anew by a forger who knows how, it holds by itself: it is none of those that the journal has.
    bound = evolve(mine, strokes=other, bound=binding(evolve(mine, strokes=other)))
    assert papers.holds(bound)
    assert not evolve(papers, signs=(bound,)).given() <= papers.given()


@pytest.mark.parametrize("table", ["sign", "receipt"])
def test_strokes_that_are_none_are_refused_in_words(table: str) -> None:
    key = {"sign": "strokes", "receipt": "client_strokes"}[table]
    who = {"sign": 'role = "designer"\nname = "J"', "receipt": 'document = "condition report"\nclient = "T"'}[table]
    drawn = f'{HEAD}[[{table}]]\n{who}\ncontent = "00"\nhow = "drawn"\n'
    for strokes, said in (
        ('["10 20 30"]', "Stroke 1 is none"),
        ('["10 20", "301 5"]', "Stroke 2 is none"),
        ('["10 101"]', "from 0 to 100"),
        ('["-1 5"]', "Stroke 1 is none"),
        ('["1.5 5"]', "Stroke 1 is none"),
        ('["M0 0<script>"]', "Stroke 1 is none"),
        ('["１ ２"]', "Stroke 1 is none"),
        ('[""]', "Stroke 1 is none"),
        ("[" + ", ".join(['"1 1"'] * 61) + "]", "at most 60 strokes"),
        ("[" + ", ".join(['"' + " ".join(["1 1"] * 400) + '"'] * 4) + "]", "at most 1500 points"),
        ("[]", "go together"),
    ):
        found = read_text(f"{drawn}{key} = {strokes}\n")
        faults = [f.sentence() for f in found.findings if f.where.endswith(key)]
        assert any(said in f for f in faults), (strokes[:40], faults)
        assert found.visit is not None
        assert not found.visit.paperwork.given()
    typed = read_text(drawn.replace('how = "drawn"\n', "") + f'{key} = ["1 1"]\n')
    assert any("go together" in f.sentence() for f in typed.findings)
