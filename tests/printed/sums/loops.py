"""Loops, disconnection times, fault current, rings, insulation, residual current devices, the lost neutral."""

from __future__ import annotations

import trade_sums

from earthwright.physics import conductor, insulation, loop, ring, supply
from earthwright.rules import circuits, devices

from .common import Inputs, Route, Rules, looked_up

BREAKER = "BS EN 60898-1"


@looked_up
def _breaker_table(i: Inputs, rules: Rules) -> float:
    found = devices.max_zs(rules.edition, BREAKER, i["type"], i["in_A"], 0.4, i["u0_V"])
    assert found.rests_on[0].number("c_min") == devices.c_min(rules.edition).value
    return found.value


def _breaker_sum(i: Inputs, rules: Rules) -> float:
    current = devices.operating_current(rules.edition, BREAKER, i["type"], i["in_A"], 0.4)
    return loop.zs_limit_ohm(i["u0_V"], current.value, i["cmin"])


@looked_up
def _fuse(i: Inputs, rules: Rules) -> float:
    return devices.max_zs(rules.edition, i["device"], "", i["in_A"], i["time_s"]).value


def _cold(i: Inputs, rules: Rules) -> float:
    return loop.cold_limit_ohm(i["zs_tab_ohm"], float(circuits.zs_cold_factor(rules.edition).value))


def _cold_international(i: Inputs, rules: Rules) -> float:
    factor = float(circuits.loop_factor(rules.edition, "cold, international").value)
    return loop.cold_limit_ohm(loop.zs_limit_ohm(i["u0_V"], i["ia_A"], 1.0), factor)


@looked_up
def _final(i: Inputs, rules: Rules) -> float:
    return float(circuits.disconnection_time(rules.edition, system=i["system"], u0_v=i["u0_V"], ac=i["ac"]).value)


@looked_up
def _distribution(i: Inputs, rules: Rules) -> float:
    found = circuits.disconnection_time(rules.edition, system=i["system"], u0_v=230, distribution=True)
    return float(found.value)


def _insulation(circuit: str, method: str = "standard") -> Route:
    def route(i: Inputs, rules: Rules) -> float:
        row = circuits.insulation_minimum(rules.edition, circuit, method)
        assert float(row.number("test_v")) == i.get("test_V", 500)
        return float(row.value)

    return looked_up(route)


def _trips(i: Inputs, rules: Rules) -> int:
    """How many of the tests at that multiple ask for a trip."""
    tests = circuits.rcd_limits(rules.edition, "general", 30, "half, one, five")
    there = [t for t in tests if t.multiple == i["multiple"]]
    assert there
    return sum(t.must == "trip" for t in there)


TYPES = {"b": (6, 10, 16, 20, 32, 40, 63, 100), "c": (6, 10, 16, 20, 63), "d": (6, 10, 16, 32, 63)}

CHECKS: dict[str, tuple[Route, ...]] = {
    **{f"zs-{t}{rating}": (_breaker_table, _breaker_sum) for t, ratings in TYPES.items() for rating in ratings},
    "zs-b10-nocmin": (_breaker_sum,),
    "zs-bs883-": (_fuse,),
    "zs-bs3036-": (_fuse,),
    "zs-bs1362-": (_fuse,),
    "zs-bs882-": (_fuse,),
    "zs-80-rule": (_cold, lambda i, _: loop.cold_limit_ohm(i["zs_tab_ohm"])),
    "zs-b6-80": (lambda i, _: loop.cold_limit_ohm(i["zs_tab_ohm"], i["factor"]),),
    "zs-23-rule": (_cold_international,),
    "dt-": (_final,),
    "dt-distribution-": (_distribution,),
    "ir-250": (_insulation("SELV or PELV"),),
    "ir-500": (_insulation("up to 500 V"),),
    "ir-1000": (_insulation("above 500 V"),),
    "ir-old-500": (_insulation("up to 500 V", "16th edition"),),
    "ir-500-reduced": (_insulation("up to 500 V", "equipment connected"),),
    "ir-parallel": (lambda i, _: insulation.board(i["circuits_Mohm"]),),
    "rcd-half": (_trips,),
    "ring-rule": (lambda i, _: ring.quarter_ohm(i["r1_ohm"], i["rn_ohm"]),),
    "ring-ratio": (lambda i, _: conductor.size_ratio(i["line_mm2"], i["cpc_mm2"]),),
    "ring-ratio-22m": (lambda i, _: conductor.split_r1r2(i["r1_ohm"] * (1 + i["ratio"]), i["ratio"])[1],),
    "ring-tol": (looked_up(lambda _, rules: float(circuits.ring_agreement(rules.edition).value)),),
    "ring-267": (lambda i, _: conductor.split_by_area(i["r1r2_ohm"], 2.5, 1.5)[0],),
    "pfc-3000": (lambda i, _: loop.fault_current_a(i["u_V"], i["z_ohm"]),),
    "pfc-7666": (lambda i, _: loop.fault_current_a(i["u_V"], i["z_ohm"]),),
    "pfc-5190": (lambda i, _: loop.three_phase_root3_a(i["single_A"]),),
    "pfc-double": (
        lambda i, _: loop.three_phase_doubled_a(1.0),
        looked_up(lambda _, rules: float(circuits.loop_factor(rules.edition, "three-phase from single").value)),
    ),
    "pen-gn5": (lambda i, _: supply.lost_neutral(i["u0_V"], i["ra_ohm"], i["rl_ohm"], i["cmax"]).met_v,),
    "pen-a722": (lambda i, _: trade_sums.neutral_current_a(*i["i_A"]),),
    "pen-70v": (looked_up(lambda _, rules: float(circuits.touch_limit(rules.edition, "charging point on PME").value)),),
}
