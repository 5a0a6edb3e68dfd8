"""R1+R2 and R2 as evidence on the protective conductor of a radial: what each was taken of, and what it allows for."""

from __future__ import annotations

import math

from attrs import frozen

from ...evidence.bond import Observed
from ...evidence.graph import point_name
from ...evidence.graph.changes import CPC as CPC_MM2
from ...evidence.graph.changes import LINE
from ...evidence.graph.lengths import CONNECTIONS_OHM, WIRES, length_to
from ...evidence.graph.model import CPC
from ...physics.conductor import band_ohm
from ...site.events import CONDUCTOR, PATH, TOGETHER, Reading
from ...site.installation import MET, Circuit
from ..earth import Earth, Ways
from ..reading import agree, observed_of
from .limits import Case, counting
from .runs import FREE_END, conductor_mohm_per_m, metres_to, not_free

BEYOND_M = 1.0  # cable beyond the last named point that makes no difference [m]


@frozen
class CpcReading:
    """One reading as evidence on a protective conductor; ``ways`` is what else is known to join the point in its state.

    start   ``MET`` or the id of the board from whose earth bar it was taken
    before  of what was read, the way from the MET to the circuit's board [Ω]: where it lies in series it is left out like
            a lead, and ``observed`` allows for it
    chain   read from the MET, with other metal beside the circuit and its sub-mains together: these are one conductor
    plain   the reading as it was taken, with neither the way before nor a tail of the conductor allowed for
    """

    reading: Reading
    observed: Observed
    ways: Ways | None
    start: str
    before: tuple[float, float]
    chain: bool
    plain: Observed


def same_end(circuit: Circuit, point: str) -> tuple[str, ...]:
    """The names of a point: the last that has a name is the furthest as well, unless cable is known to lie beyond it."""
    last = circuit.points[-1][0] if circuit.points else ""
    end, there = length_to(circuit, ""), length_to(circuit, last)
    if circuit.kind == "ring" or not last or point not in ("", last) or end is None or there is None:
        return (point,)
    return (last, "") if end[1] - there[1] <= BEYOND_M else (point,)


def is_usable(case: Case, reading: Reading) -> bool:
    """Whether a reading counts: measured, not worked out from the loop, with leads that can be trusted."""
    return reading.method != "calculated" and case.taken.corrected(reading).usable


def cpc_readings(case: Case, circuit: Circuit, point: str, earth: Earth) -> list[CpcReading]:
    """The readings of R1+R2 and R2 at a point that count, as evidence, in order."""
    line, length = conductor_mohm_per_m(case, circuit, circuit.line_mm2), metres_to(case, circuit, point, LINE)
    with_line = None
    if line is not None and length is not None:
        with_line = [band_ohm(*length[:2], line, case.make, CONNECTIONS_OHM / 2.0)]
    found = (
        _as_evidence(case, circuit, point, earth, reading, more)
        for test, more in (("r1r2", with_line), ("r2", []))
        for reading in counting(case.taken.by_point(circuit.id, test).get(point, ()))
        if more is not None and is_usable(case, reading)
    )
    return sorted((one for one in found if one is not None), key=lambda t: t.reading.seq)


def _as_evidence(
    case: Case, circuit: Circuit, point: str, earth: Earth, reading: Reading, more: list[tuple[float, float]]
) -> CpcReading | None:
    """One reading as evidence, with what is read along with it [Ω]; None where too little is known to say what was read."""
    upstream = case.upstream(circuit) if reading.between == MET else ()
    off = case.taken.state(reading).off
    if not_free(circuit, reading, off):
        return None
    is_off = f"{circuit.id}:cpc" in off
    if upstream and not is_off:  # from the MET the sub-mains are part of the conductor
        is_off = any(e in off for f in upstream for p in earth.network.of(CPC, f.id) for e in p.off_by)
    kind = (CONDUCTOR if reading.test == "r1r2" or reading.between == FREE_END else PATH) if is_off else TOGETHER
    start = MET if reading.between == MET else circuit.board
    own = frozenset({circuit.id, *(c.id for c in upstream)})
    ways = earth.ways(start, point_name(circuit.id, point), own, off)
    chain, before = bool(upstream) and ways is not None, (0.0, 0.0)
    if chain and feeders_ohm(case, circuit) is None:
        return None
    if upstream and not chain and kind == TOGETHER:
        way = earth.standing(off).band(MET, circuit.board)
        if way is None or math.isinf(way.high):
            return None
        before = way.low, way.high
    tail = (0.0, 0.0) if ways is None else ways.tail
    corrected = case.taken.corrected(reading)
    seen = observed_of(corrected, kind, [*more, before, tail])
    return CpcReading(reading, seen, ways, start, before, chain, observed_of(corrected, kind, more))


def distinct(taken: list[CpcReading]) -> list[CpcReading]:
    """Repeats of one kind that agree count once, the last of them: what spoiled the first may have spoiled the second."""
    kept: list[CpcReading] = []
    for one in taken:
        kept = [k for k in kept if not _repeats(k, one)]
        kept.append(one)
    return kept


def _repeats(one: CpcReading, other: CpcReading) -> bool:
    a, b = one.observed, other.observed
    if (a.test, a.offset, one.reading.test) != (b.test, b.offset, other.reading.test):
        return False
    return agree(a, b)


def feeders_ohm(case: Case, circuit: Circuit) -> tuple[float, float] | None:
    """Largest resistance of the protective conductors of the sub-mains at their least and greatest length [mΩ]; None: not known."""
    low = high = 0.0
    for feeder in case.upstream(circuit):
        known = feeder.cpc in WIRES
        r = conductor_mohm_per_m(case, feeder, feeder.cpc_mm2) if known else None
        way = metres_to(case, feeder, "", CPC_MM2)
        if r is None or way is None:
            return None
        low, high = low + way[0] * r, high + way[1] * r
    return low, high
