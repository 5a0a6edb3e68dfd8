"""What was judged, kept together with its evidence. Frozen; paper and screens are printed from this."""

from __future__ import annotations

from attrs import field, frozen

from ..base.errors import Finding
from ..base.quantity import Band, Limit
from ..evidence.bond import Evidence, Model
from ..evidence.expected import Closure, Expectation
from ..evidence.explain import Explanation
from ..evidence.network import SiteEvidence
from ..evidence.worth import Worth
from ..site.events import Off, Reading, Repair, State
from ..site.installation import Bond, Part
from ..site.reading import Corrected
from ..site.visit import Visit
from .circuits import Alarm, BoardJudged, CircuitJudged, ElectrodeJudged, Found, TestJudged
from .verdict import Judged


@frozen
class ReadingJudged:
    """One reading of a bond with the state it was taken in and what it should have been.

    inside  whether the digits lie in the band a whole bond may show; None when there is no band
    used    whether it counts as evidence; ``why_not`` says why when it does not
    """

    reading: Reading
    state: State
    corrected: Corrected
    expected: Expectation
    inside: bool | None
    used: bool
    why_not: str = ""


@frozen
class SizeStepTaken:
    """One link of a size chain as printed: clause, what went in, the value, and whether it decided."""

    clause: str
    inputs: str
    value_mm2: float | None
    decided: bool
    why: str
    confidence: str


@frozen
class SizeJudged:
    """Whether a conductor is large enough, by which clauses; ``fitted_mm2`` is copper that conducts like it [mm²].

    may_acquit  it fails by a table that a calculation may acquit it from
    """

    judged: Judged
    needed_mm2: float | None
    steps: tuple[SizeStepTaken, ...]
    unknown: tuple[str, ...] = ()
    fitted_mm2: float | None = None
    may_acquit: bool = field(default=False, metadata={"kept": False})


LEAD_CHECK = "lead check"
SIDE = "side of the clamp"  # of the meter: what a clamp in the wrong place is held against


@frozen
class Next:
    """What to do next at one bond.

    do       one sentence;  test  kind of reading, or ``clamp current`` / ``lead check`` before it
    worth    what the reading would be worth;  first  cautions and steps before it, in order
    blocked  why a disconnection is not offered; empty if nothing blocks it
    """

    do: str
    test: str
    worth: Worth | None = None
    first: tuple[str, ...] = ()
    blocked: str = ""


@frozen
class BondFound:
    """A bond as it was found before it was put right, judged by the readings of then; they weigh on nothing that is left.

    repair  what ended that state;  words  what was read then and what it showed
    """

    repair: Repair
    readings: tuple[ReadingJudged, ...]
    evidence: Evidence
    verdict: str
    named: str
    joint: Judged
    words: str = ""


@frozen
class BondJudged:
    """Everything about one bond, as it is now.

    readings     since it was last put right;  found  the states before that, in order
    contradicted  what was read of it earlier and is not explained by a repair, in words; then it is not proved

    verdict      proved, disproved or not shown: *the bond is whole*;  named  impaired or open when disproved
    size, joint  held against their rules;  implied  length that the conductor reading stands for [m]
    could_show   what each kind of test could show, before it is made
    words        the paragraph that an inspector would sign
    place        where its clamp sits, and whether the clamp suits the place, as far as either is entered
    limited      why it was not measured, in words ("LIM: no access to the MET"); empty where it was, or nothing was said
    """

    bond: Bond
    part: Part
    readings: tuple[ReadingJudged, ...]
    expected: tuple[Expectation, ...]
    evidence: Evidence
    verdict: str
    named: str
    closure: Closure | None
    implied: Band | None
    size: SizeJudged
    joint: Judged
    continuity: Judged
    explanations: tuple[Explanation, ...]
    could_show: tuple[Worth, ...]
    next: Next | None
    clamp: str
    findings: tuple[Finding, ...]
    words: str = ""
    sum_in_words: tuple[str, ...] = ()
    limited: str = ""
    place: tuple[Judged, ...] = ()
    found: tuple[BondFound, ...] = ()
    contradicted: str = ""

    @property
    def put_right(self) -> tuple[Repair, ...]:
        """What was put right within this visit, in order."""
        return tuple(f.repair for f in self.found)


BOND, LEAVE, NOT_DECIDED = "bond", "leave", "not decided"  # what is to be done about a part
# Soil alone hardly gives less than this between a pipe in a building and the MET: below it metal joins the two.
METAL_OHM = 1.0


@frozen
class PartThreshold:
    """One customary threshold for a part, with the reasoning behind it.

    body_ma, body_ohm  current that is let flow through a person [mA] and the body that was reckoned with [Ω]
    extraneous         whether the reading makes the part extraneous by it; None: not decided;  chosen  whether this one counts
    how                the sum in words
    """

    body_ma: float
    body_ohm: float
    limit: Limit
    extraneous: bool | None
    chosen: bool
    how: str = ""


@frozen
class PartJudged:
    """Whether a part is to be bonded at all.

    verdict     bond, leave or not decided;  rule  what decided, in words with its clause
    readings    insulation readings from the part to the MET, in order;  measured  the one that counts, as a band [Ω]
    joined      bonds and known metal that still joined part and MET when it was read
    thresholds  the customary ones and the chosen one, each with its own answer
    unknown     what would have to be known to decide;  warnings  what must be said beside it (PME, owner, plastic)
    supplementary  resistance of supplementary bonds of this part against 50 V / Ia
    """

    part: Part
    verdict: str
    rule: str
    readings: tuple[Reading, ...] = ()
    state: State | None = None
    measured: Band | None = None
    joined: tuple[str, ...] = ()
    thresholds: tuple[PartThreshold, ...] = ()
    unknown: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    supplementary: tuple[Judged, ...] = ()
    findings: tuple[Finding, ...] = ()
    words: str = ""


@frozen
class EditionUsed:
    """The edition of the rules that was in force or chosen, as printed.

    reviewed_until      last day for which the data claim to know what is in force
    not_reviewed_since  the same where the day that counts lies after it: a later edition may be in force by then
    """

    standard: str
    edition: str
    title: str
    why: str
    reviewed_until: str = ""
    not_reviewed_since: str = ""


@frozen
class NotJudged:
    """An entry that got no verdict at all, and why."""

    entry: str
    why: str


@frozen
class Assessment:
    """A whole visit, judged.

    site_evidence  all readings weighed as one network; None when nothing ties the bonds together or nothing is open
    site_next      the one reading of the whole visit that would tell most
    found          circuits, boards, electrodes and the origin as they were before they were put right; a bond has its own
    """

    visit: Visit
    program: str
    editions: tuple[EditionUsed, ...]
    model: Model
    bonds: tuple[BondJudged, ...]
    not_judged: tuple[NotJudged, ...]
    findings: tuple[Finding, ...]
    still_off: tuple[Off, ...]
    origin: tuple[TestJudged, ...] = ()
    boards: tuple[BoardJudged, ...] = ()
    electrodes: tuple[ElectrodeJudged, ...] = ()
    alarms: tuple[Alarm, ...] = ()
    parts: tuple[PartJudged, ...] = ()
    site_evidence: SiteEvidence | None = None
    site_next: Next | None = None
    found: tuple[Found, ...] = ()

    @property
    def circuits(self) -> tuple[CircuitJudged, ...]:
        """Every circuit, board by board."""
        return tuple(c for b in self.boards for c in b.circuits)

    @property
    def tests(self) -> tuple[TestJudged, ...]:
        """Every judged row: of the origin, of electrodes, of each board and its circuits."""
        of_boards = (t for b in self.boards for t in (*b.tests, *(t for c in b.circuits for t in c.tests)))
        return (*self.origin, *(t for e in self.electrodes for t in e.tests), *of_boards)
