"""Earth electrodes, soil, extraneous parts, supplementary bonding, touch, the body."""

from __future__ import annotations

import math

import trade_sums

from earthwright.physics import body, electrode, loop
from earthwright.rules import circuits
from earthwright.rules.lookup import body_impedance, extraneous_thresholds, soil_resistivity

from .common import Inputs, Route, Rules, book, looked_up
from .conductors import one_conductor

# Our rule data name the soils in their own order of words.
SOILS = {
    "clays": "clay",
    "chalk": "chalk",
    "clay, sand and gravel mixture": "clay, sand and gravel mixed",
    "well-graded gravel": "gravel, well graded",
    "poorly graded gravel": "gravel, poorly graded",
    "clayey gravel": "gravel, clayey",
    "silty sand": "sand, silty",
    "clayey sand": "sand, clayey",
    "silty or clayey sand, slight plasticity": "sand, silty or clayey, slightly plastic",
}


@looked_up
def _soil(i: Inputs, rules: Rules) -> list[float]:
    (row,) = [r for r in soil_resistivity(book(), rules.on) if r.keys["soil"] == SOILS[i["soil"]]]
    return [float(row.number("low")), float(row.number("high"))]


@looked_up
def _body(i: Inputs, rules: Rules) -> list[float]:
    text = "1984" if i["edition"] == "1984" else "present"
    row = body_impedance(book(), rules.on, i["touch_V"], text=text)
    return [float(row.number(c)) for c in ("five_percent", "half", "ninety_five_percent")]


def _threshold_of_body(line: str, default_s: float = 1.0) -> Route:
    def route(i: Inputs, rules: Rules) -> float:
        time_s = i["time_ms"] / 1000 if "time_ms" in i else i.get("time_s", default_s)
        edition = book().edition_for("IEC 60479-1", rules.on)
        return float(edition.table("body.thresholds").look(line=line, time_s=time_s).value)

    return looked_up(route)


@looked_up
def _threshold(i: Inputs, rules: Rules) -> float:
    """The customary threshold of that current, which leaves 1 kΩ for the body."""
    wanted = 1000 * i["ib_A"]
    (row,) = [r for r in extraneous_thresholds(rules.edition) if float(str(r.keys["body_ma"])) == wanted]
    assert float(row.number("body_ohm")) == i["zt_ohm"]
    return float(row.value)


def _threshold_sum(i: Inputs, _: Rules) -> float:
    return body.extraneous_limit_ohm(i["u0_V"], i["ib_A"], i["zt_ohm"])


CHECKS: dict[str, tuple[Route, ...]] = {
    "earth-alpha": (lambda i, _: electrode.spacing_factor(i["rho_ohm_m"], i["r_ohm"], i["spacing_m"]),),
    "earth-9rods": (lambda i, _: electrode.rods_ohm(i["r_ohm"], i["n"], i["alpha"], i["lambda"]),),
    "earth-62": (lambda i, _: trade_sums.potential_stake_m(i["distance_ft"]),),  # a fraction of the way, in any unit
    "earth-618": (lambda i, _: trade_sums.potential_stake_m(1.0),),
    "earth-plate": (lambda i, _: electrode.plate_ohm(i["rho_ohm_m"], i["area_m2"]),),
    "earth-200": (looked_up(lambda _, rules: float(circuits.ra_stable(rules.edition).value)),),
    "earth-soil-": (_soil,),
    "earth-soil2-": (_soil,),
    "ra-200-250": (lambda i, _: 1000 * trade_sums.idn_limit_a(i["ra_ohm"], i["ul_V"]),),
    "ext-22k": (_threshold, _threshold_sum),
    "ext-23k": (_threshold_sum,),
    "supp-b32": (
        lambda i, _: trade_sums.supplementary_limit_ohm(i["ia_A"], i["ul_V"]),
        lambda i, rules: circuits.supplementary_resistance_max(rules.edition, i["ia_A"]).value,
    ),
    "supp-5m-4": (lambda i, rules: trade_sums.fault_voltage_v(i["current_A"], one_conductor(i, rules)),),
    "supp-5m-4-200": (lambda i, _: trade_sums.fault_voltage_v(i["current_A"], i["resistance_ohm"]),),
    "touch-575": (lambda i, _: loop.fault_current_a(i["u0_V"], math.fsum(i["parts_ohm"])),),
    "touch-formula": (lambda i, _: trade_sums.touch_voltage_v(i["u_V"], i["m"], i["c"]),),
    "touch-rb-re": (lambda i, _: trade_sums.rb_re_limit(i["u0_V"], i["ul_V"]),),
    "body-": (_body,),
    "body-ac1": (_threshold_of_body("a"),),
    "body-b10ms": (_threshold_of_body("b"),),
    "body-c1-5s": (_threshold_of_body("c1"),),
    "body-c1-10ms": (_threshold_of_body("c1"),),
}
