"""For each published value the public function of ours that has to give it. Never a copy of the formula."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping
from typing import Any

from earthwright.physics import adiabatic, body, conductor, electrode, insulation, loop, supply, voltdrop
from earthwright.physics import ring as ring_sums
from earthwright.quantity import Influence, Quantity, t_factor
from earthwright.rules import RuleBook
from earthwright.rules.lookup import WIRING, conductor_mohm_per_m, extraneous_thresholds, k_value
from earthwright.rules.sizes import earthing_conductor_min, main_bond_min, supplementary_bond_min

ON = dt.date(2026, 11, 20)
Inputs = Mapping[str, Any]
Check = Callable[[Inputs], Any]


def _book() -> RuleBook:
    return RuleBook.load()


def _edition() -> Any:
    return _book().edition_for(WIRING, ON)


def r20(material: str, iec_class: int, csa: float) -> float:
    return float(conductor_mohm_per_m(_book(), ON, material, iec_class, csa).value)


def _resistance(i: Inputs) -> float:
    return r20({"copper plain": "copper"}.get(i["material"], i["material"]), i["iec_class"], i["csa_mm2"])


def _r1r2(i: Inputs) -> float:
    line, cpc = r20("copper", 2, i["line_mm2"]), r20("copper", 2, i["cpc_mm2"])
    if "length_m" in i:
        return conductor.r1r2_ohm(i["length_m"], line, cpc)
    return conductor.r1r2_ohm(1000, line, cpc)  # mΩ/m is Ω/km


def _one_conductor(i: Inputs) -> float:
    return conductor.resistance_ohm(i["length_m"], r20("copper", 2, i["csa_mm2"]))


def _implied(i: Inputs) -> float:
    return conductor.implied_length_m(i["resistance_ohm"], r20("copper", 2, i["csa_mm2"]))


def _at_temperature(i: Inputs) -> float:
    return i["r20_mohm_per_m"] * conductor.factor_beta(i["temp_C"], i["beta_C"])


def _material_row(i: Inputs) -> list[float]:
    row = _edition().table("k.material").look(material=i["material"])
    return [float(row.number(c)) for c in ("beta_c", "heat", "rho20")]


def _k_from_material(i: Inputs) -> float:
    beta, heat, rho = _material_row(i)
    return adiabatic.material_k(beta, heat, rho, i["initial_C"], i["final_C"])


def _k_table(use: str, insulation_: str) -> Check:
    """The k of the table, which must also be what the material constants give, both within the printed digit."""

    def check(i: Inputs) -> float:
        table = float(k_value(_edition(), use, i["material"], insulation_).value)
        assert abs(table - _k_from_material(i)) <= 0.8
        return table

    return check


def _current_in_ka(i: Inputs) -> float:
    k = float(k_value(_edition(), "core", "copper", "90 °C thermosetting").value)
    return adiabatic.withstand_i_a(i["csa_mm2"], i["time_s"], k) / 1000


def _bond(i: Inputs) -> float | None:
    chain = main_bond_min(
        _edition(),
        system="TN-C-S" if i["pme"] else "TN-S",
        pme=i["pme"],
        earthing_needed_mm2=i.get("earthing_mm2"),
        line_csa_mm2=None,
        neutral_csa_mm2=i.get("neutral_mm2"),
        neutral_at_most=False,
    )
    return chain.needed_mm2


def _buried(i: Inputs) -> float:
    corrosion = "protected" if i["corrosion"] else "not protected"
    mechanical = "any" if not i["corrosion"] else "protected" if i["mechanical"] else "not protected"
    return float(
        _edition().table("earthing.buried").look(material="copper", corrosion=corrosion, mechanical=mechanical).value
    )


def _supplementary(i: Inputs) -> float | None:
    return supplementary_bond_min(
        _edition(), between="extraneous and extraneous", protected=i["mechanical_protection"]
    ).needed_mm2


def _threshold_10_ma(i: Inputs) -> float:
    limit = body.extraneous_limit_ohm(i["u0_V"], i["ib_A"], i["zt_ohm"])
    if i["zt_ohm"]:
        (row,) = [r for r in extraneous_thresholds(_edition()) if float(r.value) == 22000]
        assert abs(float(row.value) - limit) <= 0.5
    return limit


def _drop(i: Inputs) -> float:
    """Two cores of copper at 70 °C; a flexible cable at 90 °C has tinned class 5 conductors."""
    r = r20("copper tinned", 5, i["csa_mm2"]) if i["temp_C"] == 90 else r20("copper", 2, i["csa_mm2"])
    return voltdrop.mv_per_a_m(r, conductor.factor_flat(i["temp_C"]))


def _welch(i: Inputs) -> float:
    causes = tuple(Influence(str(n), "", u, df) for n, (u, df) in enumerate(zip(i["u"], i["df"], strict=True)))
    return Quantity(0.0, "1", causes).dof


def _gum_h1(_: Inputs) -> Quantity:
    """GUM H.1 to first order: l = ls + d − ls·(δα·θ + αs·δθ); θ and δα, αs and δθ are zero or known exactly at first order."""
    ls, alpha_s, theta = 50_000_623.0, 11.5e-6, -0.1
    causes = (
        Influence("ls", "standard", 25.0, 18),
        Influence("d.repeat", "observations", 5.8, 24),
        Influence("d.random", "comparator, random", 3.9, 5),
        Influence("d.system", "comparator, systematic", 6.7, 8),
        Influence("dalpha", "difference of expansion", ls * theta * 0.58e-6, 50),
        Influence("dtheta", "difference of temperature", ls * alpha_s * 0.029, 2),
    )
    return Quantity(ls + 215.0, "nm", causes)


# By id, or by the longest matching beginning of it.
CHECKS: dict[str, Check] = {
    # 1 and 2: conductors
    "cond-kt-": lambda i: conductor.factor_to_20_flat(i["temp_C"]),
    "cond-": _resistance,
    "r1r2-22m-line": _one_conductor,
    "r1r2-22m-cpc": _one_conductor,
    "r1r2-": _r1r2,
    "split-r1": lambda i: conductor.split_by_area(i["r1r2_ohm"], i["line_mm2"], i["cpc_mm2"])[0],
    "length-from-r": _implied,
    "bond-005-": _implied,
    "rtemp-": _at_temperature,
    "temp-alpha-cu": lambda i: conductor.ALPHA_COPPER_PER_K,
    "temp-osg-": lambda i: conductor.factor_flat(i["temp_C"]),
    # 3: adiabatic
    "adia-mat-": _material_row,
    "adia-K-": lambda i: adiabatic.material_constant(i["beta"], i["Qc"], i["rho20"]),
    "adia-k-54.2-co-160": _k_table("separate", "70 °C thermoplastic"),
    "adia-k-54.2-al-160": _k_table("separate", "70 °C thermoplastic"),
    "adia-k-54.2-st-160": _k_table("separate", "70 °C thermoplastic"),
    "adia-k-54.2-co-250": _k_table("separate", "90 °C thermosetting"),
    "adia-k-54.2-st-250": _k_table("separate", "90 °C thermosetting"),
    "adia-k-live-70-160": _k_table("core", "70 °C thermoplastic"),
    "adia-k-live-90-250": _k_table("core", "90 °C thermosetting"),
    "adia-k-live-60-200": _k_table("core", "60 °C rubber"),
    "adia-k-live-70-140-103": _k_table("core", "70 °C thermoplastic, over 300 mm²"),
    "adia-k-live-90-160-100": _k_table("core", "90 °C thermoplastic"),
    "adia-k-live-90-140-86": _k_table("core", "90 °C thermoplastic, over 300 mm²"),
    "adia-k-54.4-al-60": _k_table("sheath or armour", "70 °C thermoplastic"),
    "adia-k-54.4-st-60": _k_table("sheath or armour", "70 °C thermoplastic"),
    "adia-k-54.4-le-60": _k_table("sheath or armour", "70 °C thermoplastic"),
    "adia-k-54.4-al-80": _k_table("sheath or armour", "90 °C"),
    "adia-k-54.4-st-80": _k_table("sheath or armour", "90 °C"),
    "adia-k-54.5-50-160": _k_table("conduit or trunking", "70 °C thermoplastic"),
    "adia-k-54.5-60-160": _k_table("conduit or trunking", "90 °C"),
    "adia-k-54.6-co-500": _k_table("bare, in view, restricted area", "none"),
    "adia-k-54.6-al-300": _k_table("bare, in view, restricted area", "none"),
    "adia-k-54.6-st-500": _k_table("bare, in view, restricted area", "none"),
    "adia-k-54.6-co-200": _k_table("bare, normal conditions", "none"),
    "adia-k-54.6-al-200": _k_table("bare, normal conditions", "none"),
    "adia-k-54.6-st-200": _k_table("bare, normal conditions", "none"),
    "adia-k-54.6-co-150": _k_table("bare, fire risk", "none"),
    "adia-k-54.6-al-150": _k_table("bare, fire risk", "none"),
    "adia-k-54.6-st-150": _k_table("bare, fire risk", "none"),
    "adia-iad-95": _current_in_ka,
    "adia-s-460": lambda i: adiabatic.least_csa_mm2(i["current_A"], i["time_s"], i["k"]),
    # 4: sizes
    "size-pe-": lambda i: earthing_conductor_min(_edition(), i["line_mm2"]).value_mm2,
    "size-bond-": _bond,
    "size-pme-": _bond,
    "size-supp-": _supplementary,
    "size-buried-": _buried,
    # 5: loops, as sums
    "zs-80-rule": lambda i: loop.cold_limit_ohm(i["zs_tab_ohm"]),
    "zs-b6-80": lambda i: loop.cold_limit_ohm(i["zs_tab_ohm"]),
    "zs-23-rule": lambda i: loop.cold_limit_ohm(loop.zs_limit_ohm(i["u0_V"], i["ia_A"], 1.0), 2 / 3),
    "ra-200-250": lambda i: 1000 * electrode.idn_limit_a(i["ra_ohm"], i["ul_V"]),
    "ir-parallel": lambda i: insulation.board(i["circuits_Mohm"]),
    # 8: electrodes
    "earth-alpha": lambda i: electrode.spacing_factor(i["rho_ohm_m"], i["r_ohm"], i["spacing_m"]),
    "earth-9rods": lambda i: electrode.rods_ohm(i["r_ohm"], i["n"], i["alpha"], i["lambda"]),
    "earth-62": lambda i: electrode.potential_stake_m(i["distance_ft"]),
    "earth-618": lambda i: electrode.potential_stake_m(1.0),
    "earth-plate": lambda i: electrode.plate_ohm(i["rho_ohm_m"], i["area_m2"]),
    # 9: extraneous parts, supplementary bonding, touch
    "ext-": _threshold_10_ma,
    "supp-b32": lambda i: body.supplementary_limit_ohm(i["ia_A"], i["ul_V"]),
    "supp-5m-4-200": lambda i: body.fault_voltage_v(i["current_A"], i["resistance_ohm"]),
    "supp-5m-4": lambda i: body.fault_voltage_v(i["current_A"], _one_conductor(i)),
    "touch-575": lambda i: loop.fault_current_a(i["u0_V"], math.fsum(i["parts_ohm"])),
    "touch-formula": lambda i: body.touch_voltage_v(i["u_V"], i["m"], i["c"]),
    "touch-rb-re": lambda i: body.rb_re_limit(i["u0_V"], i["ul_V"]),
    # 12: uncertainty
    "gum-h1-u": lambda i: _gum_h1(i).u,
    "gum-h1-df": lambda i: math.floor(_gum_h1(i).dof),
    "gum-h1-u99": lambda i: t_factor(0.99, 16) * 32,
    "gum-ws": _welch,
    "gum-t-": lambda i: t_factor(i["p"], i["df"]),
    # 13: rings
    "ring-rule": lambda i: ring_sums.quarter_ohm(i["r1_ohm"], i["rn_ohm"]),
    "ring-ratio-22m": lambda i: i["r1_ohm"] * i["ratio"],
    "ring-ratio": lambda i: conductor.size_ratio(i["line_mm2"], i["cpc_mm2"]),
    "ring-267": lambda i: conductor.split_by_area(i["r1r2_ohm"], 2.5, 1.5)[0],
    # 14: fault current
    "pfc-3000": lambda i: loop.fault_current_a(i["u_V"], i["z_ohm"]),
    "pfc-7666": lambda i: loop.fault_current_a(i["u_V"], i["z_ohm"]),
    "pfc-5190": lambda i: loop.three_phase_root3_a(i["single_A"]),
    "pfc-double": lambda i: loop.three_phase_doubled_a(1.0),
    # 16: voltage drop
    "vd-1": _drop,
    "vd-1p5": _drop,
    "vd-2p5": _drop,
    "vd-4": _drop,
    "vd-6": _drop,
    "vd-10": _drop,
    "vd-flex-": _drop,
    # 17: lost neutral
    "pen-gn5": lambda i: supply.lost_neutral(i["u0_V"], i["ra_ohm"], i["rl_ohm"], i["cmax"]).met_v,
    "pen-a722": lambda i: supply.neutral_current_a(*i["i_A"]),
}


def check_for(value_id: str) -> Check | None:
    """The check of the longest key that the id begins with."""
    keys = [
        k
        for k in CHECKS
        if value_id == k or (k.endswith("-") and value_id.startswith(k)) or value_id.startswith(k + "-")
    ]
    return CHECKS[max(keys, key=len)] if keys else None
