"""Rings as rows of the schedule, and the tests that nothing is entered for."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from live_visit import B32, families, judge, read, row, rows, visit

from earthwright.assess import assess
from earthwright.assess.circuits.needs import needed
from earthwright.base.errors import Finding
from earthwright.outcomes.circuits import CircuitJudged
from earthwright.outcomes.verdict import NOT_DECIDED
from earthwright.site.events import LeadCheck, Reading
from earthwright.site.installation import Board, Circuit, Device
from earthwright.site.reading import Accuracy, Instrument
from earthwright.visitbook import read_text

RING = Circuit(
    "r",
    "db1",
    kind="ring",
    use="sockets",
    line_mm2=2.5,
    neutral_mm2=2.5,
    cpc_mm2=1.5,
    length_m=84.0,
    length_tol_m=4.0,
    points=tuple((f"s{i}", 10.0 * i) for i in range(1, 9)),
)


def ends(r1: str = "0.61", rn: str = "0.61", r2: str = "0.99") -> list[Reading]:
    return [read("ring r1", "r", r1), read("ring rn", "r", rn), read("ring r2", "r", r2)]


def profile(ln: str = "0.30", le: str = "0.40") -> list[Reading]:
    points = [p for p, _ in RING.points]
    return [
        *(read("ring ln", "r", ln, point=p) for p in points),
        *(read("ring le", "r", le, point=p) for p in points),
    ]


def circuit_of(*events: Any, ring: Circuit = RING) -> CircuitJudged:
    (judged,) = judge(visit(*events, circuits=(ring,), instrument=ROUGH)).boards[0].circuits
    return judged


SHORTED = LeadCheck(seq=0, leads="short", kind="shorted", shown=read("r2", "r", "0.00").shown)  # type: ignore[arg-type]
ROUGH = Instrument("exact", accuracy=(("continuity", Accuracy(3.0, 2.0, 0.01, 99.99)),))


@pytest.mark.parametrize(("rn", "outcome"), [("0.65", "meets"), ("0.66", "meets"), ("0.67", "fails")])
def test_r1_and_rn_agree_within_the_guidance_figure(rn: str, outcome: str) -> None:
    """0.05 Ω, guidance on ring final circuits: a difference of 0.04, 0.05 and 0.06 Ω."""
    t = row(visit(*ends(rn=rn), circuits=(RING,)), "r", "ring rn")
    assert t.outcome == outcome
    (j,) = t.judged
    assert j.limit is not None
    assert j.limit.value == 0.05
    assert "guidance" in j.limit.clause


def test_r1_stands_for_its_length() -> None:
    t = row(visit(*ends(), circuits=(RING,)), "r", "ring r1")
    assert t.expected is not None
    assert t.expected.low == pytest.approx(80 * 0.00741 * 0.93, abs=5e-4)
    assert t.expected.high == pytest.approx(88 * 0.00741, abs=5e-4)
    assert t.inside is True


def test_a_sound_ring_is_proved_and_raises_no_alarm() -> None:
    c = circuit_of(*ends(), *profile(), SHORTED)
    assert c.ring is not None
    assert (c.ring.verdict, c.ring.named) == ("proved", "whole")
    assert not c.ring.findings
    assert all(t.inside for t in c.tests if t.test in ("ring ln", "ring le"))
    assert "is not told from a whole ring" in c.ring.words
    assert not any(f.severity.rank <= 2 for t in c.tests for f in t.findings)


@pytest.mark.parametrize(("ln", "inside"), [("0.27", False), ("0.28", True), ("0.34", True), ("0.35", False)])
def test_a_socket_below_or_above_its_band_is_said_to_be_so(ln: str, inside: bool) -> None:
    """(0.61 + 0.61)/4 = 0.305 and half the contact is 0.310 Ω; u² of the ends/4 twice, of the display and of contact: ± 0.028; whole digits."""
    t = row(visit(*ends(), read("ring ln", "r", ln, point="s4"), circuits=(RING,), instrument=ROUGH), "r", "ring ln")
    assert t.inside is inside
    assert ("Not consistent" in t.words) is not inside


def test_without_a_profile_it_is_not_shown_and_the_profile_is_missing() -> None:
    c = circuit_of(*ends())
    assert c.ring is not None
    assert c.ring.verdict == "not shown"
    assert "line to neutral and line to cpc crossed, at every socket" in c.ring.words
    assert [t.test for t in c.tests if t.absent == "missing"][:2] == ["ring ln", "ring le"]


def test_the_usual_record_of_a_ring_is_consistent_and_lacks_nothing() -> None:
    """r1, rn, r2 and the highest R1+R2: what every schedule has. (0.61 + 1.01)/4 = 0.405 Ω."""
    c = circuit_of(*ends(), read("r1r2", "r", "0.41"))
    assert c.ring is not None
    assert (c.ring.verdict, c.ring.named, c.ring.suspect) == ("not shown", "consistent, profile not read", "")
    assert not {"ring ln", "ring le"} & {t.test for t in c.tests if t.absent == "missing"}
    assert [f.family for f in c.ring.findings] == ["ring.not_read"]


@pytest.mark.parametrize(("r1r2", "found"), [("0.77", False), ("0.85", True), ("1.62", True)])
def test_r1r2_of_a_ring_is_held_against_its_own_ends(r1r2: str, found: bool) -> None:
    """0.655 and 1.046 Ω at the edge give 0.425 Ω; 16 m of spur add 0.312, contacts 0.02: 0.757 Ω; 0.85 is 0.80 at least. 1.62 is r1 + r2."""
    c = circuit_of(*ends(), read("r1r2", "r", r1r2), ring=evolve(RING, length_m=None, length_tol_m=None))
    row = next(t for t in c.tests if t.test == "r1r2")
    assert ("ring.quarter" in {f.family for f in row.findings}) is found
    assert row.inside is not found


def test_a_ring_whose_ends_disagree_is_no_usual_record() -> None:
    c = circuit_of(*ends(rn="0.85"), read("r1r2", "r", "0.41"))
    assert c.ring is not None
    assert c.ring.suspect


def test_a_ring_without_sizes_is_not_weighed_and_its_readings_are_kept() -> None:
    c = circuit_of(*ends(), *profile(), ring=evolve(RING, line_mm2=None, cpc_mm2=None))
    assert c.ring is None
    assert len([t for t in c.tests if t.test == "ring ln"]) == 8


def test_an_assumed_cpc_is_said_to_be_assumed() -> None:
    c = circuit_of(*ends(), *profile(), ring=evolve(RING, cpc_mm2=None))
    assert c.ring is not None
    assert "size of the cpc not known" in c.ring.sums[-1]


def test_a_smaller_cpc_than_entered_shows_in_the_ratio() -> None:
    c = circuit_of(*ends(r2="1.50"), *profile(le="0.52"))
    assert c.ring is not None
    assert "ring.ratio" in {f.family for f in c.ring.findings}


@pytest.mark.parametrize(("r2", "found"), [("1.20", False), ("1.21", True), ("0.82", False), ("0.81", True)])
def test_the_ratio_within_and_beyond_the_limits_of_error(r2: str, found: bool) -> None:
    """r1 0.61 is 0.568 to 0.655 Ω; with 12.1/7.41 and 7 % of make r2 shows 0.812 to 1.209 Ω at the most."""
    c = circuit_of(*ends(r2=r2))
    assert c.ring is not None
    assert ("ring.ratio" in {f.family for f in c.ring.findings}) is found


@pytest.mark.parametrize("after", [True, False])
def test_an_open_end_fails_only_with_leads_that_are_good_afterwards(after: bool) -> None:
    events = [*ends(r2=">99.99"), *([SHORTED] if after else [])]
    t = row(visit(*events, circuits=(RING,), instrument=ROUGH), "r", "ring r2")
    assert t.outcome == ("fails" if after else "not decided")


@pytest.mark.parametrize("test", ["ring r2", "ring ln"])
def test_an_entry_that_could_not_be_read_leaves_the_ring_not_shown(test: str) -> None:
    point = "s3" if test == "ring ln" else ""
    spoilt = evolve(read(test, "r", point=point), refused=(Finding("step", "A comma is not guessed."),))
    c = circuit_of(*ends(), *profile(), spoilt)
    assert c.ring is not None
    assert (c.ring.verdict, c.ring.named) == ("not shown", "")
    assert "could not be read" in c.ring.words
    (t,) = (t for t in c.tests if t.test == test and t.point == point)
    assert t.outcome == "not decided"


def opened(ring_id: str) -> list[Reading]:
    over = [read(test, ring_id, ">99.99") for test in ("ring r1", "ring rn", "ring r2")]
    for test in ("ring ln", "ring le"):
        over += [read(test, ring_id, ">99.99", point=point) for point, _ in RING.points]
    return over


@pytest.mark.parametrize(
    ("second", "named"),
    [(True, "cross-linked rings"), (False, "break in every conductor or cross-linked rings")],
)
def test_a_ring_open_everywhere_is_linked_when_another_mirrors_it(second: bool, named: str) -> None:
    other = evolve(RING, id="q")
    readings = [*opened("r"), *(opened("q") if second else []), SHORTED]
    judged = judge(visit(*readings, circuits=(RING, other), instrument=ROUGH))
    found = {c.circuit.id: c for c in judged.boards[0].circuits}
    ring = found["r"].ring
    assert ring is not None
    assert (ring.verdict, ring.named) == ("disproved", named)
    said = {f.family for f in judged.findings}
    assert ("ring.linked" in said) is second
    assert ("ring.break" in said) is not second
    assert ("q on the same board reads the same" in found["r"].words) is second


def test_sockets_named_only_by_a_reading_stand_after_those_entered() -> None:
    extra = [read("ring ln", "r", "0.30", point="loft"), read("ring le", "r", "0.40", point="loft")]
    c = circuit_of(*ends(), *profile(), *extra, SHORTED)
    assert c.ring is not None
    assert [s.point for s in c.ring.sockets][-1] == "loft"
    assert c.ring.verdict == "proved"


# ---- what is missing ----


def missing(circuit: Circuit, *events: Any, kind: str = "periodic", **more: Any) -> list[str]:
    v = evolve(visit(*events, circuits=(circuit,), **more), kind=kind)
    (judged,) = judge(v).boards[0].circuits
    return [t.test for t in judged.tests if t.absent == "missing"]


def test_a_final_circuit_with_nothing_entered() -> None:
    assert missing(Circuit("c1", "db1", device=B32)) == ["r1r2", "insulation", "polarity", "zs"]


def test_r2_stands_for_r1r2() -> None:
    assert "r1r2" not in missing(Circuit("c1", "db1"), read("r2", "c1", "0.25"))


@pytest.mark.parametrize("absent", ["LIM", "N/A", "not tested"])
def test_a_stated_reason_is_not_missing(absent: str) -> None:
    entry = Reading(seq=0, id="", test="polarity", of="c1", absent=absent, note="locked")
    assert "polarity" not in missing(Circuit("c1", "db1"), entry)


def test_a_ring_needs_three_ends_and_two_profiles() -> None:
    assert missing(RING)[:5] == ["ring r1", "ring rn", "ring r2", "ring ln", "ring le"]
    assert "r1r2" not in missing(RING)


def test_devices_and_phases_ask_for_their_own_tests() -> None:
    rcbo = Device("BS EN 61009", "B", 32.0, 6.0, rcd_type="A", rcd_ma=30.0)
    assert missing(Circuit("c1", "db1", device=rcbo))[-2:] == ["rcd", "rcd button"]
    three = Circuit("c1", "db1", phases=3)
    assert "phase sequence" in missing(three, boards=(Board("db1", phases=3),))


def test_a_circuit_without_a_cpc_and_one_that_feeds_a_board() -> None:
    assert missing(Circuit("c1", "db1", cpc="none")) == ["insulation", "polarity"]
    feeder = Circuit("c1", "db1")
    v = visit(circuits=(feeder,), boards=(Board("db1"), Board("db2", fed_by="c1")))
    assert ("zs",) not in {n.tests for n in needed(v, feeder)}


@pytest.mark.parametrize(("kind", "count"), [("initial", 4), ("periodic", 4), ("minor works", 4), ("bonding", 0)])
def test_only_visits_that_test_circuits_miss_tests(kind: str, count: int) -> None:
    assert len(missing(Circuit("c1", "db1"), kind=kind)) == count


def test_missing_tests_are_named_once_for_a_circuit() -> None:
    judged = judge(visit(circuits=(Circuit("c1", "db1"),)))
    (f,) = (f for f in judged.findings if f.family == "tests.missing")
    assert f.what == "Missing: R1+R2 or R2, insulation, polarity and Zs."


def test_a_circuit_of_a_board_that_is_not_entered_is_judged_and_said() -> None:
    judged = judge(visit(read("polarity", "c9", outcome="good"), circuits=(Circuit("c9", "db9"),), boards=()))
    assert [b.board.id for b in judged.boards] == ["db9"]
    assert "circuits.board" in {f.family for f in judged.findings}
    assert judged.boards[0].circuits[0].tests[0].outcome in ("meets", "not decided")


def test_rows_stand_in_the_order_of_the_schedule() -> None:
    c = Circuit("c1", "db1", device=B32)
    v = visit(
        read("zs", "c1", "0.80", method="two-lead"),
        read("polarity", "c1", outcome="good"),
        read("r1r2", "c1", "0.40"),
        circuits=(c,),
    )
    (judged,) = judge(v).boards[0].circuits
    order = [t.test for t in judged.tests]
    assert order.index("r1r2") < order.index("insulation") < order.index("polarity") < order.index("zs")
    assert families(rows(v, "c1", "r1r2")[0]) == set()


def test_what_was_read_of_a_ring_and_does_not_count_says_why_and_is_not_called_unread() -> None:
    """It said *r1 not read* and *the reading does not count*, without the cause and with nothing to do about it."""
    text = (Path(__file__).parents[1] / "visits" / "09-ring-bridge.toml").read_text(encoding="utf-8")
    text = re.sub(r'\[\[step\]\]\ncheck = "shorted"\n(?:.*=.*\n)*', "", text)
    visit = read_text(text + '\n[[step]]\ncheck = "shorted"\nshown = 0.40\n').visit
    assert visit is not None
    ring = next(c for b in assess(visit).boards for c in b.circuits if c.ring is not None)
    assert ring.ring is not None
    cause = "The shorted leads showed 0.40 Ω afterwards"
    for t in ring.tests:
        if t.test.startswith("ring"):
            assert (t.outcome, cause in t.reason) == (NOT_DECIDED, True)
    assert "r1 does not count, rn does not count, r2 does not count" in ring.ring.words
    assert ring.ring.words.count(cause) == 1
    assert "not read" not in ring.ring.words
    assert "read again what does not count" in ring.ring.words
