"""The earth electrodes among the particulars: kind, place and resistance."""

from __future__ import annotations

from ..outcomes.assessment import Assessment
from ..outcomes.circuits import TestJudged
from ..site.at import At, reading_at
from .digits import said
from .marks import told

NOT_ALONE = ("with bonds", "other part alone")  # readings that are not of the electrode by itself


def electrode_rows(a: Assessment) -> tuple[tuple[str, str, At], ...]:
    """Kind, place and resistance of every electrode, in one order: label, value, where it is entered."""
    judged = a.electrodes
    several = len(judged) > 1
    return (
        ("Electrode, kind", _each([(e.electrode.id, e.electrode.kind) for e in judged], several), At("electrode")),
        (
            "Electrode, place",
            _each([(e.electrode.id, e.electrode.where) for e in judged], several),
            At("electrode", next((e.electrode.id for e in judged if not e.electrode.where), ""), "where"),
        ),
        (
            "Electrode, resistance",
            _each([(e.electrode.id, _resistance(e.tests)) for e in judged], several),
            _unread_electrode(a),
        ),
    )


def _unread_electrode(a: Assessment) -> At:
    """Where the first electrode that nothing was read of is read; a new one where there is none."""
    blank = (e.electrode.id for e in a.electrodes if not any(t.readings for t in e.tests))
    of = next(blank, a.electrodes[0].electrode.id if a.electrodes else "")
    return reading_at(of, "electrode", method="rod alone") if of else At("electrode")


def _each(values: list[tuple[str, str]], several: bool) -> str:
    """One value, or each with the id of its electrode; blank as soon as one of them is."""
    if not several:
        return values[0][1] if values else ""
    return "; ".join(f"{name}: {value}" for name, value in values) if all(value for _, value in values) else ""


def _resistance(tests: tuple[TestJudged, ...]) -> str:
    """The highest reading of the electrode itself; one with something else joined to it only with that said."""
    found = [r for t in tests for r in t.readings if r.shown and not r.refused]
    alone = [r for r in found if r.method not in NOT_ALONE]
    last = max(alone or found, key=lambda r: r.shown.value if r.shown else 0.0, default=None)
    if last is None or last.shown is None:
        return _absent(tests)
    if last not in alone:
        return f"{said(last.shown)} Ω, {last.method}: not the electrode by itself"
    return told(f"{said(last.shown)} Ω", (t.outcome for t in tests if last in t.readings and t.judged))


def _absent(tests: tuple[TestJudged, ...]) -> str:
    return next((f"{t.absent}: {t.reason}" for t in tests if t.absent and t.absent != "missing"), "")
