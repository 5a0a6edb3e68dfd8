"""The table of circuits: columns with their units, cells that no spreadsheet takes for a formula, every fault with its cell."""

from __future__ import annotations

import csv
import io
import runpy
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earthwright.base.errors import Finding, Severity
from earthwright.schedule import COLUMNS, Sheet, as_csv, read_sheet
from earthwright.schedule.cells import address, as_it_was, kept_from_formulas, spoilt, wrong_number
from earthwright.schedule.columns import OF_CIRCUITS, READING, Reads, column_of, header_of
from earthwright.site.visit import Visit
from earthwright.visitbook import read_text

ROOT = Path(__file__).parents[2]
BOOK = """[visit]
place = "x"
date = 2026-11-20
[supply]
phases = 3
[[leads]]
id = "l"
allowed = "nulled"
[[board]]
id = "b2"
[[board]]
id = "b1"
[[circuit]]
id = "c1"
board = "b1"
name = "=HYPERLINK(1)"
kind = "ring"
device = "BS EN 61009 B32"
rcd_type = "A"
rcd_ma = 30
afdd = true
line_mm2 = 2.5
length_m = 84
points = { hall = 12, "50 m" = 50 }
curve = [[87, 5], [200, 0.4]]
[[circuit]]
id = "c2"
board = "b2"
points = ["9"]
[[circuit]]
id = "c3"
board = "b2"
points = 9
[[step]]
of = "c1"
test_v = 500
point = "hall"
tests = { r1r2 = [0.62, 0.60], "insulation L-E" = ">299", polarity = "good", "rcd x1 0°" = 18.2 }
[[step]]
of = "c1"
test_v = 250
tests = { "insulation L-E" = 0.33, "zs no-trip" = 0.93 }
[[step]]
read = "zs"
of = "c1"
absent = "LIM"
note = "no access"
[[step]]
read = "functional"
of = "c2"
point = "AFDD"
outcome = "bad"
[[step]]
read = "rcd"
of = "c2"
absent = "N/A"
[[step]]
read = "zs"
of = "c2"
absent = "LIM"
note = "locked | out @ night"
"""


def visit() -> Visit:
    book = read_text(BOOK)
    assert book.findings == ()
    assert book.visit is not None
    return book.visit


def rows(text: str) -> dict[str, dict[str, str]]:
    return {row["Circuit"]: row for row in csv.DictReader(io.StringIO(text))}


def sheet(text: str) -> Sheet:
    return read_sheet(text.encode(), "t.csv")


def only(findings: tuple[Finding, ...]) -> Finding:
    assert len(findings) == 1, [f.sentence() for f in findings]
    return findings[0]


def test_one_row_a_circuit_board_by_board() -> None:
    text = as_csv(visit())
    assert list(rows(text)) == ["c2", "c3", "c1"]
    assert list(rows(as_csv(visit(), "b1"))) == ["c1"]
    with pytest.raises(KeyError):
        as_csv(visit(), "b9")


def test_what_stands_in_the_cells() -> None:
    row = rows(as_csv(visit()))["c1"]
    assert row["Name"] == "'=HYPERLINK(1)"
    assert (row["Device standard"], row["Device type"], row["Rating (A)"]) == ("BS EN 61009", "B", "32")
    assert (row["RCD type"], row["IΔn (mA)"], row["AFDD"]) == ("A", "30", "yes")
    assert (row["Line (mm²)"], row["Neutral (mm²)"], row["Length (m)"]) == ("2.5", "", "84")
    assert (row["Points"], row["Curve (A at s)"]) == ("hall = 12 | 50 m", "87 at 5 | 200 at 0.4")
    assert row["R1+R2 (Ω)"] == "0.62 @ hall | 0.60 @ hall"
    assert (row["Insulation test (V)"], row["Insulation L-E (MΩ)"]) == ("500", ">299")
    assert (row["Polarity"], row["RCD x1 0° (ms)"], row["Zs no-trip (Ω)"]) == ("good", "18.2", "0.93")
    assert (row["Zs (Ω)"], row["Reason"], row["Leads"]) == ("LIM", "no access", "l")


def test_two_test_voltages_stand_in_two_columns() -> None:
    row = rows(as_csv(visit()))["c1"]
    assert row["Insulation L-E 250 V (MΩ)"] == "0.33"


def test_points_a_number_of_them_and_one_named_by_a_number() -> None:
    found = rows(as_csv(visit()))
    assert (found["c2"]["Points"], found["c3"]["Points"]) == ("9 |", "9")
    assert found["c2"]["Functional"] == "bad @ AFDD"
    assert found["c2"]["Zs (Ω)"] == "LIM: locked / out at night"


def test_a_reading_that_came_later_takes_the_place_of_the_reason() -> None:
    book = read_text(BOOK + "[[step]]\nread = 'zs'\nof = 'c1'\nshown = 0.91\n")
    assert book.visit is not None
    assert rows(as_csv(book.visit))["c1"]["Zs (Ω)"] == "0.91"


@pytest.mark.parametrize(
    ("row", "column", "name"),
    [(1, 1, "A1"), (14, 4, "D14"), (2, 26, "Z2"), (2, 27, "AA2"), (9, 52, "AZ9"), (9, 703, "AAA9")],
)
def test_cells_are_named_as_a_spreadsheet_names_them(row: int, column: int, name: str) -> None:
    assert address(row, column) == name


@pytest.mark.parametrize(
    ("plain", "kept"),
    [
        ("=1+1", "'=1+1"),
        ("+44", "'+44"),
        ("-side", "'-side"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("＝1", "'＝1"),
        ("\t=1", "\t'=1"),
        (' "=1"', ' "\'=1"'),
        ("a;=cmd()", "a;'=cmd()"),
        ("a\n=1", "a\n'=1"),
        ("'=1", "''=1"),
        ("a=1", "a=1"),
        ("2-gang", "2-gang"),
        ("", ""),
    ],
)
def test_texts_are_kept_from_being_formulas(plain: str, kept: str) -> None:
    assert kept_from_formulas(plain) == kept
    assert as_it_was(kept) == plain


@given(st.text(alphabet="=+-@';\t\n\" ab|", max_size=12))
def test_every_text_comes_back(text: str) -> None:
    kept = kept_from_formulas(text)
    assert as_it_was(kept) == text
    assert not kept.startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize(
    "text", ["02-May", "2-May-25", "May-02", "2025-03-01", "1/2/24", "3/8", "01.02.2025", "10:15", "3 Mar 25"]
)
def test_dates_that_a_spreadsheet_made_are_seen(text: str) -> None:
    assert "date" in spoilt(text)
    assert "date" in wrong_number(text)


@pytest.mark.parametrize("text", ["TRUE", "false", "#REF!", "#N/A", "######", "1E+05", "1,5E3", "WAHR"])
def test_other_things_that_a_spreadsheet_makes_are_seen(text: str) -> None:
    assert spoilt(text)


@pytest.mark.parametrize("text", ["0", "0.00", "2.5", "299", "0.0004", "123456789012345"])
def test_plain_numbers(text: str) -> None:
    assert wrong_number(text) == ""
    assert spoilt(text) == ""


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "1,5",
        "1.000,5",
        "-1",
        "\u22121",
        "+1",
        "1.5 Ω",
        "1k5",
        "1.",
        ".5",
        "007",
        "nan",
        "inf",
        "1 2",
        "１.５",
        "0x10",
        "1_000",
    ],
)
def test_what_is_no_plain_number(text: str) -> None:
    assert wrong_number(text)


def test_every_column_is_known_by_its_header_and_by_no_other_unit() -> None:
    for column in COLUMNS:
        assert column_of(column.header) == (column, "")
        if column.unit:
            wrong, why = column_of(column.header.replace(f"({column.unit})", "(kΩ)" if column.unit != "kΩ" else "(Ω)"))
            assert wrong is None
            assert column.header in why
            bare, why = column_of(column.header.replace(f" ({column.unit})", ""))
            assert bare is None
            assert "unit is missing" in why


@pytest.mark.parametrize(
    ("header", "reads"),
    [
        ("Insulation L-E 250 V (MΩ)", Reads("insulation", "L-E", "", 250)),
        ("RCD x5 180° (ms)", Reads("rcd", "180°", "x5")),
        ("Zs two-lead (Ω)", Reads("zs", "", "two-lead")),
        ("R1+R2 reverse (ohm)", Reads("r1r2", "", "reverse")),
        ("Supplementary (Ω)", Reads("supplementary")),
    ],
)
def test_every_test_of_a_circuit_may_have_a_column(header: str, reads: Reads) -> None:
    column, why = column_of(header)
    assert why == ""
    assert column is not None
    assert column.reads == reads
    assert column_of(column.header)[0] == column


@pytest.mark.parametrize(
    "header",
    [
        "Zs 250 V (Ω)",
        "r1r2 (Ω)",
        "R1 (Ω)",
        "Zs L-N (Ω)",
        "Insulation (kΩ)",
        "Polarity (Ω)",
        "Ze (Ω)",
        "(Ω)",
        "zs (Ω)",
        "R1+R2",
    ],
)
def test_other_headers_are_not_known(header: str) -> None:
    column, why = column_of(header)
    assert column is None
    assert why


def test_headers_of_readings_are_told_apart() -> None:
    heads = [header_of(c.reads) for c in COLUMNS if c.kind == READING and c.reads]
    assert len(set(heads)) == len(heads)
    assert {c.reads.test for c in COLUMNS if c.reads} | {"supplementary"} == set(OF_CIRCUITS)


def test_the_page_of_columns_names_each_of_them_and_what_it_says() -> None:
    page = (ROOT / "docs" / "schedule-columns.md").read_text(encoding="utf-8")
    assert page == runpy.run_path(str(ROOT / "docs" / "reference.py"))["columns_page"](), "run python docs/reference.py"
    for column in COLUMNS:
        says = column.says.replace("|", "\\|")
        assert f"| {column.header} | {says} |" in page.replace("  ", " "), column.header


# ---- the form of the file ----

HEAD = "Board,Circuit,Name,Zs (Ω)\n"


def test_a_mark_of_utf8_and_crlf_go_without_saying() -> None:
    read = read_sheet(b"\xef\xbb\xbf" + (HEAD + "b1,c1,x,0.93\n").replace("\n", "\r\n").encode())
    assert read.findings == ()
    assert read.rows[0].cells["Zs (Ω)"].address == "D2"
    assert read.rows[0].text("Zs (Ω)") == "0.93"


@pytest.mark.parametrize(("mark", "word"), [(";", "semicolons"), ("\t", "tabs")])
@pytest.mark.parametrize("said", [True, False])
def test_other_separators_are_said_aloud(mark: str, word: str, said: bool) -> None:
    text = (f"sep={mark}\n" if said else "") + HEAD.replace(",", mark) + f"b1{mark}c1{mark}{mark}0.93\n"
    read = sheet(text)
    assert (only(read.findings).severity, word in only(read.findings).what) == (Severity.NOTE, True)
    assert read.rows[0].cells["Zs (Ω)"].address == "D2"


def test_rows_are_counted_as_a_spreadsheet_counts_them() -> None:
    read = sheet(HEAD + '\nb1,c1,"two\nlines",0.93\n,,,\nb1,c2,,\n')
    assert read.findings == ()
    assert [r.number for r in read.rows] == [3, 5]


@pytest.mark.parametrize(
    ("content", "where", "what"),
    [
        (b"", "A1", "is empty"),
        (b"\n\n", "A1", "is empty"),
        ("Circuit,Name\nc1,caf\xe9\n".encode("cp1252"), "row 2", "not in UTF-8"),
        (HEAD.encode("utf-16"), "table", "UTF-16"),
        (b"PK\x03\x04abc", "table", "spreadsheet, not CSV"),
        (b"Circuit,Name\nc1,\x00\n", "row 2", "is none"),
        ("Circuit,Name\nc1,caf\ufffd\n".encode(), "row 2", "is none"),
        (b'Circuit,Name\nc1,"open\n', "row 2", "quotes"),
        (b'Circuit,Name\nc1,"a"b"\n', "row 2", "quotes"),
        (b"b1,c1,x,0.93\n", "A1", "names no column"),
        (b"Board,Name\nb1,x\n", "row 1 (Circuit)", "needed and is missing"),
        (b"Circuit,Length (mm)\nc1,2\n", "B1", "in m, not in mm"),
        (b"Circuit,Length\nc1,2\n", "B1", "unit is missing"),
        (b"Circuit,Nmae\nc1,2\n", "B1", "Did you mean 'Name'"),
        (b"Circuit,Name,Name\nc1,a,b\n", "C1 (Name)", "stands twice"),
        (b"Circuit,,Name\nc1,a,b\n", "B1", "a head that is empty"),
        (b"Circuit,Name\nc1,a,b\n", "C2", "beyond the last column"),
        (b"Circuit,Name,Note\nc1,a\n", "C2", "ends before"),
        (b"Circuit,Name\nc1,a\nc1,b\n", "A3 (Circuit)", "in A2 already"),
        (b"Circuit" + b"," * 400 + b"\nc1\n", "row 1", "too many columns"),
    ],
)
def test_what_is_wrong_with_the_form_is_told_with_its_place(content: bytes, where: str, what: str) -> None:
    read = read_sheet(content, "t.csv")
    hits = [f for f in read.findings if f.where == where and what in f.what]
    assert hits, [f.sentence() for f in read.findings]
    assert all(f.severity is Severity.ERROR and f.expected and f.file == "t.csv" for f in hits)


@pytest.mark.parametrize(("over", "findings"), [(0, 0), (1, 1)])
def test_the_most_rows_and_bytes_there_may_be(over: int, findings: int) -> None:
    many = "Circuit\n" + "".join(f"c{i}\n" for i in range(5000 + over))
    assert len(sheet(many).findings) == findings
    head = b"Circuit,Name\nc1,"
    large = head + b"x" * (5_000_000 - len(head) + over)
    assert ["too large" in f.what for f in read_sheet(large).findings if "too large" in f.what] == [True] * findings


def test_empty_columns_and_cells_say_nothing() -> None:
    read = sheet("Circuit,,Name,\nc1,, ,\n")
    assert read.findings == ()
    assert set(read.rows[0].cells) == {"Circuit"}
