"""Every document: structure, contents, what is missing, hostile texts, the same bytes twice; read back by other tools."""

from __future__ import annotations

import datetime as dt
import io
import json
import re
import shutil
import subprocess
from pathlib import Path

import made
import pikepdf
import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import TestJudged
from earthwright.paper.circuits import RESULTS, all_tests, details_row, results_row
from earthwright.paper.documents import NotIssued, make_document, missing_fields, page_of
from earthwright.paper.kinds import BY_NAME, DOCUMENTS
from earthwright.paper.page import hash_of, record_hash
from earthwright.paper.requirements import groups_of
from earthwright.report.record import as_text
from earthwright.site.particulars import Sign
from earthwright.visitbook import read_book

SIGNED = [d for d in DOCUMENTS if d not in ("bonding record", "evidence sheet")]


def job_for(document: str) -> Assessment:
    failing = 0 if document == "installation certificate" else 1  # none is issued over a Zs that fails
    a = made.dangerous() if document == "danger notice" else made.job(4, 3, failing)
    if document in ("closing statement", "confirmation of work"):
        return made.put_right(a)
    if document != "minor works certificate":
        return a
    report = evolve(a.visit.paperwork.report, circuit="C2")
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, report=report)))


@pytest.fixture(scope="module", params=DOCUMENTS)
def printed(request: pytest.FixtureRequest) -> tuple[str, bytes]:
    return request.param, make_document(job_for(request.param), request.param, book=made.BOOK)


def texts(content: bytes, tmp_path: Path) -> list[str]:
    """The text of each page in reading order, by poppler."""
    reader = shutil.which("pdftotext")
    assert reader, "this check reads the PDF with poppler's pdftotext (Debian: apt install poppler-utils)"
    (tmp_path / "d.pdf").write_bytes(content)
    done = subprocess.run([reader, "-raw", str(tmp_path / "d.pdf"), "-"], capture_output=True, text=True, check=True)
    return [" ".join(page.split()) for page in done.stdout.split("\f")[:-1]]


# ---- structure ----


def test_each_is_archival_with_files_and_accessible(printed: tuple[str, bytes]) -> None:
    """ISO 19005-3 level A with ISO 14289-1: XMP, language, tags, embedded fonts, attached files with their relation."""
    document, content = printed
    with pikepdf.open(io.BytesIO(content)) as pdf:
        with pdf.open_metadata() as meta:
            assert (meta["pdfaid:part"], meta["pdfaid:conformance"], meta["pdfuaid:part"]) == ("3", "A", "1")
            assert "The Old Maltings" in meta["dc:title"]
        assert str(pdf.Root.Lang) == "en-GB"
        assert bool(pdf.Root.MarkInfo.Marked)
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
        tags = {
            str(o.get("/S"))
            for o in pdf.objects
            if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/StructElem"
        }
        assert {"/H1", "/P"} <= tags or {"/H1", "/Table"} <= tags
        if document in ("condition report", "installation certificate", "evidence sheet"):
            assert {"/Table", "/TH", "/TD", "/TR", "/H2"} <= tags
        fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all(any(k in f for k in ("/FontFile2", "/FontFile3")) for f in fonts)
        if not BY_NAME[document].private:
            assert "/AF" not in pdf.Root
            assert not pdf.attachments
            return
        related = {str(f.F): str(f.AFRelationship) for f in pdf.Root.AF}
        assert related == {"record.json": "/Source", "document.json": "/Data", "visit.toml": "/Source"}
        assert pdf.attachments["visit.toml"].get_file().read_bytes().decode() == made.BOOK


def test_the_record_inside_is_the_record_and_its_hash_is_on_every_page(
    printed: tuple[str, bytes], tmp_path: Path
) -> None:
    document, content = printed
    a = job_for(document)
    with pikepdf.open(io.BytesIO(content)) as pdf:
        pages = len(pdf.pages)
        if BY_NAME[document].private:
            inside = pdf.attachments["record.json"].get_file().read_bytes()
            facts = json.loads(pdf.attachments["document.json"].get_file().read_bytes())
            assert inside.decode() == as_text(a)
            assert facts["record"] == record_hash(a) == hash_of(json.loads(inside))
            assert facts["document"] == document
    said = texts(content, tmp_path)
    assert len(said) == pages
    for number, page in enumerate(said, 1):
        assert record_hash(a) in page
        assert f"Page {number} of {pages}" in page


def test_the_same_input_gives_the_same_bytes(printed: tuple[str, bytes]) -> None:
    document, content = printed
    assert make_document(job_for(document), document, book=made.BOOK) == content


def test_nothing_is_ever_called_safe(printed: tuple[str, bytes], tmp_path: Path) -> None:
    text = " ".join(texts(printed[1], tmp_path)).lower()
    assert not re.search(r"\b(is|are|be|now|safe) safe\b|\bunsafe\b|\bsafely\b", text)


def test_a_reader_in_black_and_white_loses_nothing(printed: tuple[str, bytes]) -> None:
    """Apart from the earth map, whose signs differ by shape, only greys are used."""
    document, content = printed
    if document == "bonding record":
        return
    with pikepdf.open(io.BytesIO(content)) as pdf:
        for page in pdf.pages:
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) in ("rg", "RG", "scn", "SCN", "sc", "SC") and len(operands) == 3:
                    red, green, blue = (float(x) for x in operands)
                    assert max(red, green, blue) - min(red, green, blue) < 0.12


ORDER = {
    "condition report": ["condition report", "UNSATISFACTORY", "Observations", "Extent and limitations", "Next inspection", "What is due by when", "Supply", "Main bonding to", "Signatures", "For whoever receives", "Schedule of inspections", "Schedule of circuits", "Test results"],
    "installation certificate": ["installation certificate", "Client and installation", "Work this certificate is for", "Supply", "Installation at its origin", "Next inspection", "Signatures", "Schedule of inspections", "Schedule of circuits"],
    "minor works certificate": ["Minor electrical", "The work", "Supply, earthing and bonding", "The circuit", "Test results", "Signatures"],
    "letter": ["What we found", "We found three things to deal with", "In a fault, the power to a circuit would cut off too late", "Finding number 1", "What was looked at", "What comes next", "In an emergency"],
    "danger notice": ["DANGER", "There is danger here now", "casing of the boiler", "Do not", "What was done", "Call", "Given"],
    "evidence sheet": ["Evidence sheet", "water service", "Budget", "Band", "Rule", "Sum", "Main board", "C1", "Zs", "411.4.4"],
}  # fmt: skip


@pytest.mark.parametrize("document", ORDER)
def test_the_text_reads_in_the_order_of_the_page(document: str, tmp_path: Path) -> None:
    text = " ".join(texts(make_document(job_for(document), document, book=made.BOOK), tmp_path))
    place = 0
    for words in ORDER[document]:
        found = text.lower().find(words.lower(), place)
        assert found >= place, f"{words!r} is not where it belongs"
        place = found


# ---- the schedule ----


def test_the_header_of_the_schedule_is_repeated_and_its_type_is_at_least_6_pt(tmp_path: Path) -> None:
    content = make_document(made.job(60, 0, 0), "condition report", draft=True)
    said = [page for page in texts(content, tmp_path) if "Wiring" in page or "RCD ms" in page]
    assert len(said) >= 3
    (tmp_path / "d.pdf").write_bytes(content)
    done = subprocess.run(
        ["pdftotext", "-tsv", str(tmp_path / "d.pdf"), "-"], capture_output=True, text=True, check=True
    )
    heights = {
        round(float(line.split("\t")[9]), 1)
        for line in done.stdout.splitlines()[1:]
        if line.split("\t")[-1] in ("C12", "24.3", "2.73", "500")
    }
    assert heights
    assert min(heights) >= 6.0


def values(c: int, *tests: TestJudged) -> dict[str, str]:
    judged = made.circuit_judged(c)
    kept = tuple(t for t in judged.tests if t.test not in {x.test for x in tests})
    return dict(zip(RESULTS, results_row(evolve(judged, tests=(*kept, *tests))), strict=True))


def test_the_schedule_prints_digits_as_typed_and_the_worst_of_the_points() -> None:
    assert values(3)["r1 Ω"] == "0.42"
    assert values(1)["r1 Ω"] == "–"
    assert values(1)["L–L, L–N MΩ"] == ">299"
    far, near = made.read_test("C1", "zs", "0.60", seq=1), made.read_test("C1", "zs", "0.9", seq=2)
    near = evolve(near, point="near", readings=tuple(evolve(r, point="near") for r in near.readings))
    assert values(1, far, near)["Zs Ω"] == "0.9"
    low, lower = (made.read_test("C1", "insulation", x, "MΩ", between=b) for x, b in (("210", "L-E"), ("3.7", "N-E")))
    assert values(1, low, lower)["L–E MΩ"] == "3.7"
    slow, fast = (made.read_test("C1", "rcd", x, "ms", method=m) for x, m in (("31.0", "x1"), (">300", "x0.5")))
    assert values(1, slow, fast)["RCD ms"] == "31.0"


def test_the_last_reading_at_a_point_counts_and_a_refused_one_does_not() -> None:
    first, again = made.read_test("C1", "zs", "9.99", seq=1), made.read_test("C1", "zs", "0.61", seq=2)
    both = evolve(first, readings=(*first.readings, *again.readings))
    assert values(1, both)["Zs Ω"] == "0.61"
    from earthwright.base.errors import Finding

    refused = tuple(evolve(r, refused=(Finding("x", "no"),)) for r in again.readings)
    assert values(1, evolve(first, readings=(*first.readings, *refused)))["Zs Ω"] == "9.99"


def test_a_circuit_of_a_three_phase_board_names_its_line() -> None:
    a = made.job(1, 0, 0)
    c = a.boards[0].circuits[0]
    assert details_row(a, c)[0] == "C1"
    assert details_row(a, evolve(c, circuit=evolve(c.circuit, line="L2")))[0] == "C1 L2"


def test_why_a_test_is_absent_is_printed_and_bad_is_loud() -> None:
    absent = TestJudged("C1", "zs", absent="LIM", reason="no access to the loft")
    row = values(1, absent, made.word_of("C1", "polarity", "bad"))
    assert row["Zs Ω"] == "LIM"
    assert "Zs LIM: no access to the loft" in row["Remarks"]
    assert row["Polarity"] == "BAD"
    assert "polarity: fails" in row["Remarks"]


def test_a_reading_that_nothing_was_judged_from_is_printed_too() -> None:
    a = made.job(1, 0, 0)
    loose = evolve(made.read_test("C1", "r2", "1.23").readings[0], id="r999", of="C1")
    b = evolve(a, visit=evolve(a.visit, events=(*a.visit.events, loose)))
    found = [t for t in all_tests(b, "C1", b.boards[0].circuits[0].tests) if t.test == "r2"]
    assert [t.outcome for t in found] == ["no rule"]
    assert page_of(b, "condition report")["schedules"][0]["results"][0][RESULTS.index("R2 Ω")] == "1.23"  # type: ignore[index]


def test_three_phases_state_both_voltages() -> None:
    """BS 7671 appendix 2: 230 V to earth, 400 V between lines."""
    a = made.job(1, 0, 0)
    site = evolve(a.visit.site, supply=evolve(a.visit.site.supply, phases=3))
    said = {
        f.label: f.value
        for g in groups_of(evolve(a, visit=evolve(a.visit, site=site)), "condition report")
        for f in g.fields
    }
    assert said["Nominal voltage to earth, U0"] == "230 V"
    assert said["Nominal voltage between lines, U"] == "400 V"


# ---- what is missing ----


@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_whole_job_lacks_nothing(document: str) -> None:
    assert [m.sentence() for m in missing_fields(job_for(document), document)] == []


REQUIRED = {
    "condition report": (
        ["client_address", "premises", "issued", "purpose", "agreed_with", "operational", "vulnerable", "sampling", "age_years", "alterations", "records", "overall", "next_by", "next_reason"],
        ["live", "current", "demand_a", "earthing", "fuse_standard", "fuse_type", "switch_where", "switch_standard", "switch_poles", "switch_a", "switch_v", "switch_rcd", "not_present", "earthing_checked"],
    ),
    "installation certificate": (
        ["client_address", "issued", "work", "work_kind", "completed", "vulnerable", "departures", "existing", "next_by", "next_reason"],
        ["live", "current", "polarity", "demand_a", "earthing", "switch_where", "switch_a", "earthing_checked"],
    ),
    "minor works certificate": (["work", "completed", "departures", "existing"], ["earthing_checked"]),
}  # fmt: skip
CASES = [
    (d, table, key)
    for d, (report, origin) in REQUIRED.items()
    for table, keys in (("report", report), ("origin", origin))
    for key in keys
]


@pytest.mark.parametrize(("document", "table", "key"), CASES)
def test_each_required_entry_is_missed_by_its_place_and_refuses_the_document(
    document: str, table: str, key: str
) -> None:
    a = job_for(document)
    papers = a.visit.paperwork
    entries = getattr(papers, table)
    blank = type(getattr(entries, key))() if isinstance(getattr(entries, key), (str, tuple)) else None
    papers = evolve(papers, **{table: evolve(entries, **{key: blank})})
    b = evolve(a, visit=evolve(a.visit, paperwork=papers))
    where = [m.at.said() for m in missing_fields(b, document)]
    assert any(f"[{table}] {key}" in w or f"in [{table}] {key}" in w for w in where), where
    with pytest.raises(NotIssued) as refused:
        make_document(b, document)
    assert refused.value.missing


def changed(a: Assessment, **papers: object) -> Assessment:
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, **papers)))


def whats(a: Assessment, document: str = "condition report") -> list[str]:
    return [m.what for m in missing_fields(a, document)]


def test_items_observations_codes_reasons_and_tests_are_asked_for() -> None:
    a = made.job(4, 3, 1)
    items = a.visit.paperwork.inspected
    assert any("Service cable" in w for w in whats(changed(a, inspected=items[1:])))
    coded = (evolve(items[0], outcome="C2"), *items[1:])
    assert any("Observation for the item" in w for w in whats(changed(a, inspected=coded)))
    first, *rest = a.visit.paperwork.observations
    assert any("suggested C2 taken up" in w for w in whats(changed(a, observations=tuple(rest))))
    assert "Code of observation 1" in whats(changed(a, observations=(evolve(first, code=""), *rest)))
    assert "Place of observation 1" in whats(changed(a, observations=(evolve(first, where=""), *rest)))
    # A milder code counts as the proposed C2 until its reason stands there, so the reason is asked for.
    milder = whats(changed(a, observations=(evolve(first, code="C3"), *rest)))
    assert "Reason for the code of observation 1" in milder
    fine = evolve(first, code="C3", reason="the supply impedance was high that day only")
    assert "Reason for the code of observation 1" not in whats(changed(a, observations=(fine, *rest)))
    other = changed(a, report=evolve(a.visit.paperwork.report, overall="satisfactory"))
    assert whats(other) == ["An overall assessment that its own codes allow"]
    board = a.boards[0]
    lacking = evolve(
        board.circuits[2], tests=tuple(t for t in board.circuits[2].tests if t.test not in ("ring rn", "polarity"))
    )
    b = evolve(a, boards=(evolve(board, circuits=(*board.circuits[:2], lacking, *board.circuits[3:])),))
    assert whats(b) == ["Main board, circuit C3: rn", "Main board, circuit C3: polarity"]


def test_blank_details_of_an_old_installation_need_one_reason_and_of_a_new_one_each_entry() -> None:
    a = made.job(2, 0, 0)
    board = a.boards[0]
    blank = evolve(board.circuits[0], circuit=evolve(board.circuits[0].circuit, method="", points=()))
    b = evolve(a, boards=(evolve(board, circuits=(blank, *board.circuits[1:])),))
    b = changed(b, report=evolve(b.visit.paperwork.report, overall="satisfactory"))
    assert whats(b) == ["2 blank details in the schedules"]
    assert (
        whats(changed(b, report=evolve(b.visit.paperwork.report, not_recorded="no records of the first installation")))
        == []
    )
    assert whats(b, "installation certificate") == [
        "Main board, circuit C1: reference method",
        "Main board, circuit C1: points served",
    ]


def test_a_draft_says_so_on_every_page_and_lists_what_is_missing(tmp_path: Path) -> None:
    a = made.job(2, 0, 0, signed=False)
    content = make_document(a, "condition report", draft=True)
    said = texts(content, tmp_path)
    assert all("Draft: 3 entries missing" in page for page in said)
    with pikepdf.open(io.BytesIO(content)) as pdf:
        for page in pdf.pages:
            turned = [
                o
                for o, op in pikepdf.parse_content_stream(page)
                if str(op) == "cm" and abs(abs(float(o[1])) - 0.766) < 0.001
            ]
            assert turned, "the mark across the page, at 50°"
    assert "Signature: inspected and tested by" in said[0]
    assert "Not signed" in " ".join(said)


def test_a_change_after_signing_voids_the_signature_visibly(tmp_path: Path) -> None:
    a = made.job(2, 3, 0)
    assert missing_fields(a, "condition report") == []
    b = changed(a, content="another version " * 4)
    assert [m.what for m in missing_fields(b, "condition report")] == [
        "Signature: inspected and tested by",
        "Signature: authorised for issue",
    ]
    assert "changed after J. Example signed" in missing_fields(b, "condition report")[0].why
    said = " ".join(texts(make_document(b, "condition report", draft=True), tmp_path))
    assert "VOID: the visit was changed after it." in said
    assert "Draft: void signature" in said


def test_a_signature_again_in_the_same_role_mends_it() -> None:
    a = changed(made.job(2, 3, 0), content="f" * 64)
    again = tuple(
        Sign(role, "J. Example", "2026-11-24T08:00", content="f" * 64)
        for role in ("inspected and tested by", "authorised for issue")
    )
    assert missing_fields(changed(a, signs=(*a.visit.paperwork.signs, *again)), "condition report") == []


def test_an_unknown_document_is_the_callers_mistake() -> None:
    with pytest.raises(ValueError, match="There is no document 'poem'"):
        missing_fields(made.job(1, 0, 0), "poem")


# ---- hostile texts ----


@pytest.mark.parametrize("document", DOCUMENTS)
def test_markup_in_texts_reaches_paper_as_text(document: str, tmp_path: Path) -> None:
    a = job_for(document)
    papers, word = a.visit.paperwork, made.HOSTILE
    observations = tuple(evolve(o, what=word, where=word, reason=word) for o in papers.observations)
    papers = evolve(
        papers, observations=observations, danger=evolve(papers.danger, what=word, where=word, done=word),
        report=evolve(papers.report, purpose=word, work=word, departures=word, next_reason=word, sampling=word, occupier=word),
        signs=tuple(evolve(s, name=word) for s in papers.signs),
    )  # fmt: skip
    board = a.boards[0]
    named = tuple(evolve(c, circuit=evolve(c.circuit, name=word, note=word)) for c in board.circuits)
    b = evolve(
        a,
        visit=evolve(a.visit, paperwork=papers, site=evolve(a.visit.site, place=word)),
        boards=(evolve(board, circuits=named),),
    )
    content = make_document(b, document, book=made.BOOK, draft=True)
    bare = re.sub(r"\s", "", " ".join(texts(content, tmp_path)))
    assert '#eval("1")$x^2$*b*<script>alert(1)</script>' in bare
    with pikepdf.open(io.BytesIO(content)) as pdf:
        assert "/JavaScript" not in (pdf.Root.Names if "/Names" in pdf.Root else {})
        assert "/OpenAction" not in pdf.Root
        assert not [
            o
            for o in pdf.objects
            if isinstance(o, pikepdf.Dictionary) and o.get("/S") in ("/JavaScript", "/Launch", "/URI")
        ]


def test_fields_of_the_letter_speak_of_what_was_put_right(tmp_path: Path) -> None:
    from earthwright.site.particulars import Stage

    a = made.job(2, 2, 0)
    first, second = a.visit.paperwork.observations
    done = evolve(
        first,
        code="C2",
        stages=(Stage("remedied", dt.date(2026, 11, 21)), Stage("confirmed", dt.date(2026, 11, 22), seen="new clamp")),
    )
    half = evolve(second, code="C1", stages=(Stage("made safe", dt.date(2026, 11, 20)),))
    b = changed(a, observations=(done, half))
    text = " ".join(texts(make_document(b, "letter", draft=True), tmp_path))
    assert "We found one thing to deal with" in text
    assert "It was put right, and that was checked on 22 November 2026" in text
    assert "The danger was taken away on 20 November 2026. The repair still has to be done" in text
    assert "17 December 2026 at the latest. Your landlord must see to it" in text
    assert text.index("Finding number 2") < text.index("Finding number 1"), "the urgent one first"


VISITS = Path(__file__).parents[1] / "visits"


def _visit(name: str) -> Assessment:
    book = read_book(VISITS / f"{name}.toml")
    assert book.visit is not None
    return assess(book.visit, found=book.findings)


def test_what_to_do_in_danger_never_stands_under_what_not_to_do(tmp_path: Path) -> None:
    """To switch off, to keep people away and to call are orders; a heading turned over would kill."""
    text = texts(make_document(_visit("16-open-pen"), "danger notice", draft=True), tmp_path)[0]
    now, never = text.index("Do now"), text.index("Do not")
    done = text.index("What was done", never)
    for order in ("Switch the loads off", "Disconnect nothing", "Keep people away", "Call the distributor"):
        assert now < text.index(order) < never
    assert "not stated" in text[never:done]


def test_a_draft_letter_with_open_proposals_does_not_sound_clean(tmp_path: Path) -> None:
    text = " ".join(texts(make_document(_visit("03-paint"), "letter", draft=True), tmp_path))
    assert "Nothing that needs work" not in text
    assert "the inspector has not settled yet" in text
    assert "Looked at: not stated" in text
