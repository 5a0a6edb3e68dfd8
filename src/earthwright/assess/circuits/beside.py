"""What R1+R2 and R2 should read where other metal that is entered joins the point as well, and what that leaves open."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

from ...earthnetwork import point_name
from ...earthnetwork.words import piece_said
from ...errors import Finding, Severity
from ...events import Reading, State
from ...evidence import in_parallel
from ...installation import MET, Circuit
from ...quantity import Band
from ...verdict import NO_RULE, NOT_DECIDED
from ..earth import Earth, Ways
from . import words_dead as say
from .limits import Case
from .runs import CONNECTIONS_OHM, Run


@frozen
class Should:
    """What a reading should be in its state.

    band    None when nothing can be said;  ways  what else is known to join the point, None when nothing is
    lifted  the protective conductor was off and the reading is of what else there is
    before  the way from the MET to the circuit's board, where the reading started there [Ω]
    """

    band: Band | None
    ways: Ways | None
    lifted: bool
    before: Band | None = None


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
        return Should(_more(run.band, before), None, lifted=False, before=before)
    low, high = in_parallel(run.cpc.low, ways.band.low), in_parallel(run.cpc.high, ways.band.high)
    rest = (run.band.low - run.cpc.low, run.band.high - run.cpc.high)
    said = f"{say.listed(ways.said)} beside it, {ways_ohm(ways.band)}"
    band = Band(low + rest[0], high + rest[1], "Ω", (*run.band.assumed, said))
    return Should(_more(band, before), ways, lifted=False, before=before)


def broken_elsewhere(
    circuit: Circuit, reading: Reading, run: Run, should: Should, state: State, earth: Earth
) -> list[str]:
    """Breaks on the other ways to the point that would make a whole protective conductor read more, with the reading then."""
    if should.ways is None or run.cpc is None:
        return []
    start = MET if reading.between == MET else circuit.board
    found = []
    connections = CONNECTIONS_OHM / 2.0
    line = run.band.low - run.cpc.low, run.band.high - run.cpc.high
    place = point_name(circuit.id, reading.point)
    for broken in earth.standing(state.off).reach(start, place, contact_ohm=connections).breaks:
        if (broken.kind, broken.of) not in should.ways.over or broken.band is None:
            continue
        low, high = broken.band.low + line[0], broken.band.high + line[1]
        found.append(f"{piece_said(broken.kind, broken.of)} is open: then {low:.2f} to {high:.2f} Ω")
    return found


def reads_alone(
    circuit: Circuit, reading: Reading, run: Run, bare: Run, should: Should, elsewhere: Sequence[str]
) -> Finding:
    """It reads like its own copper, so what is said to join the point as well does not."""
    others = [piece_said(kind, of) for kind, of in should.ways.over] if should.ways else []
    return Finding(
        f"circuit {circuit.id}, {say.NAMES[reading.test]}{f', {reading.point}' if reading.point else ''}",
        f"It reads like its own conductors alone, so {say.listed(others)} does not help as entered.",
        Severity.WARNING,
        "continuity.alone",
        circuit.id,
        f"{say.span(bare.band)} with that metal beside it; {say.span(run.band)} without",
        str(reading.shown),
        "Measure the bonds among them with one end off, and look whether the metal is there and joined as entered.",
        say.best_first(elsewhere),
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
    return "of a resistance that is not known" if math.isinf(band.high) else say.span(band)


def held(run: Run, should: Should, band: Band, inside: bool | None) -> tuple[str, str]:
    """A reading that other metal, which is known, explains by itself proves nothing about the protective conductor."""
    if should.ways is None or inside is False or band.high >= run.band.low:
        return NO_RULE, ""
    others = should.ways.said
    join = "join" if len(others) > 1 else "joins"
    return NOT_DECIDED, f"{say.listed(others)} {join} the point as well, and answered with it or in its place"
