"""One attendance at a site: who, when, with which instruments, and everything done, in the order it was done."""

from __future__ import annotations

import contextlib
import datetime as dt

import attrs
from attrs import NOTHING, frozen

from .assumptions import USUAL, Assumptions
from .events import Event
from .fields import AREA, DATE, FIRST, FLAG, INLINE, NAMES, NEVER, NUMBER, TEXT, WORD, field
from .installation import Site
from .particulars import Paperwork
from .reading import Instrument, LeadSet

VISIT_KINDS = ("bonding", "periodic", "initial", "minor works")
# Kinds of visit that verify new work: it has to keep the rules of its design; what was there before is measured by custom.
NEW_WORK = ("initial", "minor works")


# fmt: off
@frozen
class Choices:
    """What the firm or the inspector chose for this visit; every default is printed on the record.

    edition   empty: the one in force on the date
    decision  ``simple`` (compare the corrected value) or ``guarded`` (the whole 95 % interval)
    assumptions  the constants of the evidence, as usual or as this visit changed them
    """

    edition: str = field(TEXT, "Edition, where two are open", "chosen once", keep=False)
    decision: str = field(WORD, "Decision rule", "guarded: the whole 95 % interval is held against a limit", choices=("simple", "guarded"), default="simple", keep=False)
    extraneous_ma: float = field(NUMBER, "Body current behind the extraneous threshold", unit="mA", above=0, most=1000, default=10.0, keep=False, after="clamp_stop_a")
    clamp_stop_a: float = field(NUMBER, "Bond current above which nothing is opened", unit="A", least=0, most=1000, default=1.0, keep=False, fact="nothing")
    shared_scale_error: bool = field(FLAG, "One scale error for all readings of an instrument", default=False, keep=False, ask=NEVER)
    whole_site: bool = field(FLAG, "Weigh all bonds as one network", "even where little ties them together", default=False, keep=False, ask=NEVER)
    # fmt: on
    assumptions: Assumptions = USUAL  # a table of its own


@frozen
class Unread:
    """An entry, or one key of it, that could not be read, or says what cannot be. What rests on it is not judged.

    of, key   the entry ("supply", "visit", the id of a circuit or board) and its key, empty for all of it
    what      what it is and what is wrong with it, to be said after "it rests on"
    readings  places in the order of the readings that rest on it;  since  every reading from this place on does, if not 0
    step      a current or a voltage (``key``) of ``of`` that was dropped just before this place in the order, if not 0
    """

    of: str
    key: str
    what: str
    readings: tuple[int, ...] = ()
    since: int = 0
    step: int = 0


@frozen
class Visit:
    """Everything one attendance brought, as entered. Nothing here is worked out.

    unread  what could not be read and has something else in its place, so that nothing quieter is taken for it
    """

    # fmt: off
    site: Site = field(INLINE, of=Site, default=NOTHING)
    date: dt.date = field(DATE, "Day", "of the inspection; it decides which edition of the rules applies", need=True, keep=False, ask=FIRST, fact="nothing")
    kind: str = field(WORD, "Kind", choices=VISIT_KINDS, default="periodic", start="periodic", ask=FIRST, fact="nothing")
    inspector: str = field(TEXT, "Inspector", "who signs", keep=False, ask=FIRST, person=True)
    firm: str = field(TEXT, "Firm", habit=True)
    client: str = field(TEXT, "Client", person=True)
    temp_c: float = field(NUMBER, "Temperature of the conductors", "roughly", unit="°C", least=-30, most=60, default=20.0, start="15", keep=False)
    instruments: tuple[Instrument, ...] = ()
    leads: tuple[LeadSet, ...] = ()
    events: tuple[Event, ...] = ()
    choices: Choices = field(INLINE, of=Choices, default=Choices(), after="designed")
    extent: str = field(AREA, "Extent", keep=False, puts=("the whole installation",), habit=True)
    limitations: tuple[str, ...] = field(NAMES, "Limitations", keep=False, puts=("none",))
    note: str = field(AREA, "Remark", keep=False, after="choices")
    paperwork: Paperwork = attrs.field(factory=Paperwork)
    unread: tuple[Unread, ...] = ()
    designed: dt.date | None = field(DATE, "New work: design finished on", "the edition of that day counts", keep=False, after="limitations", fact="edition")
    # fmt: on

    @property
    def rules_on(self) -> dt.date:
        """The day whose edition counts: of new work the day of its design, where it is entered; else of the inspection."""
        return self.designed if self.designed is not None and self.kind in NEW_WORK else self.date

    def instrument(self, instrument_id: str) -> Instrument:
        """The instrument of that id. Raises KeyError."""
        for instrument in self.instruments:
            if instrument.id == instrument_id:
                return instrument
        raise KeyError(instrument_id)


def moment_of(at: str) -> dt.datetime | None:
    """A moment that says its day; None for a time of day alone, or for words."""
    with contextlib.suppress(ValueError):
        return dt.datetime.fromisoformat(at) if len(at) > len("23:59:59") else None
    return None


def day_of(visit: Visit, event: Event) -> dt.date:
    """The day of an event: the one that it says, else that of the step before it; those first are of the visit's day."""
    found = visit.date
    for e in visit.events:
        moment = moment_of(e.at)
        found = moment.date() if moment else found
        if e.seq >= event.seq:
            break
    return found
