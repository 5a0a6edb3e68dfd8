"""What is known while the steps of a visit are read: the events so far, the things there are, the ends that are off."""

from __future__ import annotations

from copy import copy
from decimal import Decimal
from typing import TYPE_CHECKING

from attrs import evolve

from ..base.errors import Finding, Severity
from ..site.events import (
    ALL_LOADS,
    ALL_SPDS,
    BOARD_ENDS,
    CIRCUIT_ENDS,
    EARTHING,
    ORIGIN,
    Event,
    LeadCheck,
    Off,
    On,
    Reading,
)
from ..site.installation import Circuit
from ..site.plausible import of_reading
from ..site.reading import ASSUMED
from ..site.tests import BOARD, CIRCUIT, ELECTRODE, PART
from ..site.visit import Unread, Visit
from .fields import Entry

if TYPE_CHECKING:
    from .read import Book

PART_END = "@part"
EVERYTHING = "all"


class Walk:
    """The events read so far; numbers them in order."""

    def __init__(self, book: Book, visit: Visit) -> None:
        self.book, self.visit = book, visit
        site = visit.site
        self.events: list[Event] = []
        self.conductors = {b.id for b in site.bonds} | {link.id for link in site.links} | {EARTHING}
        self.things = {ORIGIN: ORIGIN} | {p.id: PART for p in site.parts} | {e.id: ELECTRODE for e in site.electrodes}
        self.things |= {b.id: BOARD for b in site.boards} | {c.id: CIRCUIT for c in site.circuits}
        self.circuits: dict[str, Circuit] = {c.id: c for c in site.circuits}
        self.places: dict[str, dict[str, float]] = {}
        self.off: list[str] = []
        self._steps: dict[tuple[str, str], Decimal] = {}
        self.readings = 0
        self.lost_checks: list[tuple[int, str, str]] = []
        self.unsure = ""
        self.tool: Unread | None = None

    def copied(self) -> Walk:
        """The same, which may go on without this one."""
        other = copy(self)
        other.book, other.events, other.off = self.book.copied(), [*self.events], [*self.off]
        other.places = {circuit: {**places} for circuit, places in self.places.items()}
        other.lost_checks = [*self.lost_checks]
        return other

    @property
    def seq(self) -> int:
        """Number of the next event."""
        return len(self.events) + 1

    def default(self, entry: Entry, key: str, known: list[str], *, only: bool = True) -> str:
        """The name given; the only one there is when none was given."""
        name = entry.text(key)
        lost = [u for u in self.visit.unread if u.of == key]
        mine = next((u for u in lost if u.key == name or (only and not name)), None)
        if mine is not None:  # told once, where it stands; the digits of this step rest on it
            self.tool = mine
            return name
        if not name:
            return known[0] if only and len(known) == 1 else ""
        if name not in known:
            entry.fault(key, f"'{name}' is not entered.", "one of: " + (", ".join(known) or "none entered"), name)
        return name

    def instrument(self, entry: Entry) -> str:
        """Id of the instrument."""
        return self.default(entry, "instrument", [i.id for i in self.visit.instruments])

    def leads(self, entry: Entry, *, only: bool = True) -> str:
        """Id of the lead set; ``only`` False where leads do not count unless they were named."""
        return self.default(entry, "leads", [x.id for x in self.visit.leads], only=only)

    def step_of(self, instrument: str, function: str) -> Decimal:
        """One digit of an instrument's function."""
        key = instrument, function
        if key not in self._steps:
            known = next((i for i in self.visit.instruments if i.id == instrument), None)
            self._steps[key] = Decimal(str((known.limits(function) if known else ASSUMED[function]).step))
        return self._steps[key]

    def end(self, entry: Entry, key: str, name: str, *, clamp: bool = False) -> str:
        """The end as the state names it; reports one that there is not. ``clamp``: a whole circuit or board may be named."""
        thing, colon, end = (part.strip() for part in name.partition(":"))
        base = thing.removesuffix(PART_END)
        kind = self.things.get(base)
        if base in self.book.broken:
            if base not in self.conductors:
                what = f"The entry '{base}' is broken, so this step cannot be followed."
                entry.fault(key, what, "an entry that can be read", name)
        elif colon:
            ends = {CIRCUIT: CIRCUIT_ENDS, BOARD: BOARD_ENDS}.get(kind or "", ())
            if not ends:
                entry.fault(key, f"There is no circuit or board '{thing}'.", "such as c3:neutral or db1:spd", name)
                self.unsure = f"{entry.title}, whose '{key}' names nothing that is entered"
            elif end not in ends:
                entry.fault(key, f"A {kind} has no end '{end}'.", "one of: " + ", ".join(ends), name)
        elif base not in self.conductors and kind != ELECTRODE and thing not in (ALL_SPDS, ALL_LOADS):
            if kind in (CIRCUIT, BOARD) and not clamp:
                ends = CIRCUIT_ENDS if kind == CIRCUIT else BOARD_ENDS
                entry.fault(key, f"Which end of {kind} '{thing}'?", ", ".join(f"{thing}:{e}" for e in ends), name)
            elif kind not in (CIRCUIT, BOARD):
                entry.fault(key, f"There is no conductor '{thing}'.", "one of: " + self._known(), name)
                self.unsure = f"{entry.title}, whose '{key}' names nothing that is entered"
        return f"{thing}:{end}" if colon else thing

    def remade(self, entry: Entry, name: str) -> str:
        """What a repair was made of: a conductor, an electrode, a circuit or a board as a whole, or one end of these."""
        base = name.strip().removesuffix(PART_END)  # the joint at the part is part of the bond
        return base if self.things.get(base) == ORIGIN else self.end(entry, "repair", base, clamp=True)

    def _known(self) -> str:
        electrodes = [e.id for e in self.visit.site.electrodes]
        ends = ["c3:neutral", ALL_SPDS, ALL_LOADS] if self.circuits else []
        return ", ".join([*sorted(self.conductors), *electrodes, *ends])

    def take_off(self, event: Off) -> None:
        """Note a disconnection."""
        self.events.append(event)
        if event.what not in self.off:
            self.off.append(event.what)

    def put_back(self, event: On) -> None:
        """Note a reconnection."""
        self.events.append(event)
        if event.what in self.off:
            self.off.remove(event.what)

    def back(self, entry: Entry, name: str) -> tuple[str, ...]:
        """The ends that a name in ``on`` puts back: one end, every end of a circuit or board, or everything."""
        name = name.strip()
        if name == EVERYTHING or self.things.get(name) in (CIRCUIT, BOARD):
            found = tuple(x for x in self.off if name == EVERYTHING or x.startswith(name + ":"))
            if not found:
                entry.fault(
                    "on", f"Nothing of '{name}' is off.", "what is off: " + (", ".join(self.off) or "nothing"), name
                )
            return found
        return (self.end(entry, "on", name),)

    def rest_on(self, entry: Entry, first: int) -> None:
        """Note that what was off is not known from a step on whose ``off`` or ``on`` could not be read."""
        typed = [entry.raw(key) for key in ("off", "on") if entry.has(key)]
        if not all(isinstance(x, str) or (isinstance(x, list) and all(isinstance(n, str) for n in x)) for x in typed):
            self.unsure = f"{entry.title}, which could not be read: what was off is not known"
        if self.unsure and not entry.has("clamp"):
            self.book.unread.append(Unread("step", "", self.unsure, since=first + 1))
        self.unsure = ""

    def dropped(self, entry: Entry, key: str, of: str) -> None:
        """Note a current or a voltage that could not be read: an earlier one does not stand in its place."""
        self.book.unread.append(Unread(of, key, f"{entry.title}, which could not be read", step=self.seq))

    def rest_on_tool(self, first: int) -> None:
        """Note that the digits of a step, its events from ``first`` on, rest on an instrument or leads that were not read."""
        seqs = tuple(e.seq for e in self.events[first:] if isinstance(e, Reading) and e.shown is not None)
        tool, self.tool = self.tool, None
        if tool is None or not seqs:
            return
        for i, u in enumerate(self.book.unread):
            if u.readings and (u.of, u.key) == (tool.of, tool.key):
                self.book.unread[i] = evolve(u, readings=(*u.readings, *seqs))
                return
        self.book.unread.append(evolve(tool, readings=seqs))

    def doubt(self, entry: Entry, first: int) -> None:
        """Refuse the readings of a step, its events from ``first`` on, that show what cannot be; each says its likely slip."""
        for i in range(first, len(self.events)):
            event = self.events[i]
            if isinstance(event, Reading) and not event.refused:
                cannot = of_reading(event, self.visit.site.supply.system)
                if cannot is not None:
                    key = "test_v" if cannot.where.endswith("test_v") else self._key(entry, event.test)
                    self.events[i] = evolve(event, refused=(entry.cannot(key, cannot),))

    @staticmethod
    def _key(entry: Entry, test: str) -> str:
        """The key under which a reading of a step was typed."""
        table = entry.raw("tests") if entry.has("tests") else None
        if isinstance(table, dict):
            return next((f"tests: {k}" for k in table if str(k).startswith(test)), "tests")
        return "at_points" if entry.has("at_points") else "shown"

    def void_lost_checks(self) -> None:
        """A lead check that could not be read may have been a bad one: the readings round it are not judged."""
        for seq, leads, title in self.lost_checks:
            checks = [e.seq for e in self.events if isinstance(e, LeadCheck) and leads in ("", e.leads)]
            low = max((s for s in checks if s < seq), default=0)
            high = min((s for s in checks if s >= seq), default=len(self.events) + 1)
            within = (e for e in self.events if isinstance(e, Reading) and low < e.seq < high)
            mine = tuple(e.seq for e in within if e.leads and leads in ("", e.leads))
            if mine:
                self.book.unread.append(Unread("step", "", f"{title}, a check of the leads that cannot be used", mine))

    def refuse(self, first: int, said: tuple[Finding, ...]) -> None:
        """Mark the readings of a broken step, its events from ``first`` on, as refused: kept as typed, never judged."""
        errors = tuple(f for f in said if f.severity is Severity.ERROR)
        for i in range(first, len(self.events)):
            event = self.events[i]
            if isinstance(event, Reading):
                self.events[i] = evolve(event, refused=tuple(dict.fromkeys((*event.refused, *errors))))
