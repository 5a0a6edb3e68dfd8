"""Circuits: evidence of a fault stays until a repair is noted or the entry is struck; found and left are judged apart.

25 m of 2.5/1.5 mm²: R1+R2 is 25 × (7.41 + 12.1) mΩ = 0.49 Ω at most, 0.45 at least, with connections up to 0.51.
"""

from __future__ import annotations

import json

import pytest

from earthwright.assess import assess
from earthwright.gates.open_cpc import open_cpc
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import CircuitJudged, TestJudged
from earthwright.report.observations import overall, propose
from earthwright.report.record import json_schema, to_json
from earthwright.visitbook import read_text

HEAD = """
[visit]
place = "x"
date = 2026-11-20
kind = "periodic"
[supply]
system = "TN-C-S"
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.2
[[board]]
id = "db1"
[[circuit]]
id = "c1"
board = "db1"
use = "sockets"
device = "BS EN 60898 B20"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 25
length_tol_m = 1
[[electrode]]
id = "rod"
"""
SHORTED = 'check = "shorted"\nshown = 0.00'
REPAIR = 'repair = "c1:cpc"\nremade = "joint at socket 3"\nat = "11:20"'


def read(test: str, shown: str, of: str = "c1", **more: object) -> str:
    rest = "".join(f"{k} = {json.dumps(v)}\n" for k, v in more.items())
    key = "outcome" if shown in ("good", "bad") else "shown"
    value = f'"{shown}"' if key == "outcome" or not shown[0].isdigit() else shown
    return f'read = "{test}"\nof = "{of}"\n{key} = {value}\n{rest}'


def visit(*steps: str) -> Assessment:
    book = read_text(HEAD + "".join(f"[[step]]\n{s}\n" for s in steps))
    assert book.findings == ()
    assert book.visit is not None
    return assess(book.visit)


def circuit(a: Assessment) -> CircuitJudged:
    return a.boards[0].circuits[0]


def row(a: Assessment, test: str) -> TestJudged:
    return next(t for t in circuit(a).tests if t.test == test)


OPEN = (SHORTED, read("r1r2", "over-range"), SHORTED)
GOOD = (read("r1r2", "0.48"), SHORTED)


def test_a_reading_that_comes_out_well_again_does_not_erase_a_break() -> None:
    a = visit(*OPEN, *GOOD)
    cpc = circuit(a).cpc
    assert cpc is not None
    assert (cpc.verdict, cpc.named) == ("disproved", "open")
    assert "Read again since: 0.48 Ω (r2), with nothing noted as put right" in cpc.words
    assert row(a, "r1r2").outcome == "fails"
    assert "over-range, then 0.48" in row(a, "r1r2").words
    assert overall(a).proposed == "unsatisfactory"
    assert any(p.code == "C2" and p.about == "c1" for p in propose(a))


def test_a_break_seen_in_one_state_stays_in_another() -> None:
    """Other metal was parted, the cpc read open; with the metal back R1+R2 reads well."""
    free = ('off = "c1:cpc"', read("r2", "over-range", between="free end"), SHORTED, 'on = "c1:cpc"')
    a = visit(SHORTED, *free, *GOOD)
    cpc = circuit(a).cpc
    assert cpc is not None
    assert cpc.verdict == "disproved"


def test_after_a_repair_found_and_left_are_judged_apart() -> None:
    a = visit(*OPEN, REPAIR, *GOOD)
    cpc = circuit(a).cpc
    assert cpc is not None
    assert cpc.verdict != "disproved"
    assert cpc.evidence == circuit(visit(SHORTED, *GOOD)).cpc.evidence  # type: ignore[union-attr]
    (found,) = a.found
    assert found.of == "c1"
    assert found.cpc is not None
    assert found.cpc.named == "open"
    assert "Found: R1+R2 over-range: fails" in found.words
    assert "Put right (joint at socket 3), 11:20. Left: R1+R2 0.48 Ω" in found.words
    assert found.words in circuit(a).words
    assert any(f.family == "repair.found" for f in a.findings)
    (p,) = [p for p in propose(a) if p.put_right]
    assert "put right within the visit" in p.what


def test_a_repair_without_a_reading_leaves_it_not_shown() -> None:
    a = visit(*OPEN, REPAIR)
    cpc = circuit(a).cpc
    assert cpc is not None
    assert cpc.verdict == "not shown"
    missing = row(a, "r1r2")
    assert (missing.outcome, missing.absent) == ("not decided", "missing")
    assert "before it was put right, and not since" in missing.reason
    assert "Left: not shown, since not read again: R1+R2" in a.found[0].words


def test_a_repair_of_the_cpc_leaves_what_does_not_pass_through_it() -> None:
    a = visit(read("polarity", "good"), read("zs", "0.80"), *OPEN, REPAIR, *GOOD)
    assert row(a, "polarity").outcome == "meets"
    assert row(a, "zs").absent == "missing"  # the loop ran over the conductor that was remade


@pytest.mark.parametrize(
    ("test", "steps", "outcome"),
    [
        ("insulation", [read("insulation", "0.20", between="LN-E", test_v=500), read("insulation", "200", between="LN-E", test_v=500)], "fails"),
        ("polarity", [read("polarity", "bad"), read("polarity", "good")], "fails"),
        ("zs", [read("zs", "9.00"), read("zs", "0.80")], "fails"),
        ("r1r2", [read("r1r2", "0.90"), read("r1r2", "0.48"), SHORTED], "no rule"),
    ],
)  # fmt: skip
def test_the_worst_stands_whatever_was_read_last(test: str, steps: list[str], outcome: str) -> None:
    a = visit(*steps)
    worst = row(a, test)
    assert worst.outcome == outcome
    other = row(visit(*reversed(steps)), test)
    assert other.outcome == outcome
    left = row(visit(steps[0], 'repair = "c1"\nremade = "all of it"', *steps[1:]), test)
    assert left.outcome != "fails"


def test_what_was_low_with_more_in_circuit_is_explained_by_it() -> None:
    low = read("insulation", "0.20", between="LN-E", test_v=500)
    good = read("insulation", "200", between="LN-E", test_v=500)
    assert row(visit(low, 'off = "loads"', good, 'on = "loads"'), "insulation").outcome == "meets"
    assert row(visit('off = "loads"', low, 'on = "loads"', good), "insulation").outcome == "fails"


def test_an_electrode_is_as_good_as_its_highest_reading_until_it_is_put_right() -> None:
    one, other = (read("electrode", x, "rod", method="rod alone") for x in ("900", "90"))
    off, on = 'off = "rod"', 'on = "rod"'
    a = visit(off, one, other, on)
    assert a.electrodes[0].tests[0].corrected.reading.id == "r1"  # type: ignore[union-attr]
    a = visit(off, one, 'repair = "rod"\nremade = "clamp"', other, on)
    assert a.electrodes[0].tests[0].corrected.reading.id == "r2"  # type: ignore[union-attr]
    assert a.found[0].of == "rod"


def test_a_loop_test_stays_closed_until_the_repair_is_noted() -> None:
    def gate(*steps: str) -> bool:
        book = read_text(HEAD + "".join(f"[[step]]\n{s}\n" for s in steps))
        assert book.visit is not None
        return open_cpc(book.visit.events, "c1") is not None

    assert gate(*OPEN)
    assert gate(*OPEN, *GOOD)
    assert not gate(*OPEN, REPAIR)
    assert not gate(*OPEN, REPAIR, *GOOD)
    assert not gate(read("r1r2", "over-range"), read("r1r2", "0.48"))  # a lead may have been off
    assert not gate(read("r1r2", "over-range"), 'check = "shorted"\nshown = "over-range"')


def test_the_data_follow_the_schema() -> None:
    jsonschema = pytest.importorskip("jsonschema")
    jsonschema.validate(to_json(visit(*OPEN, REPAIR, *GOOD)), json_schema())


RING = """[[circuit]]
id = "c2"
board = "db1"
kind = "ring"
device = "BS EN 60898 B32"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 52
length_tol_m = 2
points = { a = 4, b = 11, c = 18, d = 26, e = 34, f = 41, g = 48 }
[[electrode]]
"""
ENDS = 'of = "c2"\ntests = {{ "ring r1" = 0.38, "ring rn" = 0.38, "ring r2" = {} }}'
PROFILES = tuple(
    f'read = "ring {p}"\nof = "c2"\nat_points = {{ ' + ", ".join(f"{x} = {shown}" for x in "abcdefg") + " }"
    for p, shown in (("ln", 0.19), ("le", 0.25))
)


def ring_visit(*steps: str) -> Assessment:
    book = read_text(HEAD.replace("[[electrode]]\n", RING) + "".join(f"[[step]]\n{s}\n" for s in steps))
    assert book.visit is not None
    assert [f.sentence() for f in book.findings if f.severity.value != "error"] == []
    return assess(book.visit, found=book.findings)


@pytest.mark.parametrize("end", ["ring r1", "ring rn", "ring r2"])
def test_an_end_of_a_ring_that_read_open_is_not_argued_away_by_what_is_read_after_it(end: str) -> None:
    """Sound crossed profiles and a second reading leave a loose terminal that comes and goes: C2 until a repair is noted."""
    again = f'read = "{end}"\nof = "c2"\nshown = {"0.63" if end == "ring r2" else "0.38"}'
    open_ = ENDS.format("0.63").replace(
        f'"{end}" = {"0.63" if end == "ring r2" else "0.38"}', f'"{end}" = "over-range"'
    )
    mended = 'repair = "c2"\nremade = "terminal at the board"'
    found = ring_visit(SHORTED, open_, SHORTED, *PROFILES, again, SHORTED)
    ring = found.boards[0].circuits[1].ring
    assert ring is not None
    assert ring.verdict != "proved"
    codes = [(p.name, p.code) for p in propose(found) if p.about == "c2" and p.code == "C2"]
    assert codes in ([(f"test.{end}", "C2")], [("ring", "C2")])
    assert overall(found).proposed == "unsatisfactory"
    left = (
        ring_visit(SHORTED, open_, SHORTED, mended, ENDS.format("0.63"), *PROFILES, SHORTED).boards[0].circuits[1].ring
    )
    assert left is not None
    assert left.verdict == "proved"
    lead = ring_visit(open_, again, *PROFILES, SHORTED).boards[0].circuits[1].ring
    assert lead is not None  # the leads were good afterwards, so it was no lead
    assert lead.verdict != "proved"


def test_no_socket_of_a_ring_reads_zero() -> None:
    ring = ring_visit(SHORTED, ENDS.format("0.63"), PROFILES[0].replace("d = 0.19", "d = 0.00"), PROFILES[1], SHORTED)
    judged = ring.boards[0].circuits[1].ring
    assert judged is not None
    assert judged.verdict == "not shown"
    assert any(f.family == "input.plausible" and "legs crossed" in f.what for f in ring.findings)
