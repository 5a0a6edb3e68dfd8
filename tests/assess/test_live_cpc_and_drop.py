"""The protective conductor in a fault, and voltage drop."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from attrs import evolve
from live_visit import B32, families, off, read, row, rows, visit

from earthwright.site.installation import Board, Circuit, Device, Supply

FLAT = Circuit("c1", "db1", use="sockets", device=B32, line_mm2=2.5, cpc_mm2=1.5)
FUSE = Device("BS 3036", "", 30.0)


def cpc(zs: str, *before, **changes):
    return row(visit(*before, read("zs", "c1", zs), circuits=(evolve(FLAT, **changes),)), "c1", "adiabatic")


def test_a_breaker_that_opens_at_once_has_a_tenth_of_a_second() -> None:
    # 230 V / 0.50 Ω = 460 A, 0.1 s, k 115: 1.26 mm² as printed
    found = cpc("0.50")
    assert found.value is not None
    assert found.value.value == pytest.approx(1.26, abs=0.005)
    assert found.outcome == "meets"


def test_the_longest_time_of_a_breaker_does_not_prove_a_conductor_too_small() -> None:
    small = cpc("0.50", cpc_mm2=1.0)
    assert small.outcome == "not decided"
    assert "must stay under 13225 A²s" in small.words
    fuse = cpc("0.98", device=evolve(FUSE, curve=((87.0, 5.0), (200.0, 0.4), (350.0, 0.1))), cpc_mm2=1.0)
    assert fuse.outcome == "fails"
    assert "adiabatic.cpc" in families(fuse)


def test_below_its_operating_current_a_breakers_time_is_not_guessed() -> None:
    found = cpc("1.50")
    assert found.outcome == "not decided"
    assert "maker's curve" in found.words


def test_a_fuse_takes_published_points_and_refuses_beyond_them() -> None:
    # 145 A for 1 s and 210 A for 0.4 s are the points; 230/1.20 = 192 A cold
    found = cpc("1.20", device=FUSE, conductor_c=20.0, cable="70 °C thermoplastic")
    t = 1.0 * (0.4 / 1.0) ** (math.log(191.667 / 145) / math.log(210.096 / 145))
    assert found.value is not None
    assert found.value.value == pytest.approx(191.667 * math.sqrt(t) / 115, rel=0.002)
    beyond = cpc("0.30", device=FUSE)
    # 767 A is beyond the last point, 450 A and 0.1 s: no more than 767·√0.1/115 = 2.11 mm² is needed
    assert beyond.outcome == "not decided"
    assert "let-through energy" in beyond.words
    assert cpc("0.30", device=FUSE, cpc_mm2=2.5).outcome == "meets"
    slow = cpc("4.00", device=FUSE)
    assert slow.outcome == "not decided"
    assert "no time can be read" in slow.words


def test_what_the_points_condemn_stays_condemned_beyond_them() -> None:
    # Ze 0.02: 230/0.60 = 383 A cold, beyond 350 A; warm 230/0.716 = 321 A, inside: 321·√0.124/115 = 0.98 mm²
    curve = ((87.0, 5.0), (200.0, 0.4), (350.0, 0.1))
    device = evolve(FUSE, curve=curve)
    near = (off("earthing"), read("ze", "origin", "0.02"))
    condemned = cpc("0.60", *near, device=device, cpc_mm2=0.9)
    assert condemned.outcome == "fails"
    assert condemned.value is not None
    assert condemned.value.value == pytest.approx(0.98, abs=0.005)
    # 383·√0.1/115 = 1.054 mm² at most
    assert cpc("0.60", *near, device=device, cpc_mm2=1.0).outcome == "not decided"
    assert cpc("0.60", *near, device=device, cpc_mm2=1.1).outcome == "meets"


def test_hot_and_cold_are_both_tried() -> None:
    curve = ((87.0, 5.0), (200.0, 0.4), (350.0, 0.1))
    fuse = cpc("0.98", device=evolve(FUSE, curve=curve), cpc_mm2=1.0)
    assert "lower current is the worse one" in fuse.words
    breaker = cpc("0.98")
    assert "lower current" not in breaker.words


def test_k_follows_the_kind_of_protective_conductor() -> None:
    def k(**changes) -> str:
        return next(s for s in cpc("0.50", **changes).sums if s.startswith("k ="))

    assert k().startswith("k = 115 ")
    assert k(cpc="separate").startswith("k = 143 ")
    assert k(conductor_c=90.0, cable="90 °C thermosetting, two-core").startswith("k = 143 ")
    assert k(conductor_c=90.0, cable="90 °C thermoplastic").startswith("k = 100 ")
    assert k(cpc="armour", cpc_mm2=20.0).startswith("k = 51 ")
    assert "from memory" in k(material="aluminium")
    assert k(cpc="conduit", cpc_mm2=60.0).startswith("k = 47 ")
    assert k(cpc="conduit", cpc_mm2=60.0, cable="90 °C thermosetting, two-core").startswith("k = 44 ")
    assert cpc("0.50", conductor_c=60.0).outcome == "no rule"


def test_a_protective_conductor_without_a_size_is_not_decided_and_one_that_is_not_there_has_no_row() -> None:
    unknown = cpc("0.50", cpc="conduit", cpc_mm2=None)
    assert unknown.outcome == "not decided"
    assert "size of the protective conductor is not entered" in unknown.words
    conduit = cpc("0.50", cpc="conduit", cpc_mm2=60.0)
    assert conduit.outcome == "meets"
    v = visit(read("zs", "c1", "0.50"), circuits=(evolve(FLAT, cpc="none", cpc_mm2=None),))
    assert rows(v, "c1", "adiabatic") == []
    v = visit(read("zs", "c1", "0.50"), circuits=(evolve(FLAT, device=Device()),))
    assert rows(v, "c1", "adiabatic") == []


def test_a_loop_known_as_a_highest_value_acquits_no_conductor() -> None:
    """A breaker lets through more at a lower loop."""
    v = visit(read("r1r2", "c1", "0.30"), circuits=(FLAT,), supply=Supply("TN-S", ze_ohm=0.35))
    assert row(v, "c1", "adiabatic").outcome == "not decided"
    assert row(v, "c1", "disconnection").outcome == "meets"
    near = (off("earthing"), read("ze", "origin", "0.35"))
    known = visit(*near, read("r1r2", "c1", "0.30"), circuits=(FLAT,))
    assert row(known, "c1", "adiabatic").outcome == "meets"


def test_the_end_at_the_board_is_covered_by_the_makers_energy_or_said_not_to_be() -> None:
    near = (off("earthing"), read("ze", "origin", "0.20"))
    open_ = cpc("0.50", *near)
    assert open_.outcome == "meets"
    assert "not covered without the maker's let-through energy, which must stay under 29756 A²s" in open_.words
    low = cpc("0.50", *near, device=evolve(B32, let_through_a2s=12000.0))
    assert low.outcome == "meets"
    assert len(low.judged) == 2
    high = cpc("0.50", *near, device=evolve(B32, let_through_a2s=45000.0))
    assert high.outcome == "fails"
    unknown = cpc(
        "0.60", off("earthing"), read("ze", "origin", "0.50"), device=Device("BS 88-3", "", 32.0), cpc_mm2=6.0
    )
    assert unknown.outcome == "meets"
    assert "not covered" in unknown.words
    weak = cpc("0.60", off("earthing"), read("ze", "origin", "0.50"))
    assert "which the conductor bears for 0.1 s" in weak.words


def test_on_a_ring_without_spurs_a_narrow_failure_is_not_decided() -> None:
    fuse = evolve(FUSE, curve=((87.0, 5.0), (200.0, 0.4), (350.0, 0.1)))
    ring = cpc("0.98", kind="ring", cpc_mm2=1.0, device=fuse)
    assert ring.outcome == "not decided"
    spur = cpc("0.98", kind="ring", cpc_mm2=1.0, spurs=1, device=fuse)
    assert spur.outcome == "fails"
    thin = cpc("0.98", kind="ring", cpc_mm2=0.5, device=fuse)
    assert thin.outcome == "fails"


@pytest.mark.parametrize("device", [Device("BS 9999", "", 32.0), Device("BS EN 60898", "B"), Device("", "", 32.0)])
def test_a_device_without_a_known_time_decides_nothing(device: Device) -> None:
    assert cpc("0.50", device=device).outcome == "not decided"


def test_without_an_edition_there_is_no_rule() -> None:
    v = visit(read("zs", "c1", "0.50"), circuits=(FLAT,), date=dt.date(1999, 1, 1))
    assert row(v, "c1", "adiabatic").outcome == "no rule"


def drop(**changes):
    c = evolve(FLAT, length_m=30.0, length_tol_m=0.0, design_a=20.0, cable="70 °C thermoplastic, two-core", **changes)
    return row(visit(circuits=(c,)), "c1", "voltage drop")


def test_drop_from_the_table_and_from_the_conductor_itself() -> None:
    # 18 mV/(A·m) × 20 A × 30 m = 10.8 V = 4.70 %
    found = drop()
    assert found.value is not None
    assert found.value.value == pytest.approx(4.696, abs=0.0005)
    assert found.outcome == "meets"
    assert "from memory" in " ".join(found.sums)
    lighting = drop(use="lighting")
    assert lighting.outcome == "fails"
    assert "drop.limit" in families(lighting)
    own = row(visit(circuits=(evolve(FLAT, length_m=30.0, length_tol_m=0.0, design_a=20.0),)), "c1", "voltage drop")
    assert own.value is not None
    # 2 × 7.41 × 1.2 = 17.8 mV/(A·m); real cable from 93 % of it
    assert own.value.interval(0.5).high < 2 * 7.41e-3 * 1.2 * 20 * 30 / 230 * 100 + 0.01


def test_the_tolerance_of_the_length_is_in_the_drop() -> None:
    found = row(
        visit(
            circuits=(
                evolve(FLAT, length_m=30.0, length_tol_m=3.0, design_a=20.0, cable="70 °C thermoplastic, two-core"),
            )
        ),
        "c1",
        "voltage drop",
    )
    assert found.value is not None
    # 18 mV × 20 A × (30 ± 3) m
    assert found.value.value == pytest.approx(4.696, abs=0.0005)
    assert found.value.u == pytest.approx(18e-3 * 20 * 3 / 230 * 100 / math.sqrt(3), rel=1e-6)


def test_drop_without_a_design_current_is_not_called_a_failure() -> None:
    c = evolve(FLAT, length_m=40.0, length_tol_m=0.0, cable="70 °C thermoplastic, two-core")
    found = row(visit(circuits=(c,)), "c1", "voltage drop")
    assert found.outcome == "not decided"
    assert "rating is taken" in found.words


def test_power_factor_and_three_phases_enter() -> None:
    big = {"line_mm2": 95.0, "cable": "70 °C thermoplastic, three- or four-core", "phases": 3, "power_factor": 0.8}
    c = evolve(FLAT, length_m=100.0, length_tol_m=0.0, design_a=150.0, **big)
    found = row(visit(circuits=(c,)), "c1", "voltage drop")
    assert found.value is not None
    mv = 0.41 * 0.8 + 0.135 * 0.6
    assert found.value.value == pytest.approx(mv * 150 * 100 / 1000 / (230 * math.sqrt(3)) * 100, rel=1e-6)


def test_a_ring_drops_as_a_quarter_of_its_length() -> None:
    ring = drop(kind="ring")
    assert ring.value is not None
    assert ring.value.value == pytest.approx(4.696 / 4, abs=0.0005)


def test_the_feeder_counts_and_an_unknown_one_decides_nothing() -> None:
    feeder = Circuit("f1", "db1", use="distribution", device=B32, line_mm2=16.0, design_a=60.0)
    boards = (Board("db1"), Board("db2", fed_by="f1"))
    c = evolve(FLAT, board="db2", length_m=20.0, length_tol_m=0.0, design_a=20.0, cable="70 °C thermoplastic, two-core")
    unknown = row(visit(boards=boards, circuits=(feeder, c)), "c1", "voltage drop")
    assert unknown.outcome == "not decided"
    assert "f1" in unknown.words
    known = evolve(feeder, length_m=25.0, length_tol_m=0.0, cable="70 °C thermoplastic, two-core")
    both = row(visit(boards=boards, circuits=(known, c)), "c1", "voltage drop")
    assert both.value is not None
    # 18 × 20 × 20 and 2.8 × 60 × 25 in mV
    assert both.value.value == pytest.approx((7.2 + 4.2) / 230 * 100, abs=0.0005)
    assert both.outcome == "meets"


def test_reduced_neutrals_and_parallel_cables_are_said_not_to_be_covered() -> None:
    assert any("reduced neutrals and cables in parallel are not covered" in a for a in drop().assumed)
    reduced = evolve(FLAT, length_m=30.0, design_a=20.0, neutral_mm2=1.5)
    found = row(visit(circuits=(reduced,)), "c1", "voltage drop")
    assert found.outcome == "no rule"
    assert "reduced neutrals" in found.words
    whole = evolve(FLAT, length_m=30.0, design_a=20.0, neutral_mm2=2.5)
    assert row(visit(circuits=(whole,)), "c1", "voltage drop").value is not None
