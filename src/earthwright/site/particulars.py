"""What a document needs beside the readings: particulars, items looked at, observations, signatures. Frozen, as entered."""

from __future__ import annotations

import datetime as dt

from attrs import NOTHING, frozen

from .circuit import RCD_TYPES
from .codes import CURRENTS, LIVE_SAID, SWITCH_KINDS
from .fields import (
    AREA,
    COUNT,
    DATE,
    DELAY,
    FLAG,
    ID,
    NAMES,
    NEVER,
    NUMBER,
    REFERENCE,
    TABLES,
    TEXT,
    TIME,
    WORD,
    field,
    once,
    stays,
)
from .pictures import Picture
from .strokes import binding, points

# Roles that sign, each a separate act on a frozen version of the visit.
TESTED, AUTHORISED, DESIGNED, BUILT = "inspected and tested by", "authorised for issue", "designer", "constructor"
ROLES = (TESTED, AUTHORISED, DESIGNED, BUILT)

# Stages in the life of an observation. It begins as found.
FOUND, MADE_SAFE, REMEDIED, CONFIRMED, OVERTAKEN = "found", "made safe", "remedied", "confirmed", "overtaken"
STAGES = (MADE_SAFE, REMEDIED, CONFIRMED, OVERTAKEN)

ASKED = ("C1", "C2", "FI")  # codes whose observation is to be dealt with; C3 is advice
CODES = (*ASKED, "C3")
NO_CODE = "none"  # the inspector decides that what the tool proposes is no observation, with a reason
SATISFACTORY, UNSATISFACTORY = "satisfactory", "unsatisfactory"
# How a signature was given: on the printed paper, as name, time and hash, inside the PDF with a certificate, by finger.
PEN, TYPED, ELECTRONIC, DRAWN = "pen", "typed", "electronic", "drawn"
CHANGED, UNLIKE, COPIED = (
    "the visit was changed after it",
    "its strokes, or what they stand under, are not those that were given",
    "the very same strokes stand under another name: one of them was copied",
)
DEPARTS, EXISTING = "departure", "existing"
COUNTRIES = ("England", "Scotland", "Wales", "Northern Ireland")
PRIVATE, SOCIAL = "private", "social"
LANDLORDS = (PRIVATE, SOCIAL)
# Who tells building control of work that is notifiable.
REGISTERED, CERTIFIER, BUILDING_CONTROL = "registered installer", "third-party certifier", "building control itself"
NOTIFIERS = (REGISTERED, CERTIFIER, BUILDING_CONTROL)
WORK_KINDS = ("new installation", "addition", "alteration", "board replaced")


# fmt: off
@frozen
class Particulars:
    """What the paper must say about the job itself.

    sampling      what was sampled, how much of it, why that is enough;  not_recorded  of an existing installation
    landlord, tenancy_from, hmo, leaflet  empty or None: not entered
    firm_*        the contractor, as entered;  supervisor  signs second
    """

    number: str = once(TEXT, "Number of the document")
    issued: dt.date | None = once(DATE, "Issued on")
    client_address: str = stays(TEXT, "Client's address", client=True, person=True)
    occupier: str = once(TEXT, "Occupier", habit=True, person=True)
    premises: str = stays(TEXT, "Kind of premises", puts=("house", "flat", "shop", "office"), habit=True, person=True)
    country: str = stays(WORD, "Country", choices=COUNTRIES)
    rented: bool | None = stays(FLAG, "Rented home")
    purpose: str = once(AREA, "Reason for this report", after="issued", puts=("asked for by the client", "due date reached", "rented home", "change of occupier"), habit=True)
    agreed_with: str = once(TEXT, "Extent and limitations agreed with", "with whom extent and limitations were settled", puts=("the client", "the occupier"), habit=True, person=True)
    operational: tuple[str, ...] = once(NAMES, "Limitations met on the day", "limitations met on the day", puts=("none",), habit=True)
    sampling: str = once(AREA, "What was sampled, how much, why enough", puts=("every circuit; one accessory in five opened", "every accessory of every circuit"), habit=True)
    age_years: float | None = once(NUMBER, "Age of the installation", unit="years", least=0, most=300, puts=("5", "10", "20", "30"))
    alterations: str = once(AREA, "Signs of alterations", puts=("none",), habit=True)
    records: str = once(TEXT, "Earlier records", puts=("none to hand", "last report", "circuit chart only"), habit=True)
    previous: dt.date | None = once(DATE, "Last inspection", "day of it")
    work: str = once(AREA, "Work done", puts=("new board and circuits", "new installation"), habit=True)
    work_kind: str = once(WORD, "Kind of work", choices=WORK_KINDS)
    completed: dt.date | None = once(DATE, "Completed on")
    departures: str = once(AREA, "Departures", puts=("none",), habit=True)
    existing: str = once(AREA, "Remarks on the existing installation", puts=("none",), habit=True)
    circuit: str = once(REFERENCE, "Circuit", "id of the circuit that a minor works certificate is about")
    vulnerable: str = once(AREA, "Equipment vulnerable to testing", "equipment that a test could damage, or none", after="work_days", puts=("none",), habit=True)
    not_recorded: str = once(AREA, "Why blanks in the schedule are blank", puts=("hidden; not found without taking the building apart",), habit=True)
    overall: str = once(WORD, "Overall assessment", "the inspector's own", choices=(SATISFACTORY, UNSATISFACTORY))
    overall_reason: str = once(AREA, "Why not as the codes say", "needed when it differs from what the codes lead to")
    next_by: dt.date | None = once(DATE, "Next inspection by", "date by which the next inspection is needed")
    next_reason: str = once(AREA, "Reason for the interval", puts=("use and condition as found", "rented home"), habit=True)
    work_days: int | None = once(COUNT, "Shorter period set for the work", "of the work that the report sets", unit="days", least=1, most=3650)
    copies: tuple[str, ...] = once(NAMES, "Copies to", habit=True, client=True, person=True)
    firm_address: str = stays(TEXT, "Your firm's address", after="client_address", person=True)
    firm_phone: str = stays(TEXT, "Your firm's telephone", after="firm_address", person=True)
    firm_body: str = stays(TEXT, "Registered with (or none)", "as entered: nothing about a firm is looked up", after="firm_phone")
    firm_number: str = stays(TEXT, "Registration number", after="firm_body")
    supervisor: str = stays(TEXT, "Qualified supervisor, who signs second", after="firm_number", person=True)
    general: str = once(AREA, "General condition of the installation", "in words", after="concealed", puts=("sound for its age", "worn, to be watched"))
    concealed: str = once(AREA, "Hidden, or for another reason not inspected", after="sampling", puts=("none",))
    alterations_years: float | None = once(NUMBER, "Age of the alterations", unit="years", least=0, most=300, after="alterations")
    previous_number: str = once(TEXT, "Its number, or why there is none", after="previous", puts=("none known",))
    exceptions: str = once(AREA, "Left out on stated grounds, and where the risk assessment is", "what the rules allow to be left out on stated grounds", after="departures")
    landlord: str = stays(WORD, "Landlord", choices=LANDLORDS, after="rented", client=True)
    tenancy_from: dt.date | None = stays(DATE, "Tenancy granted on", after="landlord")
    hmo: bool | None = stays(FLAG, "House in multiple occupation", after="tenancy_from")
    notified_by: str = once(WORD, "Building control is told by", "who tells building control of work that is notifiable", choices=NOTIFIERS, after="completed")
    leaflet: bool | None = once(FLAG, "Leaflet for the people who live there as first page", "whether it is the first page of the condition report")


@frozen
class Origin:
    """Particulars at the origin that no reading gives. Rated values in the unit of their suffix.

    switch_*  the main switch, where it is not that of the board at the origin, which has its own
    """

    live: str = stays(TEXT, "Live conductors", "code, or words", choices=LIVE_SAID)
    current: str = stays(WORD, "AC or DC", choices=CURRENTS)
    polarity: str = once(TEXT, "Polarity at the origin", "in words", puts=("right",))
    demand_a: float | None = stays(NUMBER, "Maximum demand", unit="A", above=0, most=10000, puts=("40", "60", "80"), habit=True)
    earthing: str = stays(WORD, "Means of earthing", choices=("distributor", "electrode", "none"))
    fuse_standard: str = stays(TEXT, "Main fuse, standard", puts=("BS 88-3", "BS 1361", "BS 88-2"), habit=True)
    fuse_type: str = stays(TEXT, "Main fuse, type", puts=("gG", "II"), habit=True)
    switch_where: str = stays(TEXT, "Main switch, where", "where it is not that of the board at the origin, which has its own", group="origin_switch", short="Where", puts=("at the board",), habit=True)
    switch_standard: str = stays(TEXT, "Main switch, standard", group="origin_switch", short="Standard", puts=("BS EN 60947-3", "BS EN 61008"), habit=True)
    switch_poles: str = stays(TEXT, "Main switch, poles", group="origin_switch", short="Poles", puts=("2", "4"))
    switch_a: float | None = stays(NUMBER, "Main switch, rated current", unit="A", above=0, most=10000, group="origin_switch", short="Rated current", puts=("100", "80", "63"), habit=True)
    switch_v: float | None = stays(NUMBER, "Main switch, rated voltage", unit="V", above=0, most=1000, group="origin_switch", short="Rated voltage", puts=("230", "400"), habit=True)
    switch_fuse_a: float | None = stays(NUMBER, "Main switch, fuse or setting", unit="A", above=0, most=10000, group="origin_switch", short="Fuses or setting")
    switch_rcd: str = stays(TEXT, "Main switch, RCD in words, or none", "how fast it opens is a reading, never typed here", group="origin_switch", short="RCD in words, or none", puts=("none",))
    not_present: tuple[str, ...] = stays(NAMES, "Services not in the building: oil, steel, lightning (or water, gas, heating, ducting, tank)", after="fuse_type")
    earthing_checked: bool | None = once(FLAG, "Earthing conductor verified", after="not_present")
    switch_kind: str = stays(WORD, "Main switch, kind", choices=SWITCH_KINDS, group="origin_switch", short="Kind", after="switch_where")
    switch_rcd_type: str = stays(WORD, "Main switch, RCD type", choices=RCD_TYPES, group="origin_switch", short="RCD type")
    switch_rcd_ma: float | None = stays(NUMBER, "Main switch, RCD rated residual current", unit="mA", above=0, most=30000, group="origin_switch", short="RCD rated residual current")
    switch_rcd_delay: str = stays(DELAY, "Main switch, RCD delay", group="origin_switch", short="RCD delay", hint="S, none, or such as 150 ms")


@frozen
class Danger:
    """What was done on the spot about a danger that was there."""

    what: str = once(AREA, "What was found")
    where: str = once(TEXT, "Where")
    at: str = once(TIME, "When")
    done: str = once(AREA, "What was done")
    consent: str = once(TEXT, "Consent by")
    told: str = once(TEXT, "Who was told", person=True)
    left_with: str = once(TEXT, "Left with", person=True)
    must_not: str = once(AREA, "What must not be done")


@frozen
class Inspected:
    """One item of the schedule of inspections: its outcome, and what was seen."""

    item: str
    outcome: str
    note: str = ""


@frozen
class Departure:
    """Why something that does not comply, or is not decided, is certified all the same."""

    of: str = once(REFERENCE, "What (id)", "circuit, board, electrode, bond or part, origin, or danger", need=True)
    test: str = once(TEXT, "Which result of it", need=True)
    reason: str = once(AREA, "Why it is certified all the same (new work that does not comply is put right first)", need=True)
    kind: str = once(WORD, "Is it part of this work", "departure from the rules in new work, or existing: no part of the work that is certified", choices=(DEPARTS, EXISTING), default=DEPARTS, start=DEPARTS, after="test")


@frozen
class Stage:
    """One step in the life of an observation. A confirmation names its ``reading``, or says what was ``seen``."""

    stage: str = once(WORD, "Stage", choices=STAGES, need=True)
    on: dt.date = once(DATE, "On", need=True)
    by: str = once(TEXT, "By", person=True)
    what: str = once(TEXT, "What was done")
    reading: str = once(TEXT, "Confirmed by the reading", "its id")
    seen: str = once(TEXT, "Confirmed by what was seen")


@frozen
class Observation:
    """A line on the report: what was found, where, its code by the inspector, and what became of it."""

    id: str = field(ID, "Number", "its place in the list, if it has none of its own", default=NOTHING, ask=NEVER)
    what: str = once(AREA, "What was found")
    where: str = once(TEXT, "Where")
    about: str = once(REFERENCE, "About (part, bond, circuit …)", "id of the bond, part, circuit, board, electrode or inspection item it belongs to", after="clause")
    answers: tuple[str, ...] = field(NAMES, "Proposals it answers", "none named: every proposal about the same thing", ask=NEVER, keep=False)
    code: str = once(WORD, "Code", "by the inspector; none turns a proposal down", choices=(*CODES, NO_CODE))
    reason: str = once(AREA, "Reason", "needed when the code differs from the proposal")
    clause: str = once(TEXT, "Clause")
    found: dt.date | None = once(DATE, "Found on")
    stages: tuple[Stage, ...] = field(TABLES, "What became of it", key="then", of=Stage, ask=NEVER, keep=False)


@frozen
class Sign:
    """One signature: a role taken by a person, at a time, on a version of the visit."""

    role: str = once(WORD, "Signs as", choices=ROLES, need=True)
    name: str = once(TEXT, "Name", need=True, person=True)
    at: str = once(TIME, "When")
    position: str = once(TEXT, "Position")
    firm: str = once(TEXT, "Firm")
    content: str = once(TEXT, "Version that was signed", "hash of the visit as it stood, without its signatures", need=True, default="")
    how: str = once(WORD, "How it was given", choices=(TYPED, PEN, ELECTRONIC, DRAWN), default=TYPED)
    strokes: tuple[str, ...] = field(NAMES, "Strokes", "of one that was drawn, each x y x y …", ask=NEVER, keep=False, person=True)
    bound: str = field(TEXT, "Hash of the strokes and all it says", "of one that was drawn; without it, it does not hold", ask=NEVER, keep=False)


@frozen
class Receipt:
    """That somebody received a document: who, when, which version. It says nothing of what they think of it."""

    document: str = once(TEXT, "Document", "by its name", need=True)
    name: str = once(TEXT, "Received by", key="client", need=True, person=True)
    at: str = once(TIME, "When")
    content: str = once(TEXT, "Version that was received", "hash of the visit as it stood", need=True, default="")
    how: str = once(WORD, "How it was given", choices=(TYPED, DRAWN), default=TYPED)
    strokes: tuple[str, ...] = field(NAMES, "Strokes", "of one that was drawn, each x y x y …", key="client_strokes", ask=NEVER, keep=False, person=True)
    bound: str = field(TEXT, "Hash of the strokes and all it says", "of one that was drawn; without it, it does not hold", ask=NEVER, keep=False)


# fmt: on
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
    receipts: tuple[Receipt, ...] = ()
    pictures: tuple[Picture, ...] = ()

    def void(self, act: Sign | Receipt) -> str:
        """Why a signature no longer stands, in words; empty while it does."""
        if not act.content or act.content != self.content:
            return CHANGED
        return self.forged(act)

    def forged(self, act: Sign | Receipt) -> str:
        """What is wrong with the strokes of an act, of whichever version it is; empty where nothing is, or nothing was drawn."""
        if act.how != DRAWN:
            return ""
        drawn = act.strokes if any(points(s) for s in act.strokes) else ()  # after an erasure all look alike
        each = [(x.strokes, x.name) for x in self.signs] + [(x.strokes, x.name) for x in self.receipts]
        copied = any(drawn and strokes == drawn and name != act.name for strokes, name in each)
        return UNLIKE if act.bound != binding(act) else COPIED if copied else ""

    def holds(self, sign: Sign | Receipt) -> bool:
        """Whether a signature still stands: the visit is what was signed, and what was drawn is as it was given."""
        return not self.void(sign)

    def given(self) -> set[tuple[str, str, str, str]]:
        """What tells one signature or receipt from any other: its role or document, name, version, and hash of the strokes."""
        signs = {(s.role, s.name, s.content, s.bound) for s in self.signs}
        return signs | {(r.document, r.name, r.content, r.bound) for r in self.receipts}

    def outcome(self, item: str) -> Inspected | None:
        """What was entered for an inspection item."""
        return next((i for i in self.inspected if i.item == item), None)
