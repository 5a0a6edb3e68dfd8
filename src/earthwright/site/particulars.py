"""What a document needs beside the readings: particulars, items looked at, observations, signatures. Frozen, as entered."""

from __future__ import annotations

import datetime as dt

from attrs import frozen

# Roles that sign, each a separate act on a frozen version of the visit.
TESTED, AUTHORISED, DESIGNED, BUILT = "inspected and tested by", "authorised for issue", "designer", "constructor"
ROLES = (TESTED, AUTHORISED, DESIGNED, BUILT)

# Stages in the life of an observation. It begins as found.
FOUND, MADE_SAFE, REMEDIED, CONFIRMED, OVERTAKEN = "found", "made safe", "remedied", "confirmed", "overtaken"
STAGES = (MADE_SAFE, REMEDIED, CONFIRMED, OVERTAKEN)

CODES = ("C1", "C2", "FI", "C3")
NO_CODE = "none"  # the inspector decides that what the tool proposes is no observation, with a reason
SATISFACTORY, UNSATISFACTORY = "satisfactory", "unsatisfactory"
# How a signature was given: on the printed paper, as name, time and hash, or inside the PDF with a certificate.
PEN, TYPED, ELECTRONIC = "pen", "typed", "electronic"
DEPARTS, EXISTING = "departure", "existing"
COUNTRIES = ("England", "Scotland", "Wales", "Northern Ireland")
PRIVATE, SOCIAL = "private", "social"
LANDLORDS = (PRIVATE, SOCIAL)
# Who tells building control of work that is notifiable.
REGISTERED, CERTIFIER, BUILDING_CONTROL = "registered installer", "third-party certifier", "building control itself"
NOTIFIERS = (REGISTERED, CERTIFIER, BUILDING_CONTROL)


@frozen
class Particulars:
    """What the paper must say about the job itself.

    agreed_with       with whom extent and limitations were settled;  operational  limitations met on the day
    sampling          what was sampled, how much of it, why that is enough
    vulnerable        equipment that a test could damage, or none
    not_recorded      reason why blanks in the schedule of an existing installation are blank
    landlord          ``private`` or ``social``;  tenancy_from  day on which the tenancy was granted;  hmo  house in multiple
                      occupation. Empty or None: not entered
    notified_by       one of :data:`NOTIFIERS`
    overall           the inspector's own overall assessment;  overall_reason  needed when it differs from the codes
    next_by           date by which the next inspection is needed, with ``next_reason`` for the interval
    work_days         shorter period for the work that the report sets [days]
    firm_*            the contractor: address, telephone, registration body and number, as entered
    supervisor        the qualified supervisor, who signs second
    general           general condition of the installation in words
    concealed         what was hidden or for another reason not inspected, or none
    leaflet           whether the leaflet for the people who live there is the first page of the condition report
    exceptions        what the rules allow to be left out on stated grounds (411.3.3), and where those grounds are
    previous_number   number of the report of the last inspection; words where there was none
    """

    number: str = ""
    issued: dt.date | None = None
    client_address: str = ""
    occupier: str = ""
    premises: str = ""
    country: str = ""
    rented: bool | None = None
    purpose: str = ""
    agreed_with: str = ""
    operational: tuple[str, ...] = ()
    sampling: str = ""
    age_years: float | None = None
    alterations: str = ""
    records: str = ""
    previous: dt.date | None = None
    work: str = ""
    work_kind: str = ""
    completed: dt.date | None = None
    departures: str = ""
    existing: str = ""
    circuit: str = ""
    vulnerable: str = ""
    not_recorded: str = ""
    overall: str = ""
    overall_reason: str = ""
    next_by: dt.date | None = None
    next_reason: str = ""
    work_days: int | None = None
    copies: tuple[str, ...] = ()
    firm_address: str = ""
    firm_phone: str = ""
    firm_body: str = ""
    firm_number: str = ""
    supervisor: str = ""
    general: str = ""
    concealed: str = ""
    alterations_years: float | None = None
    previous_number: str = ""
    exceptions: str = ""
    landlord: str = ""
    tenancy_from: dt.date | None = None
    hmo: bool | None = None
    notified_by: str = ""
    leaflet: bool | None = None


@frozen
class Origin:
    """Particulars at the origin that no reading gives. Rated values in the unit of their suffix.

    live        code of the live conductors (:data:`~earthwright.codes.LIVE`), or words
    switch_*    the main switch, where it is not that of the board at the origin, which has its own
    switch_rcd  the residual current device in it in words, or none; ``switch_rcd_type``, ``_ma``, ``_delay`` the same in
                fields. How fast it opens is a reading, never typed here
    """

    live: str = ""
    current: str = ""
    polarity: str = ""
    demand_a: float | None = None
    earthing: str = ""
    fuse_standard: str = ""
    fuse_type: str = ""
    switch_where: str = ""
    switch_standard: str = ""
    switch_poles: str = ""
    switch_a: float | None = None
    switch_v: float | None = None
    switch_fuse_a: float | None = None
    switch_rcd: str = ""
    not_present: tuple[str, ...] = ()
    earthing_checked: bool | None = None
    switch_kind: str = ""
    switch_rcd_type: str = ""
    switch_rcd_ma: float | None = None
    switch_rcd_delay: str = ""


@frozen
class Danger:
    """What was done on the spot about a danger that was there."""

    what: str = ""
    where: str = ""
    at: str = ""
    done: str = ""
    consent: str = ""
    told: str = ""
    left_with: str = ""
    must_not: str = ""


@frozen
class Inspected:
    """One item of the schedule of inspections: its outcome, and what was seen."""

    item: str
    outcome: str
    note: str = ""


@frozen
class Departure:
    """Why something that does not comply, or is not decided, is certified all the same.

    of    id of the circuit, board, electrode, bond or part, ``origin``, or ``danger``;  test  which result of it
    kind  ``departure`` from the rules in new work, or ``existing``: it is no part of the work that is certified
    """

    of: str
    test: str
    reason: str
    kind: str = DEPARTS


@frozen
class Stage:
    """One step in the life of an observation. A confirmation names its ``reading``, or says what was ``seen``."""

    stage: str
    on: dt.date
    by: str = ""
    what: str = ""
    reading: str = ""
    seen: str = ""


@frozen
class Observation:
    """A line on the report: what was found, where, its code by the inspector, and what became of it.

    about    id of the bond, part, circuit, board, electrode or inspection item it belongs to
    answers  names of the proposals it answers; empty: every proposal about the same thing
    code     C1, C2, C3, FI, or ``none`` to turn a proposal down;  reason  needed when the code differs from the proposal
    """

    id: str
    what: str = ""
    where: str = ""
    about: str = ""
    answers: tuple[str, ...] = ()
    code: str = ""
    reason: str = ""
    clause: str = ""
    found: dt.date | None = None
    stages: tuple[Stage, ...] = ()


@frozen
class Sign:
    """One signature: a role taken by a person, at a time, on a version of the visit.

    content  hash of the visit as it stood when it was signed;  how  ``typed``, ``pen`` or ``electronic``
    """

    role: str
    name: str
    at: str = ""
    position: str = ""
    firm: str = ""
    content: str = ""
    how: str = TYPED


@frozen
class Paperwork:
    """Everything of the sort in one visit.

    content  hash of the visit as entered, signatures left out; what a signature freezes. Empty: not read from entries
    """

    report: Particulars = Particulars()
    origin: Origin = Origin()
    danger: Danger = Danger()
    inspected: tuple[Inspected, ...] = ()
    observations: tuple[Observation, ...] = ()
    signs: tuple[Sign, ...] = ()
    departures: tuple[Departure, ...] = ()
    content: str = ""

    def holds(self, sign: Sign) -> bool:
        """Whether a signature still stands: the visit is what was signed."""
        return bool(sign.content) and sign.content == self.content

    def outcome(self, item: str) -> Inspected | None:
        """What was entered for an inspection item."""
        return next((i for i in self.inspected if i.item == item), None)
