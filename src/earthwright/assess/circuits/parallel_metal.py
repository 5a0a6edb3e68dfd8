"""What R1+R2 and R2 should read where other metal that is entered joins the point as well, and what that leaves open."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

from ...base.errors import Finding
from ...base.figure import shown_span
from ...base.quantity import Band
from ...evidence.bond import in_parallel
from ...evidence.graph import point_name
from ...evidence.graph.lengths import CONNECTIONS_OHM
from ...evidence.graph.words import piece_said
from ...outcomes.verdict import NO_RULE, NOT_DECIDED
from ...site.events import Reading, State
from ...site.installation import MET, Circuit
from ..earth import Earth, Ways
from . import words_dead as say
from .limits import Case
from .runs import Run


@frozen
class Should:
    """What a reading should be in its state.

    band    None when nothing can be said;  ways  what else is known to join the point, None when nothing is
    lifted  the protective conductor was off and the reading is of what else there is
    before  the way from the MET to the circuit's board, where the reading started there and it is in series [Ω]
    alone   what the circuit's own conductors and those of its sub-mains read by themselves [Ω]
    """

    band: Band | None
    ways: Ways | None
    lifted: bool
    before: Band | None = None
    alone: Band | None = None


def should_be(case: Case, circuit: Circuit, reading: Reading, run: Run | None, state: State, earth: Earth) -> Should:
    """Own copper side by side with the metal that is known to join the point, in the state of the reading."""
    upstream = case.upstream(circuit) if reading.between == MET else ()
    start = MET if reading.between == MET else circuit.board
    own = frozenset({circuit.id, *(c.id for c in upstream)})
    ways = earth.ways(start, point_name(circuit.id, reading.point), own, state.off)
    off = f"{circuit.id}:cpc" in state.off
    if off and reading.test == "r2" and reading.between != "free end":
        return Should(ways.band if ways else None, ways, lifted=True)
    if off:
        ways = None  # the free end is measured, and nothing else hangs on it
    before = earth.standing(state.off).band(MET, circuit.board) if upstream else None
    if run is None or run.cpc is None:
        return Should(run.band if run else None, ways, lifted=False)
    if ways is None:
        band = _more(run.band, before)
        return Should(band, None, lifted=False, before=before, alone=band)
    feeders = earth.over_feeders(circuit.board, state.off) if upstream else None
    alone = _more(run.band, feeders or Band(0.0, math.inf, "Ω")) if upstream else run.band
    rest = (run.band.low - run.cpc.low, run.band.high - run.cpc.high)
    said = (*run.band.assumed, f"{say.listed(ways.said)} beside it, {ways_ohm(ways.band)}")
    if upstream or not ways.apart:
        # The other way lies beside the sub-main as well, or comes in at more than one place: only the network knows.
        whole = earth.standing(state.off).band(start, point_name(circuit.id, reading.point), connections(reading.test))
        if whole is None or math.isinf(whole.high):
            return Should(None, ways, lifted=False, alone=alone)
        return Should(Band(whole.low + rest[0], whole.high + rest[1], "Ω", said), ways, lifted=False, alone=alone)
    low, high = (
        tail + in_parallel(max(0.0, own - tail), max(0.0, way - tail))
        for own, way, tail in zip((run.cpc.low, run.cpc.high), (ways.band.low, ways.band.high), ways.tail, strict=True)
    )
    return Should(Band(low + rest[0], high + rest[1], "Ω", said), ways, lifted=False, alone=alone)


def connections(test: str) -> float:
    """What connections may add to a reading [Ω]: the long lead of R2 passes fewer than line and cpc together do."""
    return CONNECTIONS_OHM if test == "r1r2" else CONNECTIONS_OHM / 2.0


def broken_elsewhere(
    circuit: Circuit, reading: Reading, run: Run, should: Should, state: State, earth: Earth, read: Band
) -> list[tuple[str, str]]:
    """Breaks on the other ways to the point that would explain what was read: the piece, and what would be read then.

    A break that leaves the middle of what is to be expected inside the band of a whole network explains nothing.
    """
    if should.ways is None or should.band is None or run.cpc is None:
        return []
    start = MET if reading.between == MET else circuit.board
    found = []
    line = run.band.low - run.cpc.low, run.band.high - run.cpc.high
    place = point_name(circuit.id, reading.point)
    for broken in earth.standing(state.off).reach(start, place, contact_ohm=CONNECTIONS_OHM / 2.0).breaks:
        if (broken.kind, broken.of) not in should.ways.over or broken.band is None:
            continue
        then = Band(broken.band.low + line[0], broken.band.high + line[1], "Ω")
        if then.touches(read) and (math.isinf(then.high) or (then.low + then.high) / 2.0 > should.band.high):
            name = piece_said(broken.kind, broken.of)
            found.append((name, f"{name} is open: then {shown_span(then)}"))
    return found


def reads_alone(
    circuit: Circuit, reading: Reading, expected: Band, alone: Band, elsewhere: Sequence[tuple[str, str]]
) -> Finding:
    """It reads like its own copper, so what is said to join the point as well does not.

    expected  with that metal beside it [Ω];  alone  without;  elsewhere  the breaks that would explain it
    """
    others = [name for name, _ in elsewhere]
    help_ = "does not help" if len(others) == 1 else "do not all help"
    return Finding.of(
        "continuity.alone",
        f"circuit {circuit.id}, {say.NAMES[reading.test]}{f', {reading.point}' if reading.point else ''}",
        f"It reads like its own conductors alone, so {say.listed(others)} {help_} as entered.",
        circuit.id,
        f"{shown_span(expected)} with that metal beside it; {shown_span(alone)} without",
        str(reading.shown),
        "Measure the bonds among them with one end off, and look whether the metal is there and joined as entered.",
        say.best_first([said for _, said in elsewhere]),
    )


def _more(band: Band, before: Band | None) -> Band | None:
    if before is None:
        return band
    if math.isinf(before.high):
        return None
    said = f"from the MET to the board {before.low:.3f} to {before.high:.3f} Ω"
    return Band(band.low + before.low, band.high + before.high, band.unit, (*band.assumed, said))


def ways_ohm(band: Band) -> str:
    """Its resistance in words, also where nothing is known of it."""
    return "of a resistance that is not known" if math.isinf(band.high) else shown_span(band)


def held(run: Run, should: Should, band: Band, inside: bool | None) -> tuple[str, str]:
    """A reading that other metal, which is known, explains by itself proves nothing about the protective conductor."""
    own = should.alone or run.band
    if should.ways is None or inside is False or band.high >= own.low:
        return NO_RULE, ""
    others = should.ways.said
    join = "join" if len(others) > 1 else "joins"
    return NOT_DECIDED, f"{say.listed(others)} {join} the point as well, and answered with it or in its place"
