"""All bonds weighed as one network, as papers print it: the paragraph that was judged and the constants behind it."""

from __future__ import annotations

from ..evidence.network.words import site_constants
from ..outcomes.assessment import Assessment

ASKED = "It was asked for at this visit."
TIED = (
    "It is worked out where known metal or the state of a reading ties bonds together while one is not proved by its own "
    "readings, and where it is asked for."
)
BESIDE = "Each bond's own verdict stands; this is said beside it."


def network_page(a: Assessment) -> dict[str, str] | None:
    """The texts of the paragraph; None when the network was not worked out."""
    e = a.site_evidence
    if e is None:
        return None
    why = ASKED if a.visit.choices.whole_site else TIED
    return {"words": e.words, "why": f"{BESIDE} {why}", "constants": site_constants(e)}
