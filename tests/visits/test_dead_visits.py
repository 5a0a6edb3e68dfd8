"""Invented visits on rings and insulation, with the conclusions that a very good inspector reaches."""

from __future__ import annotations

from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Finding, Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import CircuitJudged, RingJudged, TestJudged
from earthwright.visitbook import read_book, read_text

HERE = Path(__file__).parent


def judge(name: str, *changes: tuple[str, str]) -> Assessment:
    """The visit as it stands, or with passages of its text replaced."""
    text = (HERE / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    book = read_text(text) if changes else read_book(HERE / f"{name}.toml")
    assert book.visit is not None
    assert book.findings == ()
    return assess(book.visit)


def finding(a: Assessment, family: str) -> Finding:
    (only,) = (f for f in a.findings if f.family == family)
    return only


def families(a: Assessment, least: Severity = Severity.WARNING) -> set[str]:
    return {f.family for f in a.findings if f.severity.rank <= least.rank}


def ring_of(a: Assessment) -> tuple[CircuitJudged, RingJudged]:
    (circuit,) = (c for b in a.boards for c in b.circuits)
    assert circuit.ring is not None
    return circuit, circuit.ring


def row(c: CircuitJudged, test: str, point: str = "") -> TestJudged:
    (only,) = (t for t in c.tests if t.test == test and t.point == point)
    return only


def test_08_the_cpc_is_broken_between_two_sockets() -> None:
    circuit, ring = ring_of(judge("08-ring-broken-cpc"))
    assert (ring.verdict, ring.named) == ("disproved", "break in cpc")
    assert ring.between == ("50 m", "60 m")
    assert ring.where_m is not None
    assert 48 <= ring.where_m.low <= 50
    assert 60 <= ring.where_m.high <= 62
    assert row(circuit, "ring r2").outcome == "fails"
    assert row(circuit, "ring rn").outcome == "meets"


def test_08_line_and_neutral_are_whole_and_the_healthy_third_step_is_known() -> None:
    circuit, ring = ring_of(judge("08-ring-broken-cpc"))
    assert all(row(circuit, "ring ln", s.point).inside for s in ring.sockets)
    assert all(row(circuit, "ring le", s.point).inside is False for s in ring.sockets)
    for socket in ring.sockets:  # a healthy step 3 would be 0.39 to 0.41 everywhere
        assert socket.le_expected is not None
        assert socket.le_expected.low < 0.39
        assert 0.41 < socket.le_expected.high < 0.47
    assert "(0.62 + 0.62)/4 = 0.310 Ω" in ring.sums[0]
    assert ring.implied_m is not None
    assert ring.implied_m.holds(84)


def test_08_a_loop_within_its_limit_is_no_acquittal() -> None:
    a = judge("08-ring-broken-cpc")
    circuit, ring = ring_of(a)
    assert row(circuit, "zs", "50 m").outcome == "meets"
    assert ring.verdict == "disproved"
    assert "does not clear it" in ring.words
    assert "leaves sockets without earth" in finding(a, "ring.break").do


def test_08_an_open_r2_alone_with_leads_not_tried_again_may_be_a_lead() -> None:
    last_check = '[[step]]\ncheck = "shorted"\nshown = 0.00\n\n[[step]]\nread = "insulation"'
    profile = 'read = "ring ln"\nof = "ring"\nat_points = [0.31, 0.31, 0.31, 0.31, 0.31, 0.31, 0.31, 0.31, 0.31]'
    steps = 'read = "ring le"\nof = "ring"\nat_points = [0.63, 0.68, 0.72, 0.76, 0.81, 0.86, 0.74, 0.68, 0.63]'
    nothing = 'note = "not read yet"'
    circuit, ring = ring_of(
        judge(
            "08-ring-broken-cpc",
            (last_check, '[[step]]\nread = "insulation"'),
            (profile, nothing),
            (steps, nothing),
        )
    )
    assert ring.verdict == "not shown"
    assert row(circuit, "ring r2").outcome == "not decided"
    assert "a lead was off" in row(circuit, "ring r2").words
    assert {"ring ln", "ring le"} <= {t.test for t in circuit.tests if t.absent == "missing"}


def test_09_a_ring_within_a_ring_although_the_ratios_are_perfect() -> None:
    a = judge("09-ring-bridge")
    circuit, ring = ring_of(a)
    assert (ring.verdict, ring.named) == ("disproved", "bridge")
    assert ring.between == ("20 m", "60 m")
    start, end = ring.ends_m
    assert start.holds(20)
    assert end.holds(60)
    assert ring.via_m is not None
    assert ring.via_m.holds(6)
    assert "ring.ratio" not in families(a, Severity.NOTE)
    assert row(circuit, "ring rn").outcome == "meets"


def test_09_the_inner_cluster_is_high_and_the_length_is_short() -> None:
    a = judge("09-ring-bridge")
    circuit, ring = ring_of(a)
    outside = [s.point for s in ring.sockets if row(circuit, "ring ln", s.point).inside is False]
    assert outside == ["30 m", "40 m", "50 m"]
    assert [s.point for s in ring.sockets if row(circuit, "ring le", s.point).inside is False] == outside
    assert ring.implied_m is not None
    assert ring.implied_m.holds(49)
    assert "85 to 95 m" in finding(a, "ring.length").expected
    assert not ring.spurs


def test_09_outer_sockets_alone_prove_nothing() -> None:
    """The weak inspector's sample: the first three and the last three sockets, and no idea of the length."""
    a = judge(
        "09-ring-bridge",
        ("at_points = [0.18, 0.18, 0.18, 0.28, 0.31, 0.28, 0.18, 0.18, 0.18]", _some("0.18", "0.18", "0.18")),
        ("at_points = [0.23, 0.24, 0.24, 0.37, 0.41, 0.37, 0.24, 0.24, 0.23]", _some("0.23", "0.24", "0.24")),
        ("length_m = 90\nlength_tol_m = 5\n", ""),
    )
    _, ring = ring_of(a)
    assert ring.verdict == "not shown"
    assert ring.named == ""
    assert {"whole", "bridge"} <= set(ring.rivals)
    assert "30 m, 40 m and 50 m" in finding(a, "ring.sockets").what


def _some(first: str, second: str, third: str) -> str:
    return (
        f'at_points = {{ "2 m" = {first}, "12 m" = {second}, "20 m" = {third}, "60 m" = {third}, '
        f'"72 m" = {second}, "82 m" = {first} }}'
    )


def test_09_three_high_sockets_in_a_row_of_unknown_places_stay_undecided() -> None:
    points = 'points = ["2 m", "12 m", "20 m", "30 m", "40 m", "50 m", "60 m", "72 m", "82 m"]'
    _, ring = ring_of(judge("09-ring-bridge", (points, "points = 9")))
    assert ring.verdict == "not shown"
    assert ring.rivals[:2] == ("whole", "bridge")
    assert ring.spurs == ("4", "5", "6")
    assert "Count the cables" in ring.words
    assert "Enter where along the cable" in ring.words


def test_14_identical_lows_are_the_sign_of_the_common_neutral() -> None:
    a = judge("14-insulation")
    same = finding(a, "insulation.identical")
    assert "7 readings" in same.what
    assert "neutrals stay joined" in same.because
    assert "do not write one value on every row" in same.do


def test_14_one_circuit_is_guilty_and_the_others_keep_their_values() -> None:
    a = judge("14-insulation")
    (board,) = a.boards
    outcomes = {c.circuit.id: row(c, "insulation").outcome for c in board.circuits}
    assert outcomes == {"c1": "meets", "c2": "meets", "c3": "fails", "c4": "meets", "c5": "meets", "c6": "meets"}
    guilty = finding(a, "insulation.guilty")
    assert guilty.entry == "c3"
    assert "insulation.enquire" not in families(a, Severity.NOTE)


def test_14_the_parallel_sum_explains_the_board() -> None:
    (board,) = judge("14-insulation").boards
    (whole,) = (t for t in board.tests if t.test == "insulation")
    assert whole.outcome == "fails"
    assert whole.inside is True
    assert whole.expected is not None
    assert whole.expected.holds(0.316)
    assert "c4 >299 MΩ" in whole.sums[-1]
    assert "insulation.sum" not in families(judge("14-insulation"), Severity.NOTE)


def test_14_a_lower_voltage_makes_no_difference_so_it_is_no_electronic_part() -> None:
    (board,) = judge("14-insulation").boards
    c3 = next(c for c in board.circuits if c.circuit.id == "c3")
    assert "At 250 V it read 0.33 MΩ, no better, so it is no electronic part" in row(c3, "insulation").words
    assert row(c3, "insulation").corrected is not None
    assert row(c3, "insulation").readings[0].test_v == pytest.approx(500)


def test_14_at_the_lower_voltage_much_better_points_at_electronics() -> None:
    (board,) = judge("14-insulation", ("shown = 0.33", "shown = 22.0")).boards
    c3 = next(c for c in board.circuits if c.circuit.id == "c3")
    assert "electronics or a surge protective device would explain" in row(c3, "insulation").words
    assert row(c3, "insulation").outcome == "not decided", "taken out and read again before it is coded"


def test_14_the_same_low_on_six_rows_is_not_six_faults() -> None:
    """Before the neutrals were parted: 0.31 written on every row."""
    text = (HERE / "14-insulation.toml").read_text(encoding="utf-8")
    head = text[: text.index("# one breaker off")]
    rows = "".join(
        f'[[step]]\noff = "c{i}:device"\nread = "insulation"\nof = "c{i}"\nbetween = "LN-E"\ntest_v = 500\nshown = 0.31\n\n'
        f'[[step]]\non = "c{i}:device"\n\n'
        for i in range(1, 7)
    )
    book = read_text(head + rows)
    assert book.visit is not None
    a = assess(book.visit)
    (board,) = a.boards
    assert {row(c, "insulation").outcome for c in board.circuits} == {"not decided"}
    assert "6 rows" in finding(a, "insulation.identical").what
    assert not any(f.family == "insulation.low" and f.where.startswith("circuit") for f in a.findings)
