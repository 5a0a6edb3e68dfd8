"""Separate residual current devices and codes in the table of circuits: written out, filled in, bad cells told."""

from __future__ import annotations

import csv
import io

import pytest

from earthwright.schedule import as_csv, fill, read_sheet
from earthwright.visitbook import read_text

HEAD = '[visit]\nplace = "x"\ndate = 2026-11-20\n[[board]]\nid = "b1"\n'
BARE = HEAD + '[[circuit]]\nid = "c1"\ndevice = "BS EN 60898 B32"\n'
FULL = (
    BARE + "rcd_type = 'A'\nrcd_ma = 30\nrcd_delay = '150 ms'\nrcd_standard = 'BS EN 61008'\nrcd_rating_a = 63\n"
    "wiring = 'F'\ncable = 'jointed'\nreference = '100'\nmethod = 'beside the duct'\n"
)
CELLS = {
    "RCD type": "A",
    "IΔn (mA)": "30",
    "RCD delay": "150 ms",
    "RCD standard": "BS EN 61008",
    "RCD rating (A)": "63",
    "Wiring": "F",
    "Cable": "jointed",
    "Reference method": "100",
    "Method": "beside the duct",
}


def table(cells: dict[str, str]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["Circuit", *cells])
    writer.writerow(["c1", *cells.values()])
    return out.getvalue().encode()


def row_of(text: str) -> dict[str, str]:
    visit = read_text(text).visit
    assert visit is not None
    return next(csv.DictReader(io.StringIO(as_csv(visit))))


def test_the_table_says_what_the_visit_says() -> None:
    row = row_of(FULL)
    assert {k: row[k] for k in CELLS} == CELLS
    bare = row_of(BARE)
    assert [bare[k] for k in CELLS] == [""] * len(CELLS)


@pytest.mark.parametrize("book", [BARE, HEAD])
def test_the_visit_then_says_what_the_table_says(book: str) -> None:
    cells = (
        CELLS if book == BARE else {"Device standard": "BS EN 60898", "Device type": "B", "Rating (A)": "32"} | CELLS
    )
    filled = fill(book, read_sheet(table(cells)))
    assert filled.good, [f.sentence() for f in filled.findings]
    after, full = read_text(filled.text).visit, read_text(FULL).visit
    assert after is not None
    assert full is not None
    assert after.site == full.site
    again = fill(filled.text, read_sheet(table(cells)))
    assert (again.good, again.values, again.circuits) == (True, 0, 0)


def test_a_table_of_earlier_days_fills_as_before() -> None:
    old = {"RCD type": "A", "IΔn (mA)": "30", "RCD delay": "S", "Cable": "flat twin", "Method": "C"}
    filled = fill(BARE, read_sheet(table(old)))
    assert filled.good
    visit = read_text(filled.text).visit
    assert visit is not None
    c = visit.site.circuits[0]
    assert (c.device.rcd_delay, c.cable, c.method, c.wiring, c.reference) == ("S", "flat twin", "C", "", "")


def test_none_says_that_one_device_does_both_although_another_is_usual() -> None:
    usual = HEAD + "[board.usual]\nrcd_type = 'A'\nrcd_ma = 30\nrcd_standard = 'BS EN 61008'\nrcd_rating_a = 63\n"
    filled = fill(usual, read_sheet(table({"RCD standard": "none"})))
    assert filled.good, [f.sentence() for f in filled.findings]
    visit = read_text(filled.text).visit
    assert visit is not None
    d = visit.site.circuits[0].device
    assert (d.rcd_standard, d.rcd_rating_a, d.rcd_ma) == ("", None, 30)


@pytest.mark.parametrize(
    ("header", "cell"),
    [
        ("RCD rating (A)", "TRUE"),
        ("RCD rating (A)", "-63"),
        ("RCD rating (A)", "inf"),
        ("RCD rating (A)", "63 A"),
        ("RCD rating (A)", "0"),
        ("RCD rating (A)", "63,0"),
        ("RCD rating (A)", "9999"),
        ("RCD delay", "s"),
        ("RCD delay", "150"),
        ("RCD delay", "-5 ms"),
        ("RCD delay", "true"),
        ("RCD standard", "=1+1"),
        ("Wiring", "Z"),
        ("Wiring", "a"),
        ("Wiring", "TRUE"),
        ("Wiring", "1"),
        ("Reference method", "H"),
        ("Reference method", "99"),
        ("Reference method", "1E+02"),
        ("Reference method", "-100"),
        ("Reference method", "100.0"),
    ],
)
def test_a_bad_cell_is_told_at_its_place_and_nothing_is_written(header: str, cell: str) -> None:
    filled = fill(BARE, read_sheet(table({header: cell})))
    assert [f.where for f in filled.findings] == [f"B2 ({header})"]
    assert filled.text == BARE


@pytest.mark.parametrize("header", ["Wiring", "Reference method", "RCD standard", "RCD rating (A)", "RCD delay"])
def test_what_the_visit_says_is_not_overwritten(header: str) -> None:
    other = {
        "Wiring": "A",
        "Reference method": "C",
        "RCD standard": "BS 4293",
        "RCD rating (A)": "40",
        "RCD delay": "S",
    }
    filled = fill(FULL, read_sheet(table({header: other[header]})))
    assert [f.where for f in filled.findings] == [f"B2 ({header})"]
    assert "not overwritten" in filled.findings[0].what
    assert filled.text == FULL
