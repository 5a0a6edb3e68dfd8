"""One attendance at a site: who, when, with which instruments, and everything done, in the order it was done."""

from __future__ import annotations

import datetime as dt

from attrs import field, frozen

from .events import Event
from .installation import Site
from .particulars import Paperwork
from .reading import Instrument, LeadSet

NEW_WORK = ("initial", "minor works")  # kinds of visit that verify work against the edition it was designed to


@frozen
class Choices:
    """What the firm or the inspector chose for this visit; every default is printed on the record.

    edition            edition of the wiring rules, chosen once; empty: the one in force on the date
    decision           ``simple`` (compare the corrected value) or ``guarded`` (the whole 95 % interval)
    extraneous_ma      body current behind the extraneous-part threshold [mA]
    clamp_stop_a       current in a bond above which no disconnection is offered [A]
    shared_scale_error whether one instrument's scale error is taken as common to its readings
    whole_site         weigh all bonds as one network even where little ties them together
    """

    edition: str = ""
    decision: str = "simple"
    extraneous_ma: float = 10.0
    clamp_stop_a: float = 1.0
    shared_scale_error: bool = False
    whole_site: bool = False


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
    designed  day on which the design of new work was finished; None: not entered
    """

    site: Site
    date: dt.date
    kind: str = "periodic"
    inspector: str = ""
    firm: str = ""
    client: str = ""
    temp_c: float = 20.0
    instruments: tuple[Instrument, ...] = ()
    leads: tuple[LeadSet, ...] = ()
    events: tuple[Event, ...] = ()
    choices: Choices = Choices()
    extent: str = ""
    limitations: tuple[str, ...] = ()
    note: str = ""
    paperwork: Paperwork = field(factory=Paperwork)
    unread: tuple[Unread, ...] = ()
    designed: dt.date | None = None

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
