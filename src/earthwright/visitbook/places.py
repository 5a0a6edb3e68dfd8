"""Points of a circuit and where they lie along its cable."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

from ..evidence.graph.lengths import length_band
from ..site.installation import Circuit
from .fields import Entry, short

_METRES = re.compile(r"([0-9]{1,5}(?:\.[0-9]{1,3})?) ?m")
MOST_POINTS = 200


def read_points(entry: Entry) -> tuple[tuple[str, float | None], ...]:
    """Points in order: a number of them, a list of names, or a table name = metres. ``"12 m"`` says its own place."""
    raw = entry.raw("points")
    if raw is None:
        return ()
    found: list[tuple[str, float | None]] = []
    if isinstance(raw, dict):
        found = _at_places(entry, raw)
    elif isinstance(raw, list) and all(isinstance(name, str) for name in raw):
        found = [(str(name).strip(), place_of(str(name))) for name in raw]
    elif entry.plain(raw) is not None and not isinstance(raw, (float, Decimal)):
        return tuple((str(i), None) for i in range(1, entry.count("points", 1, MOST_POINTS, default=0) + 1))
    else:
        entry.fault("points", "This cannot be read as points.", '["hall", "landing"], { hall = 12 } or 9', short(raw))
    if raw in ({}, []):
        entry.fault("points", "There is no point here.", "names, places, or how many; or no such key", "nothing")
    _check(entry, found)
    return tuple(found)


def _at_places(entry: Entry, raw: Mapping[object, object]) -> list[tuple[str, float | None]]:
    """Points of a table with their places [m]."""
    found: list[tuple[str, float | None]] = []
    for name, metres in raw.items():
        place = entry.plain(metres)
        if place is None or not 0 <= place <= 5000:
            entry.fault("points", f"The place of '{str(name)[:40]}' is no distance.", "metres", short(metres))
        else:
            found.append((str(name).strip(), place))
    if entry.loose:  # a table of JSON has no order of its own
        found.sort(key=lambda point: point[1] or 0.0)
    return found


def _check(entry: Entry, found: Sequence[tuple[str, float | None]]) -> None:
    """Reports names that are not told apart or cannot be written, too many points, and places that do not rise."""
    names = [name for name, _ in found]
    if len(set(names)) != len(names) or "" in names:
        entry.fault("points", "Every point has a name of its own.", "different names", ", ".join(names)[:80])
    for name in names:
        name_of_point(entry, "points", name)
    if len(found) > MOST_POINTS:
        entry.fault("points", "These are too many points.", f"at most {MOST_POINTS}", str(len(found)))
    places = [place for _, place in found if place is not None]
    if places != sorted(places):
        entry.fault("points", "Points stand in their order along the cable.", "distances that rise", str(places)[:80])


def name_of_point(entry: Entry, key: str, name: str) -> None:
    """Report a point whose name holds a mark that parts values in the table of circuits."""
    if set(name) & set("|@="):
        entry.fault(key, "The name of a point has no |, no @ and no =.", "other letters", short(name))
    if any(c.isdecimal() and not c.isascii() for c in name):
        entry.fault(key, "A place is written with the digits 0 to 9.", "such as 12 m", short(name))


def place_of(point: str) -> float | None:
    """The place that a point's name states itself: ``12 m`` → 12.0; None for any other name."""
    match = _METRES.fullmatch(point.strip())
    return float(match[1]) if match else None


def in_order(places: Mapping[str, float]) -> tuple[tuple[str, float | None], ...]:
    """Points with their places [m] in the order along the cable."""
    rising = sorted((place, point) for point, place in places.items())
    return tuple((point, place) for place, point in rising)


def beyond(circuit: Circuit, place_m: float | None) -> bool:
    """Whether a place lies beyond the end of the circuit's cable, its tolerance allowed for."""
    if place_m is None or circuit.length_m is None:
        return False
    return place_m > length_band(circuit.length_m, circuit.length_tol_m)[1]
