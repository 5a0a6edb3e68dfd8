"""Whether the protective conductor of a radial circuit is whole: the evidence of R1+R2 and R2, as of a bond.

The long lead of R2, or the line conductor of R1+R2, is a lead of known resistance; what it reads beyond that is the
protective conductor side by side with whatever else joins the point to earth. So a reading proves the conductor only as
far as an open one would have read something else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from attrs import evolve

from ...base.quantity import Band
from ...evidence.bond import (
    COARSE,
    DISPROVED,
    NOT_SHOWN,
    BondEvidence,
    Copper,
    Evidence,
    Model,
    Observed,
    of_one_together,
)
from ...evidence.graph.changes import CPC
from ...evidence.graph.lengths import CONNECTIONS_OHM, WIRES
from ...evidence.priors import MOST_OHM
from ...outcomes.circuits import CpcJudged
from ...physics.conductor import band_ohm
from ...site.events import CONDUCTOR, PATH, TOGETHER
from ...site.installation import MET, Circuit
from ..earth import Earth, Ways
from .cpc_readings import CpcReading, cpc_readings, distinct, feeders_ohm, is_usable, same_end
from .limits import Case, counting
from .no_length import open_without_length, what_it_stands_for
from .runs import TESTS, conductor_mohm_per_m, metres_to
from .words_cpc import branches, conductor_findings, conductor_sums, conductor_words, lacking, stands_words

# Whether other metal joins a point to earth where none is entered hangs on the use: boilers and sub-boards stand on pipes
# and steel, a plastic socket in plaster on nothing.
_ON_PIPES, _FIXED = ("heating", "shower", "distribution"), ("fixed", "cooker")


def judge_cpc(case: Case, circuit: Circuit, earth: Earth) -> CpcJudged | None:
    """The protective conductor of a radial up to the furthest point read; None for rings and where there is none."""
    if circuit.kind == "ring" or circuit.cpc == "none":
        return None
    point = _furthest(case, circuit)
    if point is None:
        return CpcJudged(NOT_SHOWN, words="Not shown: no R1+R2 or R2 that counts.")
    cpc = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2) if circuit.cpc in WIRES else None
    length = metres_to(case, circuit, point, CPC)
    if cpc is None or length is None:
        return open_without_length(case, circuit, point) or CpcJudged(
            NOT_SHOWN, point=point, words=f"Not shown: {lacking(circuit)}.{what_it_stands_for(case, circuit, point)}"
        )
    names = same_end(circuit, point)
    read = [r for name in names for r in cpc_readings(case, circuit, name, earth)]
    read.sort(key=lambda t: t.reading.seq)
    if not read:
        return CpcJudged(NOT_SHOWN, point=point, words="Not shown: no reading that counts as evidence.")
    now = _by(case, circuit, point, cpc, length, read)
    # Evidence of a break stays, whatever was read since in this state or another, until a repair is noted or it is struck.
    for upto in range(len(read) - 1, 0, -1):
        then = _by(case, circuit, point, cpc, length, read[:upto])
        if now.verdict != DISPROVED and then.verdict == DISPROVED:
            later = ", ".join(f"{t.reading.shown} ({t.reading.id})" for t in read[upto:])
            return evolve(then, words=f"{then.words} {stands_words(later)}")
    return now


def _by(
    case: Case, circuit: Circuit, point: str, cpc: float, length: tuple[float, float, str], read: Sequence[CpcReading]
) -> CpcJudged:
    """What the readings up to a moment show, in the state of the network in which the last of them was taken."""
    taken = _of_one_state(list(read))
    last = taken[-1]
    ways = last.ways
    model = _model(case, circuit, ways)
    tail = (0.0, 0.0) if ways is None else ways.tail
    feeders = feeders_ohm(case, circuit) if last.chain else (0.0, 0.0)
    assert feeders is not None  # readings of a chain of which that is not known do not count
    # Where other metal comes in before the point, the conductor is asked about up to there; the rest is in series.
    low = max(0.0, length[0] + (feeders[0] - tail[0] / case.make[0] * 1000.0) / cpc)
    high = max(low, length[1] + (feeders[1] - tail[1] * 1000.0) / cpc)
    copper = Copper(cpc, (low + high) / 2.0, (high - low) / 2.0)
    evidence = _weighed(copper, tuple(t.observed for t in taken), model)
    refused = any(r.refused for test in TESTS for r in case.taken.of(circuit.id, test))
    verdict, named = (NOT_SHOWN, "") if refused else (evidence.verdict, evidence.named)
    if verdict == DISPROVED and all(_could_be_whole(t.observed, *band_ohm(low, high, cpc, case.make)) for t in taken):
        verdict, named = NOT_SHOWN, ""
    judged = CpcJudged(
        verdict,
        named,
        point,
        tuple(t.reading.id for t in taken),
        evidence,
        ways.said if ways is not None else (),
        ways.band if ways is not None else None,
    )
    alone = band_ohm(low, high, cpc, case.make)
    most = alone[1] + tail[1] + last.before[1] + CONNECTIONS_OHM / 2.0
    run = Band(alone[0] + tail[0] + last.before[0], most, "Ω")
    over = tuple(f.id for f in case.upstream(circuit)) if last.start == MET else ()
    return evolve(
        judged,
        words=conductor_words(circuit, judged, taken, run, refused, over) + branches(circuit),
        sums=conductor_sums(judged, taken, run, model),
        findings=conductor_findings(circuit, judged),
    )


@lru_cache(maxsize=2048)
def _weighed(copper: Copper, observed: tuple[Observed, ...], model: Model) -> Evidence:
    """Kept, because a screen judges again after every entry and most circuits stay as they were."""
    if len(observed) == 1 and observed[0].test == TOGETHER:
        return of_one_together(copper, observed[0], model, COARSE)
    return BondEvidence(copper, observed, model, COARSE).result()


def _furthest(case: Case, circuit: Circuit) -> str | None:
    """The furthest point at which something that counts was read."""
    points = [
        point
        for test in TESTS
        for point, readings in case.taken.by_point(circuit.id, test).items()
        if any(is_usable(case, r) for r in counting(readings))
    ]
    order = {name: place for place, (name, _) in enumerate(circuit.points)}
    last = len(order)
    return max(points, key=lambda p: order.get(p, last), default=None)


def _of_one_state(found: list[CpcReading]) -> list[CpcReading]:
    """The readings of the state of the network in which the last was taken: what else joins the point differs by state.

    The whole network weighs those of all states (``evidence/network``).
    """
    if not found:
        return []
    last = found[-1]
    tail = last.ways.tail if last.ways is not None else (0.0, 0.0)

    def counts(one: CpcReading) -> bool:
        """The free conductor reads the same whatever hangs on the point."""
        free = one.observed.test == CONDUCTOR and not last.chain
        return one.ways == last.ways or (free and (one.ways.tail if one.ways else (0.0, 0.0)) == tail)

    return distinct([t for t in found if counts(t)])


def _could_be_whole(o: Observed, low_ohm: float, high_ohm: float) -> bool:
    """Whether a whole conductor can have shown these digits, with every error at the edge of its limits.

    However unlikely together, errors that all lie inside their limits disprove nothing.
    """
    least, most = o.display.window(o.shown)
    least, most = least - o.offset[1], most - o.offset[0]
    if o.test == PATH:
        return True
    if o.test == CONDUCTOR and most < low_ohm:
        return False
    return least <= high_ohm + CONNECTIONS_OHM / 2.0


def _model(case: Case, circuit: Circuit, ways: Ways | None) -> Model:
    """The constants of a bond, with what is known of the metal at the point in place of a pipe's."""
    a = case.visit.choices.assumptions
    model = evolve(Model.of(a), extra_ohm=(a.poor_cpc_ohm, MOST_OHM), joint_ohm=CONNECTIONS_OHM / 2.0)
    if ways is None:
        alone = {
            **dict.fromkeys(_ON_PIPES, a.alone_heating),
            **dict.fromkeys(_FIXED, a.alone_fixed),
            "charging point": a.alone_charging,
        }
        return evolve(model, path_absent=alone.get(circuit.use, a.alone_else))
    low = max(0.002, (ways.band.low - ways.tail[0]) / 2.0)  # metal that is not entered may help it
    high = model.path_ohm[1] if math.isinf(ways.band.high) else max(2.0 * low, ways.band.high - ways.tail[1])
    return evolve(model, path_absent=a.metal_gone, path_ohm=(low, high))
