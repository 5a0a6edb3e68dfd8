"""Protective devices: bands, conventional currents, gates, let-through, breaking capacity."""

from __future__ import annotations

from earthwright.rules import devices

from .common import Inputs, Route, Rules, looked_up
from .loops import BREAKER

UP_TO = 16  # rating assumed for let-through figures for which the page read gives none [A]


@looked_up
def _band(i: Inputs, rules: Rules) -> list[float]:
    row = rules.edition.table("device.multiples").look(family="circuit-breaker", type=i["type"])
    assert devices.operating_current(rules.edition, BREAKER, i["type"], 1, 0.4).value == float(row.number("most"))
    return [float(row.number("least")), float(row.number("most"))]


def _conventional(standard: str, *columns: str) -> Route:
    def route(_: Inputs, rules: Rules) -> list[float]:
        row = devices.conventional_currents(rules.edition, standard, 63)
        return [float(row.number(c)) for c in columns]

    return looked_up(route)


@looked_up
def _gates(i: Inputs, rules: Rules) -> list[float]:
    row = rules.edition.table("fuse.gates").look(rating_a=i["in_A"])
    return [float(row.number(c)) for c in ("min_10s", "max_5s", "min_0_1s", "max_0_1s")]


def _let_through(i: Inputs, rules: Rules, type_: str) -> float:
    found = devices.let_through_a2s(rules.edition, i["class"], i["icn_A"], type_, i.get("in_max_A", UP_TO))
    return float(found.value)


def _breaking(marking: str) -> Route:
    return looked_up(lambda _, rules: float(devices.breaking_capacity(rules.edition, "BS 1361", marking).value))


CHECKS: dict[str, tuple[Route, ...]] = {
    "mcb-band-": (_band,),
    "mcb-113": (_conventional(BREAKER, "holds"),),
    "mcb-145": (_conventional(BREAKER, "opens"),),
    "mccb-105": (_conventional("BS EN 60947-2", "holds", "opens"),),
    "gate-gg-": (_gates,),
    "mcb-e3-": (looked_up(lambda i, rules: _let_through(i, rules, i["type"])),),
    "mcb-e2-b10": (looked_up(lambda i, rules: [_let_through(i, rules, t) for t in "BC"]),),
    "icn-bs-1361-type-i": (_breaking("type I"),),
    "icn-bs-1361-type-ii": (_breaking("type II"),),
}
