"""What a loop must lie between: the loop up to a board, R1+R2, the floor that no parallel metal can take away."""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import frozen

from ...base.errors import NoRule
from ...base.quantity import Band, Quantity
from ...evidence.graph.changes import CPC, LINE
from ...evidence.graph.lengths import WIRES, length_band
from ...physics.conductor import band_ohm, split_by_area
from ...physics.loop import zs_floor_ohm
from ...rules.lookup import loop_uplift
from ...site.events import ORIGIN, Reading
from ...site.installation import Circuit
from ...site.reading import Corrected
from .limits import Case, counting
from .runs import conductor_mohm_per_m, metres_to
from .worst_reading import highest, value_of

CALCULATED_LOOP = "calculated"  # a Zs that was added up on paper and not read
NO_TRIP = ("no-trip", "no trip", "non-trip", "3-wire", "three-wire")
# Share of the impedance line to neutral that the line has where line and neutral are alike (single-phase service).
LINE_SHARE = 0.5
# Real cable is at best this share of the largest resistance its standard allows (method, section 2).


@frozen
class Source:
    """The loop up to a board: what it may be [Ω], its value if it was measured, and where that is known from."""

    band: Band
    how: str
    quantity: Quantity | None = None


def no_trip(reading: Reading) -> bool:
    """Whether a loop reading was taken by a method whose small current passes a residual current device."""
    return reading.method.lower() in NO_TRIP


def deciding(readings: Iterable[Reading]) -> Reading:
    """The loop reading that counts: the highest of the best method, two-lead before no-trip before calculated.

    Of several lines of a three-phase circuit, and of repeats with no repair between them, the highest counts.
    """
    found = counting(readings)
    read = [r for r in found if r.method != CALCULATED_LOOP]
    best = [r for r in read if not no_trip(r)] or read or list(found)
    return max(best, key=lambda r: r.shown.value if r.shown is not None else 0.0)


def measured(case: Case, thing: str, test: str) -> Corrected | None:
    """The loop reading of a thing that counts, corrected; None when there is none with digits in range."""
    found = counting(case.taken.of(thing, test))
    if not found:
        return None
    corrected = case.taken.corrected(deciding(found))
    return corrected if corrected.band is not None and corrected.usable else None


def source(case: Case, board_id: str, seen: tuple[str, ...] = ()) -> Source | None:
    """The loop up to a board's terminals: its Zdb, else Ze at the origin, else the sum along the feeders; None if unknown."""
    zdb = measured(case, board_id, "zdb")
    if zdb is not None and zdb.band is not None:
        return Source(zdb.band, f"Zdb of {board_id} as measured", zdb.quantity)
    feeder = case.feeder(board_id)
    if feeder is None:
        board = case.board(board_id)
        return None if board is not None and board.fed_by else _origin(case)
    if feeder.id in seen or board_id in case.earths or case.volts(board_id) != case.volts(feeder.board):
        return None  # another earth, or a transformer: the loop before it is no part of this one
    before = source(case, feeder.board, (*seen, feeder.id))
    run = r1r2(case, feeder, "")
    if before is None or run is None:
        return None
    low, high = before.band.low + run.band.low, before.band.high + run.band.high
    return Source(Band(low, high, "Ω"), f"{before.how}, and {run.how} of {feeder.id}")


def _origin(case: Case) -> Source | None:
    ze = measured(case, ORIGIN, "ze")
    if ze is not None and ze.band is not None:
        return Source(ze.band, "Ze as measured", ze.quantity)
    supply = case.visit.site.supply
    if supply.ze_ohm is not None:
        return Source(
            Band(0.0, supply.ze_ohm, "Ω"), f"Ze at most {supply.ze_ohm:g} Ω ({supply.ze_how or 'as entered'})"
        )
    return None


def r1r2(case: Case, circuit: Circuit, point: str) -> Source | None:
    """R1+R2 of a circuit at a point [Ω]: as read there, else the highest read, else from its cable. None if unknown."""
    taken = case.taken.by_point(circuit.id, "r1r2")
    some = taken.get(point) or [r for readings in taken.values() for r in readings]
    found = [case.taken.corrected(r) for r in counting(some)]
    if circuit.kind == "ring" and not found:
        profile = counting(case.taken.of(circuit.id, "ring le"))
        found = [case.taken.corrected(r) for r in profile if not point or r.point == point]
    good = [c for c in found if c.band is not None and c.usable]
    if good:
        top = max(good, key=lambda c: c.band.high if c.band else 0.0)
        assert top.band is not None
        return Source(top.band, "R1+R2 as measured", top.quantity)
    ends = _ring_quarter(case, circuit)
    return ends or _from_cable(case, circuit, point)


def _ring_quarter(case: Case, circuit: Circuit) -> Source | None:
    """(r1 + r2)/4 of a ring from its end to end readings."""
    bands = []
    for test in ("ring r1", "ring r2"):
        found = counting(case.taken.of(circuit.id, test))
        corrected = case.taken.corrected(highest(case, found)) if found else None
        if corrected is None or corrected.band is None or not corrected.usable:
            return None
        bands.append(corrected.band)
    low, high = math.fsum(b.low for b in bands) / 4, math.fsum(b.high for b in bands) / 4
    return Source(Band(low, high, "Ω"), "(r1 + r2)/4 of the ring")


def _from_cable(case: Case, circuit: Circuit, point: str) -> Source | None:
    line, cpc = _core(case, circuit, LINE, point), _core(case, circuit, CPC, point)
    if line is None or cpc is None or circuit.cpc not in WIRES:
        return None
    share = 0.25 if circuit.kind == "ring" else 1.0
    return Source(
        Band((line.low + cpc.low) * share, (line.high + cpc.high) * share, "Ω"), "R1+R2 from the cable entered"
    )


def _core(case: Case, circuit: Circuit, core: str, point: str) -> Band | None:
    """Resistance of one core from the board to a point [Ω] at the temperature of the test; a ring as a whole."""
    csa_mm2 = getattr(circuit, core)
    place = dict(circuit.points).get(point) if point else None
    length = place if place is not None and circuit.kind != "ring" else circuit.length_m
    if csa_mm2 is None or length is None or (point and place is None and circuit.points):
        return None
    r = conductor_mohm_per_m(case, circuit, csa_mm2)
    metres = length_band(length, circuit.length_tol_m)
    if circuit.stretches:
        way = metres_to(case, circuit, point, core)
        if way is None:
            return None
        metres = way[:2]
    return None if r is None else Band(*band_ohm(*metres, r, case.make), "Ω")


def line_floor(case: Case, circuit: Circuit, point: str, *, firm: bool = False) -> tuple[float, tuple[str, ...]]:
    """The least a loop can be, whatever metal helps the earth side [Ω], and what that rests on.

    Source and line share + R1 of every circuit on the way: the line has no parallel path. An unknown source counts as
    nothing. The loop line to neutral may have been read at any board on the way; the one that leaves least open counts.
    firm  without R1 out of R1+R2, which a poor joint in the protective conductor makes too large
    """
    r1, basis = _r1_low(case, circuit, point, firm)
    at, upstream = circuit.board, case.upstream(circuit)
    floors = []
    for i, feeder in enumerate(upstream):
        alike = all(c.neutral_mm2 in (None, c.line_mm2) for c in upstream[i:])  # else the line has less than half
        floors.append(_with_share(source_line_low(case, at) if alike else 0.0, r1, basis, f" at {at}"))
        before, more = _r1_low(case, feeder, "", firm)
        r1, basis, at = r1 + before, (*basis, *(f"{feeder.id}: {text}" for text in more)), feeder.board
    if case.feeder(at) is None:  # no transformer in between
        floors.append(_with_share(source_line_low(case), r1, basis, ""))
    floors.append(_with_share(source_line_low(case, at), r1, basis, f" at {at}"))
    return max(floors, key=lambda f: f[0])


def _with_share(share: float, r1: float, basis: tuple[str, ...], at: str) -> tuple[float, tuple[str, ...]]:
    if share:
        basis = (*basis, f"source and supply line at least {share:.3f} Ω, half of the loop line to neutral or Ze{at}")
    return zs_floor_ohm(share, r1), basis


def _r1_low(case: Case, circuit: Circuit, point: str, firm: bool) -> tuple[float, tuple[str, ...]]:
    """Least R1 [Ω]: what the cable leaves, else R1+R2 by size; of a ring only the way to a socket whose place is known.

    The second is the weaker: a poor joint in the protective conductor makes it too large, which the finding says.
    """
    # An estimated length, one without a tolerance, is no floor.
    cable = None if circuit.length_tol_m is None else _core(case, circuit, LINE, point)
    if circuit.kind == "ring":
        place, whole = dict(circuit.points).get(point), circuit.length_m
        if cable is None or place is None or not whole or not 0 < place < whole:
            return 0.0, ()
        r1 = cable.low * (place / whole) * (1 - place / whole)
        return r1, (f"R1 at {place:g} m of the ring at least {r1:.3f} Ω",)
    if cable is not None:
        return cable.low, (f"R1 from the line's length at least {cable.low:.3f} Ω",)
    split = None if firm else _r1_of_r1r2(case, circuit, point)
    if split is not None:
        return split, (f"R1 from R1+R2 by size at least {split:.3f} Ω",)
    return 0.0, ()


def _r1_of_r1r2(case: Case, circuit: Circuit, point: str) -> float | None:
    """R1 out of a measured R1+R2 at the same point; parallel metal only makes it too small."""
    if not circuit.line_mm2 or not circuit.cpc_mm2 or circuit.cpc not in WIRES:
        return None
    found = counting(case.taken.by_point(circuit.id, "r1r2").get(point, ()))
    bands = [c.band for c in (case.taken.corrected(r) for r in found) if c.band is not None and c.usable]
    if not bands:
        return None
    low = min(b.low for b in bands)
    # Of a cable that changes, the length whose line has the smallest share of both.
    sizes = [(s.line_mm2, s.cpc_mm2 or circuit.cpc_mm2) for s in circuit.stretches]
    return min(split_by_area(low, *both)[0] for both in sizes or [(circuit.line_mm2, circuit.cpc_mm2)])


def source_line_low(case: Case, at: str = ORIGIN) -> float:
    """Least impedance of source and line [Ω] up to the origin or a board; 0 beside three phases, or where nothing was read.

    From a fault current L-N; on TN-C-S also from Ze, whose return is the neutral. Rods along the neutral and metal
    beside it only lower its share, so the line's is at least half.
    """
    supply = case.visit.site.supply
    if supply.phases != 1:
        return 0.0
    loops = [0.0]
    found = [r for r in counting(case.taken.of(at, "fault current")) if r.between == "L-N"]
    if found:
        band = case.taken.corrected(max(found, key=value_of)).band
        if band is not None and band.high > 0:
            loops.append(case.u0_v / (band.high * 1000.0))
    if at == ORIGIN and supply.system == "TN-C-S":
        read = [
            case.taken.corrected(r).band for r in counting(case.taken.of(ORIGIN, "ze")) if r.method != CALCULATED_LOOP
        ]
        loops += [min(lows)] if (lows := [band.low for band in read if band is not None]) else []
    return LINE_SHARE * max(loops)


def uplift(case: Case, circuit: Circuit, reading: Reading) -> float:
    """What the coil of a device may add to a no-trip reading [Ω]; 0 for another method or without such a device."""
    if not no_trip(reading):
        return 0.0
    if circuit.device.coil_ohm is not None:
        return circuit.device.coil_ohm
    if not case.rcds(circuit):
        return 0.0
    try:
        return float(case.limits.ask(loop_uplift).value)
    except NoRule:
        return 0.0
