"""The earth map and the printed record: structure, words, hostile texts, the same bytes twice."""

from __future__ import annotations

import io
import shutil
import subprocess
import xml.etree.ElementTree as ET
from pathlib import Path

import pikepdf
import pytest
from attrs import evolve
from fontTools.ttLib import TTFont

from earthwright.assess import assess
from earthwright.desk.demo import judge_demo
from earthwright.outcomes.assessment import Assessment
from earthwright.paper import glyphs, svg
from earthwright.paper.earthmap import earth_map, text_of_map
from earthwright.paper.page import bonding_page, record_hash
from earthwright.paper.pdf import bonding_record
from earthwright.visitbook import read_text

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '<script>alert(1)</script> "&\' #eval("1") $x$ *b* = \\ \x07 =HYPERLINK()'


def texts(root: ET.Element) -> str:
    return " ".join("".join(t.itertext()) for t in root.iter(f"{SVG}text"))


def visit_of(bonds: int, name: str = "Water") -> Assessment:
    head = f"[visit]\nplace = {toml(name)}\ndate = 2026-11-20\n[supply]\nsystem = 'TN-S'\nearthing_mm2 = 16\nearthing_needed_mm2 = 16\n"
    rows = "".join(
        f"[[part]]\nid = 'p{i}'\nname = {toml(f'{name} {i}')}\n[[bond]]\npart = 'p{i}'\ncsa_mm2 = 10\nlength_m = 10\n"
        for i in range(bonds)
    )
    book = read_text(head + rows)
    assert book.visit is not None, [f.sentence() for f in book.findings]
    return assess(book.visit, found=book.findings)


def toml(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\x07", "\\u0007")
    return f'"{escaped}"'


def test_the_map_says_each_verdict_in_words_and_signs() -> None:
    root = ET.fromstring(earth_map(judge_demo()))
    said = texts(root)
    for words in ("= proved", "|| disproved: open", "# disproved: impaired"):
        assert words in said
    assert root.find(f"{SVG}title") is not None
    desc = root.find(f"{SVG}desc")
    assert desc is not None
    assert desc.text == text_of_map(judge_demo())
    assert "Gas installation pipe: 10 mm², 24 m, disproved: open" in (desc.text or "")


def test_the_map_without_colour_still_differs_by_line() -> None:
    """Double, gapped, notched and dashed lines: the number of strokes tells them apart."""
    root = ET.fromstring(earth_map(judge_demo()))
    rows = root.findall(f"{SVG}g")
    strokes = [len(g.findall(f"{SVG}line")) for g in rows]
    assert strokes[0] == 2
    assert strokes[1] == 4
    assert any(e.get("stroke-dasharray") == "7 6" for e in ET.fromstring(earth_map(visit_of(1))).iter())


@pytest.mark.parametrize("bonds", [0, 1, 12])
def test_the_map_of_any_size_is_well_formed(bonds: int) -> None:
    a = visit_of(bonds)
    root = ET.fromstring(earth_map(a))
    assert ("No parts or bonds" in texts(root)) is (bonds == 0)
    assert texts(root).count("? not shown") == bonds


def test_hostile_texts_stay_texts_in_the_map() -> None:
    drawn = earth_map(visit_of(1, HOSTILE))
    assert "<script" not in drawn
    ET.fromstring(drawn)


def test_what_is_off_and_what_has_no_bond_is_drawn() -> None:
    text = (
        "[visit]\nplace = 'x'\ndate = 2026-11-20\n[[part]]\nid = 'w'\n[[part]]\nid = 'oil'\n[[bond]]\npart = 'w'\ncsa_mm2 = 10\nlength_m = 9\n"
        "[[step]]\noff = 'w'\n"
    )
    book = read_text(text)
    assert book.visit is not None
    a = assess(book.visit)
    said = texts(ET.fromstring(earth_map(a)))
    assert "off" in said
    assert "no bond is entered" in said
    assert "its MET end is off" in text_of_map(a)
    broken = evolve(a, not_judged=(evolve_not_judged("oil"),))
    assert "could not be read" in texts(ET.fromstring(earth_map(broken)))


def evolve_not_judged(name: str):
    from earthwright.outcomes.assessment import NotJudged

    return NotJudged(name, "its entry could not be read")


def test_long_names_are_wrapped_and_cut() -> None:
    assert svg.wrap("Incoming water service pipe of the annexe", 14, 2) == ["Incoming water", "service pipe…"]
    assert all(len(x) <= 14 for x in svg.wrap("Incoming water service pipe of the annexe", 14, 3))
    assert svg.wrap("x" * 40, 14, 3) == ["x" * 14, "x" * 14, "x" * 12]
    assert svg.wrap("ab " + "y" * 20, 14, 3)[0].startswith("ab y")
    assert svg.wrap("", 14, 3) == []


# ---- PDF ----


@pytest.fixture(scope="module")
def demo_pdf() -> bytes:
    return bonding_record(judge_demo())


def test_the_record_is_archival_accessible_and_tagged(demo_pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(demo_pdf)) as pdf:
        with pdf.open_metadata() as meta:
            assert meta["pdfaid:part"] == "3"
            assert meta["pdfaid:conformance"] == "A"
            assert meta["pdfuaid:part"] == "1"
        assert str(pdf.Root.Lang) == "en-GB"
        assert bool(pdf.Root.MarkInfo.Marked)
        names = {
            str(o.get("/S"))
            for o in pdf.objects
            if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/StructElem"
        }
        assert {"/Table", "/TH", "/TD", "/H1", "/Figure"} <= names
        fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all(any(k in f for k in ("/FontFile2", "/FontFile3")) and "Inter" in str(f.FontName) for f in fonts)


def test_three_bonds_fit_two_pages(demo_pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(demo_pdf)) as pdf:
        assert len(pdf.pages) <= 2


def test_the_same_visit_gives_the_same_bytes(demo_pdf: bytes) -> None:
    assert bonding_record(judge_demo()) == demo_pdf


def test_the_record_reads_in_order(demo_pdf: bytes, tmp_path: Path) -> None:
    reader = shutil.which("pdftotext")
    assert reader, "this check reads the PDF with poppler's pdftotext (Debian: apt install poppler-utils)"
    (tmp_path / "r.pdf").write_bytes(demo_pdf)
    done = subprocess.run([reader, str(tmp_path / "r.pdf"), "-"], capture_output=True, text=True, check=True)
    text = " ".join(done.stdout.split())
    order = [
        "Bonding record",
        "12 Thornwick Lea",
        "1 proved, 2 disproved",
        "Water service",
        "disproved: open",
        "Findings",
        "What must still go back",
        "Signature",
        "Method:",
    ]
    places = [text.index(x) for x in order]
    assert places == sorted(places)
    assert record_hash(judge_demo())[:32] in text
    assert "The tool advises" in text


@pytest.mark.parametrize("bonds", [0, 1, 12])
def test_records_of_any_size_print(bonds: int) -> None:
    assert bonding_record(visit_of(bonds)).startswith(b"%PDF")


@pytest.mark.parametrize("name", [HOSTILE, "水道 🚰 \U0010ffff", "Łódź, naïve, Ω µ ≤"])
def test_hostile_and_foreign_texts_stay_texts_on_paper(name: str) -> None:
    assert bonding_record(visit_of(1, name)).startswith(b"%PDF")


def test_the_list_of_characters_is_the_fonts_own() -> None:
    fonts = sorted((Path(glyphs.__file__).parent / "fonts").glob("*.ttf"))
    has = set.intersection(*(set(TTFont(f).getBestCmap()) for f in fonts))
    assert glyphs.shown_by_font() == {c for c in has if c >= 0x20}
    assert glyphs.printable(["a水", {"k": "\x07"}, 3]) == ["a\ufffd", {"k": "\ufffd"}, 3]


def test_a_draft_says_so_and_the_hash_moves_with_the_record() -> None:
    demo = judge_demo()
    text = "[visit]\nplace = 'x'\ndate = 2026-11-20\n[[part]]\nid = 'w'\n[[bond]]\npart = 'w'\ncsa_mm2 = true\nlength_m = 9\n"
    book = read_text(text)
    assert book.visit is not None
    a = assess(book.visit, found=book.findings, broken=book.broken)
    page = bonding_page(a)
    assert page["draft"] == "Draft: entries could not be read"
    assert page["not_judged"] == ["w: its entry could not be read"]
    assert bonding_record(a).startswith(b"%PDF")
    moved = evolve(demo, visit=evolve(demo.visit, note="another"))
    assert record_hash(moved) != record_hash(demo)
