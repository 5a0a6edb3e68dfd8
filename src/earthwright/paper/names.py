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
DOCUMENTS = (RECORD, CERTIFICATE, REPORT, MINOR, EVIDENCE, LETTER, NOTICE, LEAFLET)

SIGNED_BY: dict[str, tuple[str, ...]] = {
    CERTIFICATE: (DESIGNED, BUILT, TESTED),
    REPORT: (TESTED, AUTHORISED),
    MINOR: (TESTED,),
}
