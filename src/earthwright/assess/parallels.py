"""What a test between two places should show when what was read there counts as well: paths beside a bond, and all together.

The graph holds what is entered. Metal that nobody entered may join any two places, and can only lower what is read, so the
highest value of a whole network stands, and what would be read with one conductor broken is not known until the path
beside that conductor was read. Between any three places ``R(u, v) ≤ R(u, a) + R(a, b) + R(b, v)`` (effective resistance is
a distance: Klein and Randić 1993), which carries a path read at a bond over to other places.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import evolve, frozen

from ..base.display import Display
from ..base.quantity import Band
from ..evidence.expected import on_display
from ..evidence.graph import Break, Reach, point_name
from ..evidence.graph.model import BOND, CPC, LINK, Piece
from ..outcomes.assessment import Assessment
from ..site.events import PATH, TOGETHER, Repair
from ..site.installation import MET
from ..site.reading import Corrected
from .circuits.readings import Taken
from .earth import Earth
from .reading import display_of


@frozen
class PathRead:
    """What joins two places beside one conductor, as read.

    kind, of   the conductor that was out;  a, b  its ends
    low_ohm, high_ohm  what the path may be by the limits of error; ``high_ohm`` infinite when only a low edge follows
    off        what else was off;  reading  its id
    """

    kind: str
    of: str
    a: str
    b: str
    low_ohm: float
    high_ohm: float
    off: frozenset[str]
    reading: str


def paths_read(a: Assessment, earth: Earth) -> tuple[PathRead, ...]:
    """The paths that were read and still stand: nothing of the network was put right since.

    All connected reads no more than the path beside the bond, whole or not, so it gives the path a low edge.
    """
    last = max((e.seq for e in a.visit.events if isinstance(e, Repair)), default=0)
    found = []
    for b in a.bonds:
        for x in b.readings:
            if x.used and x.reading.test in (PATH, TOGETHER) and x.reading.seq > last:
                low, high = edges(x.corrected)
                high = high if x.reading.test == PATH else math.inf
                off = frozenset(x.state.off) & earth.network.ends - _own(b.bond.id)
                found.append(PathRead(BOND, b.bond.id, MET, b.bond.part, low, high, off, x.reading.id))
    return (*found, *_beside_cpcs(a, earth, last))


def _beside_cpcs(a: Assessment, earth: Earth, last: int) -> list[PathRead]:
    """R2 from the bar or the MET to a point while the circuit's own cpc was off."""
    taken, found = Taken(a.visit), []
    for c in a.visit.site.circuits:
        for r in taken.of(c.id, "r2"):
            off = frozenset(taken.state(r).off)
            if r.shown is None or r.refused or r.seq < last or r.between == "free end" or f"{c.id}:cpc" not in off:
                continue
            corrected, start, end = taken.corrected(r), MET if r.between == MET else c.board, point_name(c.id, r.point)
            if corrected.usable and earth.network.has(start) and earth.network.has(end):
                low, high = edges(corrected)
                found.append(
                    PathRead(CPC, c.id, start, end, low, high, off & earth.network.ends - {f"{c.id}:cpc"}, r.id)
                )
    return found


def edges(corrected: Corrected) -> tuple[float, float]:
    """The least and the most that a reading may stand for [Ω]; of an over-range the most is infinite."""
    if corrected.band is not None:
        return corrected.band.low, corrected.band.high
    low, _ = display_of(corrected.accuracy, corrected).window(math.inf)
    return max(0.0, low - corrected.offset[1]), math.inf


def reach_as_read(
    earth: Earth, off: Iterable[str], a: str, b: str, display: Display, read: Iterable[PathRead]
) -> Reach:
    """:meth:`Standing.reach` with what was read: no break is said to show that metal nobody entered could hide.

    Raises EarthNetworkError for unknown places.
    """
    gone, read = frozenset(off), tuple(read)
    reach = earth.standing(gone).reach(a, b, display)
    if reach.band is None:
        return evolve(reach, read=_off_already(earth, gone, reach, read))
    breaks = tuple(_break(earth, gone, reach, x, display, read) for x in reach.breaks)
    return evolve(reach, breaks=breaks, lower=not all(x.rests and math.isinf(_high(x)) for x in breaks))


def _high(x: Break) -> float:
    return math.inf if x.band is None else x.band.high


def _own(bond: str) -> frozenset[str]:
    return frozenset({bond, f"{bond}@part"})


def _off_already(earth: Earth, off: frozenset[str], reach: Reach, read: Iterable[PathRead]) -> Band | None:
    """What was read between two places that nothing entered joins in this state."""
    low, high = 0.0, math.inf
    for r in read:
        ends = {earth.network.node(r.a).id, earth.network.node(r.b).id}
        if ends == {reach.a.id, reach.b.id} and _taken_out(earth, r) & off:
            now = off & earth.network.ends - _taken_out(earth, r)
            low = max(low, r.low_ohm) if r.off <= now else low
            high = min(high, r.high_ohm) if now <= r.off else high
    return Band(min(low, high), high, "Ω") if low > 0.0 or high < math.inf else None


def _taken_out(earth: Earth, r: PathRead) -> frozenset[str]:
    pieces = earth.network.of(r.kind, r.of)
    return frozenset(e for p in pieces for e in p.off_by) & ({f"{r.of}:cpc"} if r.kind == CPC else _own(r.of))


def _break(
    earth: Earth, off: frozenset[str], reach: Reach, x: Break, display: Display, read: Iterable[PathRead]
) -> Break:
    """One break with what was read of the path beside it; ``shows`` None where metal nobody entered may hide it."""
    pieces = [p for p in reach.pieces if (p.kind, p.of) == (x.kind, x.of)]
    low, high = 0.0, math.inf if x.band is None else x.band.high
    rests: list[str] = []
    for r in read:
        # Along a cable other metal may come in before the break, so the path beside the whole of it is not what is left.
        if (r.kind, r.of) != (x.kind, x.of) or len(pieces) != 1 or not _spans(earth, pieces[0], r):
            continue
        now = off & earth.network.ends - _taken_out(earth, r)
        way = _way_over(earth, off | _taken_out(earth, r), reach, r)
        if math.isinf(way):
            continue
        if r.off <= now and r.low_ohm - way > 0.0:
            low = max(low, r.low_ohm - way)
            rests.append(r.reading)
        if now <= r.off:
            high = min(high, r.high_ohm + way)
    band = Band(min(low, high), high, "Ω")
    assert reach.band is not None  # nothing breaks where nothing joins
    if low > 0.0:
        shows: bool | None = on_display(band, display).low > on_display(reach.band, display).high
    else:
        shows = None if x.shows else False
    return evolve(x, band=band, shows=shows, rests=tuple(rests))


def _spans(earth: Earth, piece: Piece, r: PathRead) -> bool:
    """Whether a path was read from one end of a piece to the other."""
    return {piece.a, piece.b} == {earth.network.node(r.a).id, earth.network.node(r.b).id} and piece.kind != LINK


def _way_over(earth: Earth, off: frozenset[str], reach: Reach, r: PathRead) -> float:
    """At most from the places asked about to the ends of the path that was read, the better way round [Ω]."""
    standing = earth.standing(off)

    def most(one: str, other: str) -> float:
        band = standing.band(one, other)
        return math.inf if band is None else band.high

    a, b = reach.a.id, reach.b.id
    return min(most(a, r.a) + most(b, r.b), most(a, r.b) + most(b, r.a))
