"""Every drawing is whole XML with its words, holds no style of its own, and shows what it is about."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import product

import pytest

from earthwright.desk.demo import judge_demo
from earthwright.paper.earthmap import earth_map
from earthwright.site.events import BOND_TESTS, CIRCUIT_TESTS, CLAMP_BODY, CONDUCTOR, PATH, State
from earthwright.site.installation import Bond, Part
from earthwright.site.reading import LeadSet
from earthwright.web.drawing import bond_drawing, circuit_drawing
from earthwright.web.drawing.sums import sum_drawing
from earthwright.web.signs import PATHS, sign, tone
from earthwright.web.sum_form import Outcome
from earthwright.web.words import say

NS = "{http://www.w3.org/2000/svg}"
BOND = Bond("water", "water", 10.0, 16.0, 1.0)
PART = Part("water", "water", 'Water <service> & "more"')


def whole(svg: str) -> ET.Element:
    root = ET.fromstring(svg)
    title, desc = root.find(f"{NS}title"), root.find(f"{NS}desc")
    assert title is not None
    assert title.text
    assert desc is not None
    assert desc.text
    assert " style=" not in svg
    assert "<style" not in svg
    return root


def words(root: ET.Element) -> str:
    return " ".join("".join(t.itertext()) for t in root.iter(f"{NS}text"))


@pytest.mark.parametrize(("test", "off", "isolated"), tuple(product(BOND_TESTS, (False, True), (None, True))))
def test_a_bond_test_shows_the_state_it_needs(test: str, off: bool, isolated: bool | None) -> None:
    state = State(frozenset({"water"} if off else ()), isolated)
    root = whole(bond_drawing(test, BOND, PART, state, LeadSet("long", "nulled", 0.21)))
    said = words(root)
    assert {"A", "B", "MET"} <= set(said.split())
    assert "Water" in said
    needs_off = test in (CONDUCTOR, PATH, CLAMP_BODY)
    assert (say("draw.end_off") in said) == (off or needs_off)
    assert (say("draw.locked") in said) == (needs_off and isolated is True)
    assert (say("draw.lock_first") in said) == (needs_off and isolated is None)
    desc = root.find(f"{NS}desc")
    assert desc is not None
    assert "nulled 0.21 Ω" in (desc.text or "")


def test_an_unknown_test_is_not_drawn() -> None:
    with pytest.raises(ValueError, match="no drawing"):
        bond_drawing("licking", BOND, PART, State(), None)


@pytest.mark.parametrize("test", CIRCUIT_TESTS)
def test_every_circuit_test_has_a_drawing(test: str) -> None:
    for between in ("", "L-E", "L-N", "LN-E", "L-L"):
        whole(circuit_drawing(test, between=between))
    live = say("draw.live") in words(whole(circuit_drawing(test)))
    assert live == (test in ("ze", "zdb", "zs", "fault current", "rcd", "rcd button", "phase sequence", "functional"))


def test_every_sum_has_a_picture() -> None:
    from earthwright.cli.sums import single_sums

    for one in single_sums():
        whole(sum_drawing(one.name, {f.name: "<1>" for f in one.fields}, Outcome(result="a <result> & more")))
        whole(sum_drawing(one.name, {}, Outcome()))


def test_the_map_in_a_page_has_links_and_no_style_of_its_own() -> None:
    a = judge_demo()
    root = whole(earth_map(a, bond_link=lambda b: f"/b?{b}&x", part_link=lambda p: f"/p/{p}"))
    assert [e.get("href") for e in root.iter(f"{NS}a")] == [f"/b?{b.bond.id}&x" for b in a.bonds]
    assert root.get("role") == "group"  # what stands in an image cannot be reached


def test_signs_are_told_apart_without_colour() -> None:
    drawn = {word: sign(word) for word in ("proved", "not shown", "meets", "fails", "no rule", "warn", "off")}
    drawn |= {f"disproved {n}": sign("disproved", n) for n in ("open", "impaired")}
    assert len(set(drawn.values())) == len(drawn)
    assert tone("disproved") == "bad"
    assert tone("a word that is not known") == ""
    assert set(PATHS) >= {"proved", "open", "impaired", "not shown", "meets", "fails"}
