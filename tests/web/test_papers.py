"""Findings answered, photos, a visit book taken in, inspection items, signatures: by forms, each kept in the journal."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from asked import Site, text_of

from earthwright.desk import Desk
from earthwright.desk.demo import visit_text
from earthwright.records.canon import digest
from earthwright.records.replay import SINGLE
from earthwright.site.particulars import CHANGED
from earthwright.visitbook import read_tables
from earthwright.web.specs import SPECS
from earthwright.web.words import say

from .test_photos import PNG


def proposals(site: Site, demo: str) -> list[str]:
    page = site.get(f"{demo}/findings").text
    return list(dict.fromkeys(re.findall(rf'href="({demo}/findings/[0-9a-f]{{12}})"', page)))


def test_a_code_that_is_proposed_is_taken_up_or_turned_down_with_a_reason(site: Site, demo: str) -> None:
    first, second = proposals(site, demo)[:2]
    page = site.get(first)
    assert site.send(page, first, code="").status_code == 422
    answer = site.send(site.get(first), first)  # the code that is proposed stands in the form
    assert answer.status_code == 303
    refused = site.send(site.get(second), second, code="none", reason="")
    assert refused.status_code == 422
    assert say("observe.reason_needed") in text_of(refused)
    assert site.send(site.get(second), second, code="none", reason="seen and discussed").status_code == 303
    a = site.desk.assess("demo-visit")
    assert a is not None
    assert [o.code for o in a.visit.paperwork.observations][1] == "none"
    left = proposals(site, demo)
    assert first not in left
    assert second not in left


def test_a_finding_is_answered_once(site: Site, demo: str) -> None:
    a = site.desk.assess("demo-visit")
    assert a is not None
    loud = next(f for f in a.findings if f.severity.value == "warning")
    before = proposals(site, demo)
    for link in before:
        page = site.get(link)
        if loud.what in text_of(page):
            sent = site.send(page, link, code="C3")
            assert sent.status_code == 303
            assert site.send(page, link, code="C3").status_code == 303  # the same form again
            break
    assert len(proposals(site, demo)) == len(before) - 1
    assert say("observe.answered", code="C3") in text_of(site.get(f"{demo}/findings"))


def test_a_photo_is_kept_by_its_hash_once_and_given_to_its_visit_alone(site: Site, demo: str) -> None:
    answer = site.post(
        f"{demo}/photos", {"caption": "clamp on paint", "uid": "a" * 24}, files={"photo": ("x.png", PNG, "image/png")}
    )
    assert answer.status_code == 303
    site.post(
        f"{demo}/photos", {"caption": "clamp on paint", "uid": "a" * 24}, files={"photo": ("x.png", PNG, "image/png")}
    )
    page = site.get(f"{demo}/photos")
    assert page.text.count('class="photo"') == 1
    assert 'alt="clamp on paint"' in page.text
    (kept,) = re.findall(r'/photo/([0-9a-f]{64})"', page.text.split('class="photo"')[1])[:1]
    back = site.get(f"{demo}/photo/{kept}")
    assert digest(back.content) == kept
    assert back.headers["content-type"] == "image/jpeg"
    other = site.send(site.get("/new"), "/new", place="x", date="2026-11-20").headers["location"]
    assert site.get(f"{other}photo/{kept}").status_code == 404  # belongs to another visit


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "wrong.file_none"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "wrong.file_kind"),
        (b"<html>", "wrong.file_kind"),
        (b"RIFF....AVI ", "wrong.file_kind"),
        (b"GIF89a", "wrong.file_kind"),
        (PNG + bytes(10_000_000), "wrong.file_large"),
    ],
    ids=["none", "svg", "html", "avi", "gif", "large"],
)
def test_what_is_no_picture_is_not_kept(site: Site, demo: str, content: bytes, why: str) -> None:
    before = site.events("demo-visit")
    answer = site.post(f"{demo}/photos", {"caption": "kept words"}, files={"photo": ("x.png", content, "image/png")})
    assert answer.status_code == 422
    assert say(why) in text_of(answer)
    assert 'value="kept words"' in answer.text
    assert site.events("demo-visit") == before


def test_a_visit_book_is_taken_in_whole_or_not_at_all(site: Site) -> None:
    answer = site.post("/book", {"uid": "b" * 24}, files={"book": ("v.toml", visit_text().encode(), "text/plain")})
    assert answer.status_code == 303
    assert "1 proved, 2 disproved, 0 not shown" in text_of(site.follow(answer))
    for content in (b"", b"\xff\xfe", b"[visit", b"x = 1", b"[step]\nread = 1"):
        refused = site.post("/book", {}, files={"book": ("v.toml", content, "text/plain")})
        assert refused.status_code == 422
        assert 'aria-invalid="true"' in refused.text
    assert len(site.desk.visits()) == 1


def test_inspection_items_are_entered_and_changed(site: Site, demo: str) -> None:
    path = f"{demo}/inspected"
    assert site.send(site.get(path), path).status_code == 422  # nothing was chosen
    first = site.send(site.get(path), path, **{"intake-tails": "acceptable"})
    assert first.status_code == 303
    second = site.send(
        site.get(path), path, **{"intake-tails": "C3", "intake-tails.note": "short", "bonding-size": "acceptable"}
    )
    assert second.status_code == 303
    a = site.desk.assess("demo-visit")
    assert a is not None
    assert [(i.item, i.outcome, i.note) for i in a.visit.paperwork.inspected] == [
        ("bonding-size", "acceptable", ""),
        ("intake-tails", "C3", "short"),
    ]
    refused = site.post(path, {"intake-tails": "splendid", "uid": "c" * 24})
    assert refused.status_code == 422


def test_a_signature_stands_until_the_record_is_changed(site: Site, demo: str) -> None:
    path = f"{demo}/paper/condition-report"
    unnamed = site.send(site.get(path), path, do="sign", name="")
    assert unnamed.status_code == 422
    assert (
        site.send(site.get(path), path, do="sign", role="inspected and tested by", name="J. Example").status_code == 303
    )
    page = text_of(site.get(path))
    assert "J. Example" in page
    void = say("paper.void", why=CHANGED)
    assert void not in page
    joint = f"{demo}/bond/gas/joint"
    site.send(site.get(joint), joint, shown="0.00")
    assert void in text_of(site.get(path))


def test_one_person_signs_once_for_several_roles_under_the_words_that_are_printed(site: Site) -> None:
    book = (Path(__file__).parents[1] / "paper" / "complete.toml").read_bytes()
    assert site.post("/book", {"uid": "b" * 24}, files={"book": ("v.toml", book, "text/plain")}).status_code == 303
    (visit,) = site.desk.visits()
    path = f"/v/{visit.id}/paper/installation-certificate"
    page = site.get(path)
    own_work = "designer + constructor + inspected and tested by"
    assert f'value="{own_work}" selected' in page.text
    assert "I answer for the design, the construction and the inspection and test" in text_of(page)
    assert site.send(page, path, do="sign", role=own_work, name="J. Example").status_code == 303
    a = site.desk.assess(visit.id)
    assert a is not None
    assert [(s.role, s.name) for s in a.visit.paperwork.signs if a.visit.paperwork.holds(s)] == [
        (role, "J. Example") for role in own_work.split(" + ")
    ]
    assert site.send(site.get(path), path, do="sign", role="king", name="J. Example").status_code == 422


def test_what_is_missing_refuses_the_issue_and_leads_to_its_field(site: Site, demo: str) -> None:
    path = f"{demo}/paper/condition-report"
    refused = site.post(path, {"do": "issue"})
    assert refused.status_code == 422
    assert "Not issued" in text_of(refused)
    page = site.get(path).text
    links = set(re.findall(rf'href="({demo}/(?:add|entry|inspected|findings|circuits|map|steps)[^"]*)"', page))
    assert any("#f-client_address" in link for link in links)
    for link in links:
        address, _, field = link.partition("#")
        answer = site.get(address)
        assert answer.status_code == 200
        if field and not field.startswith("db"):
            assert f'id="{field}"' in answer.text, link


def test_a_certificate_over_a_broken_bond_is_not_signed_until_its_departure_is_entered(site: Site, demo: str) -> None:
    """The demo's gas bond is open: each result in the way leads to the form for its departure, filled in but for the reason."""
    path = f"{demo}/paper/installation-certificate"
    refused = site.send(site.get(path), path, do="sign", role="designer", name="J. Example")
    assert refused.status_code == 422
    assert "do not comply" in text_of(refused)
    assert "Bond to the Gas installation pipe, continuity: not shown" in text_of(refused)
    while links := re.findall(rf'href="({demo}/add/departure[^"]*)"', site.get(path).text):
        address = html.unescape(links[0])
        form = site.get(address)
        assert form.status_code == 200
        assert site.send(form, f"{demo}/add/departure", reason="").status_code == 422
        assert site.send(form, f"{demo}/add/departure", reason="agreed, drawing 7").status_code == 303
    a = site.desk.assess("demo-visit")
    assert a is not None
    assert ("gas", "continuity") in {(d.of, d.test) for d in a.visit.paperwork.departures}
    assert site.send(site.get(path), path, do="sign", role="designer", name="J. Example").status_code == 303


def test_an_own_observation_and_what_follows_from_it(site: Site, demo: str) -> None:
    path = f"{demo}/add/observation"
    assert site.send(site.get(path), path, what="Cracked socket", where="Kitchen", code="C2").status_code == 303
    findings = text_of(site.get(f"{demo}/findings"))
    assert "C2 Cracked socket" in findings
    assert "unsatisfactory" in findings


def test_entries_of_every_kind_can_be_looked_at_and_corrected(site: Site, demo: str) -> None:
    """Each entry of the demo visit opens, and sent back unchanged but for a reason it reads the same."""
    before = site.desk.assess("demo-visit")
    assert before is not None
    for entry in site.desk.read("demo-visit").entries:
        path = f"{demo}/entry/{entry.id}"
        page = site.get(path)
        assert page.status_code == 200
        answer = site.send(page, path, do="correct", why="nothing changed")
        assert answer.status_code == 303, (entry.kind, entry.body, text_of(answer))
    after = site.desk.assess("demo-visit")
    assert after is not None
    assert [b.verdict for b in after.bonds] == [b.verdict for b in before.bonds]
    assert after.visit.site == before.visit.site
    assert [type(e).__name__ for e in after.visit.events] == [type(e).__name__ for e in before.visit.events]
    assert after.findings == before.findings


# Keys of the visit book that have no field on the pages: written in a visit book, kept as they are by the forms.
NO_FIELD = {
    "visit": {"shared_scale_error", "whole_site"},  # whole_site has its own button on the page of the network
    "supply": set(),
    "bond": {"id", "iec_class"},
    "part": {"id"},
    "link": set(),
    "leads": set(),
    "instrument": {"continuity", "insulation", "loop", "current", "electrode", "extraneous", "fault current", "rcd"},
    "board": {"usual"},
    "circuit": {"standard", "type", "rating_a", "curve", "length_tol_pct"},
    "electrode": set(),
    "report": set(),
    "origin": set(),
    "picture": {"hash"},  # the page of photos finds it
    "danger": set(),
    "assumptions": set(),
    "observation": {"id", "answers", "then"},
    "departure": set(),
}


@pytest.mark.parametrize("table", SPECS)
def test_every_key_of_the_visit_book_has_its_field_or_is_listed(table: str) -> None:
    head = {"place": "x", "date": "2026-11-20"}
    wrong = {"zzz": "1"}
    data = (
        {"visit": {**head, **wrong}}
        if table == "visit"
        else {"visit": head, table: wrong if table in SINGLE else [wrong]}
    )
    told = [f for f in read_tables(data).findings if f.found == "zzz"]
    assert told, table
    known = {k.strip() for k in told[0].expected.removeprefix("one of: ").split(",")}
    fields = {s.key.partition(".")[0] for s in SPECS[table]}
    if table == "instrument":  # its functions are asked for only where they were written
        known |= NO_FIELD[table]
    if table == "board":
        known |= {"rcd", "switch", "usual"}
    assert fields <= known
    assert known - fields == NO_FIELD[table] - fields


def test_the_document_that_a_kind_of_visit_is_for_stands_first(site: Site, desk: Desk) -> None:
    for kind, first in (("periodic", "Condition report"), ("minor works", "Minor works certificate")):
        visit = desk.take_in(f'[visit]\nplace = "1 Test Row, {kind}"\ndate = 2026-11-20\nkind = "{kind}"\n')
        listed = re.findall(r'<span class="what"><b>([^<]*)</b>', site.get(f"/v/{visit}/paper").text)
        assert listed[0] == first
        assert len(listed) == len(set(listed)) > 12
