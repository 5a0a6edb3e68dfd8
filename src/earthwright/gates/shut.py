"""Why a gate is shut: each reason once, with its sentence and with what to do in its place. Code asks for the reason, never for words."""

from __future__ import annotations

from enum import Enum

from attrs import frozen

from ..site.events import Override

ISOLATION = "isolation"
CLAMP = "clamp current"
DANGER = "danger now"
OWNER = "owner"
ONE = "one at a time"
ALL_BACK = "all back"
END_OFF = "end off"
ALONE = "part alone"
CPC_FIRST = "continuity first"
NAMES = (ISOLATION, CLAMP, DANGER, OWNER, ONE, ALL_BACK, END_OFF, ALONE, CPC_FIRST)

PARALLEL_FIRST = (
    "If it must be improved, run the new conductor first: measure the voltage between its ends, connect it in parallel "
    "on a terminal and a clamp of its own, and leave the old one until the distributor has been."
)


class Shut(Enum):
    """A reason for which a gate is shut: the gate, why, and what to do instead."""

    VOLTS_UNREAD = (
        DANGER,
        "It depends on {unread}: that voltage may have been dangerous.",
        "Correct the entry, or measure the voltage again.",
    )
    ALARM = (
        DANGER,
        "{alarm} What you disconnect may be the only thing holding the voltage down.",
        "Leave every connection as it is. {do}",
    )
    OWNED = (
        OWNER,
        "The {part} belongs to the {owner}.",
        "Ask the {owner} and enter who agreed and when; until then go by what can be read with everything connected.",
    )
    CARRIES = (
        CLAMP,
        "The {name} carries {shown}{load}, more than {stop:g} A: disconnecting it breaks that current and may leave a "
        "voltage across the gap. A neighbour's current does not stop with your switch.",
        f"Do not disconnect it. Tell the distributor the current, the time and the postcode. {PARALLEL_FIRST}",
    )
    CURRENT_UNREAD = (
        CLAMP,
        "It depends on {unread}: that current may have been more than {stop:g} A.",
        "Correct the entry, or put the clamp meter round it again, with the supply as it was then.",
    )
    CURRENT_NOT_READ = (
        CLAMP,
        "Nobody has put the clamp meter round the {name}.",
        "Put the clamp meter round it before isolating and again after, and enter both.",
    )
    CURRENT_READ_BEFORE_ONLY = (
        CLAMP,
        "The current in the {name} was read before isolation only.",
        "Isolate, then put the clamp meter round it again: a neighbour's current does not stop with your switch.",
    )
    NOT_PROVED_DEAD = (
        ISOLATION,
        "Isolation is not proved: not entered yet: {missing}.",
        "Isolate and lock off; prove the tester, prove dead between all conductors, prove the tester again; enter each.",
    )
    ANOTHER_OFF = (
        ONE,
        "{others} is off already; only one at a time, so that the metal always stays connected.",
        "Reconnect {first} first, or leave this one connected.",
    )
    STILL_OFF = (
        ALL_BACK,
        "{off} is off; nothing is energised until it is reconnected.",
        "Reconnect it, check it by eye or by a reading, and enter that, before {moment}.",
    )
    BOND_OFF = (END_OFF, "The bond is still off.", "Reconnect it and enter that, then read.")
    BOND_ON = (
        END_OFF,
        "Both ends are connected, so you would measure the other metal as well.",
        "Disconnect the MET end as a step of its own, when its gates are open; until then read with everything connected.",
    )
    JOINED = (
        ALONE,
        "{on} still joins the part to the MET, so a low reading says nothing about earth.",
        "Take it off first, when its gates are open. A high reading with it connected would still count.",
    )
    CPC_OPEN = (CPC_FIRST, "{why}", "{do}")
    CPC_NOT_READ = (
        CPC_FIRST,
        "Nothing shows yet that the protective conductor is continuous; a loop test puts mains on metal that it does not reach.",
        "Read R1+R2 or R2 dead first.",
    )

    def gate(self, what: str, **facts: object) -> Gate:
        """The shut gate before opening or reading ``what``; the facts stand in its sentences."""
        name, why, instead = self.value
        return Gate(name, what, False, why.format(**facts), instead.format(**facts), cause=self)


@frozen
class Gate:
    """One gate before one step.

    open        whether the step may be taken as far as this gate goes;  why  the reason either way
    instead     what to do in its place when it is closed
    overridden  the signed reason that passes a closed gate for this one step
    cause       the reason for which it is shut
    """

    name: str
    what: str
    open: bool
    why: str
    instead: str = ""
    overridden: Override | None = None
    cause: Shut | None = None

    @property
    def passes(self) -> bool:
        """Whether the step may be taken: the gate is open, or a person has signed for passing it."""
        return self.open or self.overridden is not None
