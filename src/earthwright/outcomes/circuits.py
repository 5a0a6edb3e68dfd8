"""What was judged about circuits, boards, the origin and electrodes. Frozen; schedule, paper and screens print from this."""

from __future__ import annotations

from attrs import frozen

from ..base.errors import Finding
from ..base.quantity import Band, Limit, Quantity
from ..evidence.bond import Evidence
from ..site.events import Reading, Repair, State
from ..site.installation import Board, Circuit, Electrode
from ..site.reading import Corrected
from ..site.tests import WORKED_OUT
from .verdict import Judged

# What a limit or a reason is called where a code hangs on it.
UNSOUND = "loop over sound conductors"
CUSTOMARY = "Zs measured cold, customary share"  # beside the limits; it decides nothing
OUTDOORS = "additional protection of mobile equipment outdoors"
NO_METAL_THERE = "no metal that a fault could make live is entered there"
ABOVE_USUAL = "above what was declared, which is no limit of the rules"

# Rules that rest on particulars alone. A circuit has their row where they are decided; what is left open is said once a board.
BY_PARTICULARS = tuple(t.name for t in WORKED_OUT if t.wants)


NOT_STATED = "not stated"


@frozen
class Requirement:
    """One thing that a special location asks for.

    outcome  meets, fails, not decided, or ``not stated`` where only a look answers it and nobody said what was seen
    why      the reason, or the rule in our own words;  confidence  ``memory`` where the rule is from memory
    by_look  whether a look answers it, not a comparison
    """

    clause: str
    what: str
    outcome: str
    why: str = ""
    confidence: str = "read"
    by_look: bool = False


@frozen
class TestJudged:
    """One test of one thing, with what it should have shown and the limit it was held against.

    of          id of the circuit, board, electrode or ``origin``;  point  where
    test        one of events.CIRCUIT_TESTS, or of events.CALCULATED for a row worked out from other readings
    readings    everything read for it, in order, as typed;  state  what held when the last one was taken
    corrected   the value that counts, None when there is no reading (then ``absent`` says why)
    value       the quantity that was held against the limit where it was worked out from readings, else None
    expected    band it should lie in, None when the installation does not say enough; ``assumed`` lists what was assumed
    inside      whether it lies there
    judged      against its rule, one for each limit (Zs has the design limit and two cold comparisons)
    outcome     the one verdict of the row: meets, fails, not decided, no rule; worst of ``judged``
    absent      ``LIM``, ``N/A``, ``N/V``, ``not tested`` or ``missing`` when there is no reading; ``reason`` with it
    words       the paragraph;  sums  the worked sum, line by line
    asked       what a special location asks for, each with its outcome
    """

    __test__ = False  # not a test of pytest

    of: str
    test: str
    point: str = ""
    readings: tuple[Reading, ...] = ()
    state: State | None = None
    corrected: Corrected | None = None
    expected: Band | None = None
    assumed: tuple[str, ...] = ()
    inside: bool | None = None
    judged: tuple[Judged, ...] = ()
    outcome: str = "no rule"
    absent: str = ""
    reason: str = ""
    words: str = ""
    sums: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    value: Quantity | None = None
    asked: tuple[Requirement, ...] = ()

    @property
    def held_to(self) -> Limit | None:
        """The limit that decided: the one whose outcome is the row's, else the first; the others stand in the record."""
        limits = [(j.outcome, j.limit) for j in self.judged if j.limit is not None]
        return next((x for outcome, x in limits if outcome == self.outcome), limits[0][1] if limits else None)

    @property
    def word(self) -> str:
        """The outcome in a word that stands: one that is not good as soon as there was one, for nothing was put right since."""
        said = [r.outcome for r in self.readings if r.outcome and not r.refused]
        return next((o for o in said if o != "good"), said[-1] if said else "")


@frozen
class SocketOnRing:
    """One socket of a ring as drawn: place [m], measured and expected values of both crossed profiles [Ω]."""

    point: str
    place_m: float | None
    ln_ohm: float | None
    ln_expected: Band | None
    le_ohm: float | None
    le_expected: Band | None


@frozen
class RingJudged:
    """What the readings of a ring final circuit say about its wiring.

    verdict    proved (the ring is whole), disproved (a fault is named), not shown
    named      ``whole``, ``break in line`` (neutral, cpc, …), ``bridge``, ``legs not crossed``, ``spur``, ``cross-linked rings``
    where_m    band of the place of the fault along the ring [m];  between  the sockets it lies between
    scores     each hypothesis with its log10 weight against the best, best first
    implied_m  length of the ring that r1 and rn stand for [m]
    ends_m, via_m  bands of the two ends of a bridge and of its cable [m];  spurs  sockets that read like spurs
    rivals     the hypotheses that the digits do not tell apart, best first
    suspect    what in the readings speaks against a whole ring, in words; empty where only proof is lacking
    """

    verdict: str
    named: str
    where_m: Band | None
    between: tuple[str, ...]
    scores: tuple[tuple[str, float], ...]
    implied_m: Band | None
    sockets: tuple[SocketOnRing, ...]
    words: str
    sums: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    ends_m: tuple[Band, ...] = ()
    via_m: Band | None = None
    spurs: tuple[str, ...] = ()
    rivals: tuple[str, ...] = ()
    suspect: str = ""


@frozen
class CpcJudged:
    """What R1+R2 and R2 show about the protective conductor of a radial circuit, up to the furthest point read.

    verdict   proved, disproved or not shown: *it is whole*;  named  impaired or open when disproved
    evidence  None when nothing that counts was read, or when nothing can be expected (``words`` says which)
    point     the furthest point read;  used  ids of the readings that count as evidence
    others    what else is known to join that point to earth, in words;  other_ohm  its resistance by itself [Ω]
    words     the paragraph;  sums  what it rests on, line by line
    """

    verdict: str
    named: str = ""
    point: str = ""
    used: tuple[str, ...] = ()
    evidence: Evidence | None = None
    others: tuple[str, ...] = ()
    other_ohm: Band | None = None
    words: str = ""
    sums: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


@frozen
class CircuitJudged:
    """Everything about one circuit: its tests in the order of the schedule, missing ones among them.

    cpc  of a radial circuit with a protective conductor; a ring's stands in ``ring``
    left_open  rows that rest on particulars which are missing; the board says them once for all its circuits
    """

    circuit: Circuit
    tests: tuple[TestJudged, ...]
    ring: RingJudged | None = None
    findings: tuple[Finding, ...] = ()
    words: str = ""
    cpc: CpcJudged | None = None
    left_open: tuple[TestJudged, ...] = ()


@frozen
class BoardJudged:
    """One board: its own tests (Zdb, fault current, insulation of the whole board, functions) and its circuits."""

    board: Board
    tests: tuple[TestJudged, ...]
    circuits: tuple[CircuitJudged, ...]
    findings: tuple[Finding, ...] = ()


@frozen
class ElectrodeJudged:
    """One earth electrode and its tests."""

    electrode: Electrode
    tests: tuple[TestJudged, ...]
    findings: tuple[Finding, ...] = ()
    words: str = ""


@frozen
class Found:
    """What was found of a thing before it was put right, judged by the readings of then; nothing of it weighs on what is left.

    of     id of the circuit, board, electrode or ``origin``;  repair  what ended that state
    tests  the rows of then;  ring, cpc  as they were shown then;  faults  what was wrong, in words
    words  found, put right, and what is left
    """

    of: str
    repair: Repair
    tests: tuple[TestJudged, ...]
    ring: RingJudged | None = None
    cpc: CpcJudged | None = None
    faults: tuple[str, ...] = ()
    words: str = ""


@frozen
class Alarm:
    """Danger that is there now: what was seen, what to do, what must not be done. Blocks every disconnection."""

    kind: str
    what: str
    do: tuple[str, ...]
    because: tuple[str, ...]
    blocks: bool = True
