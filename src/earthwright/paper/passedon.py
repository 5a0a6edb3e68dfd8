"""A document that goes to tenants and the local authority: the same words without who the client is and where they live."""

from __future__ import annotations

import re
from collections.abc import Mapping

from ..outcomes.assessment import Assessment
from ..site.at import field_at
from ..site.fields import fields_of
from ..site.particulars import Particulars
from .requirements import groups_of

WITHHELD = "not in this copy"
# Who the client is, and what belongs to them.
PRIVATE = {field_at("visit", "client"), *(field_at("report", f.key) for f in fields_of(Particulars) if f.client)}
SHORTEST = 3  # characters: a shorter name is not looked for inside sentences


def without_the_client(page: Mapping[str, object], a: Assessment, document: str) -> dict[str, object]:
    """The page of a document with the client's name and address taken out of its fields and its sentences.

    The installation's own address stays, also where the client lives there.
    """
    place = a.visit.site.place
    words = {a.visit.client: "the client", a.visit.paperwork.report.client_address: WITHHELD}
    found = {w: said for w, said in words.items() if len(w.strip()) >= SHORTEST and w not in place}
    pattern = re.compile("|".join(re.escape(w) for w in sorted(found, key=len, reverse=True)), re.IGNORECASE)
    private = {f.label for g in groups_of(a, document) for f in g.fields if f.at in PRIVATE}
    lower = {w.lower(): said for w, said in found.items()}

    def clean(value: object) -> object:
        if isinstance(value, str):
            return pattern.sub(lambda m: lower[m[0].lower()], value) if found else value
        if isinstance(value, dict):
            if value.get("label") in private and "value" in value:
                return {**value, "value": WITHHELD, "blank": False}
            return {k: clean(v) for k, v in value.items()}
        return [clean(v) for v in value] if isinstance(value, list) else value

    return {k: v if k in ("hash", "content") else clean(v) for k, v in page.items()}
