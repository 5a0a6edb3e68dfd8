"""A cable that changes along its circuit: one line of text, read as entered; bands by the sum, capacity and adiabatic by each."""

from __future__ import annotations

from typing import Any

import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import CircuitJudged
from earthwright.site.stretch import stretches_of
from earthwright.visitbook import read_text

# mΩ/m at 20 °C of one conductor, IEC 60228 class 1 and 2 (the table of R1+R2 in trade handbooks adds them in pairs:
# 2.5/1.5 is 19.51, 1.5/1.0 is 30.20, 4/1.5 is 16.71).
R = {1.0: 18.10, 1.5: 12.10, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83, 16.0: 1.15, 25.0: 0.727}
CONNECTIONS = 0.05
BOOK = """
visit = { place = "invented", date = 2026-11-20, kind = "periodic", temp_c = 20 }
supply = { system = "TN-C-S", pme = true, neutral_at_most_mm2 = 35, fuse_a = 100 }
board = [{ id = "db1" }]
leads = [{ id = "long", allowed = "nulled", null_ohm = 0.21 }]
circuit = [{ id = "c1", device = "BS EN 61009 %(device)s", rcd_ma = 30, rcd_type = "A", use = "%(use)s", %(more)s }]
[[step]]
isolated = "locked"
[[step]]
isolated = "tester proved"
[[step]]
isolated = "dead"
pairs = "L-N, L-E, N-E"
[[step]]
isolated = "tester proved again"
[[step]]
off = "earthing"
[[step]]
read = "ze"
method = "two-lead"
shown = "0.22"
[[step]]
on = "earthing"
[[step]]
check = "shorted"
shown = "0.00"
[[step]]
of = "c1"
at = "%(at)s"
test_v = 500
tests = { r1r2 = "%(r1r2)s", "insulation LN-E" = ">999", polarity = "good" }
[[step]]
check = "shorted"
shown = "0.00"
[[step]]
isolated = "restored"
[[step]]
of = "c1"
tests = { "zs two-lead" = "%(zs)s" }
"""


def judged(runs: str = "", r1r2: str = "0.38", zs: str = "0.60", **more: str) -> tuple[Assessment, CircuitJudged]:
    said = {"device": "B20", "use": "sockets", "at": "", **more}
    keys = said.pop("keys", "length_tol_m = 1, ") + (f'runs = "{runs}"' if runs else "")
    text = BOOK % {**said, "r1r2": r1r2, "zs": zs, "more": keys}
    book = read_text(text.replace('at = ""\n', "").replace('at = "', 'point = "'))
    assert book.visit is not None, [f.sentence() for f in book.findings]
    errors = [f.sentence() for f in book.findings if f.severity.value == "error"]
    assert not errors, errors
    a = assess(book.visit, found=book.findings)
    return a, a.boards[0].circuits[0]


def row(c: CircuitJudged, test: str) -> Any:
    return next(t for t in c.tests if t.test == test)


@pytest.mark.parametrize(
    ("typed", "read_as"),
    [
        ("10 m 2.5/1.5 + 6 m 1.5/1.0", "10 m 2.5/1.5 + 6 m 1.5/1"),
        ("2.5/1.5 then 1.5/1.0", "2.5/1.5 + 1.5/1"),
        ("10m of 2.5/1.5mm² and then 6m of 1.5/1.0 mm2", "10 m 2.5/1.5 + 6 m 1.5/1"),
        ("4/1.5 12 m, 2.5/1.5 3.5 m", "12 m 4/1.5 + 3.5 m 2.5/1.5"),
        ("30 m 2x25/16 method D wiring F", "30 m 2 x 25/16 wiring F method D"),
        ("8 m 10/armour + 5 m 6/2.5 method 103", "8 m 10/armour + 5 m 6/2.5 method 103"),
        ("12 m 4/1.5 + spur at 6 m: 3 m 2.5/1.5 fused 13A", "12 m 4/1.5 + spur at 6 m: 3 m 2.5/1.5 fused 13 A"),
        ("2.5; spur 1.5/1", "2.5 + spur 1.5/1"),
    ],
)
def test_what_people_write_is_read_and_reads_back(typed: str, read_as: str) -> None:
    found = " + ".join(map(str, stretches_of(typed)))
    assert found == read_as
    assert " + ".join(map(str, stretches_of(found))) == found


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", ""),
        ("twin and earth", "no length of cable"),
        ("10 m 2.5/1.5 +", "no length of cable"),
        ("10 m", "no length of cable"),
        ("0 m 2.5/1.5", "cannot be"),
        ("2.5/1.5 method Z", "no length of cable"),
        ("2.5/1.5 wiring 100", "names no wiring"),
        ("2.5/1.5 method A method C", "names no method"),
        ("spur 2.5/1.5", "branches off a cable"),
        ("2.5/1.5 + spur 1.5/1 + 1/1", "Spurs stand behind"),
        ("10 m 2.5/1.5 + spur at 11 m: 2 m 1.5/1", "beyond the end"),
        (" + ".join(["2.5/1.5"] * 13), "13 lengths"),
    ],
)
def test_what_cannot_be_read_is_told(typed: str, said: str) -> None:
    if not said:
        assert stretches_of(typed) == ()
        return
    with pytest.raises(ValueError, match=said):
        stretches_of(typed)


# (runs, core r of each length [mΩ/m] × metres, of line and cpc), hand sums; the whole length is 1 m out at most.
TWO = 10 * (R[2.5] + R[1.5]) + 6 * (R[1.5] + R[1.0])  # 376.3 mΩ


@pytest.mark.parametrize(
    ("runs", "keys", "low", "high"),
    [
        ("10 m 2.5/1.5 + 6 m 1.5/1.0", "", TWO * 15 / 16, TWO * 17 / 16),
        # a length left over follows from the whole; two that are not known leave everything between the two sizes
        ("10 m 2.5/1.5 + 1.5/1.0", "length_m = 16, ", TWO * 15 / 16, TWO * 17 / 16),
        ("2.5/1.5 then 1.5/1.0", "length_m = 16, ", 15 * (R[2.5] + R[1.5]), 17 * (R[1.5] + R[1.0])),
        # two cables side by side halve it
        ("20 m 2 x 25/16 + 10 m 16/16", "", (20 * (R[25] + R[16]) / 2 + 20 * R[16]) * 29 / 30, (20 * (R[25] + R[16]) / 2 + 20 * R[16]) * 31 / 30),
        # a spur at 4 m whose end reads more than the end of the cable: 4 m × 16.71 + 12 m × 30.20
        ("10 m 4/1.5 + spur at 4 m: 12 m 1.5/1.0", "", (4 * (R[4] + R[1.5]) + 12 * (R[1.5] + R[1.0])) * 15 / 16, (4 * (R[4] + R[1.5]) + 12 * (R[1.5] + R[1.0])) * 17 / 16),
    ],
)  # fmt: skip
def test_the_band_is_the_sum_of_the_lengths(runs: str, keys: str, low: float, high: float) -> None:
    _, c = judged(runs, keys=f"length_tol_m = 1, {keys}")
    band = row(c, "r1r2").expected
    assert band.low == pytest.approx(low * 0.93 / 1000, abs=5e-4)
    assert band.high == pytest.approx(high / 1000 + CONNECTIONS, abs=5e-4)


def test_nothing_is_expected_while_neither_the_lengths_nor_the_whole_are_known() -> None:
    _, c = judged("2.5/1.5 then 1.5/1.0", keys="")
    assert row(c, "r1r2").expected is None
    assert c.cpc is not None
    assert c.cpc.verdict == "not shown"


def test_an_honest_circuit_that_changes_raises_nothing_and_is_proved() -> None:
    a, c = judged("10 m 2.5/1.5 method C + 6 m 1.5/1.0 method C", zs="0.60", device="B16")
    assert c.cpc is not None
    assert c.cpc.verdict == "proved"
    assert not [f.sentence() for f in a.findings if f.severity.value != "note" and f.entry == "c1"]
    assert {t.test: t.outcome for t in c.tests}["overload"] == "meets"
    assert any("6 m 1.5/1 method C: 30.2 mΩ/m, at most 0.181 Ω" in line for line in row(c, "r1r2").sums)


@pytest.mark.parametrize(
    ("digits", "family"), [("0.29", "continuity.parallel"), ("0.34", ""), ("0.46", ""), ("0.52", "continuity.high")]
)
def test_below_within_and_above_the_sum(digits: str, family: str) -> None:
    """376.3 mΩ and 1 m of 16: 0.328 to 0.450 Ω, with 0.05 Ω of connections at the top and the errors of the instrument."""
    _, c = judged("10 m 2.5/1.5 + 6 m 1.5/1.0", r1r2=digits)
    assert [f.family for f in row(c, "r1r2").findings] == ([family] if family else [])


def test_a_point_before_the_change_reads_the_first_length_only() -> None:
    _, c = judged(
        "10 m 2.5/1.5 + 6 m 1.5/1.0", r1r2="0.12", keys="length_tol_m = 1, points = { hall = 6, end = 16 }, ", at="hall"
    )
    band = row(c, "r1r2").expected  # 6 ± 1 m of 19.51 mΩ/m
    assert band.low == pytest.approx(5 * 0.01951 * 0.93, abs=5e-4)
    assert band.high == pytest.approx(7 * 0.01951 + CONNECTIONS, abs=5e-4)


@pytest.mark.parametrize(
    ("runs", "device", "use", "outcome"),
    [
        # flat cable, method C: 4 mm² 37 A, 2.5 mm² 27 A, 1.5 mm² 20 A (BS 7671 table 4D5)
        ("10 m 4/1.5 method C + 6 m 2.5/1.5 method C", "B20", "sockets", "meets"),
        ("10 m 4/1.5 method C + 6 m 2.5/1.5 method C", "B32", "sockets", "fails"),
        ("10 m 4/1.5 method C + 6 m 2.5/1.5 method C fused 13 A", "B32", "sockets", "meets"),
        ("10 m 4/1.5 method C + 6 m 2.5/1.5", "B32", "sockets", "fails"),  # at most 31 A by any method
        ("6 m 4/1.5 method C + spur at 3 m: 2 m 2.5/1.5 method C", "B32", "sockets", "fails"),
        ("10 m 2 x 2.5/1.5 method C + 6 m 6/2.5 method C", "B40", "sockets", "meets"),  # 2 × 27 A
        ("10 m 2.5/1.5 method C + 6 m 2.5/1.5 method 103", "B20", "sockets", "fails"),  # 13.5 A where it is wrapped up
    ],
)  # fmt: skip
def test_every_length_has_to_carry_what_the_device_lets_flow(runs: str, device: str, use: str, outcome: str) -> None:
    _, c = judged(runs, device=device, use=use)
    overload = row(c, "overload")
    assert overload.outcome == outcome, overload.words


def test_the_thinnest_protective_conductor_has_to_bear_the_fault() -> None:
    """B32 at 230 V / 0.30 Ω: 767 A for at most 0.1 s asks for √(767² · 0.1)/115 = 2.11 mm²: 1.0 mm² may not be enough, 2.5 is."""
    _, c = judged("5 m 10/4 + 3 m 6/2.5", r1r2="0.06", zs="0.30", device="B32")
    assert row(c, "adiabatic").outcome == "meets"
    _, c = judged("5 m 10/4 + 3 m 1.5/1.0", r1r2="0.12", zs="0.30", device="B32")
    assert row(c, "adiabatic").outcome != "meets"
    assert "3 m 1.5/1" in row(c, "adiabatic").words


def test_the_voltage_drop_is_the_sum() -> None:
    """20 A over 10 m of 2.5 and 6 m of 1.5 mm² at 70 °C (× 1.2): 2 × 20 A × 1.2 × (74.1 + 72.6) mΩ = 7.04 V, with 1 m of 16 more 7.48 V."""
    _, c = judged("10 m 2.5/1.5 + 6 m 1.5/1.0", device="B20")
    drop = row(c, "voltage drop")
    assert "7.48 V" in " ".join(drop.sums), drop.sums


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('runs = "10 m 2.5/1.5 + 6 m 1.5/1.0", line_mm2 = 4', "None of the lengths of cable has this size"),
        ('runs = "10 m 2.5/1.5 + 6 m 1.5/1.0", length_m = 30', "do not add up"),
        ('runs = "10 m 2.5/1.5 + 6 m 1.5/1.0", kind = "ring"', "legs of a ring"),
        ('runs = "10 m T+E"', "no length of cable"),
    ],
)
def test_what_does_not_fit_costs_the_cell_and_is_told(keys: str, said: str) -> None:
    book = read_text(BOOK % {"device": "B20", "use": "sockets", "more": keys, "at": "", "r1r2": "0.38", "zs": "0.6"})
    assert any(said in f.sentence() for f in book.findings)
    assert book.visit is not None
    assert [c.id for c in book.visit.site.circuits] == ["c1"]


@pytest.mark.parametrize(("metres", "outcome"), [(8, "meets"), (20, "not decided"), (60, "fails")])
def test_a_loop_that_is_only_known_from_the_cable_fails_where_its_least_does(metres: int, outcome: str) -> None:
    """Ze 0.22 ± 0.06 Ω read, R1+R2 not: 2.5/1.5 mm² at 20 °C; C32 needs 0.95 · 230 V / 320 A = 0.683 Ω warm (× 1.2).

    Warm: 8 m 0.28 + 1.2 · 9 · 0.01951 = 0.49 Ω at most; 20 m 0.16 + 1.2 · 19 · 0.01814 = 0.57 Ω at least and 0.77 Ω at most;
    60 m 0.16 + 1.2 · 59 · 0.01814 = 1.44 Ω at least. No residual current device.
    """
    book = (
        BOOK.replace('rcd_ma = 30, rcd_type = "A", ', "")
        .replace('r1r2 = "%(r1r2)s", ', "")
        .split('[[step]]\nisolated = "restored"')[0]
    )
    keys = f"line_mm2 = 2.5, cpc_mm2 = 1.5, length_m = {metres}, length_tol_m = 1"
    read = read_text((book % {"device": "C32", "use": "sockets", "more": keys, "at": ""}).replace('at = ""\n', ""))
    assert read.visit is not None
    assert row(assess(read.visit).boards[0].circuits[0], "disconnection").outcome == outcome
