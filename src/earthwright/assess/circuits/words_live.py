"""Sentences about live tests: what was read, what it had to be, which limit, what follows. None belongs to one case."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from ...base.digits import Kind
from ...base.figure import span
from ...base.quantity import Band
from ...outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED, Judged
from ...report.words import judged_words
from ...site.events import Reading

MEMORY = "from memory, check it against the document"


def figure(value: float, unit: str) -> str:
    """A worked-out figure to three digits with its unit; infinite as words."""
    if math.isinf(value):
        return f"without bound [{unit}]"
    return f"{value:.0f} {unit}" if abs(value) >= 100 else f"{value:.3g} {unit}"


def read(reading: Reading) -> str:
    """One reading with its point, path and method."""
    shown = reading.shown
    if shown is None:
        return reading.outcome or "no digits"
    digits = str(shown) if shown.kind is Kind.OVER else shown.as_shown
    how = ", ".join(x for x in (reading.between, reading.point, reading.method) if x)
    return f"{digits} ({how})" if how else digits


def was_read(name: str, readings: Sequence[Reading]) -> str:
    """What was read for a test, all of it."""
    return f"{name}: {', '.join(read(r) for r in readings)}." if readings else ""


def lies(expected: Band | None, inside: bool | None) -> str:
    """Whether the reading lies where it should."""
    if expected is None:
        return ""
    if inside is None:
        return f"Expected {span(expected)}."
    return f"{'Consistent with' if inside else 'Not consistent with'} the {span(expected)} that are expected."


def against(judged: Judged) -> str:
    """One limit in one sentence, with how much is left."""
    if judged.limit is None or judged.outcome in (NO_RULE, NOT_DECIDED):
        return f"{judged.limit.what if judged.limit else 'Limit'}: {judged_words(judged)}"
    left = ""
    if judged.difference is not None:
        amount = figure(abs(judged.difference), judged.limit.unit)
        left = f" {amount} {'left' if judged.difference >= 0 else 'beyond it'}."
    text = f"{judged.limit.what}: {judged_words(judged)}{left}"
    if judged.differ and judged.outcome in (MEETS, FAILS):
        text += " Within the limits of error it could be on either side."
    return text


def said(judged: Judged) -> str:
    """A verdict that has no figure: its outcome and the reason, in one sentence."""
    return f"{judged.outcome}: {judged.why}."


def sentences(parts: Iterable[str]) -> str:
    """Sentences joined, empty ones left out, each with its capital."""
    return " ".join(p[:1].upper() + p[1:] for p in parts if p)
