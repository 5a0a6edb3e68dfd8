"""All bonds as one network on the pages: the one next reading, both lights on each bond, and how it is asked for."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from asked import Site, forms_of, text_of
from books import BOILER, CONNECTED, ISOLATED, WATER_AND_GAS

from earthwright.assess import assess
from earthwright.desk import Desk
from earthwright.desk.demo import visit_text
from earthwright.evidence.network.words import percent
from earthwright.visitbook import read_text
from earthwright.web.words import say

VISITS = Path(__file__).parents[1] / "visits"
HEAD = (
    """
[visit]
place = "3 Alderwick Mews, Tolland Cross"
date = 2026-11-20
kind = "bonding"
inspector = "J. Example"
[supply]
system = "TN-C-S"
pme = true
neutral_at_most_mm2 = 35
"""
    + WATER_AND_GAS
    + CONNECTED
)
ODD = (
    """
[[step]]
clamp = "water"
load = "main switch on"
shown = 0.02
"""
    + ISOLATED
    + """[[step]]
clamp = "water"
load = "main switch off"
shown = 0.02
[[step]]
off = "water"
[[step]]
read = "conductor"
bond = "water"
shown = 0.03
[[step]]
read = "path"
bond = "water"
shown = 7.31
[[step]]
read = "together"
bond = "gas"
shown = 0.04
[[step]]
on = "water"
"""
)
LOOSE = HEAD.replace("OWNER\n", "").replace("LINK", "")
TIED = HEAD.replace("OWNER\n", "").replace("LINK", BOILER)
FITS_NOTHING = HEAD.replace("OWNER", 'owner = "gas transporter"').replace("LINK", BOILER) + ODD


@pytest.fixture(scope="module")
def tied() -> Site:
    desk = Desk(":memory:")
    desk.take_in(TIED, visit_id="tied-visit")
    desk.take_in(FITS_NOTHING, visit_id="odd-visit")
    return Site(desk)


def test_the_next_reading_for_the_whole_visit_stands_where_one_is_with_its_gates_and_cautions(tied: Site) -> None:
    a = tied.desk.assess("tied-visit")
    assert a is not None
    assert a.site_next is not None
    assert a.site_evidence is not None
    page = tied.get("/v/tied-visit/")
    text = text_of(page)
    assert f"{say('network.next')}: Gas installation pipe {a.site_next.do}" in text
    for caution in a.site_next.first:
        assert caution in text
    assert "Not yet: Nobody has put the clamp meter round" in text
    assert f"{a.site_evidence.next.bits:.2f} bits" in text  # type: ignore[union-attr]
    assert 'href="/v/tied-visit/bond/gas/conductor"' in page.text
    assert text.count(say("now.next_do")) == 1  # one next reading, not one for the visit and another for a bond


def test_what_goes_back_comes_before_the_next_reading(tied: Site) -> None:
    desk = Desk(":memory:")
    desk.take_in(TIED + '[[step]]\noff = "water"\n', visit_id="off-visit")
    text = text_of(Site(desk).get("/v/off-visit/"))
    whole = f"{say('network.next')}: "
    assert whole in text
    assert text.index(f"{say('now.next')}: Gas installation pipe") < text.index(
        whole
    )  # one at a time: water goes back first
    desk.close()


def test_each_bond_stands_in_both_lights_in_words_and_bars(tied: Site) -> None:
    a = tied.desk.assess("tied-visit")
    assert a is not None
    e = a.site_evidence
    assert e is not None
    page = tied.get("/v/tied-visit/network")
    text = text_of(page)
    for b in e.bonds:
        for side in (b.alone, b.evidence):
            p = side.posterior
            assert f"whole {percent(p['whole'])}, impaired {percent(p['impaired'])}, open {percent(p['open'])}" in text
        width = 100 * b.evidence.posterior["whole"]
        assert f'<rect class="share-whole" x="0.00%" width="{width:.2f}%"' in page.text
    bars = re.findall(r'<svg class="shares" aria-hidden="true".*?</svg>', page.text, re.S)
    assert len(bars) == 2 * len(e.bonds)
    for bar in bars:
        assert re.findall(r'class="share-(\w+)"', bar) == ["whole", "impaired", "open"]
        starts, widths = ([float(v) for v in re.findall(rf' {k}="([\d.]+)%"', bar)] for k in ("x", "width"))
        assert abs(sum(widths) - 100.0) < 0.02
        assert all(abs(sum(widths[:n]) - x) < 0.02 for n, x in enumerate(starts))
    assert f"{e.rounds} networks were kept" in text
    assert f"at most {e.error:.2f} of a power of ten" in text
    assert "too small by half or more" in text
    assert f"seed {e.model.seed}" in text
    assert e.words in text
    assert "entered as boiler" in text
    best = e.worths[0]
    assert f"{best.bits:.2f} bits for all bonds" in text


def test_readings_that_fit_nothing_and_what_cannot_be_told_apart_are_named(tied: Site) -> None:
    page = tied.get("/v/odd-visit/network")
    text = text_of(page)
    assert "Reading r4 on the bond to the Water service fits nothing" in text
    assert "can tell whether the bond to the Gas installation pipe is impaired or open" in text
    assert 'href="/v/odd-visit/bond/gas/conductor"' not in page.text  # not ours to open


def test_protective_conductors_that_belong_to_the_network_stand_with_the_bonds(site: Site) -> None:
    book = (VISITS / "30-one-graph.toml").read_text(encoding="utf-8")
    site.desk.take_in(book, visit_id="graph-visit")
    page = site.get("/v/graph-visit/network?weigh=yes")
    text = text_of(page)
    assert re.search(r"Protective conductor to c2 at boiler ?: not shown .{0,40}Its own readings:", text)
    assert 'href="/v/graph-visit/circuits/c2"' in page.text
    assert "c2 at boiler – MET chance" in text
    assert "c2@boiler" not in text
    for link in re.findall(r'href="(/v/graph-visit/[^"#?]*)"', page.text):
        assert site.get(link).status_code == 200, link


def test_why_it_was_not_worked_out_and_how_to_ask_for_it(site: Site) -> None:
    site.desk.take_in(LOOSE, visit_id="loose-visit")
    page = site.get("/v/loose-visit/network")
    assert say("network.not_tied") in text_of(page)
    assert "seconds" in text_of(page)
    form = next(f for f in forms_of(page.text) if f["fields"].get("weigh") == "yes")
    assert form["method"] == "get"
    before = site.events("loose-visit")
    looked = site.get(f"{form['action']}?weigh=yes")
    assert say("network.looked") in text_of(looked)
    assert "networks were kept" in text_of(looked)
    assert site.events("loose-visit") == before
    assert say("network.not_tied") in text_of(site.get("/v/loose-visit/network"))  # a look changes nothing
    assert site.desk.record("loose-visit").site_evidence is None  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("book", "why"),
    [
        (LOOSE.split("[[part]]")[0], "network.no_bonds"),
        (LOOSE.split('[[bond]]\npart = "gas"')[0], "network.one_bond"),
        (LOOSE.split("[[step]]")[0], "network.nothing_read"),
        ((VISITS / "20-plain.toml").read_text(encoding="utf-8"), "network.nothing_open"),
        (visit_text(), "network.not_tied"),
    ],
)
def test_every_reason_for_not_working_it_out_is_told(site: Site, book: str, why: str) -> None:
    site.desk.take_in(book, visit_id="some-visit")
    a = site.desk.assess("some-visit")
    assert a is not None
    assert a.site_evidence is None
    text = text_of(site.get("/v/some-visit/network"))
    assert say(why) in text
    assert (say("network.ask") in text) is (len(a.bonds) > 1)
    assert site.get("/v/some-visit/network?weigh=yes").status_code == 200


def test_it_can_be_asked_for_always_and_let_go_again_and_papers_follow(site: Site) -> None:
    site.desk.take_in(LOOSE, visit_id="loose-visit")
    path = "/v/loose-visit/network"
    page = site.follow(site.send(site.get(f"{path}?weigh=yes"), path, do="keep"))
    assert say("network.asked") in text_of(page)
    assert "whole_site = true" in site.desk.as_visit_book("loose-visit")
    kept = site.desk.record("loose-visit")
    assert kept is not None
    assert kept.site_evidence is not None
    assert kept.site_evidence.words in text_of(page)
    assert kept.site_next is not None
    assert kept.site_next.do in text_of(site.get("/v/loose-visit/"))
    events = site.events("loose-visit")
    for do in ("keep", "else", ""):  # the same wish again, or none that is known, writes nothing
        assert site.post(path, {"do": do}).status_code == 303
    assert site.events("loose-visit") == events
    page = site.follow(site.send(page, path, do="let go"))
    assert say("network.not_tied") in text_of(page)
    assert "whole_site" not in site.desk.as_visit_book("loose-visit")
    assert site.desk.record("loose-visit").site_evidence is None  # type: ignore[union-attr]


def test_the_choice_stands_in_the_visit_book_as_well() -> None:
    asked = read_text(LOOSE.replace('kind = "bonding"', 'kind = "bonding"\nwhole_site = true'))
    assert asked.findings == ()
    assert asked.visit is not None
    assert assess(asked.visit).site_evidence is not None
    assert assess(asked.visit, whole_site=False).site_evidence is None
    loose = read_text(LOOSE).visit
    assert loose is not None
    assert assess(loose).site_evidence is None
