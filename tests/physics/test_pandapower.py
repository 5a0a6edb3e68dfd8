"""Fault loops and three-phase networks against pandapower, a solver by IEC 60909.

A line whose return goes through a protective conductor has r0 = r + 3·r_pe in symmetrical components, so that its fault
to earth sees r + r_pe, which is what a loop tester sees.
"""

from __future__ import annotations

import math
import random

import pandapower as pp
import pandapower.shortcircuit as sc
import pytest
import trade_sums

from earthwright.physics import loop
from earthwright.physics.conductor import parallel
from earthwright.physics.network import Edge, Network, two_point

C_MAX = 1.1  # a tolerance of 10 % in low voltage


def empty(source_mva: float, rx: float) -> tuple[pp.pandapowerNet, int]:
    """A 400 V busbar behind a source of so much short-circuit power, alike in all sequences."""
    net = pp.create_empty_network(f_hz=50)
    busbar = pp.create_bus(net, vn_kv=0.4)
    pp.create_ext_grid(
        net, busbar, s_sc_max_mva=source_mva, rx_max=rx, s_sc_min_mva=source_mva, rx_min=rx, x0x_max=1.0, r0x0_max=rx
    )
    return net, busbar


def cable(net: pp.pandapowerNet, a: int, km: float, line: complex, cpc: complex, b: int | None = None) -> int:
    """A cable of the given impedance of line and protective conductor [Ω/km]; returns its far end."""
    end = pp.create_bus(net, vn_kv=0.4) if b is None else b
    pp.create_line_from_parameters(
        net,
        a,
        end,
        length_km=km,
        r_ohm_per_km=line.real,
        x_ohm_per_km=line.imag,
        c_nf_per_km=0.0,
        max_i_ka=1.0,
        r0_ohm_per_km=line.real + 3 * cpc.real,
        x0_ohm_per_km=line.imag + 3 * cpc.imag,
        c0_nf_per_km=0.0,
        endtemp_degree=20.0,
    )
    return end


def currents(net: pp.pandapowerNet, fault: str) -> dict[int, float]:
    """Initial fault current at each busbar [A]."""
    sc.calc_sc(net, fault=fault, case="max", lv_tol_percent=10, use_pre_fault_voltage=False)
    return {int(k): 1000 * v for k, v in net.res_bus_sc.ikss_ka.items()}


def source_ohm(source_mva: float, rx: float) -> complex:
    size = C_MAX * 0.4**2 / source_mva
    x = size / math.hypot(1, rx)
    return complex(rx * x, x)


@pytest.mark.parametrize("seed", range(6))
def test_loops_to_earth_three_phases_and_two_lines_along_a_feeder(seed: int) -> None:
    rng = random.Random(seed)
    mva, rx = rng.uniform(2, 30), rng.uniform(0.1, 2.0)
    net, at = empty(mva, rx)
    z_line = z_cpc = 0j
    places = []
    for _ in range(rng.randint(1, 5)):
        km = rng.uniform(0.005, 0.12)
        line, cpc = (
            complex(rng.uniform(0.1, 12), rng.uniform(0, 0.1)),
            complex(rng.uniform(0.1, 20), rng.uniform(0, 0.1)),
        )
        at = cable(net, at, km, line, cpc)
        z_line, z_cpc = z_line + km * line, z_cpc + km * cpc
        places.append((at, z_line, z_cpc))
    source = source_ohm(mva, rx)
    earth, three, two = (currents(net, fault) for fault in ("1ph", "3ph", "2ph"))
    for bus, line, cpc in places:
        zs = abs(source + line + cpc)
        assert loop.fault_current_a(400 / math.sqrt(3), zs, C_MAX) == pytest.approx(earth[bus], rel=1e-6)
        z = abs(source + line)
        assert trade_sums.three_phase_a(400, z, C_MAX) == pytest.approx(three[bus], rel=1e-6)
        assert trade_sums.line_to_line_a(400, z, C_MAX) == pytest.approx(two[bus], rel=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_doubling_is_never_less_than_three_phases_when_line_and_neutral_are_alike(seed: int) -> None:
    rng = random.Random(100 + seed)
    net, at = empty(rng.uniform(2, 30), 0.5)
    line = complex(rng.uniform(0.1, 5), rng.uniform(0, 0.1))
    end = cable(net, at, rng.uniform(0.02, 0.2), line, line)  # the return is a neutral of the same size
    line_neutral, three = currents(net, "1ph")[end], currents(net, "3ph")[end]
    assert loop.three_phase_doubled_a(line_neutral) >= three * (1 - 1e-9)
    # √3 times understates once the cable counts more than the source, which stands in both
    assert loop.three_phase_doubled_a(line_neutral) > loop.three_phase_root3_a(line_neutral)


def test_a_resistive_loop_is_the_sum_and_the_floor_is_the_line() -> None:
    """Metal beside the protective conductor lowers the loop, never below source and line."""
    net, busbar = empty(10.0, 1e6)
    source = abs(source_ohm(10.0, 1e6))
    far = cable(net, busbar, 0.05, complex(7.41), complex(12.1))
    alone = currents(net, "1ph")[far]
    zs = 1.0 * C_MAX * 400 / math.sqrt(3) / alone
    ceiling = loop.zs_ceiling_ohm(source, 0.05 * (7.41 + 12.1))
    assert zs == pytest.approx(ceiling, rel=1e-6)
    floor = loop.zs_floor_ohm(source, 0.05 * 7.41)
    for metal in (10.0, 1.0, 0.1, 0.001):
        net, busbar = empty(10.0, 1e6)
        beside = parallel(0.05 * 12.1, metal) / 0.05
        far = cable(net, busbar, 0.05, complex(7.41), complex(beside))
        zs = C_MAX * 400 / math.sqrt(3) / currents(net, "1ph")[far]
        assert floor <= zs * (1 + 1e-9)
        assert zs < ceiling
    assert zs == pytest.approx(floor, rel=0.01)


@pytest.mark.parametrize("seed", range(6))
def test_meshed_resistive_networks_against_our_nodal_sums(seed: int) -> None:
    rng = random.Random(200 + seed)
    net, busbar = empty(1e6, 1.0)  # as good as no source impedance
    count = 5
    buses = [busbar, *(pp.create_bus(net, vn_kv=0.4) for _ in range(count - 1))]
    edges = []
    pairs = [(i, i + 1) for i in range(count - 1)] + [(0, 3), (1, 4)]
    for place, (a, b) in enumerate(pairs):
        r = rng.uniform(0.05, 2.0)
        cable(net, buses[a], 1.0, complex(r), complex(r), buses[b])
        edges.append(Edge(f"e{place}", str(a), str(b), r))
    three = currents(net, "3ph")
    for node in range(1, count):
        r = two_point(Network(edges), "0", str(node)).r_ohm
        assert trade_sums.three_phase_a(400, r, C_MAX) == pytest.approx(three[buses[node]], rel=1e-4)
