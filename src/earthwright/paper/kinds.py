"""One declaration of a document: what it is called, what makes, needs and signs it. Commands, pages and papers follow from here.

What it says and what it needs are functions of this package, named ``module:function`` and loaded when they are asked for, so
that whoever wants the names alone waits for no document.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any

from attrs import evolve, frozen

from ..site.particulars import AUTHORISED, BUILT, DESIGNED, TESTED

CERTIFIES, REPORTS, STATES = "certificate", "report", "statement"


# fmt: off
@frozen(kw_only=True)
class Document:
    """A document as it is declared.

    name      as commands and journals know it;  title  at its head;  template  how it is set;  page  what it says
    groups    its fields in the order of its pages: what they lack is missing;  asks  what it needs besides
    roles     who signs it;  may  who can sign it, though it is issued without too;  called  what those who sign call it, and so what they state
    ends      kind of visit that ends in it
    private   False: for tenants and the local authority, without the client's name and address, and without the record
    received  whether somebody may say that they received it;  photos  whether it shows photographs;  network  how bonds weigh together
    """

    name: str
    title: str
    template: str
    page: str
    groups: str = ""
    asks: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    called: str = ""
    ends: str = ""
    private: bool = True
    received: bool = False
    photos: bool = False
    network: bool = False


RECORD, CERTIFICATE, REPORT, MINOR, CLOSING = (
    "bonding record", "installation certificate", "condition report", "minor works certificate", "closing statement",
)
_REPORT = Document(
    name=REPORT, title="Electrical installation condition report", template="report.typ", page="contents:report_page",
    groups="fields:report_groups",
    asks=(
        "requirements:periodic_items", "requirements:tests", "requirements:old_details", "requirements:observations",
        "requirements:overall_assessment", "requirements:put_back",
    ),
    roles=(TESTED, AUTHORISED), called=REPORTS, ends="periodic", received=True, photos=True, network=True,
)
_PLAIN = ("requirements:looked", "requirements:observations", "requirements:put_back")
ALL = (
    Document(
        name=RECORD, title="Bonding record", template="bonding.typ", page="page:bonding_page", groups="fields:record_groups",
        asks=("requirements:bonds", "requirements:put_back"), may=(TESTED,), ends="bonding", received=True, photos=True, network=True,
    ),
    Document(
        name=CERTIFICATE, title="Electrical installation certificate", template="certificate.typ", page="contents:certificate_page",
        groups="fields:certificate_groups",
        asks=("requirements:initial_items", "requirements:tests", "requirements:details", "requirements:put_back"),
        roles=(DESIGNED, BUILT, TESTED), called=CERTIFIES, ends="initial", received=True, photos=True,
    ),
    _REPORT,
    evolve(_REPORT, name="report to pass on", title="Condition report to pass on", ends="", private=False, received=False, photos=False),
    Document(
        name=MINOR, title="Minor electrical installation works certificate", template="minor.typ", page="contents:minor_page",
        groups="minor:minor_groups", asks=("requirements:put_back",), roles=(TESTED,), called=CERTIFIES, ends="minor works", received=True, photos=True,
    ),
    Document(name="evidence sheet", title="Evidence sheet", template="evidence.typ", page="evidence:evidence_page", asks=("requirements:looked",)),
    Document(name="letter", title="What we found", template="letter.typ", page="plain:letter_page", groups="leaflet:letter_groups", asks=_PLAIN),
    Document(name="danger notice", title="Danger notice", template="notice.typ", page="plain:notice_page", groups="plain:notice_groups", received=True),
    Document(name="leaflet", title="For the people who live here", template="leaflet.typ", page="leaflet:leaflet_page", groups="leaflet:leaflet_groups", asks=_PLAIN),
    Document(
        name=CLOSING, title="Closing statement", template="remedial.typ", page="remedial:closing_page", groups="remedial:closing_groups",
        asks=("requirements:settled", "requirements:all_remedied", "requirements:put_back"), roles=(TESTED,), called=STATES, received=True, photos=True,
    ),
    Document(
        name="confirmation of work", title="Confirmation of work", template="remedial.typ", page="remedial:confirmation_page",
        groups="remedial:confirmation_groups", asks=("requirements:settled", "requirements:some_remedied", "requirements:put_back"),
        roles=(TESTED,), called=STATES, private=False,
    ),
    Document(name="sheet to carry", title="Sheet to carry", template="carry.typ", page="carry:carry_page", groups="carry:carry_groups"),
    Document(name="isolation notice", title="Do not switch on", template="isolation.typ", page="onsite:isolation_page", groups="onsite:isolation_groups"),
    Document(name="labels and tags", title="Labels and tags", template="labels.typ", page="onsite:labels_page", groups="onsite:labels_groups"),
)
# fmt: on
BY_NAME = {d.name: d for d in ALL}
DOCUMENTS = tuple(BY_NAME)
ENDS_IN = {d.ends: d.name for d in ALL if d.ends}  # kind of a visit: the document it ends in


def made_by(function: str) -> Callable[..., Any]:
    """The function of this package that a declaration names as ``module:function``."""
    module, _, name = function.partition(":")
    found: Callable[..., Any] = getattr(import_module(f".{module}", __package__), name)
    return found
