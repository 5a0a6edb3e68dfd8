"""Null drift: the same leads, shorted twice, that no longer show the same."""

from __future__ import annotations

from itertools import pairwise

from ...base.digits import Kind
from ...base.errors import Finding
from ...site.events import LeadCheck
from ...site.reading import Accuracy, Instrument, LeadSet, shorted_good
from . import chance
from .series import Series

_MODEL = "If both were the same leads and every error stayed inside its limits"


def between_checks(series: Series) -> list[Finding]:
    """Shorted checks of one lead set that differ by more than two honest readings of the same leads can."""
    found = []
    visit = series.visit
    by_set: dict[str, list[LeadCheck]] = {}
    for event in visit.events:
        if isinstance(event, LeadCheck) and event.kind == "shorted" and event.shown.kind is not Kind.OVER:
            by_set.setdefault(event.leads, []).append(event)
    pairs = sum(max(0, len(c) - 1) for c in by_set.values())
    for lead_id, checks in by_set.items():
        leads = next((x for x in visit.leads if x.id == lead_id), LeadSet(lead_id))
        for one, other in pairwise(checks):
            accuracy = _accuracy(series, other)
            if leads.allowed == "nulled" and not shorted_good(other, leads, accuracy):
                continue  # the readings before it are already said to be suspect
            difference = abs(other.shown.value - one.shown.value)
            if difference <= _most(one, other, accuracy) + 1e-9:
                continue
            p = chance.corrected(0.0, pairs)
            found.append(
                Finding.of(
                    "leads.drift",
                    f"lead set {lead_id}",
                    f"The leads shorted showed {one.shown.as_shown}, and later {other.shown.as_shown}.",
                    lead_id,
                    f"within {_most(one, other, accuracy):.2f} Ω of each other",
                    f"{difference:.2f} Ω apart",
                    "Clean the tips, tighten the plugs, short and null again; repeat the readings between the two checks.",
                    "A tip that is not clean, a plug that sits loose or leads that warmed in the sun do this; so does another "
                    f"set under the same name. {chance.sentence(_MODEL, p, pairs, 'pairs of checks')}",
                )
            )
    return found


def _accuracy(series: Series, check: LeadCheck) -> Accuracy:
    return next((i for i in series.visit.instruments if i.id == check.instrument), Instrument("")).limits("continuity")


def _most(one: LeadCheck, other: LeadCheck, accuracy: Accuracy) -> float:
    scale = accuracy.pct / 100.0 * (abs(one.shown.value) + abs(other.shown.value))
    return (2.0 * accuracy.digits + 1.0) * accuracy.step + scale
