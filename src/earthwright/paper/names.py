"""The documents by their names, and who signs each."""

from __future__ import annotations

from ..site.particulars import AUTHORISED, BUILT, DESIGNED, TESTED

RECORD, CERTIFICATE, REPORT, MINOR = (
    "bonding record",
    "installation certificate",
    "condition report",
    "minor works certificate",
)
EVIDENCE, LETTER, NOTICE, LEAFLET = "evidence sheet", "letter", "danger notice", "leaflet"
CLOSING, CONFIRMATION, PASSED_ON = "closing statement", "confirmation of work", "report to pass on"
CARRY, ISOLATION, LABELS = "sheet to carry", "isolation notice", "labels and tags"
DOCUMENTS = (
    *(RECORD, CERTIFICATE, REPORT, PASSED_ON, MINOR, EVIDENCE, LETTER, NOTICE, LEAFLET, CLOSING, CONFIRMATION),
    *(CARRY, ISOLATION, LABELS),
)
# For tenants and the local authority: without the client's name and address, and without the record.
WITHOUT_RECORD = (PASSED_ON, CONFIRMATION)

SIGNED_BY: dict[str, tuple[str, ...]] = {
    CERTIFICATE: (DESIGNED, BUILT, TESTED),
    REPORT: (TESTED, AUTHORISED),
    MINOR: (TESTED,),
    PASSED_ON: (TESTED, AUTHORISED),
    CLOSING: (TESTED,),
    CONFIRMATION: (TESTED,),
}
