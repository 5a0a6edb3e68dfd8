"""A radial whose length is not entered: for what run its readings stand, what that can prove, and what it cannot.

Without a length nothing tells a whole conductor from a poor joint on a shorter run: every reading is the reading of some
length. What is left is continuity. Over-range disproves it whatever the length; digits say that something joins the point
to earth, which the conductor alone does only where it was read from its free end.
"""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from ...base.digits import Kind
from ...base.quantity import Band
from ...evidence.bond import DISPROVED, OPEN
from ...evidence.graph.lengths import CONNECTIONS_OHM, WIRES
from ...outcomes.circuits import CpcJudged
from ...physics.conductor import implied_length_band_m
from ...site.events import Reading
from ...site.installation import Circuit
from . import words_cpc as say
from .cpc_readings import is_usable, same_end
from .limits import Case, counting
from .loop import deciding, source
from .runs import FREE_END, TESTS, conductor_mohm_per_m, not_free

ENOUGH = 3  # neighbours with a run of their own, so that they say something


def open_without_length(case: Case, circuit: Circuit, point: str) -> CpcJudged | None:
    """Disproved where a reading was over-range and the leads were good afterwards: no length reads that. A repair ends it."""
    read = [
        r for name in same_end(circuit, point) for t in TESTS for r in case.taken.by_point(circuit.id, t).get(name, ())
    ]
    through = [r for r in counting(read) if is_usable(case, r) and not _past(case, circuit, r)]
    for r in through:
        if r.shown is not None and r.shown.kind is Kind.OVER and case.taken.corrected(r).trust.after_good:
            return CpcJudged(DISPROVED, OPEN, point, (r.id,), words=say.open_whatever_length(circuit, point))
    return None


def _past(case: Case, circuit: Circuit, reading: Reading) -> bool:
    """Whether a reading was taken past the conductor: its end was off, and it did not begin there."""
    off = case.taken.state(reading).off
    lifted = reading.test == "r2" and reading.between != FREE_END and f"{circuit.id}:cpc" in off
    return lifted or not_free(circuit, reading, off)


def what_it_stands_for(case: Case, circuit: Circuit, point: str) -> str:
    """The run that R1+R2, the loop and the neighbours let expect [m], in words, and what of the conductor that shows."""
    own = _by_r1r2(case, circuit, point)
    if own is None or circuit.length_m is not None:
        return ""
    return say.stands_for_run(own, _by_loop(case, circuit, point), _neighbours(case, circuit))


def _both(case: Case, circuit: Circuit) -> float | None:
    """Line and protective conductor together [mΩ/m]."""
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2)
    cpc = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2) if circuit.cpc in WIRES else None
    return None if line is None or cpc is None or circuit.stretches else line + cpc


def _by_r1r2(case: Case, circuit: Circuit, point: str) -> tuple[float, float] | None:
    read = [r for r in counting(case.taken.by_point(circuit.id, "r1r2").get(point, ())) if is_usable(case, r)]
    band = case.taken.corrected(read[-1]).band if read else None
    return _metres(case, circuit, band)


def _by_loop(case: Case, circuit: Circuit, point: str) -> tuple[float, float] | None:
    """By Zs at the point less the loop up to the board."""
    read = case.taken.by_point(circuit.id, "zs").get(point, ())
    upto = source(case, circuit.board) if counting(read) else None
    corrected = case.taken.corrected(deciding(read)) if upto is not None else None
    if upto is None or corrected is None or corrected.band is None or not corrected.usable:
        return None
    low, high = corrected.band.low - upto.band.high, corrected.band.high - upto.band.low
    return _metres(case, circuit, Band(max(0.0, low), high, "Ω")) if high > 0.0 else None


def _metres(case: Case, circuit: Circuit, band: Band | None) -> tuple[float, float] | None:
    """The run of which a reading may be, if it is of its copper and good connections alone [m]."""
    r = _both(case, circuit)
    if r is None or band is None:
        return None
    return implied_length_band_m(max(0.0, band.low - CONNECTIONS_OHM), band.high, r, *case.make)


def _neighbours(case: Case, circuit: Circuit) -> tuple[float, float, float] | None:
    """Shortest, middle and longest run of the other radials of its board [m]: as entered, else as R1+R2 stands for."""
    found = sorted(_runs(case, circuit))
    return (found[0], median(found), found[-1]) if len(found) >= ENOUGH else None


def _runs(case: Case, circuit: Circuit) -> Iterator[float]:
    for other in case.visit.site.circuits:
        if other.id == circuit.id or other.board != circuit.board or other.kind == "ring":
            continue
        if other.length_m is not None:
            yield other.length_m
            continue
        bands = [_by_r1r2(case, other, point) for point in case.taken.by_point(other.id, "r1r2")]
        longest = max((b for b in bands if b is not None), default=None)
        if longest is not None:
            yield sum(longest) / 2.0
