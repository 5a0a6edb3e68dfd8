"""The keys of a step as it is written. One step is one or more events (:mod:`.events`); which keys go together its reader knows."""

from __future__ import annotations

from typing import Any

from attrs import frozen

from .events import ABSENT, BOND_TESTS, CIRCUIT_TESTS, OUTCOMES
from .fields import AREA, DIGITS, FLAG, NAMES, NEVER, NUMBER, REFERENCE, TEXT, TIME, WORD, field, once

CHECKS = ("shorted", "open", "known")
# Keys that say of what a step is, and what it does beside taking off and putting back: of each a step has one.
OF = ("of", "bond", "circuit", "board", "electrode", "part")
DOES = ("read", "tests", "check", "clamp", "volts", "isolated", "look", "repair", "override")
STAGES = ("locked", "tester proved", "dead", "tester proved again", "restored")


# fmt: off
@frozen
class Step:
    """What may stand in a step."""

    off: tuple[str, ...] = once(NAMES, "Taken off", "the MET end of a bond, its far end (water@part), earthing, an end of a circuit or board (c3:neutral, db1:spd), spd, loads")
    on: tuple[str, ...] = once(NAMES, "Put back", "the same; a circuit with all its ends; all")
    read: str = once(WORD, "Read", "what was measured", choices=(*BOND_TESTS, *CIRCUIT_TESTS))
    bond: str = once(REFERENCE, "Bond", "that was read")
    of: tuple[str, ...] = once(NAMES, "Of", "circuit, board, part, electrode or origin that was read")
    shown: Any = once(DIGITS, "Display", "the digits as shown, over-range, <0.01 or >299; a list of repeats")
    outcome: str = once(WORD, "Outcome", "of a test whose outcome is a word", choices=OUTCOMES)
    absent: str = once(WORD, "Not measured because", "LIM needs its reason as the note", choices=ABSENT)
    tests: Any = once(DIGITS, "Tests", "several of one thing in one go: name of the test = digits or word")
    at_points: Any = once(DIGITS, "Readings at points", "point = digits, or a list in the order of the circuit's points")
    point: str = once(TEXT, "Point", "where the leads were")
    between: str = once(TEXT, "Between", "L-E, 0° …; of R2 the other end of the long lead: bar, MET, free end")
    method: str = once(TEXT, "Method", "two-lead, no-trip, calculated, x1, stakes …; of a bond: forward, reverse")
    test_v: float | None = once(NUMBER, "Test voltage", unit="V", above=0, most=10000)
    leads: str = once(REFERENCE, "Leads")
    instrument: str = once(REFERENCE, "Instrument")
    check: str = once(WORD, "Leads tried", "by themselves", choices=CHECKS)
    nominal_ohm: float | None = once(NUMBER, "Known resistor", "that the leads were tried across", unit="Ω", above=0, most=1000)
    clamp: str = once(TEXT, "Clamp meter round", "a bond or the earthing conductor")
    volts: str = once(TEXT, "Voltage between", "L-N, L-E, N-E, L-L, or the MET and true earth")
    load: str = once(TEXT, "Load at the time")
    isolated: str = once(WORD, "Isolation", choices=STAGES)
    pairs: str = once(TEXT, "Pairs proved dead")
    look: str = once(TEXT, "Looked at")
    seen: str = once(TEXT, "What was seen")
    holds: bool | None = once(FLAG, "As it should be")
    repair: str = once(TEXT, "Put right", "a bond, a link, an electrode, earthing, a circuit or a board, or one end of these")
    remade: str = once(TEXT, "What was remade", "the joint, the conductor, part of it")
    override: str = once(TEXT, "Gate passed", "signed with by, for a reason")
    reason: str = once(TEXT, "Reason")
    why: str = once(TEXT, "Why")
    at: str = once(TIME, "When")
    clock: str = field(TEXT, "Clock", "by whose clock, where two phones went together; empty: the first one", ask=NEVER, keep=False)
    by: str = once(TEXT, "By", person=True)
    note: str = once(AREA, "Remark")
    source: str = field(TEXT, "Taken in from", "file, row and digest of an instrument's own readings; empty: entered by hand", ask=NEVER, keep=False)
# fmt: on
