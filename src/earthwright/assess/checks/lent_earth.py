"""A circuit whose earth is lent by another circuit: it is lost as soon as the lender's protective conductor is off."""

from __future__ import annotations

from ...base.digits import Kind
from ...base.errors import Finding
from ...rules import cited
from ...site.events import Off, On, Reading
from ...site.repairs import ended_by, repairs_of
from .series import Series

TESTS = ("r2", "r1r2")
CPC = ":cpc"


def earth(series: Series) -> list[Finding]:
    """An R2 or R1+R2 that was there, and is over-range while only another circuit's protective conductor is off."""
    good: dict[tuple[str, str, str], Reading] = {}
    found: list[Finding] = []
    lifted: set[str] = set()
    repairs = repairs_of(series.visit.events)
    for event in series.visit.events:
        if isinstance(event, Off) and event.what.endswith(CPC):
            lifted.add(event.what.removesuffix(CPC))
        elif isinstance(event, On):
            lifted.discard(event.what.removesuffix(CPC))
        if not isinstance(event, Reading) or event.test not in TESTS or event.shown is None or event.refused:
            continue
        key = event.of, event.test, event.point
        if event.shown.kind is not Kind.OVER:
            if event.of not in lifted:
                good[key] = event
        elif lifted and event.of not in lifted and key in good and ended_by(repairs, event) is None:
            found.append(_borrowed(event, good[key], sorted(lifted), cited(series.wiring, "borrowed earth")))
    return found


def _borrowed(lost: Reading, before: Reading, lenders: list[str], cited: str) -> Finding:
    lender = " or ".join(lenders)
    return Finding.of(
        "cpc.borrowed",
        f"circuit {lost.of}, {'R1+R2' if lost.test == 'r1r2' else 'R2'}",
        f"Its earth is there only through the protective conductor of {lender}.",
        lost.of,
        f"{before.shown} again, whatever is off at {lender}",
        f"{before.shown} with it connected, over-range with it off",
        f"Short the tips once: if they read 0.00 no lead was off, and {lost.of} needs a protective conductor of its own, in "
        f"its own wiring system or close by{cited}. Until then nothing of the lender is to be opened.",
        "A lead that slipped off, or another terminal lifted than was noted, does the same.",
    )
