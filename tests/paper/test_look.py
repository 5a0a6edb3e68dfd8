"""How the papers look: one scale of type, hyphens as hyphens, dates as people write them, drafts that say so."""

from __future__ import annotations

import importlib.util
import io
import math
import re
import subprocess
from pathlib import Path
from typing import Any

import made
import pikepdf
import pytest
from attrs import evolve
from wide import WIDE, pairs

from earthwright.assess import assess
from earthwright.base.days import in_words
from earthwright.desk.demo import judge_demo
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document, page_of
from earthwright.paper.kinds import DOCUMENTS
from earthwright.site.particulars import PEN, TESTED, Sign
from earthwright.visitbook import read_text

VISITS = Path(__file__).parents[1] / "visits"
SMALLEST = 7.5  # pt
ON_SITE = ("sheet to carry", "isolation notice", "labels and tags")
ONE = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def many(boards: int = 3, circuits: int = 20) -> str:
    """A visit book of a works, with sixty circuits on three boards."""
    spec = importlib.util.spec_from_file_location("many", VISITS / "many.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    text: str = module.many(boards, circuits)
    return text


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    return assess(book.visit, found=book.findings, broken=book.broken)


@pytest.fixture(scope="module")
def house() -> Assessment:
    return judged((Path(__file__).parent / "complete.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def sixty() -> Assessment:
    return judged(many())


@pytest.fixture(scope="module")
def ten() -> Assessment:
    """Two boards, ten circuits: most of its documents have several pages."""
    return judged(many(2, 5))


def times(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
    """The matrix of ``a`` done first, then ``b``."""
    return (
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    )


def sizes_of(page: Any, at: tuple[float, ...] = ONE) -> set[float]:
    """The size of every text as it is drawn [pt], in drawings inside the page as well."""
    found: set[float] = set()
    now, kept, size, matrix = at, [], 0.0, ONE
    for operands, operator in pikepdf.parse_content_stream(page):
        op = str(operator)
        if op == "q":
            kept.append(now)
        elif op == "Q":
            now = kept.pop()
        elif op == "cm":
            now = times(tuple(float(x) for x in operands), now)
        elif op == "Tf":
            size = float(operands[1])
        elif op == "BT":
            matrix = ONE
        elif op == "Tm":
            matrix = tuple(float(x) for x in operands)
        elif op in ("Tj", "TJ"):
            whole = times(matrix, now)
            found.add(round(size * math.sqrt(abs(whole[0] * whole[3] - whole[1] * whole[2])), 2))
        elif op == "Do":
            inner = (page.get("/Resources") or page.Resources).XObject[str(operands[0])]
            if str(inner.get("/Subtype")) == "/Form":
                own = tuple(float(x) for x in inner.get("/Matrix", pikepdf.Array(list(ONE))))
                found |= sizes_of(inner, times(own, now))
    return found


@pytest.mark.parametrize(("document", "which"), pairs(DOCUMENTS, ["house", "sixty", "demo"]))
def test_no_text_is_smaller_than_seven_and_a_half_points(
    document: str, which: str, house: Assessment, sixty: Assessment
) -> None:
    a = {"house": house, "sixty": sixty}.get(which) or judge_demo()
    with pikepdf.open(io.BytesIO(make_document(a, document, draft=True))) as pdf:
        sizes = set().union(*(sizes_of(page) for page in pdf.pages))
    assert sizes
    assert min(sizes) >= SMALLEST - 0.01, sorted(sizes)


def test_the_measure_of_type_finds_small_type() -> None:
    """The check above can fail: text of 5 pt drawn through a scale of one half."""
    pdf = pikepdf.new()
    page = pdf.add_blank_page()
    page.obj.Contents = pdf.make_stream(b"q 0.5 0 0 0.5 0 0 cm BT /F1 10 Tf 1 0 0 1 9 9 Tm (x) Tj ET Q")
    assert sizes_of(page) == {5.0}


def words(a: Assessment, document: str, tmp_path: Path) -> list[str]:
    """The text of each page."""
    (tmp_path / "d.pdf").write_bytes(make_document(a, document, draft=True))
    done = subprocess.run(["pdftotext", "-layout", tmp_path / "d.pdf", "-"], capture_output=True, text=True, check=True)
    return done.stdout.split("\f")[:-1]


@pytest.mark.parametrize("document", DOCUMENTS)
def test_hyphens_are_hyphens_and_dates_are_written_out(document: str, house: Assessment, tmp_path: Path) -> None:
    said = "\n".join(words(house, document, tmp_path))
    assert not re.findall(r"\b\d{4}-\d\d-\d\d\b", said)
    assert "TN - C" not in said
    assert not re.findall(r"\d - \d\d - \d", said)


def test_a_date_in_a_sentence_is_written_out_and_nothing_else() -> None:
    assert in_words("checked until 2027-03-01.") == "checked until 1 March 2027."
    assert in_words("at 2026-11-23T17:05") == "at 23 November 2026, 17:05"
    assert in_words("at 2026-11-23T17:05:09+01:00, 2026-13-01") == "at 23 November 2026, 17:05, 2026-13-01"
    for kept in ("EICR-2026-01-17", "2026-01-17-b", "a12026-01-17", "TN-C-S"):
        assert in_words(kept) == kept


@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_draft_says_so_across_each_page_and_names_no_key(document: str, ten: Assessment, tmp_path: Path) -> None:
    pages = words(ten, document, tmp_path)
    draft = bool(page_of(ten, document)["draft"])
    assert draft is (document not in ("evidence sheet", *ON_SITE)), "these ask for nothing"
    with pikepdf.open(tmp_path / "d.pdf") as pdf:
        for page in pdf.pages:
            turned = [o for o, op in pikepdf.parse_content_stream(page) if str(op) == "cm" and abs(float(o[1])) > 0.7]
            assert bool(turned) is draft, "the mark across the page, at 50°"
            assert (max(sizes_of(page)) > 100) is draft
    for said in pages:
        assert not re.search(r"\[\[|\[(visit|supply|report|origin|inspected)\]|enter it in", said), said


def signed_in_ink(a: Assessment, content: str) -> Assessment:
    sign = Sign(TESTED, "J. Example", "2026-11-23T17:05", "electrician", "Example Electrical", content, how=PEN)
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, signs=(sign,))))


def test_nobody_has_signed_before_the_ink_is_there(house: Assessment, tmp_path: Path) -> None:
    said = " ".join(
        " ".join(words(signed_in_ink(house, house.visit.paperwork.content), "condition report", tmp_path)).split()
    )
    assert "Given once it is signed in ink above." in said
    assert "This version was signed" not in said


def test_void_signatures_do_not_pile_up(house: Assessment) -> None:
    old = [Sign(TESTED, f"J. Example {i}", f"2026-11-2{i}T17:05", "", "", f"old {i}") for i in range(5)]
    old.append(Sign("something else", "P. Sample", "2026-11-21T17:05", "", "", "old"))
    a = evolve(house, visit=evolve(house.visit, paperwork=evolve(house.visit.paperwork, signs=tuple(old))))
    blocks = page_of(a, "condition report")["signatures"]
    assert isinstance(blocks, list)
    assert [(b["name"], b["state"][:4]) for b in blocks] == [("J. Example 4", "VOID"), ("P. Sample", "Not ")]


@pytest.mark.parametrize(
    "document", ["condition report", "installation certificate", "minor works certificate", "bonding record"]
)
@pytest.mark.parametrize("circuits", [1, 9, 17])
def test_signatures_are_never_alone_on_a_page(document: str, circuits: int, tmp_path: Path) -> None:
    a = made.job(circuits, circuits, 0, signed=False)
    (page,) = [p for p in words(a, document, tmp_path) if re.search(r"^\s*Declarations? and signatures?\s*$", p, re.M)]
    before = re.split(r"^\s*Declarations? and signatures?\s*$", page, maxsplit=1, flags=re.M)[0].replace("DRAFT", "")
    assert len(before.split()) > 5, before


def test_log10_is_for_evidence_sheets(tmp_path: Path) -> None:
    for document in DOCUMENTS:
        if document != "evidence sheet":
            assert "log10" not in "".join(words(judge_demo(), document, tmp_path))


def test_the_record_leads_with_the_outcome_and_explains_its_signs(tmp_path: Path) -> None:
    first = words(judge_demo(), "bonding record", tmp_path)[0]
    order = ["Bonding record", "1 proved, 2 disproved", "proved whole", "What was read, and what it shows"]
    assert [first.index(x) for x in order] == sorted(first.index(x) for x in order)
    for word in ("disproved: impaired", "joint poor", "joint not decided", "read, not shown"):
        assert word in first


def test_the_evidence_of_sixty_circuits_has_nine_pages_and_that_of_four_has_one(sixty: Assessment) -> None:
    def pages(a: Assessment) -> int:
        with pikepdf.open(io.BytesIO(make_document(a, "evidence sheet", draft=True))) as pdf:
            return len(pdf.pages)

    assert pages(sixty) <= 9
    assert pages(judged(many(1, 4))) == 1


def test_evidence_says_a_reason_for_a_whole_board_once_and_opens_up_what_fails(tmp_path: Path) -> None:
    a = made.job(6, 0, 2)
    said = "\n".join(words(a, "evidence sheet", tmp_path))
    assert said.count("0.50 Ω × 1.2") == 2  # the sums of the two that fail, and of no other


INNER = re.compile(
    r"<[a-zA-Z_.]+ (object )?at 0x|<_io|BytesIO|\b(inf|nan) ?(A|Ω|mm|V|MΩ|ms)\b|\{[^}]*\}|\bNone\b|frozenset|log10 = "
)
BOOKS = sorted([*VISITS.glob("*.toml"), *sorted((VISITS / "practice").glob("*.toml"))[:: 1 if WIDE else 3]])


def strings(value: object) -> list[str]:
    """Every text of a page."""
    if isinstance(value, str):
        return [value]
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list | tuple) else ()
    return [s for v in inside for s in strings(v)]


@pytest.mark.parametrize("book", BOOKS, ids=lambda p: p.stem)
def test_no_paper_of_any_visit_shows_inner_parts_of_the_program(book: Path) -> None:
    a = judged(book.read_text(encoding="utf-8"))
    for document in DOCUMENTS:
        page = page_of(a, document)
        page.pop("constants", None)  # of the evidence sheet: its constants are named as in the method
        for said in strings(page):
            assert INNER.search(said) is None, (document, said)


def test_a_certificate_and_a_notice_say_their_outcome_first(house: Assessment, tmp_path: Path) -> None:
    for document, head in (
        ("minor works certificate", "Nothing fails, nothing is left open"),
        ("installation certificate", "Nothing fails"),
    ):
        first = words(house, document, tmp_path)[0]
        assert first.index(head) < first.index("Client and installation")
    failing = words(made.job(4, 0, 1), "installation certificate", tmp_path)[0]
    assert "Fails or is not decided: 1" in failing
    unread = evolve(house.boards[0].circuits[0].tests[0], absent="missing")
    circuits = (evolve(house.boards[0].circuits[0], tests=(unread,)),)
    half = evolve(house, boards=(evolve(house.boards[0], circuits=circuits),))
    assert page_of(half, "minor works certificate")["outcome"]["head"] == "Not finished"  # type: ignore[index]
    unsaid = evolve(house.visit.paperwork, report=evolve(house.visit.paperwork.report, circuit=""))
    which = page_of(evolve(house, visit=evolve(house.visit, paperwork=unsaid)), "minor works certificate")
    assert which["outcome"]["lines"] == ["Which circuit it is for is not entered."]  # type: ignore[index]
    danger = words(made.dangerous(), "danger notice", tmp_path)[0]
    assert danger.index("There is danger here now") < danger.index("casing of the boiler") < danger.index("Do not")


@pytest.mark.parametrize("document", [d for d in DOCUMENTS if d not in ON_SITE])
def test_a_paper_says_that_the_rules_were_not_reviewed_up_to_its_day(document: str, tmp_path: Path) -> None:
    """What says nothing of verdicts, on the day itself or before, is left out."""
    whole = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")
    late = judged(whole.replace("date = 2026-11-20", "date = 2027-05-26", 1))
    assert "Rules not reviewed since" in " ".join(words(late, document, tmp_path)[0].split())
