"""What kind of premises they are, and which special location a circuit serves, by what was written of them."""

from __future__ import annotations

import re

from .installation import Circuit
from .visit import Visit

BATH = "bath"
_OUTSIDE = re.compile(
    r"\b(out(door|side)s?|garden|external|patio|drive(way)?|shed|garage|greenhouse|summerhouse|stable)\b", re.I
)
_HOME = re.compile(
    r"\b(domestic|dwelling|house|flat|bungalow|apartment|maisonette|cottage|home|hmo|residential|bedsit)s?\b", re.I
)
_NO_HOME = re.compile(r"\b(public house|(care|nursing|funeral|holiday) homes?|non[- ]?(domestic|residential))\b", re.I)
# Special locations with other words they may be entered by; the number of its section in the edition is understood as well.
LOCATIONS = (
    ("sauna", ()),
    ("exhibition", ("show", "stand")),
    ("fair", ("fairground", "circus")),
    ("floor heating", ("ceiling heating", "underfloor heating")),
    (BATH, ("bathroom", "shower room", "wet room", "en suite")),
    ("pool", ("swimming pool", "hot tub")),
    ("construction site", ("building site",)),
    ("farm", ("agricultural", "stable", "barn", "milking parlour")),
    ("pitch", ("caravan pitch", "caravan park")),
    ("marina", ("berth", "jetty")),
    ("caravan", ("motor caravan",)),
    ("charging point", ("ev", "vehicle charging")),
    ("outdoors", ("outdoors", "outside", "garden")),
    ("outbuilding", ("outbuilding", "shed", "garage", "workshop")),
)


def dwelling(visit: Visit) -> bool | None:
    """Whether the premises are a dwelling by what the report says of them; None when it says nothing."""
    said = visit.paperwork.report.premises
    if not said:
        return None
    return bool(_HOME.search(said)) and not _NO_HOME.search(said)


def outside(circuit: Circuit) -> bool:
    """Whether a circuit is likely to feed equipment outdoors, by its place or its name."""
    return bool(_OUTSIDE.search(f"{circuit.location} {circuit.name}"))


def location_named(circuit: Circuit) -> str:
    """The special location that a circuit is said to serve, by its word in :data:`LOCATIONS`; empty when none is known."""
    word = circuit.location.strip().lower()
    return next((name for name, words in LOCATIONS if word == name or word in words), "")
