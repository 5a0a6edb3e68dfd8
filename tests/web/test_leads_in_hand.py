"""Continuity readings of circuits say with which leads they were read, or the page asks at once."""

from __future__ import annotations

import pytest
from asked import Site, text_of
from books import ISOLATED

from earthwright.desk import Desk
from earthwright.outcomes.assessment import Assessment
from earthwright.site.events import Reading

BOOK = (
    """
[visit]
place = "3 Coldwell Steps, Netherby"
date = 2026-11-20
kind = "initial"
inspector = "P. Marden"
[[leads]]
id = "short"
allowed = "nulled"
[[leads]]
id = "long"
allowed = "nulled"
[[board]]
id = "db1"
[[circuit]]
id = "c1"
board = "db1"
kind = "ring"
use = "sockets"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 48
[[circuit]]
id = "c2"
board = "db1"
line_mm2 = 1.5
cpc_mm2 = 1.0
length_m = 18
"""
    + ISOLATED
)
SHORTED = '[[step]]\ncheck = "shorted"\nleads = "long"\nshown = 0.00\n'
ALONG = "along/r1r2||"
R1R2 = "c.c2.r1r2.."


def of(desk: Desk, visit: str) -> Assessment:
    a = desk.assess(visit.removeprefix("/v/"))
    assert a is not None
    return a


def leads_of(desk: Desk, visit: str) -> set[tuple[str, str]]:
    return {(r.test, r.leads) for r in of(desk, visit).visit.events if isinstance(r, Reading)}


@pytest.mark.parametrize(("page", "field"), [(ALONG, R1R2), ("circuits/c1", "p.0.ln")])
def test_of_several_lead_sets_the_page_asks_which_at_the_reading(desk: Desk, site: Site, page: str, field: str) -> None:
    visit = f"/v/{desk.take_in(BOOK)}"
    path = f"{visit}/{page}"
    typed = {field: "0.54"} | ({"p.0.point": "hall"} if field.startswith("p.") else {})
    answer = site.send(site.get(path), path, **typed)
    assert "Which leads? Several sets are entered" in text_of(answer)
    assert not leads_of(desk, visit)
    said = site.follow(site.send(answer, path, leads="long"))
    assert {x[1] for x in leads_of(desk, visit)} == {"long"}, text_of(said)


def test_the_set_that_was_tried_last_is_proposed_and_every_reading_of_a_ring_counts(desk: Desk, site: Site) -> None:
    visit = f"/v/{desk.take_in(BOOK + SHORTED)}"
    for end, shown in (("r1", "0.36"), ("rn", "0.36"), ("r2", "0.58")):
        path = f"{visit}/along/ring {end}||"
        site.follow(site.send(site.get(path), path, **{f"c.c1.ring {end}..": shown}))
    path = f"{visit}/circuits/c1"
    site.follow(site.send(site.get(path), path, **{"p.0.point": "hall", "p.0.ln": "0.18", "p.0.le": "0.24"}))
    assert leads_of(desk, visit) == {(f"ring {x}", "long") for x in ("r1", "rn", "r2", "ln", "le")}
    assert "does not count" not in text_of(site.get(path))


def test_what_is_not_read_with_leads_names_none_and_is_asked_for_none(desk: Desk, site: Site) -> None:
    visit = f"/v/{desk.take_in(BOOK)}"
    path = f"{visit}/along/insulation|L-N|"
    page = site.get(path)
    assert 'name="leads"' not in page.text
    site.follow(site.send(page, path, **{"c.c2.insulation.L-N.": ">999"}))
    assert leads_of(desk, visit) == {("insulation", "")}
