"""Continuity of radials, and what is recorded in words, on installations written in Python."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve
from live_visit import families, isolated, judge, off, read, row, rows, visit

from earthwright.base.errors import Finding, Severity
from earthwright.site.events import LeadCheck, Reading
from earthwright.site.installation import Circuit
from earthwright.site.reading import Accuracy, Instrument

# 20 ± 2 m of 2.5/1.5 mm²: 7.41 + 12.1 mΩ/m by IEC 60228, real cable 0.93 to 1 of that, connections up to 0.05 Ω.
LOW, HIGH = 18 * 0.01951 * 0.93, 22 * 0.01951 + 0.05
LINE_LOW = 18 * 0.00741 * 0.93


def circuit(**more: Any) -> Circuit:
    usual: dict[str, Any] = {
        "line_mm2": 2.5,
        "neutral_mm2": 2.5,
        "cpc_mm2": 1.5,
        "length_m": 20.0,
        "length_tol_m": 2.0,
    }
    return Circuit("c1", "db1", **{**usual, **more})


def shorted(digits: str = "0.00") -> LeadCheck:
    return LeadCheck(seq=0, leads="short", kind="shorted", shown=read("r2", "c1", digits).shown)  # type: ignore[arg-type]


def one(test: str, digits: str, **more: Any) -> Any:
    return row(visit(read(test, "c1", digits), circuits=(circuit(**more),)), "c1", test)


def test_the_band_is_length_size_make_and_connections() -> None:
    t = one("r1r2", "0.40")
    assert t.expected is not None
    assert t.expected.low == pytest.approx(LOW, abs=5e-4)
    assert t.expected.high == pytest.approx(HIGH, abs=5e-4)
    assert t.inside is True
    assert t.outcome == "no rule"
    assert not t.findings
    assert any("18 m × 19.5 mΩ/m × 0.93" in line for line in t.sums)


@pytest.mark.parametrize(
    ("ohm", "family"),
    [
        (LOW - 0.001, "continuity.parallel"),
        (LOW + 0.0001, None),
        (LOW + 0.001, None),
        (HIGH - 0.001, None),
        (HIGH - 0.0001, None),
        (HIGH + 0.001, "continuity.high"),
        (LINE_LOW + 0.001, "continuity.parallel"),
        (LINE_LOW - 0.001, None),  # below the line itself: the floor of the whole visit speaks of it
    ],
)
def test_below_within_and_above_the_band(ohm: float, family: str | None) -> None:
    t = one("r1r2", f"{ohm:.4f}")
    assert families(t) == ({family} if family else set())
    assert t.outcome == ("not decided" if family == "continuity.parallel" else "no rule")


@pytest.mark.parametrize(
    ("digits", "family"),
    [("0.29", "continuity.parallel"), ("0.30", None), ("0.51", None), ("0.52", "continuity.high")],
)
def test_the_limits_of_error_of_the_instrument_are_allowed_for(digits: str, family: str | None) -> None:
    """± (3 % + 2 digits): 0.29 is 0.325 Ω at the most, under 0.327; 0.52 is 0.481 Ω at least, over 0.479."""
    rough = Instrument("exact", accuracy=(("continuity", Accuracy(3.0, 2.0, 0.01, 99.99)),))
    t = row(visit(read("r1r2", "c1", digits), circuits=(circuit(),), instrument=rough), "c1", "r1r2")
    assert families(t) == ({family} if family else set())


def test_lower_than_copper_does_not_prove_the_protective_conductor() -> None:
    t = one("r1r2", "0.20")
    (f,) = t.findings
    assert "does not prove the protective conductor" in f.what
    assert "A broken cpc could read the same" in f.because
    assert "Not shown" in t.words


def test_below_the_line_itself_is_an_alarm_of_the_visit() -> None:
    from earthwright.assess import assess

    a = assess(visit(read("r1r2", "c1", "0.05"), circuits=(circuit(),)))
    assert "copper.floor" in {f.family for f in a.findings if f.severity is Severity.WARNING}


def test_too_high_is_explained_by_a_joint_a_route_or_a_smaller_size() -> None:
    t = one("r1r2", "0.60")
    (f,) = t.findings
    assert "one poor joint of 0.12 to 0.28 Ω" in f.because
    assert "a route of 30 to 33 m instead of 18 to 22 m" in f.because
    assert "a cpc of 1 mm² instead of 1.5 mm²" in f.because


@pytest.mark.parametrize(("after", "outcome"), [(True, "fails"), (False, "not decided")])
def test_open_needs_leads_that_are_good_afterwards(after: bool, outcome: str) -> None:
    events = [shorted(), read("r2", "c1", ">99.99"), *([shorted()] if after else [])]
    t = row(visit(*events, circuits=(circuit(),)), "c1", "r2")
    assert t.outcome == outcome
    assert ("continuity.open" in families(t)) is after
    assert ("a lead may have been off" in t.words) is not after


def test_leads_that_were_not_good_afterwards_void_the_reading() -> None:
    t = row(visit(read("r2", "c1", "0.25"), shorted("0.75"), circuits=(circuit(),)), "c1", "r2")
    assert t.outcome == "not decided"
    assert t.inside is None
    assert "proves nothing" in t.words


def test_one_finding_for_a_lead_set_and_not_one_for_each_reading() -> None:
    v = visit(*(read("r2", "c1", "0.25", point=f"p{i}") for i in range(5)), shorted("0.75"), circuits=(circuit(),))
    found = [f for f in judge(v).findings if f.family == "leads.suspect"]
    assert len(found) == 1
    assert "5 readings of circuits are concerned" in found[0].what


@pytest.mark.parametrize(
    ("r1r2", "r2", "found"),
    [
        ("0.40", "0.25", False),  # 0.25/0.15 = 1.67, by the table 12.1/7.41 = 1.63
        ("0.40", "0.10", True),
        ("0.40", "0.36", True),
    ],
)
def test_r2_over_r1_follows_the_sizes(r1r2: str, r2: str, found: bool) -> None:
    v = visit(read("r1r2", "c1", r1r2), read("r2", "c1", r2), circuits=(circuit(length_m=None),))
    assert ("continuity.ratio" in families(row(v, "c1", "r2"))) is found


@pytest.mark.parametrize(("r2", "found"), [(0.2412, False), (0.2410, True), (0.2729, False), (0.2732, True)])
def test_the_ratio_just_inside_and_just_outside(r2: float, found: bool) -> None:
    """R1+R2 0.4000: R2/R1 may lie from 1.63·0.93 to 1.63/0.93, so R2 from 0.24118 Ω; with 0.05 Ω of connections
    in the cpc to (0.4·1.75584 + 0.05)/2.75584 = 0.27300 Ω. Half a digit of both aside."""
    v = visit(read("r1r2", "c1", "0.4000"), read("r2", "c1", f"{r2:.4f}"), circuits=(circuit(length_m=None),))
    assert ("continuity.ratio" in families(row(v, "c1", "r2"))) is found


def test_a_point_nearer_to_the_board_has_its_own_band() -> None:
    c = circuit(points=(("hall", 8.0), ("attic", 20.0)))
    v = visit(read("r1r2", "c1", "0.16", point="hall"), read("r1r2", "c1", "0.40", point="attic"), circuits=(c,))
    hall, attic = (t.expected for t in rows(v, "c1", "r1r2"))
    assert hall is not None
    assert attic is not None
    assert hall.high < attic.low
    assert not any(t.findings for t in rows(v, "c1", "r1r2"))


def test_a_point_of_unknown_place_has_no_floor() -> None:
    c = circuit(points=(("hall", None), ("attic", None)))
    t = row(visit(read("r1r2", "c1", "0.05", point="hall"), circuits=(c,)), "c1", "r1r2")
    assert t.expected is not None
    assert t.expected.low == 0.0
    assert not t.findings


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"length_m": None, "length_tol_m": None}, "No band: length not entered."),
        ({"cpc_mm2": None}, "No band: size of the cpc not entered."),
        ({"cpc": "conduit"}, "No band: resistance of a cpc that is conduit not entered."),
    ],
)
def test_without_the_entries_there_is_no_band_and_it_says_which(more: dict[str, Any], said: str) -> None:
    t = one("r1r2", "0.40", **more)
    assert t.expected is None
    assert t.inside is None
    assert said in t.words


def test_a_length_without_tolerance_is_taken_within_a_tenth_and_said_so() -> None:
    t = one("r1r2", "0.40", length_tol_m=None)
    assert t.expected is not None
    assert any("a tenth taken" in text for text in t.assumed)


def test_a_value_worked_out_from_the_loop_proves_no_continuity() -> None:
    t = row(visit(read("r1r2", "c1", "0.40", method="calculated"), circuits=(circuit(),)), "c1", "r1r2")
    assert t.outcome == "not decided"
    assert "worked out from the loop" in t.words


def test_r1r2_of_a_ring_is_a_quarter_of_its_conductors() -> None:
    c = circuit(kind="ring", length_m=84.0, length_tol_m=4.0)
    t = row(visit(read("r1r2", "c1", "0.41"), circuits=(c,)), "c1", "r1r2")
    assert t.expected is not None
    assert t.expected.low == pytest.approx(80 / 4 * 0.01951 * 0.93, abs=5e-4)
    assert t.expected.high == pytest.approx(88 / 4 * 0.01951 + 0.05, abs=5e-4)


# ---- words ----


@pytest.mark.parametrize(
    ("test", "severity"),
    [("polarity", Severity.STOP), ("phase sequence", Severity.WARNING), ("functional", Severity.WARNING)],
)
def test_a_bad_outcome_fails_and_says_what_to_do(test: str, severity: Severity) -> None:
    t = row(visit(read(test, "c1", outcome="bad"), circuits=(circuit(),)), "c1", test)
    assert t.outcome == "fails"
    (f,) = t.findings
    assert f.severity is severity
    assert f.do


@pytest.mark.parametrize(
    ("before", "said"),
    [
        ((), "without a word on whether it was dead"),
        ((isolated("dead"),), "recorded dead"),
        ((isolated("restored"),), "recorded live"),
    ],
)
def test_a_word_is_recorded_with_its_state(before: tuple[Any, ...], said: str) -> None:
    t = row(visit(*before, read("polarity", "c1", outcome="good"), circuits=(circuit(),)), "c1", "polarity")
    assert t.outcome == "meets"
    assert said in t.words


def test_a_word_that_turned_good_without_a_repair_stands_as_bad() -> None:
    v = visit(read("polarity", "c1", outcome="bad"), read("polarity", "c1", outcome="good"), circuits=(circuit(),))
    t = row(v, "c1", "polarity")
    assert t.outcome == "fails"
    assert "Later good (r2), with nothing noted as put right, so it stands." in t.words


@pytest.mark.parametrize("absent", ["LIM", "N/A", "not tested"])
@pytest.mark.parametrize("test", ["polarity", "r1r2", "insulation", "ring r1"])
def test_why_there_is_no_reading_is_kept_apart(absent: str, test: str) -> None:
    entry = Reading(seq=0, id="", test=test, of="c1", absent=absent, note="meter cupboard locked")
    (t,) = rows(visit(entry, circuits=(circuit(),)), "c1", test)
    assert (t.absent, t.reason) == (absent, "meter cupboard locked")
    assert t.outcome == "not decided"
    assert absent in t.words


@pytest.mark.parametrize(("test", "good"), [("polarity", {"outcome": "good"}), ("r1r2", {"digits": "0.40"})])
def test_an_entry_that_could_not_be_read_leaves_the_row_not_decided(test: str, good: dict[str, Any]) -> None:
    spoilt = evolve(read(test, "c1"), refused=(Finding("step", "A comma is not guessed."),))
    for events in ((spoilt, read(test, "c1", **good)), (read(test, "c1", **good), spoilt), (spoilt,)):
        assert row(visit(*events, circuits=(circuit(),)), "c1", test).outcome == "not decided"


def test_the_origin_and_a_board_have_words_of_their_own() -> None:
    v = visit(read("polarity", "origin", outcome="good"), read("phase sequence", "db1", outcome="bad"))
    assert row(v, "origin", "polarity").outcome == "meets"
    assert row(v, "db1", "phase sequence").outcome == "fails"


def test_state_is_known_after_ends_were_taken_off() -> None:
    v = visit(off("c1:cpc"), read("r2", "c1", "0.25"), circuits=(circuit(),))
    t = row(v, "c1", "r2")
    assert t.state is not None
    assert t.state.off == {"c1:cpc"}
