"""Short codes that a schedule prints, each with what it means in our own words; whatever has no code is said in a text.

The letters of wirings and the numbers of reference methods are those that schedules of circuits use, written down from
memory of BS 7671 (appendices 4 and 6); the meanings are our own, and stand on the paper wherever a code is printed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from attrs import frozen

AC, DC = "AC", "DC"
CURRENTS = (AC, DC)

# How the cable of a circuit is made, or what its conductors run in.
OTHER_WIRING = "O"
WIRING: Mapping[str, str] = MappingProxyType(
    {
        "A": "thermoplastic cable with a sheath of its own",
        "B": "thermoplastic conductors in metal conduit",
        "C": "thermoplastic conductors in plastic conduit",
        "D": "thermoplastic conductors in metal trunking",
        "E": "thermoplastic conductors in plastic trunking",
        "F": "thermoplastic cable with steel-wire armour",
        "G": "thermosetting cable with steel-wire armour",
        "H": "mineral-insulated cable",
        OTHER_WIRING: "another, named beside it",
    }
)

# Where the cable runs, which decides the current it may carry.
METHODS: Mapping[str, str] = MappingProxyType(
    {
        "A": "in conduit inside a wall that insulates heat",
        "B": "in conduit or trunking on a wall",
        "C": "fixed straight to a surface",
        "D": "in the ground",
        "E": "multicore cable with air round it",
        "F": "single cores touching, with air round them",
        "G": "single cores apart, with air round them",
        "100": "on a ceiling, below heat insulation up to 100 mm thick",
        "101": "on a ceiling, below heat insulation more than 100 mm thick",
        "102": "in a stud wall with heat insulation, touching the inner face",
        "103": "in a stud wall with heat insulation, not touching the inner face",
    }
)


@frozen
class Live:
    """The live conductors of a supply or board.

    words  in words;  count  how many there are;  current  AC or DC;  phases  1 or 3;  neutral  whether one of them is it
    """

    words: str
    count: int
    current: str
    phases: int
    neutral: bool


LIVE: Mapping[str, Live] = MappingProxyType(
    {
        "L+N": Live("one line and neutral", 2, AC, 1, True),
        "L+L": Live("two lines", 2, AC, 1, False),
        "2L+N": Live("two lines and neutral", 3, AC, 1, True),
        "3L": Live("three lines", 3, AC, 3, False),
        "3L+N": Live("three lines and neutral", 4, AC, 3, True),
        "2P": Live("two poles", 2, DC, 1, False),
        "2P+M": Live("two poles and the point between them", 3, DC, 1, False),
    }
)

RCD_SWITCH = "residual current device"
SWITCH_KINDS = ("switch", "switch with fuses", "circuit breaker", RCD_SWITCH, "other")

SPD_TYPES: Mapping[str, str] = MappingProxyType(
    {
        "1": "type 1",
        "2": "type 2",
        "3": "type 3",
        "1+2": "type 1 and 2 in one",
        "2+3": "type 2 and 3 in one",
        "1+2+3": "type 1, 2 and 3 in one",
        "none": "none",
    }
)


def live_words(code: str) -> str:
    """Number and kind of live conductors of a code: ``one line and neutral, 2 conductors``; another text as it is."""
    known = LIVE.get(code)
    return code if known is None else f"{known.words}, {known.count} conductors"


LIVE_SAID: Mapping[str, str] = MappingProxyType({code: live_words(code) for code in LIVE})

# ---- between what a voltage was measured ----

VOLTAGES = ("MET to true earth", "L-N", "L-E", "N-E", "L-L")
_ENDS = {
    "LINE": "L",
    "PHASE": "L",
    "LIVE": "L",
    "L1": "L",
    "L2": "L",
    "L3": "L",
    "NEUTRAL": "N",
    "EARTH": "E",
    "PE": "E",
    "CPC": "E",
}


def voltage_between(text: str) -> str:
    """``MET`` for the MET and true earth, ``L-N``, ``L-E``, ``N-E`` for these, else the text as it is."""
    word = re.sub(r"[-–—/ ]+", "-", text.strip().upper().replace(" TO ", "-").replace(" AND ", "-"))
    if "MET" in word and ("EARTH" in word or "GROUND" in word or word in ("MET-E", "E-MET")):
        return "MET"
    ends = [_ENDS.get(x, x) for x in word.split("-")]
    if len(ends) == 2 and set(ends) <= set("LNE") and ends != ["N", "N"] and ends != ["E", "E"]:
        return "-".join(sorted(ends, key="LNE".find))
    return text
