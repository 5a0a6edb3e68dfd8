"""Visits with their readings arriving one at a time: verdict, findings and next step after each, as an expert would have them.

00 to 17 are scenarios of the trade; 20 to 24 are sound and boring and must stay silent; 25 to 29 hold two faults at once.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.assess.precautions import before
from earthwright.base.errors import Severity
from earthwright.gates.shut import CLAMP, DANGER
from earthwright.gates.steps import can_close, closed
from earthwright.outcomes.assessment import Assessment, BondJudged
from earthwright.site.events import Isolation, Off
from earthwright.visitbook import read_text

HERE = Path(__file__).parent
SOUND = ("00-control", "20-plain", "21-steel", "22-long-six", "23-subtracted", "24-ragged-board")


@cache
def steps(name: str) -> list[Assessment]:
    """What is said after each step, from none on."""
    parts = (HERE / f"{name}.toml").read_text(encoding="utf-8").split("[[step]]")
    found = []
    for count in range(len(parts)):
        book = read_text("[[step]]".join(parts[: count + 1]))
        assert book.visit is not None
        assert book.findings == ()
        found.append(assess(book.visit))
    return found


def families(a: Assessment, least: Severity = Severity.WARNING) -> set[str]:
    return {f.family for f in a.findings if f.severity.rank <= least.rank}


def named(a: Assessment, bond: str) -> BondJudged:
    return next(b for b in a.bonds if b.bond.id == bond)


def after(name: str, what: str, count: int = 1) -> Assessment:
    """What is said after the step in which that line stands for the ``count``-th time."""
    parts = (HERE / f"{name}.toml").read_text(encoding="utf-8").split("[[step]]")
    for number, part in enumerate(parts):
        if what in part:
            count -= 1
            if not count:
                book = read_text("[[step]]".join(parts[: number + 1]))
                assert book.visit is not None
                return assess(book.visit)
    raise LookupError(what)


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_visit_stays_silent_at_every_step(name: str) -> None:
    for a in steps(name):
        # While an end is off the list of what must go back names it; a first reading may be lower than copper.
        assert families(a) <= {"ledger.off"}
        assert a.alarms == ()
    last = steps(name)[-1]
    assert families(last) == set()
    assert all(b.verdict == "proved" and b.next is None for b in last.bonds)
    assert can_close(last.visit).may_close


@pytest.mark.parametrize("name", SOUND[:5])
def test_a_sound_bond_is_never_disproved_on_the_way(name: str) -> None:
    for a in steps(name):
        assert all(b.verdict in ("proved", "not shown") for b in a.bonds)


def test_01_each_step_leads_to_the_next() -> None:
    first = after("01-masked", 'read = "together"')
    assert "path.below_copper" in families(first)
    assert "clamp meter" in named(first, "water").next.do  # type: ignore[union-attr]
    clamped = after("01-masked", 'clamp = "water"')
    assert "Isolate, lock off and prove dead" in named(clamped, "water").next.do  # type: ignore[union-attr]
    dead = after("01-masked", 'isolated = "dead"')
    assert "Put the clamp meter round the bond again" in named(dead, "water").next.do  # type: ignore[union-attr]
    assert "take the MET end off" in named(dead, "water").next.do  # type: ignore[union-attr]
    alone = after("01-masked", 'read = "conductor"')
    assert named(alone, "water").verdict == "not shown"  # until the leads are shorted
    assert named(alone, "water").next.do.startswith("Short the tips of")  # type: ignore[union-attr]
    assert named(steps("01-masked")[-1], "water").verdict == "proved"
    assert "path.below_copper" not in families(alone)
    assert families(after("01-masked", 'read = "path"')) == {"ledger.off"}


def test_02_the_break_is_found_and_the_reading_with_all_connected_verifies_nothing() -> None:
    for a in steps("02-flattered")[:3]:
        assert named(a, "water").verdict == "not shown"
    last = steps("02-flattered")[-1]
    assert (named(last, "water").verdict, named(last, "water").named) == ("disproved", "open")
    assert not can_close(last.visit).may_close  # together is no lower than the path alone
    assert "sum.parallel" not in families(last)


def test_02_the_neighbour_waits_until_the_first_is_back() -> None:
    off = after("02-flattered", 'off = "water"')
    assert "water is off already" in named(off, "gas").next.do  # type: ignore[union-attr]
    back = after("02-flattered", 'on = "water"')
    assert "take the MET end off" in named(back, "gas").next.do  # type: ignore[union-attr]


def test_03_the_copper_is_cleared_before_the_joint_is_blamed() -> None:
    body = after("03-paint", 'read = "clamp body"')
    assert families(body) == {"ledger.off"}
    pipe = after("03-paint", 'read = "conductor"')
    assert named(pipe, "gas").evidence.held_by_leads  # leads come to as much; the check at the end tells
    assert "joint.unsteady" in families(pipe)
    last = steps("03-paint")[-1]
    assert named(last, "gas").verdict == "disproved"
    assert {"joint.poor", "joint.unsteady"} <= families(last)
    assert families(last) <= {"joint.poor", "joint.unsteady"}


def test_05_two_bonds_are_enough_to_ask_about_the_null() -> None:
    assert "leads.offset" not in families(after("05-null", 'read = "conductor"', 1))
    two = after("05-null", 'read = "conductor"', 2)
    assert "leads.offset" in families(two)
    three = after("05-null", 'read = "conductor"', 3)
    offset = next(f for f in three.findings if f.family == "leads.offset")
    assert "0.75 Ω" in offset.because
    assert "1 in" in offset.because
    assert not {"copper.floor", "rows.factor", "rows.swapped"} & families(three)


def test_15_below_resolution_is_no_alarm_at_any_step() -> None:
    for a in steps("15-below-resolution"):
        assert families(a) <= {"ledger.off"}


def test_17_nothing_is_opened_once_the_current_stays() -> None:
    said = steps("17-neighbours")
    assert all(b.verdict == "not shown" for a in said for b in a.bonds)
    first = after("17-neighbours", 'clamp = "gas"')
    assert named(first, "gas").next is not None
    assert "Do not open this bond" in named(first, "gas").next.do  # type: ignore[union-attr]
    last = said[-1]
    assert any(alarm.blocks for alarm in last.alarms)
    for b in last.bonds:
        assert b.next is not None
        assert b.next.blocked
        assert "in parallel" in b.next.do
        assert "distributor" in b.next.do
    shut = {g.name: g for g in closed(before(last.visit, Off(seq=99, what="gas")))}
    assert set(shut) == {CLAMP, DANGER}
    assert "9.1 A" in shut[CLAMP].why
    assert "run the new conductor first" in shut[CLAMP].instead
    assert can_close(last.visit).may_close  # nothing was ever taken off
    assert families(last) == set()


def test_25_the_null_hides_the_paint_until_it_is_put_right() -> None:
    arriving = after("25-null-and-paint", 'read = "joint"')
    assert {"leads.offset", "joint.unsteady", "joint.poor"} <= families(arriving)
    last = steps("25-null-and-paint")[-1]
    assert {"leads.offset", "leads.suspect"} <= families(last)
    assert "joint.poor" not in families(last)  # that series proves nothing, the joint among it
    assert all(b.verdict == "not shown" for b in last.bonds)
    assert all("whole series again" in b.next.do for b in last.bonds if b.next)


def test_26_a_bond_can_be_disproved_without_opening_anything() -> None:
    last = steps("26-cut-and-current")[-1]
    water, gas = named(last, "water"), named(last, "gas")
    assert water.verdict == "disproved"
    assert gas.verdict == "not shown"
    assert last.alarms
    for b in (water, gas):
        assert b.next is not None
        assert b.next.do.startswith("Leave every connection as it is.")
    assert DANGER in {g.name for g in closed(before(last.visit, Off(seq=99, what="water")))}


def test_27_two_rows_exchanged_and_a_third_with_its_point_moved() -> None:
    last = steps("27-swapped-and-point")[-1]
    swapped = [f for f in last.findings if f.family == "rows.swapped"]
    assert [f.where for f in swapped] == ["c2 and c3, r1r2"]
    moved = [f for f in last.findings if f.family == "rows.factor"]
    assert [f.entry for f in moved] == ["c5"]
    assert "a tenth of" in moved[0].what
    second = after("27-swapped-and-point", 'of = "c2"')
    assert "rows.swapped" not in families(second)  # one odd row alone is exchanged with nothing


def test_28_energised_with_a_bond_off_and_a_check_that_had_run_out() -> None:
    last = steps("28-live-and-lapsed")[-1]
    assert {"ledger.live", "instrument.period"} <= families(last)
    # It is danger until it is back and was found in its place; then it is what happened.
    assert [f.severity for f in last.findings if f.family == "ledger.live"] == [Severity.WARNING] * 2
    unseen = after("28-live-and-lapsed", 'on = "water"')
    assert [f.severity for f in unseen.findings if f.family == "ledger.live"] == [Severity.STOP] * 2
    still = after("28-live-and-lapsed", 'read = "r1r2"')
    restore = closed(before(still.visit, Isolation(seq=99, stage="restored")))
    assert [g.name for g in restore] == ["all back"]


def test_29_a_column_worked_out_and_a_time_carried_down() -> None:
    last = steps("29-worked-out")[-1]
    assert {"rows.calculated", "rows.run"} <= families(last)
    calculated = next(f for f in last.findings if f.family == "rows.calculated")
    assert "On 9 of 9 circuits" in calculated.what
    assert calculated.because.startswith("Working one out from the other is allowed in places")
    early = after("29-worked-out", 'read = "rcd"', 3)
    assert not {"rows.calculated", "rows.run"} & families(early)


def test_the_walk_in_the_docs_quotes_what_is_said() -> None:
    walk = " ".join((HERE.parents[1] / "docs" / "walk.md").read_text(encoding="utf-8").split())
    together, path, last = (named(steps("02-flattered")[n], "water").words for n in (4, 7, 10))
    for words, figure in ((together, "about 12 times"), (path, "about 130 times"), (last, "about 1 300")):
        assert figure in words
        assert figure in walk
    for n, bond in ((0, "water"), (5, "water"), (6, "water"), (6, "gas"), (9, "water")):
        said = named(steps("02-flattered")[n], bond).next
        assert said is not None
        assert said.do.split(";")[0].split("…")[0].split(",")[0] in walk
