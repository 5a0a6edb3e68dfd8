"""One declaration of a test: what it is called, in which unit, of what, in which state, and what it means when it fails.

Its place in the visit book, its column, its form, its words on pages and papers follow from here. What it should read and
what it is judged by is its own file in ``assess/circuits``.
"""

from __future__ import annotations

from attrs import frozen

from .range import AMPERES, Range

ORIGIN = "origin"
CIRCUIT, BOARD, ELECTRODE, PART = "circuit", "board", "electrode", "part"
_WIDE = (CIRCUIT, BOARD, ORIGIN)

# Functions of an instrument.
CONTINUITY, INSULATION, LOOP = "continuity", "insulation", "loop"

# How to connect, as it is drawn.
FAR_END, FAR_END_JOINED, FROM_MET = (
    "far end",
    "far end, line and protective conductor joined at the board",
    "far end from the MET",
)
AT_BOARD, LOADS_OFF, EARTHING_OFF = "at the board", "at the board, loads off", "at the board, earthing conductor off"
AT_PART, RING_ENDS, RING_CROSSED, STAKES = "at the part", "ring ends", "ring crossed", "stakes"

_CONTINUITY_WAYS = ("", "forward", "reverse")
_LOOP_WAYS = ("", "two-lead", "no-trip", "calculated")
_TO_EARTH = ("", "L-E", "L1-E", "L2-E", "L3-E")


@frozen
class Place:
    """A place that a page always has for a test of a thing, needed or not; of a circuit beside those it needs (``needs.py``)."""

    of: str
    between: str = ""
    method: str = ""


@frozen
class Column:
    """A standing column of the table of circuits: what it says, and how the test was made for it."""

    says: str
    between: str = ""
    method: str = ""


# fmt: off
@frozen(kw_only=True)
class Procedure:
    """A test as it is declared.

    name      in visit books and records;  symbol  as papers and the terminal call it;  said  in a sentence
    title     on a page;  head  of its column, if that differs
    unit      of its reading, empty when the outcome is a word;  function  of the instrument, empty when none is read
    of        what it is made of;  point  whether it is read at a point on the cable;  profile  and at one after another
    methods, between  words that may say how it was made; none: it takes any text
    live      made with the supply on;  after_continuity  only where dead tests have shown a continuous protective conductor
    through   ends whose remaking touches its reading (clause 643.1);  far  whether everything back to the source does
    proves    ends that are back in their place when it comes out well
    code, fails  code that is proposed when its rule is not kept, and what that means; empty: something else says it
    finding, do, because  family of the finding that says so, what is done then, and why; empty: a check of its own says it
    wants     what its rule asks for, where one finding a board says it for all its circuits
    possible  what its figure may be at all;  uses  tests from whose readings its row is worked out
    facts     groups of facts (``fact`` of a field) that its verdict rests on; None: all of them
    limit     whether its figure has a limit; what continuity proves is said of the conductor or the ring
    places    places that a page always has for it;  anywhere  whether a place takes its reading whatever it says of ``between``
    connect   how to connect, in a sentence or two;  drawing  and as it is drawn;  columns  its standing columns;  paper  head of its own column in the printed results, without the unit; empty: none
    """

    name: str
    symbol: str = ""
    said: str = ""
    title: str = ""
    head: str = ""
    unit: str = ""
    function: str = ""
    of: tuple[str, ...] = (CIRCUIT,)
    point: bool = False
    profile: bool = False
    methods: tuple[str, ...] = ()
    between: tuple[str, ...] = ()
    live: bool = False
    after_continuity: bool = False
    through: tuple[str, ...] = ()
    far: bool = False
    proves: tuple[str, ...] = ()
    code: str = ""
    fails: str = ""
    finding: str = ""
    do: str = ""
    because: str = ""
    wants: str = ""
    possible: Range | None = None
    uses: tuple[str, ...] = ()
    facts: frozenset[str] | None = None
    limit: bool = True
    places: tuple[Place, ...] = ()
    anywhere: bool = False
    connect: str = ""
    drawing: str = FAR_END
    columns: tuple[Column, ...] = ()
    paper: str = ""

    @property
    def called(self) -> str:
        """Its name on papers and in the terminal."""
        return self.symbol or self.name

    @property
    def spoken(self) -> str:
        """Its name in a sentence."""
        return self.said or self.called

    @property
    def titled(self) -> str:
        """Its name on a page."""
        return self.title or self.symbol or self.name[:1].upper() + self.name[1:]

    @property
    def headed(self) -> str:
        """Its name at the head of a column, without how it was made."""
        return self.head or self.titled


# Groups of facts: what a word rests on, a dead reading of a conductor, a loop with all before it.
WORD: frozenset[str] = frozenset()
DEAD = frozenset({"conductor", "temp_c", "decision", "edition", "shared_scale_error", "whole_site"})
LOOPS = frozenset({"system", "voltage", "device", "residual", "conductor", "use", "origin", "edition", "decision", "temp_c"})

# No loop, electrode or time is ever 0.00: a display that says so says that something else was measured.
_A_LOOP = Range("A loop to earth", "Ω", nought=False, low="The lead allowance may be larger than the loop, a test lead off its socket, or the value that of another range: zero the meter and read it again.")
_RING = Range("A ring end to end", "Ω", nought=False, low="Both ends of the leg may still have been joined in the terminal, or the clips touched: part them and read again.")
_SOCKET = Range("A socket of a ring with its legs crossed", "Ω", nought=False, low="The probes may have touched, or a plug-in joined the conductors: read that socket again.")
_TIME = "The digits may be seconds, the button or the half-cycle another one, or the device was off already: read it again."
_CPC_NOT_SHOWN = "continuity of the protective conductor is not as it should be"
_END_TO_END = "Both ends of the {} out of their terminals; read from end to end."
_CROSSED = "At the board the line of one leg is joined to the {} of the other and the other way round; read line to {} at every socket."

TESTS = (
    Procedure(
        name="r1r2", symbol="R1+R2", unit="Ω", function=CONTINUITY, point=True, profile=True, methods=(*_CONTINUITY_WAYS, "calculated"),
        through=("cpc", "line"), proves=("cpc", "line"), code="C2", fails=_CPC_NOT_SHOWN, limit=False,
        drawing=FAR_END_JOINED, connect="Line and protective conductor are joined at the board; read between line and earth at the furthest point.",
        columns=(Column("line and cpc joined at the board"),),
        facts=DEAD,
    ),
    Procedure(
        name="r2", symbol="R2", unit="Ω", function=CONTINUITY, point=True, profile=True, methods=_CONTINUITY_WAYS,
        # Where the other end of the long lead was: on the earth bar of the circuit's board (also when nothing is said), on
        # the MET, or on the conductor's own end while that is off.
        between=("", "bar", "MET", "free end"), anywhere=True,
        through=("cpc",), proves=("cpc",), code="C2", fails=_CPC_NOT_SHOWN, limit=False,
        drawing=FROM_MET, connect="Long lead from the main earthing terminal or the board's earth bar to the earth of the point.",
        columns=(Column("long lead to the point"),),
        facts=DEAD,
    ),
    Procedure(
        name="ring r1", said="r1", title="r1", unit="Ω", function=CONTINUITY, through=("line",), limit=False,
        drawing=RING_ENDS, connect=_END_TO_END.format("line conductor"), columns=(Column("line of the ring, end to end"),),
        possible=_RING, facts=DEAD,
    ),
    Procedure(
        name="ring rn", said="rn", title="rn", unit="Ω", function=CONTINUITY, through=("neutral",), limit=False,
        drawing=RING_ENDS, connect=_END_TO_END.format("neutral"), columns=(Column("neutral of the ring, end to end"),),
        possible=_RING, facts=DEAD,
    ),
    Procedure(
        name="ring r2", said="r2", title="r2", unit="Ω", function=CONTINUITY, through=("cpc",), limit=False,
        drawing=RING_ENDS, connect=_END_TO_END.format("protective conductor"), columns=(Column("cpc of the ring, end to end"),),
        possible=_RING, facts=DEAD,
    ),
    Procedure(
        name="ring ln", said="L-N crossed", title="ring, line to neutral", head="Ring L-N", unit="Ω", function=CONTINUITY, point=True,
        profile=True, through=("line", "neutral"), limit=False, drawing=RING_CROSSED, connect=_CROSSED.format("neutral", "neutral"),
        columns=(Column("line and neutral crossed, at the sockets: 0.31 @ hall | 0.32 @ loft"),),
        possible=_SOCKET, facts=DEAD,
    ),
    Procedure(
        name="ring le", said="L-cpc crossed", title="ring, line to earth", head="Ring L-cpc", unit="Ω", function=CONTINUITY, point=True,
        profile=True, through=("cpc", "line"), limit=False, drawing=RING_CROSSED, connect=_CROSSED.format("protective conductor", "earth"),
        columns=(Column("line and cpc crossed, at the sockets"),),
        possible=_SOCKET, facts=DEAD,
    ),
    Procedure(
        name="insulation", unit="MΩ", function=INSULATION, of=_WIDE, between=("", "L-E", "N-E", "LN-E", "L-N", "L-L", "all-E"),
        through=("cpc", "line", "neutral", "loads", "spd"), code="C2", fails="insulation resistance is below the least value",
        places=(Place(BOARD, "LN-E"),),
        drawing=LOADS_OFF, connect="Supply isolated, lamps out and equipment unplugged; surge protection off. Read at the board between the conductors named.",
        columns=(
            Column("between lines", "L-L"), Column("line to neutral", "L-N"), Column("line to earth", "L-E"), Column("neutral to earth", "N-E"),
            Column("line and neutral together to earth", "LN-E"), Column("all live conductors together to earth", "all-E"),
        ),
        facts=frozenset({"voltage", "use", "edition", "decision"}),
    ),
    Procedure(
        name="extraneous", title="Part to MET", unit="Ω", function="extraneous", of=(PART,), places=(Place(PART),),
        drawing=AT_PART, connect="The part is isolated from everything bonded. Read from the main earthing terminal to bare metal of the part.",
    ),
    Procedure(
        name="polarity", of=_WIDE, places=(Place(ORIGIN), Place(BOARD)), through=("line", "neutral", "device", "switch"), proves=("line", "neutral"),
        code="C2", fails="polarity is wrong; C1 where live parts can be touched because of it",
        drawing=FAR_END_JOINED, connect="With line and protective conductor joined at the board, work the switch: the reading must come and go. At screw lampholders the line is on the centre pin.",
        columns=(Column("good or bad"),),
        finding="polarity.bad", facts=WORD, do="Do not energise it; if it is energised, isolate it. Put the conductors right and test polarity again.",
        because="Single-pole devices and the centre contacts of lampholders must be in the line only.",
    ),
    Procedure(
        name="phase sequence", of=_WIDE, places=(Place(BOARD),), live=True, through=("line", "switch"),
        code="C3", fails="phase sequence is not as intended; C2 where a machine can run the wrong way",
        connect="At every three-phase outlet: the rotation is the same as at the origin.",
        columns=(Column("good or bad, three-phase circuits"),),
        finding="phase_sequence.bad", facts=WORD, do="Find where two lines change places before a motor is run.",
        because="A motor would run backwards; the change may also lie upstream.",
    ),
    Procedure(  # point says which function: switch, isolator, AFDD, RCD button …
        name="functional", said="function", title="Functions", head="Functional", of=_WIDE, places=(Place(BOARD),), live=True,
        through=("line", "neutral", "loads", "device", "spd", "switch"), proves=("neutral",),
        code="C3", fails="a function does not work; C2 where protection rests on it", connect="Work it: switch, isolator, interlock, test button.",
        columns=(Column("good or bad; which function after @"),),
        finding="functional.bad", facts=WORD, do="Repair or renew it, and try it again.", because="Protection or isolation may rest on it.",
    ),
    Procedure(
        name="ze", symbol="Ze", unit="Ω", function=LOOP, of=(ORIGIN,), places=(Place(ORIGIN),), methods=_LOOP_WAYS, between=_TO_EARTH, live=True, far=True,
        code="C2", fails="the means of earthing is not effective",
        drawing=EARTHING_OFF, connect="Main switch off and locked; earthing conductor off the main earthing terminal. Read from incoming line to its free end. Put it back at once.",
        possible=_A_LOOP, facts=frozenset({"system", "voltage", "residual", "origin", "edition", "decision", "pme"}),
        finding="ze.limit", do="Tell the distributor, who answers for the supply's earth, and read it again with the bonds off.",
    ),
    Procedure(
        name="zdb", symbol="Zdb", unit="Ω", function=LOOP, of=(BOARD,), places=(Place(BOARD),), methods=_LOOP_WAYS, between=_TO_EARTH, live=True, after_continuity=True,
        through=("cpc", "line", "earth"), far=True, proves=("earthing", "earth"), code="C2", fails="the loop impedance at the board is too high",
        drawing=AT_BOARD, connect="At the incoming terminals of the board, line to earth, everything connected.",
        possible=_A_LOOP, facts=LOOPS, uses=("ze",),
        finding="loops.limit", do="Look for a loose connection before the board; else the feeding device or cable does not suit.",
    ),
    Procedure(
        name="zs", symbol="Zs", unit="Ω", function=LOOP, point=True, profile=True, methods=_LOOP_WAYS, between=_TO_EARTH, live=True,
        after_continuity=True, through=("cpc", "line"), far=True, proves=("earthing", "cpc", "line"),
        code="C2", fails="the supply is not disconnected in time in a fault to earth",
        connect="At the furthest point of the circuit, line to earth, everything connected.",
        columns=(Column("loop impedance at the furthest point"), Column("the same with a no-trip method", method="no-trip")),
        possible=_A_LOOP, facts=LOOPS, uses=("ze",),
        finding="loops.limit", do="Look for a loose connection; else another device or cable, or a residual current device, is needed.",
    ),
    Procedure(
        name="fault current", unit="kA", function="fault current", of=_WIDE, methods=_LOOP_WAYS, between=("", "L-N", "L-E", "L-L", "L-L-L"),
        live=True, after_continuity=True, through=("line", "neutral"), far=True, code="C2", fails="the fault current is above what the device can break",
        places=(Place(ORIGIN, "L-N"), Place(ORIGIN, "L-E"), Place(BOARD, "L-N"), Place(BOARD, "L-E")),
        drawing=AT_BOARD, connect="At the incoming terminals, line to neutral and line to earth; the higher counts.",
        columns=(Column("prospective, line to neutral", "L-N"), Column("prospective, line to earth", "L-E")),
        possible=Range("A fault current", "kA", 0, 100, False, low=AMPERES, high=AMPERES),
        finding="fault.breaking", do="Devices of a higher breaking capacity, or a stated combination, are needed.",
    ),
    Procedure(
        name="rcd", symbol="RCD", said="RCD time", unit="ms", function="rcd", of=_WIDE, methods=("", "x0.5", "x1", "x5", "250 mA"), between=("", "0°", "180°"),
        live=True, after_continuity=True, through=("device",), code="C2", fails="the residual current device does not operate in time",
        connect="Downstream of the device, line to earth, nothing else in use on it.",
        columns=(
            Column("at half the rated residual current", "", "x0.5"), Column("at the rated residual current", "", "x1"),
            Column("starting with the positive half-wave", "0°", "x1"), Column("starting with the negative half-wave", "180°", "x1"),
            Column("at five times the rated residual current", "", "x5"), Column("at 250 mA", "", "250 mA"),
        ),
        possible=Range("No residual current device opens so fast: its time", "ms", 2, 100000, False, low=_TIME, high=_TIME),  # a tenth of a cycle of the test current
        facts=frozenset({"residual", "edition", "decision", "system", "use"}),
        finding="rcd.time", do="Try it again with the loads off; renew it if it stays so.",
    ),
    Procedure(
        name="rcd button", symbol="RCD button", of=_WIDE, live=True, after_continuity=True, through=("device",),
        code="C2", fails="the button of the residual current device does not trip it", connect="Press the test button: it trips.",
        columns=(Column("good or bad"),),
        finding="rcd.button", facts=WORD, do="Renew the device; a device whose button fails is not relied on.",
    ),
    Procedure(  # of a circuit of the location; between two parts that can be touched together
        name="supplementary", title="Supplementary bond", head="Supplementary", unit="Ω", function=CONTINUITY,
        code="C2", fails="supplementary bonding does not connect well enough",
        connect="Between the two parts that can be touched together, everything connected.",
        finding="supplementary.limit", do="Find the poor joint or the part that is not joined.",
    ),
    Procedure(  # point: stake position
        name="electrode", unit="Ω", function="electrode", of=(ELECTRODE,), methods=("", "rod alone", "with bonds", "other part alone", "stakes"),
        places=(Place(ELECTRODE, method="rod alone"), Place(ELECTRODE, method="with bonds"), Place(ELECTRODE, method="stakes")),
        code="C2", fails="the resistance of the earth electrode is too high",
        drawing=STAKES, connect="The electrode off everything else. Potential stake between, current stake far away; move the potential stake both ways and read again.",
        possible=Range(
            "An electrode's resistance", "Ω", nought=False,
            low="The electrode may still have been joined to the bonds, or the stakes to the electrode: take it off and read it again.",
        ),
        facts=frozenset({"system", "voltage", "residual", "edition", "decision"}),
        finding="electrode.limit", do="Clean or renew the clamp, drive it deeper or add rods; then test the devices again.",
    ),
)
# Rows of the schedule that are worked out from other readings and have none of their own.
WORKED_OUT = (
    Procedure(
        name="disconnection", title="Disconnection time", of=(), code="C2", fails="a fault to earth is not disconnected in time",
        facts=LOOPS, uses=("zs", "r1r2", "zdb", "ze"),
        finding="loops.disconnection", do="Another device, a larger conductor or a residual current device is needed.",
    ),
    Procedure(
        name="adiabatic", title="Protective conductor, heat", of=(), code="C2", fails="the protective conductor is too small for the energy let through",
        facts=LOOPS, uses=("zs", "r1r2", "fault current", "zdb", "ze"),
    ),
    Procedure(
        name="overload", said="protection against overload", of=(), code="C2", fails="the device does not protect the cable against overload",
        facts=frozenset({"device", "conductor", "load", "use", "edition", "tails", "intake"}),
        finding="overload.cable", wants="a device no larger than the cable carries",
        do="Check size and reference method on site; then a smaller device or a larger cable.",
    ),
    Procedure(
        name="additional protection", of=(), code="C3", fails="there is no additional protection by a residual current device of 30 mA",
        facts=frozenset({"device", "residual", "use", "guard", "voltage", "edition"}),
        finding="protection.additional", wants="additional protection by a residual current device of 30 mA without delay",
        do="Fit a residual current device of 30 mA or less without delay.",
    ),
    Procedure(
        name="rcd type", symbol="RCD type", title="RCD type for its use", of=(), code="C3", fails="the residual current device is not of the kind for its use",
        facts=frozenset({"residual", "use", "guard", "edition"}),
        finding="rcd.type", wants="a residual current device of a kind that suits its use", do="Ask the maker, enter what he says, or change the device.",
    ),
    Procedure(
        name="voltage drop", of=(), code="C3", fails="the voltage drop is above the guidance",
        facts=LOOPS - {"residual", "origin", "system"} | {"load"},
        finding="drop.limit", do="Check length and design current; a larger conductor would bring it down.",
    ),
    Procedure(
        name="special location", of=(), code="C2", fails="a rule for the special location is not met",
        finding="special.rcd",
        do="Put right what the location asks for, as it is named here.",
    ),
    Procedure(
        name="earthing conductor", of=(), code="C3", fails="the earthing conductor is below the size asked for",
        facts=frozenset({"system", "pme", "bonding", "tails", "intake", "voltage", "edition"}), uses=("ze",),
        finding="earthing.size", do="Look for signs of heat; renew it in the size asked for, or work it out by the adiabatic equation.",
    ),
    Procedure(
        name="protective conductor", of=(), code="C2", fails="circuit without a protective conductor",
        facts=frozenset({"conductor", "use", "voltage", "edition"}),
    ),
)
# fmt: on
BY_NAME = {t.name: t for t in (*TESTS, *WORKED_OUT)}

LIVE = frozenset(t.name for t in TESTS if t.live)
BY_LEADS = frozenset(t.name for t in TESTS if t.function == CONTINUITY)  # their resistance counts
DEAD_READ = frozenset(t.name for t in TESTS if t.function in (CONTINUITY, INSULATION))  # with the supply off
ENDS = tuple(t.name for t in TESTS if t.drawing == RING_ENDS)  # a ring from end to end
CROSSED = tuple(t.name for t in TESTS if t.drawing == RING_CROSSED)  # at its sockets, the legs crossed
CPC = tuple(t.name for t in TESTS if "cpc" in t.proves and not t.live)  # dead, and show a protective conductor whole
LOOPS_READ = tuple(t.name for t in TESTS if t.function == LOOP)


def called(test: str) -> str:
    """A test, or a row that is worked out, as papers and the terminal call it."""
    return BY_NAME[test].called if test in BY_NAME else test


def spoken(test: str) -> str:
    """The same in a sentence."""
    return BY_NAME[test].spoken if test in BY_NAME else test


def through(end: str) -> frozenset[str]:
    """The tests whose reading passes through an end of a circuit or board."""
    return frozenset(t.name for t in TESTS if end in t.through)


def proving(end: str) -> frozenset[str]:
    """The tests that can only come out well when an end is back in its place."""
    return frozenset(t.name for t in TESTS if end in t.proves)
