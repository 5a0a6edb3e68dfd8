"""What happened on site, one event after another: checks, disconnections, readings, looks. Frozen; no arithmetic.

A visit is a list of events in the order they happened. What was connected at the moment of a reading follows from the
events before it and is never typed a second time.
"""

from __future__ import annotations

from attrs import field, frozen

from ..base.digits import Shown
from ..base.errors import Finding
from . import tests
from .tests import TESTS, WORKED_OUT

# How a reading across a bond is taken. The word fixes where the probes are and what the bond's own state must be.
CONDUCTOR = "conductor"  # MET end off; its free end to the part
PATH = "path"  # MET end off; the MET to the part
TOGETHER = "together"  # all connected; the MET to the part
JOINT = "joint"  # the conductor at the clamp to bare metal of the part
CLAMP_BODY = "clamp body"  # MET end off; its free end to the clamp's body, which leaves the joint out
BOND_TESTS = (CONDUCTOR, PATH, TOGETHER, JOINT, CLAMP_BODY)

ORIGIN = tests.ORIGIN
CIRCUIT_TESTS = {
    t.name: t for t in TESTS
}  # every other test: of a circuit, a board, an electrode, a part or the origin
CALCULATED = tuple(t.name for t in WORKED_OUT)
OUTCOMES = ("good", "bad")  # of a test whose outcome is a word

# The words that may say how a test was made, and between what; a test that is not named here takes any text.
METHODS = {t.name: t.methods for t in TESTS if t.methods}
BETWEEN = {t.name: t.between for t in TESTS if t.between}
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
    """What every event has: its place in the order, when, by whose clock, by whom, and a remark."""

    seq: int
    at: str = ""
    clock: str = ""
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
    source       the file, row and digest that it was taken in from; empty: entered by hand
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
    source: str = ""


Event = Off | On | LeadCheck | ClampCurrent | Volts | Isolation | Look | Repair | Override | Reading


@frozen
class State:
    """What was disconnected at a moment, and whether the supply was isolated (None: not said)."""

    off: frozenset[str] = frozenset()
    isolated: bool | None = None
