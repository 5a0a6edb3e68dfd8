"""Whether what was read of a circuit's protective conductor says that it may be open, before a loop test is made live."""

from __future__ import annotations

from collections.abc import Sequence

from .digits import Kind
from .events import Event, Reading
from .ledger import readings, state_at

NAMES = {"r1r2": "R1+R2", "r2": "R2"}


def open_cpc(events: Sequence[Event], circuit: str) -> tuple[str, str] | None:
    """Why no live test is made, and what to do instead; None where no continuity reading that stands was over-range.

    The last reading of a kind at a point stands. One of another kind does not take its place: other metal may help that
    one. From the board's bar, with the cpc off, over-range tells of other metal and not of the cpc.
    """
    last: dict[tuple[str, str, str], Reading] = {}
    for test in NAMES:
        for r in readings(events, circuit, test):
            past = test == "r2" and r.between != "free end" and f"{circuit}:cpc" in state_at(events, r.seq).off
            if r.shown is not None and not past:
                last[test, r.point, r.between] = r
    over = next((r for r in last.values() if r.shown is not None and r.shown.kind is Kind.OVER), None)
    if over is None:
        return None
    name, at = NAMES[over.test], f" at {over.point}" if over.point else ""
    return (
        f"{name} read over-range{at}, so the protective conductor may be open; a loop test puts mains on metal that it "
        "does not reach.",
        f"Short the leads. If they are good, find the break and mend it, and read {name} again the same way.",
    )
