"""Whether what was read of a circuit's protective conductor says that it may be open, before a loop test is made live."""

from __future__ import annotations

from collections.abc import Sequence

from ..base.digits import Kind
from ..site.events import Event, LeadCheck, Reading
from ..site.ledger import readings, state_at
from ..site.repairs import ended_by, repairs_of
from ..site.tests import called

TESTS = ("r1r2", "r2")


def _is_over(r: Reading) -> bool:
    return r.shown is not None and r.shown.kind is Kind.OVER


def _leads(events: Sequence[Event], r: Reading) -> bool | None:
    """Whether the leads, shorted after a reading, were anything but open; None when they were not tried."""
    after = next(
        (
            e
            for e in events
            if isinstance(e, LeadCheck) and e.kind == "shorted" and e.leads == r.leads and e.seq > r.seq
        ),
        None,
    )
    return None if after is None else after.shown.kind is not Kind.OVER


def open_cpc(events: Sequence[Event], circuit: str) -> tuple[str, str] | None:
    """Why no live test is made, and what to do instead; None where no continuity reading that stands was over-range.

    Over-range with good leads stands until a repair is noted or the entry is struck. While the leads were not tried after
    it, a good reading of the same kind at the same point takes its place: a lead may have been off. One of another kind
    does not, for other metal may help that one. From the board's bar, with the cpc off, over-range tells of other metal.
    """
    repairs = repairs_of(events, circuit, f"{circuit}:cpc", f"{circuit}:line")
    standing: dict[tuple[str, str, str], Reading] = {}
    for test in TESTS:
        for r in readings(events, circuit, test):
            past = test == "r2" and r.between != "free end" and f"{circuit}:cpc" in state_at(events, r.seq).off
            if r.shown is None or past or ended_by(repairs, r) is not None or _leads(events, r) is False:
                continue
            before = standing.get((test, r.point, r.between))
            if before is None or not (_is_over(before) and _leads(events, before)):
                standing[test, r.point, r.between] = r
    over = next((r for r in standing.values() if _is_over(r)), None)
    if over is None:
        return None
    name, at = called(over.test), f" at {over.point}" if over.point else ""
    return (
        f"{name} read over-range{at}, so the protective conductor may be open; a loop test puts mains on metal that it "
        "does not reach.",
        f"Short the leads. If they are good, find the break, repair it and enter the repair; then read {name} again the same way.",
    )
