"""Conductor resistance, temperature, implied length, k and the adiabatic equation, voltage drop."""

from __future__ import annotations

import trade_sums

from earthwright.physics import adiabatic, conductor, voltdrop
from earthwright.rules import circuits
from earthwright.rules.lookup import k_material, k_value, temperature_law, temperature_multiplier

from .common import Inputs, Route, Rules, looked_up


@looked_up
def _r20(i: Inputs, rules: Rules) -> float:
    return rules.r20(i["material"], i["iec_class"], i["csa_mm2"])


def _r1r2(i: Inputs, rules: Rules) -> float:
    line, cpc = rules.r20("copper", 2, i["line_mm2"]), rules.r20("copper", 2, i["cpc_mm2"])
    return trade_sums.r1r2_ohm(i.get("length_m", 1000), line, cpc)  # mΩ/m is Ω of a kilometre


def one_conductor(i: Inputs, rules: Rules) -> float:
    return conductor.resistance_ohm(i["length_m"], rules.r20("copper", 2, i["csa_mm2"]))


def _implied(i: Inputs, rules: Rules) -> float:
    return conductor.implied_length_m(i["resistance_ohm"], rules.r20("copper", 2, i["csa_mm2"]))


def _at_temperature(i: Inputs, rules: Rules) -> float:
    return rules.r20(i["material"], 2, i["csa_mm2"]) * conductor.factor_beta(i["temp_C"], i["beta_C"])


def _printed_factor(i: Inputs, rules: Rules) -> float:
    row = temperature_law(rules.conductors, "copper")
    return 1 / conductor.factor_alpha(i["temp_C"], float(row.number("per_k_of_printed_factors")))


def _multiplier(use: str) -> Route:
    return looked_up(lambda i, rules: float(temperature_multiplier(rules.edition, i["temp_C"], use).value))


@looked_up
def _alpha(i: Inputs, rules: Rules) -> float:
    return float(temperature_law(rules.conductors, i["material"]).number("per_k"))


@looked_up
def _armour(i: Inputs, rules: Rules) -> list[float]:
    return [float(circuits.armour_mohm_per_m(rules.edition, i["csa_mm2"], n).value) for n in i["cores"]]


def _material(i: Inputs, rules: Rules) -> list[float]:
    row = k_material(rules.edition, i["material"])
    return [float(row.number(c)) for c in ("beta_c", "heat", "rho20")]


def _k_sum(i: Inputs, rules: Rules) -> float:
    beta, heat, rho = _material(i, rules)
    return trade_sums.material_k(beta, heat, rho, i["initial_C"], i["final_C"])


def _k(use: str, insulation: str) -> tuple[Route, ...]:
    """k as the table prints it, and as the material constants give it."""

    @looked_up
    def table(i: Inputs, rules: Rules) -> float:
        return float(k_value(rules.edition, use, i["material"], insulation).value)

    return table, _k_sum


def _current_ka(i: Inputs, rules: Rules) -> float:
    k = _k_sum({**i, "material": "copper"}, rules)
    return adiabatic.withstand_i_a(i["csa_mm2"], i["time_s"], k) / 1000


def _drop(i: Inputs, rules: Rules) -> float:
    """Two cores at 70 °C; a flexible cable at 90 °C has tinned class 5 conductors."""
    r = rules.r20("copper tinned", 5, i["csa_mm2"]) if i["temp_C"] == 90 else rules.r20("copper", 2, i["csa_mm2"])
    return voltdrop.mv_per_a_m(r, conductor.factor_flat(i["temp_C"]))


@looked_up
def _drop_table(i: Inputs, rules: Rules) -> float:
    cable = FLEXIBLE if i["temp_C"] == 90 else FIXED
    row = circuits.cable_voltage_drop(rules.edition, cable, i["csa_mm2"])
    assert float(row.number("at_c")) == i["temp_C"]
    return float(row.value)


@looked_up
def _drop_limits(i: Inputs, rules: Rules) -> list[float]:
    per_volt = voltdrop.drop_percent(1.0, i["u_V"])
    return [circuits.voltage_drop_limit(rules.edition, use).value / per_volt for use in ("lighting", "other")]


FIXED, FLEXIBLE = "70 °C thermoplastic, two-core", "90 °C flexible, two-core"
BARE = ("bare, in view, restricted area", "bare, normal conditions", "bare, fire risk")

CHECKS: dict[str, tuple[Route, ...]] = {
    "cond-": (_r20,),
    "cond-kt-": (lambda i, _: trade_sums.factor_to_20_flat(i["temp_C"]), _printed_factor),
    "r1r2-": (_r1r2,),
    "r1r2-22m-line": (one_conductor,),
    "r1r2-22m-cpc": (one_conductor,),
    "split-r1": (lambda i, _: conductor.split_by_area(i["r1r2_ohm"], i["line_mm2"], i["cpc_mm2"])[0],),
    "swa-": (_armour,),
    "length-from-r-": (_implied,),
    "bond-005-": (_implied,),
    "rtemp-": (_at_temperature,),
    "temp-alpha-cu": (_alpha, lambda i, _: conductor.ALPHA_COPPER_PER_K),
    "temp-osg-": (
        lambda i, _: conductor.factor_flat(i["temp_C"]),
        _multiplier("core in a cable"),
    ),
    "temp-osg-amb-": (
        lambda i, _: conductor.factor_flat(i["temp_C"]),
        _multiplier("ambient"),
    ),
    "adia-mat-": (looked_up(_material),),
    "adia-K-": (lambda i, _: trade_sums.material_constant(i["beta"], i["Qc"], i["rho20"]),),
    "adia-k-54.2-co-160": _k("separate", "70 °C thermoplastic"),
    "adia-k-54.2-al-160": _k("separate", "70 °C thermoplastic"),
    "adia-k-54.2-st-160": _k("separate", "70 °C thermoplastic"),
    "adia-k-54.2-co-250": _k("separate", "90 °C thermosetting"),
    "adia-k-54.2-st-250": _k("separate", "90 °C thermosetting"),
    "adia-k-live-70-160": _k("core", "70 °C thermoplastic"),
    "adia-k-live-90-250": _k("core", "90 °C thermosetting"),
    "adia-k-live-60-200": _k("core", "60 °C rubber"),
    "adia-k-live-70-140-103": _k("core", "70 °C thermoplastic, over 300 mm²"),
    "adia-k-live-90-160-100": _k("core", "90 °C thermoplastic"),
    "adia-k-live-90-140-86": _k("core", "90 °C thermoplastic, over 300 mm²"),
    "adia-k-54.4-al-60": _k("sheath or armour", "70 °C thermoplastic"),
    "adia-k-54.4-st-60": _k("sheath or armour", "70 °C thermoplastic"),
    "adia-k-54.4-le-60": _k("sheath or armour", "70 °C thermoplastic"),
    "adia-k-54.4-al-80": _k("sheath or armour", "90 °C"),
    "adia-k-54.4-st-80": _k("sheath or armour", "90 °C"),
    "adia-k-54.5-50-160": _k("conduit or trunking", "70 °C thermoplastic"),
    "adia-k-54.5-60-160": _k("conduit or trunking", "90 °C"),
    "adia-k-54.6-co-500": _k(BARE[0], "none"),
    "adia-k-54.6-al-300": _k(BARE[0], "none"),
    "adia-k-54.6-st-500": _k(BARE[0], "none"),
    "adia-k-54.6-co-200": _k(BARE[1], "none"),
    "adia-k-54.6-al-200": _k(BARE[1], "none"),
    "adia-k-54.6-st-200": _k(BARE[1], "none"),
    "adia-k-54.6-co-150": _k(BARE[2], "none"),
    "adia-k-54.6-al-150": _k(BARE[2], "none"),
    "adia-k-54.6-st-150": _k(BARE[2], "none"),
    "adia-iad-95": (_current_ka,),
    "adia-s-460": (lambda i, _: adiabatic.least_csa_mm2(i["current_A"], i["time_s"], i["k"]),),
    "vd-": (_drop, _drop_table),
    "vd-limits": (_drop_limits,),
}
