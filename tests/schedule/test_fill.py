"""A table filled into a visit book: only what is not there yet, every bad cell told, the way there and back exact."""

from __future__ import annotations

import csv
import io
import sys
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from earthwright.base.errors import Severity, VisitBookError
from earthwright.schedule import Filled, as_csv, fill, read_sheet
from earthwright.schedule.cells import spoilt
from earthwright.site.events import Reading
from earthwright.site.installation import Circuit
from earthwright.site.visit import Visit
from earthwright.visitbook import read_text
from earthwright.visitbook.write import toml_list, toml_table, toml_text

BOOK = """# Remarks stay.
[visit]
place = "x"            # here too
date = 2026-11-20
[[leads]]
id = "l"
allowed = "nulled"
[[board]]
id = "b1"
[board.usual]
rcd_ma = 30
[[circuit]]
id = "c1"              # the ring
board = "b1"
device = "B32"
length_m = 84
[[step]]
of = "c1"
tests = { zs = 0.90, r1r2 = [0.40, 0.41], "insulation L-E" = ">299" }
[[step]]
read = "zs"
of = "c1"
point = "loft"
absent = "not tested"
"""


def table(*rows: dict[str, str]) -> bytes:
    heads = list(dict.fromkeys(h for row in rows for h in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, heads, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def filled(*rows: dict[str, str], book: str = BOOK) -> Filled:
    return fill(book, read_sheet(table(*rows), "t.csv"), "v.toml")


def whole(result: Filled) -> Visit:
    assert result.good, [f.sentence() for f in result.findings]
    book = read_text(result.text)
    assert book.visit is not None
    assert not [f for f in book.findings if f.severity is Severity.ERROR]
    return book.visit


def readings(visit: Visit) -> list[tuple[object, ...]]:
    """What counts of the readings."""
    return [
        (
            r.of,
            r.test,
            r.between,
            r.method,
            r.test_v,
            r.point,
            r.outcome,
            r.absent,
            r.shown and (r.shown.kind, r.shown.digits),
        )
        for r in visit.events
        if isinstance(r, Reading)
    ]


# ---- what is added ----


def test_a_new_circuit_with_its_readings() -> None:
    result = filled(
        {
            "Board": "b1",
            "Circuit": "c2",
            "Name": "Lights",
            "Rating (A)": "6",
            "AFDD": "yes",
            "RCD type": "none",
            "Points": "hall = 3 | loft = 9.5",
            "Length (m)": "12",
            "Curve (A at s)": "87 at 5 | 200 at 0.4",
            "R1+R2 (Ω)": "0.62 @ loft | 0.63 @ loft",
            "Insulation test (V)": "500",
            "Insulation L-E (MΩ)": "over-range",
            "Polarity": "good",
            "Zs (Ω)": "LIM",
            "R2 (Ω)": "N/A: no long lead",
            "Reason": "locked",
            "Leads": "l",
        }
    )
    visit = whole(result)
    assert (result.circuits, result.values, result.readings) == (1, 0, 6)
    c = visit.site.circuit("c2")
    assert (c.name, c.device.rating_a, c.device.afdd, c.length_m) == ("Lights", 6, True, 12)
    assert (c.device.rcd_ma, c.points) == (None, (("hall", 3.0), ("loft", 9.5)))
    assert c.device.curve == ((87.0, 5.0), (200.0, 0.4))
    new = [r for r in visit.events if isinstance(r, Reading) and r.of == "c2"]
    assert sorted((r.test, r.point, r.test_v or 0, r.absent, r.note) for r in new) == [
        ("insulation", "", 500.0, "", ""),
        ("polarity", "", 0, "", ""),
        ("r1r2", "loft", 0, "", ""),
        ("r1r2", "loft", 0, "", ""),
        ("r2", "", 0, "N/A", "no long lead"),
        ("zs", "", 0, "LIM", "locked"),
    ]


def test_remarks_and_everything_else_stay_as_they_are() -> None:
    result = filled({"Circuit": "c1", "Kind": "ring", "Line (mm²)": "2.5", "Polarity": "good"})
    assert (result.circuits, result.values, result.readings) == (0, 2, 1)
    head, _, tail = BOOK.partition("[[circuit]]\n")
    assert result.text.startswith(head + '[[circuit]]\nkind = "ring"\nline_mm2 = 2.5\n' + tail)
    assert whole(result).site.circuit("c1").kind == "ring"


def test_line_ends_of_another_system_stay() -> None:
    result = fill(BOOK.replace("\n", "\r\n"), read_sheet(table({"Circuit": "c2"})))
    assert result.good
    assert result.text.count("\r\n") == result.text.count("\n")


def test_what_the_visit_book_says_already_is_not_added_again() -> None:
    result = filled(
        {
            "Circuit": "c1",
            "Board": "b1",
            "Device type": "B",
            "Rating (A)": "32.0",
            "IΔn (mA)": "30",
            "Kind": "radial",
            "Length (m)": "84.00",
            "AFDD": "no",
            "RCD type": "none",
            "Zs (Ω)": "0.9",
            "R1+R2 (Ω)": "0.40 | 0.41",
            "Insulation L-E (MΩ)": "> 299",
        }
    )
    assert result.good
    assert result.text == BOOK
    assert (result.circuits, result.values, result.readings) == (0, 0, 0)


def test_a_repeat_is_added_after_the_readings_that_are_there() -> None:
    result = filled({"Circuit": "c1", "R1+R2 (Ω)": "0.40 | 0.41 | 0.43"})
    shown = [str(r.shown) for r in whole(result).events if isinstance(r, Reading) and r.test == "r1r2"]
    assert shown == ["0.40 Ω", "0.41 Ω", "0.43 Ω"]


def test_a_reading_may_follow_where_there_was_none() -> None:
    result = filled({"Circuit": "c1", "Zs (Ω)": "0.90 | 0.95 @ loft"})
    assert [
        (r.point, str(r.shown)) for r in whole(result).events if isinstance(r, Reading) and r.test == "zs" and r.shown
    ] == [
        ("", "0.90 Ω"),
        ("loft", "0.95 Ω"),
    ]
    assert result.readings == 1


def test_a_profile_becomes_one_step() -> None:
    result = filled({"Circuit": "c1", "Kind": "ring", "Ring L-N (Ω)": "0.31 @ 2 m | 0.30 @ 40 m | 0.31 @ 80 m"})
    assert 'at_points = { "2 m" = 0.31, "40 m" = 0.30, "80 m" = 0.31 }' in result.text
    assert whole(result).site.circuit("c1").points == (("2 m", 2.0), ("40 m", 40.0), ("80 m", 80.0))


def test_what_was_off_at_the_end_is_said() -> None:
    result = filled({"Circuit": "c1", "Polarity": "good"}, book=BOOK + "[[step]]\noff = 'c1:neutral'\n")
    assert result.off == ("c1:neutral",)


# ---- what is refused ----


@pytest.mark.parametrize(
    ("row", "where", "what"),
    [
        ({"Circuit": "", "Name": "x"}, "row 2 (Circuit)", "Which circuit"),
        ({"Circuit": "02-Jan"}, "A2 (Circuit)", "date"),
        ({"Circuit": "TRUE"}, "A2 (Circuit)", "truth value"),
        ({"Circuit": "=c2"}, "A2 (Circuit)", "formula"),
        ({"Circuit": "c:2"}, "A2 (Circuit)", "no colon"),
        ({"Circuit": "b1"}, "A2 (Circuit)", "stands twice"),
        ({"Circuit": "c2", "Board": "b9"}, "B2 (Board)", "no board 'b9'"),
        ({"Circuit": "c1", "Board": "b9"}, "B2 (Board)", "says b1"),
        ({"Circuit": "c1", "Rating (A)": "40"}, "B2 (Rating (A))", "says 32"),
        ({"Circuit": "c1", "Length (m)": "85"}, "B2 (Length (m))", "says 84"),
        ({"Circuit": "c1", "IΔn (mA)": "100"}, "B2 (IΔn (mA))", "says 30"),
        ({"Circuit": "c2", "Kind": "ringg"}, "B2 (Kind)", "not one of the words"),
        ({"Circuit": "c2", "Kind": "TRUE"}, "B2 (Kind)", "truth value"),
        ({"Circuit": "c2", "Phases": "2"}, "B2 (Phases)", "not one of the words"),
        ({"Circuit": "c2", "AFDD": "x"}, "B2 (AFDD)", "not one of the words"),
        ({"Circuit": "c2", "Spurs": "1.5"}, "B2 (Spurs)", "not a whole number"),
        ({"Circuit": "c2", "Spurs": "51"}, "B2 (Spurs)", "not possible"),
        ({"Circuit": "c2", "Line (mm²)": "2,5"}, "B2 (Line (mm²))", "A comma"),
        ({"Circuit": "c2", "Line (mm²)": "2.5 mm²"}, "B2 (Line (mm²))", "unit stands at the head"),
        ({"Circuit": "c2", "Line (mm²)": "0"}, "B2 (Line (mm²))", "not possible"),
        ({"Circuit": "c2", "Line (mm²)": "-2.5"}, "B2 (Line (mm²))", "negative"),
        ({"Circuit": "c2", "Line (mm²)": "inf"}, "B2 (Line (mm²))", "not a number"),
        ({"Circuit": "c2", "Line (mm²)": "1000.1"}, "B2 (Line (mm²))", "not possible"),
        ({"Circuit": "c2", "Line (mm²)": "02-May"}, "B2 (Line (mm²))", "date"),
        ({"Circuit": "c2", "Line (mm²)": "#VALUE!"}, "B2 (Line (mm²))", "error"),
        ({"Circuit": "c2", "Name": "#NAME?"}, "B2 (Name)", "error"),
        ({"Circuit": "c2", "Name": "=1+1"}, "B2 (Name)", "formula"),
        ({"Circuit": "c2", "Name": "a\x07b"}, "B2 (Name)", "cannot be seen"),
        ({"Circuit": "c2", "Name": "x" * 2001}, "B2 (Name)", "too long"),
        ({"Circuit": "c2", "Device type": "1E+02"}, "B2 (Device type)", "powers of ten"),
        ({"Circuit": "c2", "Curve (A at s)": "87/5"}, "B2 (Curve (A at s))", "date"),
        ({"Circuit": "c2", "Curve (A at s)": "87 at x"}, "B2 (Curve (A at s))", "not points"),
        ({"Circuit": "c2", "Curve (A at s)": "87 at 5 | 80 at 4"}, "B2 (Curve (A at s))", "falls"),
        ({"Circuit": "c2", "Points": "hall = x"}, "B2 (Points)", "The place of 'hall'"),
        ({"Circuit": "c2", "Points": "hall = 3 | loft"}, "B2 (Points)", "some have none"),
        ({"Circuit": "c2", "Points": "hall | hall"}, "B2 (Points)", "name of its own"),
        ({"Circuit": "c2", "Points": "hall | | loft"}, "B2 (Points)", "has no name"),
        ({"Circuit": "c2", "Points": "1000"}, "B2 (Points)", "too many"),
        ({"Circuit": "c2", "Points": "201"}, "B2 (Points)", "not possible"),
        ({"Circuit": "c2", "Points": "loft = 99", "Length (m)": "9"}, "B2 (Points)", "beyond the end"),
        ({"Circuit": "c2", "Zs (Ω)": "1,234"}, "B2 (Zs (Ω))", "A comma"),
        ({"Circuit": "c2", "Zs (Ω)": "TRUE"}, "B2 (Zs (Ω))", "truth value"),
        ({"Circuit": "c2", "Zs (Ω)": "0.4 kV"}, "B2 (Zs (Ω))", "unit stands at the head"),
        ({"Circuit": "c2", "Zs (Ω)": "0.93 m"}, "B2 (Zs (Ω))", "unit stands at the head"),
        ({"Circuit": "c2", "Zs (Ω)": "-0.93"}, "B2 (Zs (Ω))", "negative"),
        ({"Circuit": "c2", "Zs (Ω)": "fine"}, "B2 (Zs (Ω))", "not digits"),
        ({"Circuit": "c2", "Zs (Ω)": "good"}, "B2 (Zs (Ω))", "not digits"),
        ({"Circuit": "c2", "Zs (Ω)": "-"}, "B2 (Zs (Ω))", "negative"),
        ({"Circuit": "c2", "Zs (Ω)": "0"}, "B2 (Zs (Ω))", "Zero without its decimals"),
        ({"Circuit": "c2", "Zs (Ω)": "<0.05"}, "B2 (Zs (Ω))", "below what the display"),
        ({"Circuit": "c2", "Zs (Ω)": ">0.01"}, "B2 (Zs (Ω))", "not over-range"),
        ({"Circuit": "c2", "Zs (Ω)": "1E-01"}, "B2 (Zs (Ω))", "powers of ten"),
        ({"Circuit": "c2", "Zs (Ω)": "01.05.2025"}, "B2 (Zs (Ω))", "date"),
        ({"Circuit": "c2", "Zs (Ω)": "0.93 | "}, "B2 (Zs (Ω))", "value missing"),
        ({"Circuit": "c2", "Zs (Ω)": "0.93 @ 9 m", "Length (m)": "5"}, "B2 (Zs (Ω))", "beyond the end"),
        ({"Circuit": "c2", "Zs (Ω)": "LIM"}, "B2 (Zs (Ω))", "has its reason"),
        ({"Circuit": "c2", "Zs (Ω)": "limm: locked"}, "B2 (Zs (Ω))", "not digits"),
        ({"Circuit": "c2", "Polarity": "fine"}, "B2 (Polarity)", "is a word"),
        ({"Circuit": "c2", "Polarity": "1"}, "B2 (Polarity)", "is a word"),
        (
            {"Circuit": "c2", "Insulation L-E (MΩ)": "200", "Insulation test (V)": "0"},
            "C2 (Insulation test (V))",
            "not possible",
        ),
        (
            {"Circuit": "c2", "Insulation L-E (MΩ)": "200", "Insulation test (V)": "0.5 kV"},
            "C2 (Insulation test (V))",
            "unit",
        ),
        ({"Circuit": "c2", "Zs (Ω)": "0.93", "Instrument": "m9"}, "C2 (Instrument)", "not entered"),
        ({"Circuit": "c2", "R2 (Ω)": "0.93", "Leads": "m9"}, "C2 (Leads)", "not entered"),
        ({"Circuit": "c1", "Zs (Ω)": "0.91"}, "B2 (Zs (Ω))", "has 0.90"),
        ({"Circuit": "c1", "Zs (Ω)": "N/A"}, "B2 (Zs (Ω))", "has 0.90"),
        ({"Circuit": "c1", "R1+R2 (Ω)": "0.40 | 0.42"}, "B2 (R1+R2 (Ω))", "has 0.40, 0.41"),
        ({"Circuit": "c1", "R1+R2 (Ω)": "0.41 | 0.40"}, "B2 (R1+R2 (Ω))", "has 0.40, 0.41"),
        ({"Circuit": "c1", "Insulation L-E (MΩ)": "299"}, "B2 (Insulation L-E (MΩ))", "has >299"),
    ],
)
def test_a_bad_cell_is_told_with_its_place_and_nothing_is_written(row: dict[str, str], where: str, what: str) -> None:
    result = filled(row)
    hits = [f for f in result.findings if f.where == where and what in f.what]
    assert hits, [f.sentence() for f in result.findings]
    assert all(f.severity is Severity.ERROR and f.expected and f.file == "t.csv" for f in hits)
    assert not result.good
    assert result.text == BOOK


def test_a_limitation_is_asked_for_its_reason_in_words_of_the_table() -> None:
    (finding,) = filled({"Circuit": "c2", "Zs (Ω)": "LIM"}).findings
    assert finding.expected == "LIM: why, or why in the column 'Reason'"


def test_every_bad_cell_is_told_at_once() -> None:
    result = filled(
        {"Circuit": "c2", "Kind": "rong", "Length (m)": "-4", "Zs (Ω)": "1,234", "Polarity": "perhaps"},
        {"Circuit": "c3", "Kind": "ring", "Length (m)": "6000", "Zs (Ω)": "0.93 V", "Polarity": "good"},
        {"Circuit": "c1", "Kind": "", "Length (m)": "8", "Zs (Ω)": "0.80", "Polarity": ""},
    )
    cells = {f.where.split(" ")[0] for f in result.findings}
    assert cells == {"B2", "C2", "D2", "E2", "C3", "D3", "C4", "D4"}


def test_a_table_without_rows_is_told() -> None:
    assert [f.where for f in fill(BOOK, read_sheet(b"Circuit,Name\n")).findings] == ["row 2"]


def test_a_broken_visit_book_takes_nothing() -> None:
    with pytest.raises(VisitBookError):
        fill("[visit", read_sheet(table({"Circuit": "c1"})))
    result = fill("[visit]\nplace = 'x'\n", read_sheet(table({"Circuit": "c1"})))
    assert not result.good
    assert [f.where for f in result.findings] == ["visit: date"]


def test_nothing_is_added_to_a_circuit_that_is_broken_in_the_visit_book() -> None:
    result = filled({"Circuit": "c1", "Zs (Ω)": "0.93"}, book=BOOK.replace("length_m = 84", "colour = 84"))
    assert [f.what for f in result.findings if "is broken in the visit book" in f.what]
    assert not result.good


def test_circuits_in_one_list_cannot_be_added_to() -> None:
    book = "circuit = [{ id = 'c1', board = 'b1' }]\n" + BOOK.partition("[[circuit]]")[0]
    result = filled({"Circuit": "c1", "Length (m)": "5"}, book=book)
    assert ["in one list" in f.what for f in result.findings] == [True]
    result = filled({"Circuit": "c2"}, book=book)
    assert ["cannot be added to the visit book" in f.what for f in result.findings] == [True]
    assert result.text == book


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("length_m = 84", 'cable = """\n[[circuit]]\n"""\nlength_m = 84'),
        ("length_m = 84", "cable = '''\n[[circuit]]\n'''\nlength_m = 84"),
        ("length_m = 84", "points = [\n'a',\n'b'\n]\nlength_m = 84"),
        ("length_m = 84", "curve = [\n[87, 5],\n[200, 0.4]\n]\nlength_m = 84"),
        ("date = 2026-11-20", 'limitations = [\n"""\n[[circuit]]\n"""]\ndate = 2026-11-20'),
    ],
)
def test_values_go_to_their_own_circuit_or_nowhere(old: str, new: str) -> None:
    """Texts over several lines that look like a header must not lead a value astray."""
    book = BOOK.replace(old, new)
    result = filled({"Circuit": "c1", "Line (mm²)": "2.5"}, book=book)
    if result.good:
        assert whole(result).site.circuit("c1").line_mm2 == 2.5
        before, after = tomllib.loads(book), tomllib.loads(result.text)
        del after["circuit"][0]["line_mm2"]
        assert after == before
    else:
        assert result.text == book
        assert [f.what for f in result.findings if "by hand" in f.what]


def test_a_device_in_one_table_says_what_it_says() -> None:
    book = BOOK.replace('device = "B32"', "device = { type = 'B', rating_a = 32 }")
    assert (
        whole(filled({"Circuit": "c1", "Breaking capacity (kA)": "6"}, book=book)).site.circuit("c1").device.breaking_ka
        == 6
    )
    assert [f.where for f in filled({"Circuit": "c1", "Rating (A)": "40"}, book=book).findings] == ["B2 (Rating (A))"]
    text = BOOK.replace('device = "B32"', 'device = "BS EN 61009 B32"')
    result = filled({"Circuit": "c1", "Device standard": "BS 3036"}, book=text)
    assert [f.where for f in result.findings] == ["B2 (Device standard)"]
    assert (
        whole(filled({"Circuit": "c1", "Device standard": "BS EN 60898"})).site.circuit("c1").device.standard
        == "BS EN 60898"
    )


def test_a_tolerance_in_per_cent_is_a_tolerance() -> None:
    book = BOOK.replace("length_m = 84", "length_m = 84\nlength_tol_pct = 10")
    assert [f.where for f in filled({"Circuit": "c1", "Length ± (m)": "9"}, book=book).findings] == [
        "B2 (Length ± (m))"
    ]
    assert filled({"Circuit": "c1", "Length ± (m)": "8.40"}, book=book).good


@pytest.mark.parametrize(
    ("points", "cell", "same"),
    [
        ("9", "9", True),
        ("['9']", "9 |", True),
        ("['9']", "9", False),
        ("9", "9 |", False),
        ("{ hall = 3 }", "hall = 3.0", True),
        ("{ hall = 3 }", "hall", False),
        ("{ hall = 3 }", "hall = 4", False),
        ("['a at 5']", "a at 5", True),
        ("['a at 5']", "a = 5", False),
        ("['12 m']", "12 m = 12", True),
        ("['9.0', 'b']", "9 | b", False),
        ("['a', 'b']", "a | | b", False),
    ],
)
def test_points_that_are_the_same_and_points_that_are_not(points: str, cell: str, same: bool) -> None:
    book = BOOK.replace("length_m = 84", f"length_m = 84\npoints = {points}")
    result = filled({"Circuit": "c1", "Points": cell}, book=book)
    assert result.good == same, [f.sentence() for f in result.findings]
    assert result.text == book


@pytest.mark.parametrize(
    ("cell", "same"), [("87.0 at 5 | 200 at 0.40", True), ("87 at 5", False), ("87 = 5 | 200 = 0.4", False)]
)
def test_curves_that_are_the_same(cell: str, same: bool) -> None:
    book = BOOK.replace("length_m = 84", "length_m = 84\ncurve = [[87, 5], [200, 0.4]]")
    assert filled({"Circuit": "c1", "Curve (A at s)": cell}, book=book).good == same


def test_what_is_lost_in_writing_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules["earthwright.schedule.fill"], "_compose", lambda text, plan, name: (text, {}))
    result = filled({"Circuit": "c1", "Kind": "ring", "Polarity": "good"})
    assert {f.where for f in result.findings if "by hand" in f.what} == {"B2 (Kind)", "C2 (Polarity)"}
    assert result.text == BOOK


# ---- there and back ----

WORD = st.text(
    st.characters(
        min_codepoint=33, max_codepoint=0x2FF, exclude_characters="|@=:,\u00a0\u00ad", exclude_categories=("C", "Z")
    ),
    min_size=1,
    max_size=8,
)
TEXT = st.text(st.characters(max_codepoint=0x2FF, exclude_categories=("Cc", "Cs")), max_size=12).map(str.strip)
DIGITS = st.decimals(min_value=0, max_value=99, places=2).map(lambda d: f"{d:.2f}")
SHOWN = st.one_of(DIGITS, st.sampled_from(("over-range", ">299", "<0.01", "LIM", "N/A", "not tested")))
SIZES = st.sampled_from((None, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 240.0))
TESTS = st.sampled_from(
    (
        "ring r1",
        "ring ln",
        "r1r2",
        "r1r2 reverse",
        "r2",
        "insulation L-E",
        "insulation LN-E",
        "zs",
        "zs no-trip",
        "rcd x1 0°",
    )
)


@st.composite
def circuit_tables(draw: st.DrawFn, name: str) -> tuple[dict[str, str], dict[str, list[str]], list[str]]:
    """Keys of a circuit as TOML, its readings by test, and its points."""
    keys: dict[str, str] = {"id": toml_text(name), "board": toml_text(draw(st.sampled_from(("b1", "b2"))))}
    for key in ("name", "note", "cable", "standard", "method"):
        value = draw(TEXT)
        if not value.startswith(("#", "@", "=")) and not spoilt(value):
            keys[key] = toml_text(value)
    for key in ("line_mm2", "neutral_mm2"):
        if (size := draw(SIZES)) is not None:
            keys[key] = f"{size}"
    keys["kind"] = toml_text(draw(st.sampled_from(("radial", "ring"))))
    keys["length_m"] = f"{draw(st.integers(100, 999)) / 10}"
    keys["rating_a"] = str(draw(st.sampled_from((6, 16, 32))))
    if draw(st.booleans()):
        keys["rcd_type"], keys["rcd_ma"] = '"A"', "30"
        keys["afdd"] = draw(st.sampled_from(("true", "false")))
    names = draw(st.lists(WORD, unique=True, max_size=3))
    shape = draw(st.sampled_from(("names", "places", "count", "none")))
    if shape == "count":
        keys["points"], names = "3", ["1", "2", "3"]
    elif shape == "places" and names:
        keys["points"] = toml_table({n: f"{i + 1}.5" for i, n in enumerate(names)})
    elif shape == "names" and names:
        keys["points"] = toml_list([toml_text(n) for n in names])
    else:
        names = []
    tests = draw(st.dictionaries(TESTS, st.lists(SHOWN, min_size=1, max_size=3), max_size=4))
    return keys, tests, names


@st.composite
def books(draw: st.DrawFn) -> tuple[str, str]:
    """A visit book without circuits, and the circuits and their steps to go with it."""
    head = '[visit]\nplace = "x"\ndate = 2026-11-20\n[[leads]]\nid = "l"\nallowed = "nulled"\n[[board]]\nid = "b1"\n[[board]]\nid = "b2"\n'
    more = ""
    for number in range(draw(st.integers(1, 3))):
        keys, tests, points = draw(circuit_tables(f"c{number}"))
        more += "[[circuit]]\n" + "".join(f"{k} = {v}\n" for k, v in keys.items())
        for test, values in tests.items():
            more += f'[[step]]\nof = "c{number}"\nnote = "a reason"\n'
            more += f"point = {toml_text(draw(st.sampled_from(points)))}\n" if points and draw(st.booleans()) else ""
            more += f"test_v = {draw(st.sampled_from((250, 500)))}\n" if "insulation" in test else ""
            written = [v if v[0].isdigit() and v[0] != "<" else toml_text(v) for v in values]
            more += f"tests = {{ {toml_text(test)} = {toml_list(written)} }}\n"
    return head, more


def without_superseded(found: list[tuple[object, ...]]) -> list[tuple[object, ...]]:
    """Why there was no reading counts only while there is none at that point, and once."""
    read = {r[:6] for r in found if not r[7]}
    last = {r[:6]: r for r in found if r[7] and r[:6] not in read}
    return [r for r in found if not r[7]] + list(last.values())


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(books())
def test_a_visit_goes_out_as_a_table_and_comes_back_the_same(made: tuple[str, str]) -> None:
    head, more = made
    book = read_text(head + more)
    assert book.visit is not None
    if any(f.severity is Severity.ERROR for f in book.findings):
        return
    table_of = as_csv(book.visit).encode("utf-8-sig")
    again = fill(head + more, read_sheet(table_of))
    assert again.good, [f.sentence() for f in again.findings]
    assert (again.circuits, again.values, again.readings) == (0, 0, 0)
    result = fill(head, read_sheet(table_of))
    visit = whole(result)

    def by_id(circuits: tuple[Circuit, ...]) -> dict[str, Circuit]:
        return {c.id: c for c in circuits}

    assert by_id(visit.site.circuits) == by_id(book.visit.site.circuits)
    before = without_superseded(readings(book.visit))
    assert sorted(readings(visit), key=repr) == sorted(before, key=repr)
    tomllib.loads(result.text)


@pytest.mark.parametrize("typed", ["10 m 2.5/1.5 + 6 m 1.5/1.0", "2.5/1.5 then 1.5/1.0"])
def test_a_cable_that_changes_goes_in_as_people_write_it_and_comes_out_again(typed: str) -> None:
    result = filled({"Circuit": "c9", "Lengths of cable": typed, "Board": "b1"})
    visit = whole(result)
    circuit = next(c for c in visit.site.circuits if c.id == "c9")
    assert (circuit.line_mm2, circuit.cpc_mm2, len(circuit.stretches)) == (1.5, 1.0, 2)
    again = fill(result.text or "", read_sheet(as_csv(visit).encode(), "t.csv"), "v.toml")
    assert again.good
    assert again.text == result.text


def test_what_is_no_cable_costs_its_cell() -> None:
    (told,) = [
        f
        for f in filled({"Circuit": "c9", "Lengths of cable": "10 m", "Board": "b1"}).findings
        if f.severity is Severity.ERROR
    ]
    assert "no length of cable" in told.what
    assert told.where == "B2 (Lengths of cable)"
