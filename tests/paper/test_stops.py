"""Danger that is there now leads the first page of every document, the terminal, the pages and the data."""

from __future__ import annotations

import ast
import html
import json
import re
import shutil
import subprocess
from pathlib import Path

import made
import pytest
from attrs import evolve
from click.testing import CliRunner

import earthwright
from earthwright.assess import assess
from earthwright.base.catalogue import Severity, families
from earthwright.cli import main
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document, page_of
from earthwright.paper.earthmap import earth_map
from earthwright.paper.kinds import DOCUMENTS
from earthwright.report.record import to_json
from earthwright.report.stops import PLAIN, stops
from earthwright.visitbook import read_text
from earthwright.web.banner import strips

ROOT = Path(__file__).parents[2]
VISITS = ROOT / "tests" / "visits"
SOURCE = Path(earthwright.__file__).parent
HEAD = '[visit]\nplace = "3 Fellgate, Marl"\ndate = 2026-11-20\nkind = "periodic"\ninspector = "J. Example"\n'
BOARD = """
[[board]]
id = "db1"
[[circuit]]
id = "c1"
board = "db1"
[[circuit]]
id = "c2"
board = "db1"
"""
BORROWED = """
[[step]]
read = "r2"
of = "c2"
shown = 0.40
[[step]]
off = "c1:cpc"
[[step]]
read = "r2"
of = "c2"
shown = "over-range"
[[step]]
on = "c1:cpc"
"""
# Name of the danger → a visit that shows it. A gate is passed where an alarm stands, so the visit of one shows the other.
SHOWN_BY = {
    "lost supply neutral": (VISITS / "16-open-pen.toml").read_text(encoding="utf-8"),
    "current after isolation": (VISITS / "17-neighbours.toml").read_text(encoding="utf-8"),
    "sign of a lost supply neutral": HEAD
    + '[[step]]\nvolts = "MET to true earth"\nshown = 31\nload = "main switch on"\n',
    "cpc.borrowed": HEAD + BOARD + BORROWED,
    "polarity.bad": HEAD + BOARD + '[[step]]\nof = "c1"\ntests = { polarity = "bad" }\n',
    "ledger.live": HEAD
    + BOARD
    + '[[step]]\noff = "c1:cpc"\n[[step]]\nisolated = "restored"\n[[step]]\non = "c1:cpc"\n',
    "gate.passed": HEAD
    + '[[part]]\nid = "gas"\nkind = "gas"\n[[bond]]\npart = "gas"\ncsa_mm2 = 10\nlength_m = 9\n'
    + '[[step]]\nvolts = "MET to true earth"\nshown = 31\nload = "main switch on"\n[[step]]\noff = "gas"\n[[step]]\non = "gas"\n',
}


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    assert [f.sentence() for f in book.findings] == []
    return assess(book.visit, found=book.findings, broken=book.broken)


def squeezed(text: str) -> str:
    return "".join(text.split())


def first_page(content: bytes, folder: Path) -> str:
    reader = shutil.which("pdftotext")
    assert reader, "this check reads the PDF with poppler's pdftotext (Debian: apt install poppler-utils)"
    (folder / "d.pdf").write_bytes(content)
    done = subprocess.run(
        [reader, "-raw", "-l", "1", str(folder / "d.pdf"), "-"], capture_output=True, text=True, check=True
    )
    return squeezed(done.stdout)


def test_every_danger_that_the_source_knows_is_walked_here_and_told_in_plain_words() -> None:
    """By the source: every kind of alarm, and every family of the catalogue that may speak as *stop*."""
    text = (SOURCE / "assess" / "circuits" / "alarm.py").read_text(encoding="utf-8")
    kinds = {
        n.value.value
        for n in ast.parse(text).body
        if isinstance(n, ast.Assign) and isinstance(n.value, ast.Constant) and isinstance(n.value.value, str)
    }
    stopping = {f.name for f in families().values() if Severity.STOP in f.weights}
    assert kinds | stopping == set(SHOWN_BY) == set(PLAIN), "a new stop needs its case here"


@pytest.mark.parametrize("name", SHOWN_BY)
def test_the_visit_shows_it(name: str) -> None:
    assert name in [s.name for s in stops(judged(SHOWN_BY[name]))]


PLAINLY = ("letter", "leaflet")  # for somebody without the trade


@pytest.mark.parametrize("document", DOCUMENTS)
@pytest.mark.parametrize("name", SHOWN_BY)
def test_it_leads_the_first_page_of_every_document(name: str, document: str, tmp_path: Path) -> None:
    a = judged(SHOWN_BY[name])
    (stop, *_) = [s for s in stops(a) if s.name == name]
    page = first_page(make_document(a, document, draft=True), tmp_path)
    page = page.removeprefix("DRAFT")  # the mark across the page
    said = squeezed(stop.plain if document in PLAINLY else stop.what)
    at = page.find(said)
    title = page.find(squeezed("What we found" if document == "letter" else str(page_of(a, document)["title"])))
    assert at >= 0, page[:400]
    if document == "danger notice":
        assert page.startswith("DANGER")
        assert squeezed(stop.plain) in page
        assert at < page.rfind(squeezed("What was done")), "not where a draft lists what is missing"
    else:
        assert at < title
        assert page.startswith("STOP.")
    for line in stop.do if document not in PLAINLY else ():
        assert squeezed(line) in page


@pytest.mark.parametrize("name", SHOWN_BY)
def test_it_leads_the_terminal_the_pages_and_the_data(name: str, tmp_path: Path) -> None:
    a = judged(SHOWN_BY[name])
    (tmp_path / "v.toml").write_text(SHOWN_BY[name], encoding="utf-8")
    (stop, *_) = [s for s in stops(a) if s.name == name]
    done = CliRunner().invoke(main, ["judge", str(tmp_path / "v.toml")])
    assert done.exit_code == 1
    said = " ".join(done.output.split())
    assert f"STOP. {stop.what}" in said
    assert said.count(stop.what) == 1, "once, at the top"
    assert list(to_json(a))[:2] == ["schema", "stops"]
    assert stop.what in json.dumps(to_json(a)["stops"], ensure_ascii=False)
    assert any(stop.what in s.words for s in strips(a, "/v/x"))
    svg = earth_map(a)
    assert svg.index("STOP.") < svg.index("</desc>")
    drawn = squeezed(re.sub("<[^>]*>", "", svg.partition("</desc>")[2]))
    assert squeezed(html.escape(f"STOP. {stop.what}", quote=False))[:60] in drawn
    assert "STOP." not in earth_map(a, bond_link=str), "the page leads with it already"
    row = json.loads(CliRunner().invoke(main, ["many", "--json", str(tmp_path / "v.toml")]).output)[0]
    assert row["alarms"] >= 1


@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_sound_visit_has_no_such_frame(document: str, tmp_path: Path) -> None:
    a = made.dangerous() if document == "danger notice" else made.job(2, 0, 0)
    assert stops(a) == ()
    assert "STOP." not in first_page(make_document(a, document, draft=True), tmp_path)


def test_what_was_entered_as_the_danger_does_not_hide_another() -> None:
    a = judged(SHOWN_BY["lost supply neutral"])
    papers = evolve(a.visit.paperwork, danger=evolve(a.visit.paperwork.danger, what="The boiler is live."))
    said = page_of(evolve(a, visit=evolve(a.visit, paperwork=papers)), "danger notice")["danger"]
    assert said == ["The boiler is live.", *(s.what for s in stops(a))]
