"""Kinds of residual current devices against their use: type AC, power from both sides."""

from __future__ import annotations

import re

from ...base.errors import NoRule
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, MEETS, Judged, not_decided
from ...rules.lookup import power_direction, rcd_general
from ...site.installation import DIRECTIONS, Circuit
from ...site.visit import NEW_WORK
from . import words_live as say
from .limits import Case, sockets, worst

TEST = "rcd type"
_SOURCE = re.compile(
    r"\b(pv|photovoltaics?|solar|inverter|battery|batteries|storage|bess|generator|genset|chp|wind|turbine)\b", re.I
)
_NO_SOURCE = re.compile(r"\b(storage (heater|heating)s?|emergency)\b|\bnight storage\b|\bsolar (thermal|pump)\b", re.I)


def feeds_back(circuit: Circuit) -> bool:
    """Whether a circuit joins a source of its own (sun, battery, generator) to the board, by its name."""
    return bool(_SOURCE.search(circuit.name)) and not _NO_SOURCE.search(circuit.name)


def type_row(case: Case, circuit: Circuit) -> TestJudged | None:
    """The nearest residual current device against what the circuit is used for; None where nothing asks for a kind."""
    devices = case.rcds(circuit)
    if not devices or case.distribution(circuit):
        return None
    device = devices[0][1]
    judged: list[Judged] = []
    if feeds_back(circuit):
        judged += _direction(case, device.direction)
    elif circuit.use != "charging point":
        judged += _general(case, circuit, device.rcd_type)
    if not judged:
        return None
    words = say.sentences(f"Residual current device: {say.said(j)}" for j in judged)
    return TestJudged(circuit.id, TEST, judged=tuple(judged), outcome=worst(judged), words=words)


def _direction(case: Case, direction: str) -> list[Judged]:
    try:
        row = case.limits.ask(power_direction, direction or DIRECTIONS[0])
    except NoRule:
        return []  # before 2024 no edition asked
    where = f"{row.clause}, {row.applies_under}, {say.MEMORY}"
    if not direction:
        why = (
            "a source feeds it from the load side, and the direction in which power may flow through it is not entered; "
            f"ask its maker, and the inverter's maker whether it wants type B ({where})"
        )
        return [not_decided(None, why)]
    if row.flag("suits"):
        return [Judged(MEETS, None, simple=MEETS, guarded=MEETS, why=f"Power may flow {direction} ({where})")]
    why = f"Power may flow one way only, and a source feeds it from the load side ({where})"
    return [Judged(FAILS, None, simple=FAILS, guarded=FAILS, why=why)]


def _general(case: Case, circuit: Circuit, rcd_type: str) -> list[Judged]:
    """Type AC for general use: new work fails without a reason; on what was there before nothing is said of it."""
    if not rcd_type or case.visit.kind not in NEW_WORK:
        return []
    try:
        row = case.limits.ask(rcd_general, rcd_type)
    except NoRule:
        return []  # an edition without the table had no such rule
    if row.flag("general"):
        return []
    where = f"{row.clause}, {row.applies_under}, {say.MEMORY}"
    if circuit.rcd_reason:
        return [not_decided(None, f"type {rcd_type}, and the reason entered is for you to judge: {circuit.rcd_reason}")]
    if sockets(circuit) is not False:
        why = f"Type {rcd_type} is {row.note}; enter the reason if there is one ({where})"
        return [Judged(FAILS, None, simple=FAILS, guarded=FAILS, why=why)]
    return [not_decided(None, f"type {rcd_type} is {row.note}; enter that as the reason if it is ({where})")]
