"""What a second pair of eyes sees in a visit: lines not read, looks that found a fault, neighbours a decade away, sums written down."""

from __future__ import annotations

import re

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Finding, Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.visitbook import read_text

HEAD = """
[visit]
place = "An invented house"
date = 2026-11-20
kind = "periodic"
[supply]
system = "TN-C-S"
pme = true
line_mm2 = 25
earthing_mm2 = 16
neutral_at_most_mm2 = 35
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.2
[[board]]
id = "db1"
"""


def circuit(name: str, more: str = "") -> str:
    return (
        f'[[circuit]]\nid = "{name}"\nboard = "db1"\nuse = "fixed"\ndevice = "BS EN 60898 B16"\n'
        f"line_mm2 = 2.5\ncpc_mm2 = 1.5\n{more}\n"
    )


def row(of: str, **tests: str) -> str:
    cells = ", ".join(f'"{k.replace("_", " ")}" = "{v}"' for k, v in tests.items())
    return f'[[step]]\nof = "{of}"\ntests = {{ {cells} }}\n'


def judged(*text: str) -> Assessment:
    book = read_text(HEAD + "".join(text))
    assert book.visit is not None
    assert not [f for f in book.findings if f.severity is Severity.ERROR]
    return assess(book.visit, found=book.findings)


def named(a: Assessment, family: str) -> list[Finding]:
    return [f for f in a.findings if f.family == family]


# ---- siblings: 2.5 and 1.5 mm² are 19.5 mΩ/m, so 0.40 Ω stands for 20 m and 4.00 Ω for 205 m ----

FOUR = [circuit(f"c{i}") for i in range(1, 6)]
LIKE = [row(f"c{i}", r1r2=v) for i, v in enumerate(("0.40", "0.35", "0.44", "0.38"), 1)]


@pytest.mark.parametrize(
    ("digits", "odd"), [("4.00", True), ("2.30", False), ("0.38", False), ("0.03", True), ("0.06", False)]
)
def test_a_reading_a_decade_from_its_neighbours_is_asked_about(digits: str, odd: bool) -> None:
    a = judged(*FOUR, *LIKE, row("c5", r1r2=digits))
    assert [f.entry for f in named(a, "rows.sibling")] == (["c5"] if odd else [])


def test_a_run_whose_length_is_entered_is_not_held_against_its_neighbours() -> None:
    a = judged(*FOUR[:4], circuit("c5", "length_m = 200"), *LIKE, row("c5", r1r2="4.00"))
    assert not named(a, "rows.sibling")


def test_three_circuits_are_too_few_to_call_one_odd() -> None:
    a = judged(*FOUR[:3], *LIKE[:2], row("c3", r1r2="4.00"))
    assert not named(a, "rows.sibling")


# ---- Zs written down as Ze + R1+R2 ----


def test_zs_added_to_ze_is_seen_where_the_board_has_a_zdb_of_its_own() -> None:
    """Ze 0.20, Zdb 0.31: each Zs is 0.20 + R1+R2 to the digit, which no meter at this board can show eight times."""
    circuits = [circuit(f"c{i}") for i in range(1, 9)]
    r = [f"0.{30 + 3 * i}" for i in range(8)]
    rows = [row(f"c{i + 1}", r1r2=r[i], zs=f"{float(r[i]) + 0.20:.2f}") for i in range(8)]
    steps = '[[step]]\nread = "ze"\nshown = "0.20"\n[[step]]\nof = "db1"\nread = "zdb"\nshown = "0.31"\n'
    assert named(judged(*circuits, steps, *rows), "rows.calculated")


# ---- lines of a three-phase circuit ----


@pytest.mark.parametrize(
    ("keys", "unread"),
    [(("L1",), "L2 and L3"), (("L1", "L3"), "L2"), (("L1", "L2", "L3"), ""), ((), "")],
)
def test_lines_that_were_not_read_are_named(keys: tuple[str, ...], unread: str) -> None:
    cells = {f"zs {k}-E": "0.40" for k in keys} or {"zs": "0.40"}
    three = circuit("c1", "phases = 3").replace("B16", "C16")
    a = judged(three.replace('board = "db1"', 'board = "db1"'), row("c1", **cells)).findings
    said = [f.what for f in a if f.family == "loops.lines"]
    assert said == ([f"Zs was not read from {unread} to earth."] if unread else [])


# ---- a look that found a fault ----

BAD = '[[step]]\nlook = "earthing"\nseen = "screw loose in the bar"\nholds = false\n'


def test_a_look_that_says_it_does_not_hold_stands_until_a_later_look_or_a_repair() -> None:
    assert [f.entry for f in named(judged(BAD), "look.fault")] == ["earthing"]
    assert not named(judged(BAD, '[[step]]\nlook = "earthing"\nseen = "tight"\nholds = true\n'), "look.fault")
    assert not named(judged(BAD, '[[step]]\nrepair = "earthing"\nremade = "the joint"\n'), "look.fault")


# ---- a loop that the circuit's own line forbids ----


@pytest.mark.parametrize(("zs", "outcome"), [("0.10", "not decided"), ("0.45", "meets")])
def test_a_zs_below_what_the_line_alone_must_have_does_not_meet(zs: str, outcome: str) -> None:
    """40 m of 2.5 mm², less 2 m and 7 %, is 0.26 Ω in the line alone."""
    long = circuit("c1", "length_m = 40\nlength_tol_m = 2")
    a = judged(long, '[[step]]\nread = "ze"\nshown = "0.20"\n', row("c1", r1r2="0.75", zs=zs))
    assert {t.outcome for t in a.boards[0].circuits[0].tests if t.test == "zs"} == {outcome}


# ---- like notes are one ----


def test_like_notes_are_one_note_that_names_every_place() -> None:
    a = judged(*FOUR, *LIKE)
    (note,) = named(a, "tests.missing")
    assert all(f"circuit c{i}" in note.where + note.what for i in range(1, 6))
    assert len([f for c in a.boards[0].circuits for f in c.findings if f.family == "tests.missing"]) == 5


# ---- two instruments: 2 % and 2 digits of 0.01 Ω on 0.50 and 0.6x Ω are 0.465 … 0.536 and, from 0.58 on, beyond both ----

TWO = """[[instrument]]
id = "a"
name = "Tester"
serial = "S1"
checked = 2026-10-01
[[instrument]]
id = "b"
name = "Loop tester"
serial = "S2"
checked = {checked}
"""


def both(test: str, of: str, one: str, other: str) -> str:
    return "".join(
        f'[[step]]\nread = "{test}"\nof = "{of}"\nshown = {v}\ninstrument = "{i}"\nleads = "long"\n'
        for i, v in (("a", one), ("b", other))
    )


@pytest.mark.parametrize(
    ("test", "of", "one", "other", "apart"),
    [
        ("r1r2", "c1", "0.50", "0.51", False),
        ("r1r2", "c1", "0.50", "0.55", False),
        ("r1r2", "c1", "0.50", "0.80", True),
        ("zs", "c1", "0.70", "0.74", False),
        ("zs", "c1", "0.70", "1.40", True),
        ("ze", "origin", "0.15", "0.18", False),
        ("ze", "origin", "0.15", "0.60", True),
    ],
)
def test_two_instruments_that_disagree_are_both_named(test: str, of: str, one: str, other: str, apart: bool) -> None:
    found = named(
        judged(TWO.format(checked="2026-10-01"), circuit("c1"), both(test, of, one, other)), "instrument.disagree"
    )
    assert bool(found) is apart
    if apart:
        assert "serial S1" in found[0].what
        assert "serial S2" in found[0].what
        assert "Check both" in found[0].do


def test_which_instrument_to_check_first_follows_from_its_check_and_from_the_cable() -> None:
    old = named(
        judged(TWO.format(checked="2024-10-01"), circuit("c1"), both("r1r2", "c1", "0.50", "0.80")),
        "instrument.disagree",
    )
    assert old[0].do.startswith("Check Loop tester (serial S2)")
    run = circuit("c1", "length_m = 41\nlength_tol_m = 2")  # 41 m of 19.5 mΩ/m are 0.80 Ω
    fits = named(
        judged(TWO.format(checked="2024-10-01"), run, both("r1r2", "c1", "0.50", "0.80")), "instrument.disagree"
    )
    assert fits[0].do.startswith("Check Tester (serial S1)")


def test_what_was_handled_between_two_instruments_is_no_disagreement() -> None:
    look = '[[step]]\nlook = "c1:cpc"\nseen = "screw turned"\n'
    one, other = both("r1r2", "c1", "0.80", "0.50").split("[[step]]")[1:]
    a = judged(TWO.format(checked="2026-10-01"), circuit("c1"), f"[[step]]{one}", look, f"[[step]]{other}")
    assert not named(a, "instrument.disagree")


# ---- the loop line to neutral at a board that is not the origin: 230 V / 0.46 kA is 0.50 Ω, half of it in the line ----

SUB = """[[circuit]]
id = "sub"
board = "db1"
use = "distribution"
device = "BS 88-2 gG 63"
line_mm2 = 16
cpc_mm2 = 16
{neutral}
[[board]]
id = "db2"
fed_by = "sub"
"""


@pytest.mark.parametrize(
    ("neutral", "at", "zs", "outcome"),
    [
        ("", "db2", "0.08", "not decided"),
        ("", "db2", "0.40", "meets"),
        ("", "", "0.08", "meets"),
        ("neutral_mm2 = 10", "db2", "0.08", "meets"),  # of a thinner neutral more than half lies in the neutral
    ],
)
def test_the_loop_line_to_neutral_of_a_board_further_on_is_a_floor_for_its_circuits(
    neutral: str, at: str, zs: str, outcome: str
) -> None:
    current = f'[[step]]\nread = "fault current"\nof = "{at}"\nbetween = "L-N"\nshown = "0.46"\n' if at else ""
    own = circuit("c1").replace('"db1"', '"db2"')
    a = judged(SUB.format(neutral=neutral), own, current, row("c1", zs=zs))
    rows = {t.outcome for b in a.boards for c in b.circuits for t in c.tests if t.test == "zs" and c.circuit.id == "c1"}
    assert rows == {outcome}


# ---- no length: 0.39 Ω is 20 m of 19.5 mΩ/m, less where a connection is in it, more where the copper is better ----


def test_without_a_length_r1r2_says_for_what_run_it_stands_and_proves_nothing_by_it() -> None:
    c = judged(circuit("c1"), row("c1", r1r2="0.39")).boards[0].circuits[0].cpc
    assert c is not None
    assert c.verdict == "not shown"
    low, high = re.search(r"it is (\d+) to (\d+) m of such cable", c.words).groups()  # type: ignore[union-attr]
    assert int(low) < 20 < int(high) < 26
    assert "never this one" in c.words
    told = judged(circuit("c1", "length_m = 20"), row("c1", r1r2="0.39")).boards[0].circuits[0].cpc
    assert told is not None
    assert "such cable" not in told.words


def test_without_a_length_the_loop_and_the_neighbours_say_for_what_run_too() -> None:
    """0.39 Ω is about 20 m; Zs 0.62 less Ze 0.22 is as long, 1.30 is not; the others are 12, 15 and 30 m."""
    others = "".join(circuit(f"c{i}", f"length_m = {m}") for i, m in ((2, 12), (3, 15), (4, 30)))
    for zs, apart in (("0.62", False), ("1.60", True)):
        loop = '[[step]]\nread = "ze"\nshown = "0.22"\n' + row("c1", zs=zs)
        c = judged(circuit("c1") + others, row("c1", r1r2="0.39"), loop).boards[0].circuits[0].cpc
        assert c is not None
        assert c.verdict == "not shown"
        assert "by Zs less the loop before it" in c.words
        assert "its neighbours are 12 to 30 m, most about 15 m" in c.words
        assert ("not of one run" in c.words) is apart, c.words
        assert "do not show that it is this conductor" in c.words


@pytest.mark.parametrize(("after", "verdict"), [("0.00", "disproved"), ("0.30", "not shown"), ("", "not shown")])
def test_over_range_disproves_a_conductor_whatever_its_length(after: str, verdict: str) -> None:
    check = f'[[step]]\ncheck = "shorted"\nshown = "{after}"\n' if after else ""
    c = judged(circuit("c1"), row("c1", r1r2="over-range") + check).boards[0].circuits[0].cpc
    assert c is not None
    assert c.verdict == verdict, c.words
