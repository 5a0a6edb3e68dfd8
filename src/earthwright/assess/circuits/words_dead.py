"""Sentences about dead tests: what was read, what it should have been, what that shows, what to do. None belongs to a case."""

from __future__ import annotations

from collections.abc import Sequence

from ...base.digits import Kind, Shown
from ...base.figure import shown_span
from ...base.quantity import Band
from ...evidence.graph.lengths import WIRES
from ...outcomes.verdict import FAILS, NO_RULE, NOT_DECIDED, Judged
from ...report.words import judged_words
from ...site.events import Reading
from ...site.installation import Circuit
from ...site.tests import BY_NAME, spoken

NAMES = {name: spoken(name) for name in BY_NAME}


def sentences(*parts: str) -> str:
    """Sentences joined, empty ones left out, each with its capital unless it begins with a symbol."""
    return " ".join(_capital(p) for p in parts if p)


def _capital(text: str) -> str:
    return text if text[:2] in ("r1", "rn", "r2") else text[:1].upper() + text[1:]


def digits(shown: Shown | None) -> str:
    """Digits as they stood on the display; an inequality for over-range."""
    if shown is None:
        return "no digits"
    if shown.kind is Kind.OVER:
        return f">{shown.digits} {shown.unit}" if shown.digits else "over-range"
    return shown.as_shown


def was_read(name: str, readings: Sequence[Reading], point: str = "") -> str:
    """What was read for a test, repeats in order, equal ones once."""
    seen = list(dict.fromkeys(digits(r.shown) for r in readings))
    return f"{name}{f' at {point}' if point else ''}: {', then '.join(seen)}." if seen else ""


def metres(band: Band) -> str:
    """A band of length in whole metres."""
    low, high = round(band.low), round(band.high)
    return f"{low} m" if low == high else f"{low} to {high} m"


def lies(expected: Band | None, inside: bool | None) -> str:
    """Whether a reading lies where it should."""
    if expected is None:
        return ""
    if inside is None:
        return f"{shown_span(expected)} are expected."
    return f"{'Consistent with' if inside else 'Not consistent with'} the {shown_span(expected)} that are expected."


def unknown_band(circuit: Circuit) -> str:
    """Which entries are missing for a band."""
    lacking = []
    if circuit.length_m is None:
        lacking.append("length")
    if circuit.line_mm2 is None:
        lacking.append("size of the line")
    if circuit.cpc_mm2 is None:
        lacking.append("size of the cpc")
    if not lacking and circuit.cpc not in WIRES:
        lacking.append(f"resistance of a cpc that is {circuit.cpc}")
    return f"No band: {', '.join(lacking)} not entered." if lacking else ""


def continuity(outcome: str, why: str) -> str:
    """What a continuity reading comes to."""
    if outcome == FAILS:
        return f"Disproved: {why}."
    if outcome == NOT_DECIDED:
        return f"Not shown: {why}."
    return "The rules give no limit in ohms; Zs decides on disconnection." if outcome == NO_RULE else ""


def best_first(explanations: Sequence[str]) -> str:
    """Explanations of digits, as a list in words."""
    return "What would explain the digits: " + "; ".join(explanations) + "." if explanations else ""


def against(judged: Judged) -> str:
    """One limit in one sentence, with what it limits and whether the two decision rules differ."""
    what = judged.limit.what if judged.limit is not None else "limit"
    text = f"{what}: {judged_words(judged)}"
    if judged.differ:
        text += " Within the limits of error it could be on either side."
    return text


def listed(names: Sequence[str]) -> str:
    """Names as a list in words: ``a, b and c``."""
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + " and " + names[-1]
