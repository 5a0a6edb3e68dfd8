"""Boards, circuits and known metal on the earth map: every circuit once, its verdict in sign and word, nothing cut on paper."""

from __future__ import annotations

import importlib.util
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.boardmap import boards_said, links_said
from earthwright.paper.earthmap import earth_map, earth_maps, text_of_map
from earthwright.visitbook import read_text

VISITS = Path(__file__).parents[1] / "visits"
SVG = "{http://www.w3.org/2000/svg}"


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    return assess(book.visit, found=book.findings, broken=book.broken)


@pytest.fixture(scope="module")
def house() -> Assessment:
    return judged((VISITS / "30-one-graph.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def works() -> Assessment:
    spec = importlib.util.spec_from_file_location("many", VISITS / "many.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return judged(module.many(10, 20))


def titles(drawing: str) -> list[str]:
    return [e.text or "" for e in ET.fromstring(drawing).iter(f"{SVG}title")][1:]


def test_each_circuit_has_its_verdict_in_words(house: Assessment) -> None:
    said = titles(earth_map(house))
    assert "c2 boiler: proved" in said
    assert "f1 to the loft board: nothing read" in said
    assert "c7 loft sockets: proved" in said


def test_the_words_of_the_map_hold_boards_and_metal(house: Assessment) -> None:
    said = text_of_map(house)
    assert "Board consumer unit. Protective conductors proved: c2; nothing read: f1." in said
    assert "Board loft board, fed by f1. Protective conductors proved: c7." in said
    assert "Known metal: boiler frame: gas pipe to c2 at boiler." in said
    assert links_said(house) == ["boiler frame: gas pipe to c2 at boiler"]


def test_a_sub_board_hangs_on_the_bar_that_feeds_it(house: Assessment) -> None:
    drawing = earth_map(house)
    elbow = re.search(r'd="M (\d+) (\d+) V (\d+) H (\d+)"', drawing)
    assert elbow is not None
    x, up, down, to = map(int, elbow.groups())
    assert down > up
    assert to > x


def test_an_end_that_is_off_is_marked() -> None:
    text = (VISITS / "30-one-graph.toml").read_text(encoding="utf-8") + '\n[[step]]\noff = "c2:cpc"\n'
    cell = next(
        e for e in ET.fromstring(earth_map(judged(text))).iter(f"{SVG}g") if "c2 boiler" in "".join(e.itertext())
    )
    assert "off" in [t.text for t in cell.iter(f"{SVG}text")]


def test_signs_differ_without_colour() -> None:
    """Proved two lines; open a gap between stops; nothing read dots; not shown dashes; impaired a notch."""
    read = (VISITS / "30-one-graph.toml").read_text(encoding="utf-8")

    alone = re.sub(r"\[\[link\]\].*?(?=\[\[step)", "", read, flags=re.S)

    def drawn(shown: str, text: str = read) -> tuple[int, set[str | None]]:
        boiler = 'point = "boiler"\nleads = "long"\nshown = '
        a = judged(text.replace(f"{boiler}0.17", f"{boiler}{shown}"))
        cell = next(g for g in ET.fromstring(earth_map(a)).iter(f"{SVG}g") if "c2 boiler" in "".join(g.itertext()))
        lines = list(cell.iter(f"{SVG}line"))
        return len(lines) + 10 * len(list(cell.iter(f"{SVG}path"))), {x.get("stroke-dasharray") for x in lines}

    found = [drawn("0.17"), drawn('"over-range"'), drawn("0.02"), drawn("0.60", alone)]
    assert found == [(2, {None}), (4, {None}), (1, {"6 4"}), (11, {None})]


def test_two_hundred_circuits_stand_once_each_on_sheets_that_fit(works: Assessment) -> None:
    sheets = earth_maps(works, tallest=740.0, rest=1000.0)
    assert len(sheets) == 3
    for place, sheet in enumerate(sheets):
        height = float(ET.fromstring(sheet).get("height") or "0")
        assert height <= (740.0 if place == 0 else 1000.0)
    said = [t.partition(":")[0] for sheet in sheets for t in titles(sheet)]
    circuits = [f"{c.circuit.id} {c.circuit.name}".strip() for b in works.boards for c in b.circuits]
    assert said == circuits
    assert len(boards_said(works)) == 10


def test_links_lead_to_circuits(house: Assessment) -> None:
    drawing = earth_map(house, circuit_link=lambda c: f"/c/{c}?x&y", bond_link=lambda b: b)
    assert {e.get("href") for e in ET.fromstring(drawing).iter(f"{SVG}a")} >= {"/c/c2?x&y", "/c/f1?x&y", "/c/c7?x&y"}
