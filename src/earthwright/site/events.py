"""What happened on site, one event after another: checks, disconnections, readings, looks. Frozen; no arithmetic.

A visit is a list of events in the order they happened. What was connected at the moment of a reading follows from the
events before it and is never typed a second time.
"""

from __future__ import annotations

from attrs import field, frozen

from ..base.digits import Shown
from ..base.errors import Finding

# How a reading across a bond is taken. The word fixes where the probes are and what the bond's own state must be.
CONDUCTOR = "conductor"  # MET end off; its free end to the part
PATH = "path"  # MET end off; the MET to the part
TOGETHER = "together"  # all connected; the MET to the part
JOINT = "joint"  # the conductor at the clamp to bare metal of the part
CLAMP_BODY = "clamp body"  # MET end off; its free end to the clamp's body, which leaves the joint out
BOND_TESTS = (CONDUCTOR, PATH, TOGETHER, JOINT, CLAMP_BODY)

# Every other test: its name, the unit of its reading ("" when the outcome is a word), the instrument's function.
# ``of`` is a circuit, a board, an electrode, a part (extraneous) or ORIGIN; ``point`` and ``between`` where needed.
ORIGIN = "origin"
CIRCUIT_TESTS = {
    "r1r2": ("Ω", "continuity"),  # line and cpc joined at the board, read at the point
    "r2": ("Ω", "continuity"),  # long lead from the MET or the board's earth bar to the point
    "ring r1": ("Ω", "continuity"),  # ends of the line conductor, end to end
    "ring rn": ("Ω", "continuity"),
    "ring r2": ("Ω", "continuity"),
    "ring ln": ("Ω", "continuity"),  # legs of line and neutral crossed, at each socket (point)
    "ring le": ("Ω", "continuity"),  # legs of line and cpc crossed, at each socket (point)
    "insulation": ("MΩ", "insulation"),  # between: L-E, N-E, LN-E, L-N, L-L, all-E; test_v
    "extraneous": ("Ω", "extraneous"),  # of a part: part to MET
    "polarity": ("", ""),
    "phase sequence": ("", ""),
    "functional": ("", ""),  # point says which function: switch, isolator, AFDD, RCD button …
    "ze": ("Ω", "loop"),  # method: two-lead, no-trip
    "zdb": ("Ω", "loop"),
    "zs": ("Ω", "loop"),
    "fault current": ("kA", "fault current"),  # between: L-N, L-E, L-L, L-L-L
    "rcd": ("ms", "rcd"),  # method: x0.5, x1, x5, 250 mA; between: 0°, 180°
    "rcd button": ("", ""),
    "supplementary": (
        "Ω",
        "continuity",
    ),  # of a circuit of the location; between two parts that can be touched together
    "electrode": ("Ω", "electrode"),  # method: rod alone, with bonds, other part alone, stakes; point: stake position
}
# Rows of the schedule that are worked out from other readings and have none of their own.
CALCULATED = (
    "disconnection",
    "adiabatic",
    "overload",
    "additional protection",
    "rcd type",
    "voltage drop",
    "special location",
    "earthing conductor",
    "protective conductor",
)
OUTCOMES = ("good", "bad")  # of a test whose outcome is a word

# The words that may say how a test was made, and between what; a test that is not named here takes any text.
_CONTINUITY_WAYS = ("", "forward", "reverse")
_LOOP_WAYS = ("", "two-lead", "no-trip", "calculated")
METHODS = {
    "r1r2": (*_CONTINUITY_WAYS, "calculated"),
    "r2": _CONTINUITY_WAYS,
    "ze": _LOOP_WAYS,
    "zdb": _LOOP_WAYS,
    "zs": _LOOP_WAYS,
    "fault current": _LOOP_WAYS,
    "rcd": ("", "x0.5", "x1", "x5", "250 mA"),
    "electrode": ("", "rod alone", "with bonds", "other part alone", "stakes"),
}
BETWEEN = {
    # Where the other end of the long lead was: on the earth bar of the circuit's board (also when nothing is said), on
    # the MET, or on the conductor's own end while that is off.
    "r2": ("", "bar", "MET", "free end"),
    "insulation": ("", "L-E", "N-E", "LN-E", "L-N", "L-L", "all-E"),
    "ze": ("", "L-E", "L1-E", "L2-E", "L3-E"),
    "zdb": ("", "L-E", "L1-E", "L2-E", "L3-E"),
    "zs": ("", "L-E", "L1-E", "L2-E", "L3-E"),
    "fault current": ("", "L-N", "L-E", "L-L", "L-L-L"),
    "rcd": ("", "0°", "180°"),
}
# Why there is no reading: it could not be made, does not apply, was not verified, was not made.
ABSENT = ("LIM", "N/A", "N/V", "not tested")

# Ends that may be off besides bonds and the earthing conductor, as they stand in :class:`State`: ``c3:neutral``,
# ``db1:spd``, the id of an electrode for its conductor; ``spd`` and ``loads`` alone mean all of them.
CIRCUIT_ENDS = ("line", "neutral", "cpc", "loads", "device")  # device: switched off or fuse out; loads: unplugged
BOARD_ENDS = ("spd", "loads", "switch", "earth")  # switch: main switch off; earth: the board's protective conductor
ALL_SPDS, ALL_LOADS = "spd", "loads"

EARTHING = "earthing"  # name of the earthing conductor wherever an end or a clamp current is named


@frozen(kw_only=True)
class Happened:
    """What every event has: its place in the order, when, by whom, and a remark."""

    seq: int
    at: str = ""
    by: str = ""
    note: str = ""
    line: int = 0


@frozen(kw_only=True)
class Off(Happened):
    """Something was disconnected: a bond's MET end (``water``), its far end (``water@part``), ``earthing`` …"""

    what: str
    why: str = ""


@frozen(kw_only=True)
class On(Happened):
    """What had been disconnected was put back."""

    what: str


@frozen(kw_only=True)
class LeadCheck(Happened):
    """The leads were tried by themselves.

    kind  ``shorted`` (tips together), ``open`` (tips held apart) or ``known`` (a known resistor of ``nominal_ohm``)
    """

    leads: str
    kind: str
    shown: Shown
    instrument: str = ""
    nominal_ohm: float | None = None


@frozen(kw_only=True)
class ClampCurrent(Happened):
    """A clamp-meter reading in a conductor: which, how much, and what the load was doing."""

    on: str
    shown: Shown
    load: str = ""


@frozen(kw_only=True)
class Volts(Happened):
    """A voltage, between two named places, and what the load was doing."""

    between: str
    shown: Shown
    load: str = ""


@frozen(kw_only=True)
class Isolation(Happened):
    """A stage of isolating the supply.

    stage  ``locked``, ``tester proved``, ``dead``, ``tester proved again`` or ``restored``
    """

    stage: str
    pairs: str = ""


@frozen(kw_only=True)
class Look(Happened):
    """Something was looked at: what, and what was seen. ``holds`` is False when the look found a fault."""

    what: str
    seen: str
    holds: bool | None = None


@frozen(kw_only=True)
class Repair(Happened):
    """Something was put right, and a new state of it begins: readings before it speak of what was found.

    what    a bond, a link, an electrode, ``earthing``, a circuit or a board, or one end of these (``c3:cpc``)
    remade  what of it was remade, in words: the joint, the conductor, part of it
    """

    what: str
    remade: str


@frozen(kw_only=True)
class Override(Happened):
    """A closed gate was passed for a stated reason, by a named person. It is printed on the record."""

    gate: str
    reason: str


@frozen(kw_only=True)
class Reading(Happened):
    """One reading of an instrument.

    id           unique in the visit
    test         what was measured: one of :data:`BOND_TESTS` for a bond, or a circuit test's name
    of           id of the bond, part, circuit, board or electrode it belongs to
    shown        the digits; None for a test whose outcome is a word (polarity), which then stands in ``outcome``
    leads, instrument   ids of the lead set and the instrument
    method, between, point, test_v   how it was taken, where the test needs it
    absent       ``LIM``, ``N/A``, ``N/V`` or ``not tested`` with its reason in ``note`` when there is no reading
    refused      findings that void this entry; it is kept as typed, never judged
    """

    id: str
    test: str
    of: str
    shown: Shown | None = None
    outcome: str = ""
    leads: str = ""
    instrument: str = ""
    method: str = ""
    between: str = ""
    point: str = ""
    test_v: float | None = None
    absent: str = ""
    refused: tuple[Finding, ...] = field(default=())


Event = Off | On | LeadCheck | ClampCurrent | Volts | Isolation | Look | Repair | Override | Reading


@frozen
class State:
    """What was disconnected at a moment, and whether the supply was isolated (None: not said)."""

    off: frozenset[str] = frozenset()
    isolated: bool | None = None
