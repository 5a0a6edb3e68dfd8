"""What rests on an entry that could not be read, or that cannot be, is never judged on a quieter default."""

from __future__ import annotations

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import TestJudged
from earthwright.visitbook import read_tables, read_text

BOOK = """
[visit]
place = "9 Tenter Row, Harle"
date = 2026-11-20
temp_c = 20
[supply]
system = "TN-C-S"
pme = true
neutral_at_most_mm2 = 35
u0_v = 230
[[instrument]]
id = "mft"
continuity = { pct = 3, digits = 2, step = 0.01, top = 99.99 }
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.21
[[part]]
id = "water"
kind = "water"
[[bond]]
part = "water"
csa_mm2 = 10
length_m = 18
length_tol_m = 1
[[board]]
id = "db1"
[[circuit]]
id = "c1"
device = "BS EN 61009 B32"
rcd_type = "A"
rcd_ma = 30
line_mm2 = 4
cpc_mm2 = 1.5
length_m = 25
length_tol_m = 2
use = "sockets"
design_a = 20
[[step]]
check = "shorted"
shown = "0.00"
[[step]]
check = "open"
shown = "over-range"
[[step]]
off = "earthing"
[[step]]
read = "ze"
shown = "0.21"
[[step]]
on = "earthing"
[[step]]
off = "water"
read = "conductor"
bond = "water"
shown = "0.03"
[[step]]
read = "path"
bond = "water"
shown = "0.11"
[[step]]
on = "water"
read = "together"
bond = "water"
shown = "0.02"
[[step]]
of = "c1"
test_v = 500
tests = { r1r2 = "0.40", "insulation L-E" = ">299", polarity = "good" }
[[step]]
check = "shorted"
shown = "0.00"
[[step]]
of = "c1"
tests = { zs = "0.60", "rcd x1" = "24.1", "rcd button" = "good" }
[[step]]
read = "fault current"
of = "origin"
between = "L-E"
shown = "1.05"
"""


def judged(text: str = BOOK) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    return assess(book.visit, found=book.findings, broken=book.broken)


def rows(a: Assessment) -> dict[str, TestJudged]:
    tests = [*a.origin, *(t for b in a.boards for t in b.tests)]
    tests += [t for b in a.boards for c in b.circuits for t in c.tests]
    return {t.test: t for t in tests}


def settled(a: Assessment) -> set[str]:
    """Everything that came out for or against."""
    found = {name for name, t in rows(a).items() if t.outcome in ("meets", "fails")}
    found |= {"bond" for b in a.bonds if b.verdict != "not shown"}
    found |= {"size" for b in a.bonds if b.size.judged.outcome in ("meets", "fails")}
    return found | {"cpc" for b in a.boards for c in b.circuits if c.cpc and c.cpc.verdict != "not shown"}


def test_the_visit_itself_is_sound() -> None:
    a = judged()
    assert [f.sentence() for f in a.findings if f.severity is Severity.ERROR] == []
    assert settled(a) >= {
        "bond", "size", "cpc", "insulation", "polarity", "zs", "rcd", "rcd button", "disconnection", "voltage drop", "ze",
    }  # fmt: skip


DEVICE = {"zs", "disconnection", "adiabatic", "voltage drop"}
CONDUCTOR = {"cpc", "zs", "disconnection", "adiabatic", "voltage drop"}
LIVE = {"zs", "disconnection", "adiabatic", "ze"}
# What is written otherwise, and what may not be settled then; everything else is judged as before.
BROKEN = [
    ('u0_v = 230', 'u0_v = "230 V"', {*LIVE, "insulation", "voltage drop"}),
    ('system = "TN-C-S"', 'system = "TNCS"', {*LIVE, "size", "rcd"}),
    ("pme = true", 'pme = "yes"', {"size", "ze"}),
    ("neutral_at_most_mm2 = 35", "neutral_at_most_mm2 = 35\nneutral_mm2 = 25", {"size"}),
    ("temp_c = 20", 'temp_c = "warm"', {"bond", *CONDUCTOR}),
    ("temp_c = 20", 'decision = "garded"', {*LIVE, "insulation", "voltage drop", "rcd", "cpc"}),
    ("temp_c = 20", 'shared_scale_error = "no"', {"bond", "cpc"}),
    ("continuity = { pct = 3,", "continuity = { pct = 5o,".replace("5o", '"50"'), {"bond", "cpc"}),
    ("continuity = { pct = 3,", "continuity = { pzt = 50,", {"bond", "cpc"}),
    ("null_ohm = 0.21", 'null_ohm = "0.21 ohm"', {"bond", "cpc"}),
    ('allowed = "nulled"', 'allowed = "nuled"', {"bond", "cpc"}),
    ('device = "BS EN 61009 B32"', 'device = "?"', DEVICE),
    ("rcd_ma = 30", 'rcd_ma = "30mA"', {"rcd", "zs", "disconnection"}),
    ("line_mm2 = 4", 'line_mm2 = "4 mm"', CONDUCTOR),
    ("length_m = 25", 'length_m = "25"', CONDUCTOR),
    ("length_m = 25", "lengt_m = 25", CONDUCTOR),
    ('use = "sockets"', 'use = "socket"', {"zs", "disconnection", "insulation", "rcd"}),
    ('design_a = 20', 'design_a = "20A"', {"voltage drop"}),
    ('read = "ze"\nshown = "0.21"', 'read = "ze"\nshown = "0.2l"', {"ze"}),
    ('[[part]]', '[[bond]]\npart = "water"\ncsa_mm2 = 6\nlength_m = 4\n[[part]]', {"bond", "size"}),
    ('check = "open"\nshown = "over-range"', 'check = "open"\nshown = "0.00"', {"bond", "cpc"}),
    ('[[step]]\nof = "c1"\ntest_v', '[[step]]\ncheck = "shorted"\nshown = "0.3o"\n[[step]]\nof = "c1"\ntest_v', {"bond", "cpc"}),
    ('off = "earthing"', 'off = "earthling"', {"bond", "cpc", "ze", "zs", "rcd"}),
    ("null_ohm = 0.21", "null_ohm = 999", {"bond", "cpc"}),
    ("u0_v = 230", "u0_v = 2300", {*LIVE, "insulation", "voltage drop"}),
    ('system = "TN-C-S"', 'system = "TN-S"', {"size"}),
    ('system = "TN-C-S"', 'system = "TT"', {"size", *LIVE}),
    ('rcd_ma = 30', 'rcd_ma = 30\nrcd_delay = "S"', {"rcd", "zs", "disconnection"}),
    ("test_v = 500", "test_v = 10000", {"insulation"}),
    ('zs = "0.60"', 'zs = "0.00"', {"zs"}),
    ('"rcd x1" = "24.1"', '"rcd x1" = "0.0"', {"rcd"}),
    ('shown = "1.05"', 'shown = "5.02"', {"ze", "fault current"}),
    ('read = "ze"\nshown = "0.21"', 'read = "ze"\nshown = "0.00"', {"ze"}),
]  # fmt: skip


@pytest.mark.parametrize(("was", "typed", "held"), BROKEN, ids=[f"{n} {x[1][:30]}" for n, x in enumerate(BROKEN)])
def test_what_rests_on_a_broken_entry_is_not_judged_and_says_on_what(was: str, typed: str, held: set[str]) -> None:
    assert BOOK.count(was) >= 1, was
    a = judged(BOOK.replace(was, typed, 1))
    assert [f for f in a.findings if f.severity is Severity.ERROR], "nothing was told"
    assert not settled(a) & held, settled(a) & held
    kept = {"bond", "cpc", "size", "insulation", "polarity", "zs", "rcd", "rcd button", "ze"} - held
    kept -= {"size"} if "bond" in held and 'part = "water"' in typed else set()
    kept -= {"polarity", "rcd button", "insulation"} if "earthling" in typed else set()
    lost = kept - settled(a)
    # One bad entry costs what rests on it; the few that stand beside it are named.
    assert lost <= {"zs", "rcd", "ze", "insulation", "cpc"}, lost
    for name in held & set(rows(a)):
        row = rows(a)[name]
        assert row.outcome in ("not decided", "no rule")
        assert row.outcome == "no rule" or row.reason or row.words, name


def test_a_reading_that_cannot_be_gives_way_to_one_that_can() -> None:
    again = BOOK.replace('zs = "0.60"', 'zs = ["0.00", "0.60"]')
    assert rows(judged(again))["zs"].outcome == "meets"
    assert rows(judged(again.replace('["0.00", "0.60"]', '["0.60", "0.00"]')))["zs"].outcome == "not decided"


def test_the_likely_slip_stands_in_the_row() -> None:
    row = rows(judged(BOOK.replace('zs = "0.60"', 'zs = "0.00"')))["zs"]
    assert "0.00 Ω cannot be" in row.words
    assert "zero the meter and read it again" in row.words


@pytest.mark.parametrize(
    ("was", "typed", "where"),
    [
        ('pme = true', 'pme = true\nfuse_a = 5000', "supply: fuse_a"),
        ("length_m = 18", "length_m = 480", "bond water: length_m"),
        ("[[instrument]]", '[report]\nissued = 2026-11-01\n[[instrument]]', "report: issued"),
        ("[[instrument]]", '[report]\nnext_by = 2025-11-01\n[[instrument]]', "report: next_by"),
        ("u0_v = 230", "u0_v = 230\nu_v = 690", "supply: u_v"),
        ("test_v = 500", "test_v = 2500", "c1, insulation: test_v"),
    ],
)  # fmt: skip
def test_what_is_seldom_so_is_asked_about(was: str, typed: str, where: str) -> None:
    a = judged(BOOK.replace(was, typed, 1))
    assert [f for f in a.findings if f.where == where and f.family == "input.plausible"], [f.where for f in a.findings]


def test_the_same_holds_for_tables_of_a_journal() -> None:
    tables = {
        "visit": {"place": "x", "date": "2026-11-20"},
        "supply": {"u0_v": "2e9", "system": "TN-S"},
        "board": [{"id": "b"}],
        "circuit": [{"id": "c", "device": "BS EN 60898 B6", "use": "lighting"}],
        "step": [{"of": "c", "tests": {"zs": "1.10"}}],
    }
    book = read_tables(tables)
    assert book.visit is not None
    assert rows(assess(book.visit, found=book.findings))["zs"].outcome == "not decided"


def test_a_stop_current_that_cannot_be_read_is_none_at_all() -> None:
    assert judged(BOOK.replace("temp_c = 20", 'clamp_stop_a = "1 A"')).visit.choices.clamp_stop_a == 0.0


# For each key: its line in the book and values that it might have had. Whatever is settled while the key cannot be read
# must come out the same for every one of them: otherwise it rested on a default.
MIGHT_BE = [
    ("temp_c = 20", "temp_c = {}", ("-20", "20", "55")),
    ("temp_c = 20", "temp_c = 20\ndecision = {}", ('"simple"', '"guarded"')),
    ("temp_c = 20", "temp_c = 20\nextraneous_ma = {}", ("0.5", "10", "30")),
    ("temp_c = 20", "temp_c = 20\nkind = {}", ('"initial"', '"periodic"', '"minor works"')),
    ('system = "TN-C-S"', "system = {}", ('"TN-S"', '"TT"', '"TN-C-S"', '"TN-C"')),
    ("pme = true", "pme = {}", ("true", "false")),
    ("u0_v = 230", "u0_v = {}", ("110", "230", "400")),
    ("u0_v = 230", "u0_v = 230\nphases = {}", ("1", "3")),
    ("u0_v = 230", "u0_v = 230\nze_ohm = {}", ("0.05", "0.35", "0.8")),
    ("u0_v = 230", "u0_v = 230\nearthing_needed_mm2 = {}", ("6", "70")),
    ("u0_v = 230", "u0_v = 230\nline_mm2 = {}", ("10", "95")),
    ("neutral_at_most_mm2 = 35", "neutral_at_most_mm2 = {}", ("16", "35", "150")),
    ("pct = 3, digits", "pct = {}, digits", ("0", "3", "50")),
    ("digits = 2", "digits = {}", ("0", "2", "90")),
    ("null_ohm = 0.21", "null_ohm = {}", ("0.1", "0.21")),
    ('allowed = "nulled"', "allowed = {}\nlead_ohm = 0.4", ('"nulled"', '"subtracted"', '"none"')),
    ("csa_mm2 = 10", "csa_mm2 = {}", ("4", "10", "25")),
    ("length_m = 18", "length_m = {}", ("3", "18", "120")),
    ('device = "BS EN 61009 B32"', "device = {}", ('"BS EN 61009 B6"', '"BS EN 60898 D125"', '"BS 3036 30"')),
    ("rcd_ma = 30", "rcd_ma = {}", ("10", "30", "500")),
    ('rcd_type = "A"', "rcd_type = {}", ('"AC"', '"A"', '"B"')),
    ("rcd_ma = 30", "rcd_ma = 300\nrcd_delay = {}", ('"S"', '"none"', '"150 ms"')),
    ("line_mm2 = 4", "line_mm2 = {}", ("1", "4", "25")),
    ("cpc_mm2 = 1.5", "cpc_mm2 = {}", ("1", "1.5", "16")),
    ("length_m = 25", "length_m = {}", ("3", "25", "120")),
    ("length_tol_m = 2\n", "length_tol_m = {}\n", ("0.1", "2", "20")),
    ('use = "sockets"', "use = {}", ('"sockets"', '"lighting"', '"distribution"', '"charging point"')),
    ("design_a = 20", "design_a = {}", ("1", "20", "120")),
    ("design_a = 20", "design_a = 20\ncpc = {}", ('"core"', '"armour"', '"conduit"')),
    ("design_a = 20", "design_a = 20\nmaterial = {}", ('"copper"', '"aluminium"')),
    ("design_a = 20", "design_a = 20\nkind = {}", ('"radial"', '"ring"')),
    ("design_a = 20", "design_a = 20\nlocation = {}", ('"bathroom"', '"outdoors"', '""')),
    ("design_a = 20", "design_a = 20\nconductor_c = {}", ("30", "90")),
    ("design_a = 20", "design_a = 20\npower_factor = {}", ("0.3", "1")),
    ('id = "db1"', 'id = "db1"\nrcd = {{ rcd_type = "A", rcd_ma = {} }}', ("30", "500")),
    ("test_v = 500", "test_v = {}", ("250", "500", "1000")),
    ('r1r2 = "0.40"', "r1r2 = {}", ('"0.40"', '"1.90"', '"over-range"')),
    ('shown = "0.03"', "shown = {}", ('"0.03"', '"0.40"', '"over-range"')),
    ('zs = "0.60"', "zs = {}", ('"0.60"', '"1.90"', '"900"')),
    ('"rcd x1" = "24.1"', '"rcd x1" = {}', ('"24.1"', '"420"')),
    ('polarity = "good"', "polarity = {}", ('"good"', '"bad"')),
    ('check = "shorted"\nshown = "0.00"', 'check = "shorted"\nshown = {}', ('"0.00"', '"0.70"')),
]


def outcomes(a: Assessment) -> dict[str, str]:
    found = {name: t.outcome for name, t in rows(a).items() if t.outcome in ("meets", "fails")}
    found |= {f"bond {b.bond.id}": b.verdict for b in a.bonds if b.verdict != "not shown"}
    found |= {
        f"size {b.bond.id}": b.size.judged.outcome for b in a.bonds if b.size.judged.outcome in ("meets", "fails")
    }
    found |= {f"joint {b.bond.id}": b.joint.outcome for b in a.bonds if b.joint.outcome in ("meets", "fails")}
    circuits = [c for b in a.boards for c in b.circuits]
    found |= {f"cpc {c.circuit.id}": c.cpc.verdict for c in circuits if c.cpc and c.cpc.verdict != "not shown"}
    return found | {f"part {p.part.id}": p.verdict for p in a.parts if p.verdict != "not decided"}


@pytest.mark.parametrize(("was", "line", "values"), MIGHT_BE, ids=[x[1].split("\n")[-1] for x in MIGHT_BE])
def test_what_is_settled_without_a_key_is_so_whatever_the_key_says(
    was: str, line: str, values: tuple[str, ...]
) -> None:
    assert was in BOOK
    unreadable = outcomes(judged(BOOK.replace(was, line.format("{ odd = 1 }"), 1)))
    for value in values:
        known = read_text(BOOK.replace(was, line.format(value), 1))
        assert not [f for f in known.findings if f.severity is Severity.ERROR and f.family != "input.plausible"], value
        assert known.visit is not None
        said = outcomes(assess(known.visit, found=known.findings, broken=known.broken))
        wrong = {name: (x, said.get(name)) for name, x in unreadable.items() if said.get(name, x) != x}
        assert wrong == {}, value
