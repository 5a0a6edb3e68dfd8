"""Further sources beside the public supply: what they ask for, said once a visit; whether it is there is for the eyes."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...base.errors import Finding, Severity
from ...rules import Edition
from ...site.visit import Visit

# Sources that may feed the house by themselves; a plain inverter for sun or wind stops with the public supply.
_BY_ITSELF = re.compile(r"\b(batter\w*|storage|generator|genset|ups|back-?up|island\w*|hybrid|v2[gh])\b", re.IGNORECASE)


def source_findings(visit: Visit, wiring: Edition | None) -> Iterator[Finding]:
    """A note for further sources, and one for those that may run without the public supply; none without rules."""
    sources = visit.site.supply.other_sources
    if not sources or wiring is None or not wiring.has("sources.rules"):
        return
    alone = [s for s in sources if _BY_ITSELF.search(s)]
    table = wiring.table("sources.rules")
    for kind, which in (("any", list(sources)), ("island", alone)):
        for row in table.where(kind=kind) if which else ():
            memory = "; from memory, check it against the document" if row.confidence == "memory" else ""
            electrode = (
                f"electrode {', '.join(e.id for e in visit.site.electrodes)} is entered"
                if visit.site.electrodes
                else "no electrode is entered"
            )
            yield Finding(
                "supply: other_sources",
                f"{', '.join(which)}: {row.text('rule')}",
                Severity.NOTE,
                f"sources.{kind}",
                "supply",
                f"{row.clause}{memory}",
                electrode if kind == "island" else "",
                row.text("do"),
            )
