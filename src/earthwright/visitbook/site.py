"""The building in a visit book: supply, parts, bonds, links."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

from ..evidence.graph.lengths import slack_m
from ..evidence.graph.model import EARTH
from ..site.installation import MET, Bond, Link, Part, Site, Supply
from ..site.visit import Unread
from .boards import voltages
from .fields import Entry, short
from .values import values

if TYPE_CHECKING:
    from .read import Book


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


_Kept = TypeVar("_Kept", bound=_HasId)
# The keys of a bond that its verdicts rest on; a label that cannot be read costs only itself.
BOND_NEEDS = (
    "id",
    "part",
    "csa_mm2",
    "length_m",
    "length_tol_m",
    "material",
    "iec_class",
    "supplementary",
)


def read_supply(book: Book) -> Supply:
    """The supply at the origin; everything may be missing and is then not known."""
    entry = book.entry("supply")
    said = values(entry, Supply)
    # Two keys for one value: the size itself, or a bound of it.
    exact, at_most = said.pop("neutral_csa_mm2"), said.pop("neutral_at_most") or None
    if exact is not None and at_most is not None:
        entry.fault(
            "neutral_at_most_mm2",
            "The supply neutral is given twice.",
            "neutral_mm2 or neutral_at_most_mm2",
            "both",
        )
    size = exact if exact is not None else at_most
    supply = Supply(neutral_csa_mm2=size, neutral_at_most=at_most is not None, **said)
    voltages(entry, supply.u0_v, supply.u_v)
    entry.close()
    if entry.broken:
        book.broken.append("supply")
        book.without(entry, "supply")
    return supply


def read_parts(book: Book) -> tuple[Part, ...]:
    """The parts that may be extraneous."""
    found: list[Part] = []
    for entry in book.entries("part"):
        part = Part(plain_id(entry, {p.id for p in found} | {MET, EARTH, "earthing"}), **values(entry, Part))
        entry.close()
        keep(book, entry, part.id, found, part)
    return tuple(found)


def read_bonds(book: Book, parts: set[str]) -> tuple[Bond, ...]:
    """The bonds; a bond's id is its part's unless it has one of its own."""
    found: list[Bond] = []
    for entry in book.entries("bond"):
        said = values(entry, Bond)
        part, length, tolerance = said["part"], said["length_m"], said["length_tol_m"]
        known_part(book, entry, "part", part, parts)
        if length is not None and tolerance is not None and tolerance >= length:
            entry.fault(
                "length_tol_m",
                "The tolerance swallows the length.",
                f"less than {length:g} m",
                f"{tolerance:g} m",
            )
        bond_id = entry.text("id") or part
        if bond_id in {b.id for b in found}:
            entry.fault("id", "This id stands twice.", "an id of its own", bond_id)
        if entry.has("id"):
            no_marks(entry, bond_id)
        # A paced route is good to about a tenth; a shorter one to a hand or two.
        tolerance = tolerance if tolerance is not None else max(0.2, slack_m(length or 0.0))
        sizes = {"csa_mm2": said["csa_mm2"] or 0.0, "length_m": length or 0.0, "length_tol_m": tolerance}
        bond = Bond(bond_id, **{**said, **sizes})
        entry.close()
        keep(book, entry, bond_id, found, bond, BOND_NEEDS)
    return tuple(found)


def read_links(book: Book, site: Site) -> tuple[Link, ...]:
    """Known metal between two places: the MET, parts, boards, circuits, points of circuits."""
    found: list[Link] = []
    named = {b.id for b in site.boards} | {c.id for c in site.circuits}
    feeds = {b.fed_by: b.id for b in site.boards if b.fed_by}
    for entry in book.entries("link"):
        # Written as the earth network has it: blanks round the @ mean nothing.
        ends = tuple("@".join(x.strip() for x in end.split("@")) for end in entry.names("between"))
        if len(ends) != 2 or not all(ends) or feeds.get(ends[0], ends[0]) == feeds.get(ends[1], ends[1]):
            if ends or not entry.broken:
                shown = " and ".join(repr(end) for end in ends) or "nothing"
                entry.fault("between", "A link joins two different places.", f'["{MET}", "water"]', shown)
            ends = ("", "")
        else:
            for end in ends:
                _known_place(book, entry, end, site)
        said = values(entry, Link)
        low, high = said["r_low_ohm"], said["r_high_ohm"]
        if low is not None and high is not None and low > high:
            entry.fault("low_ohm", "Low is above high.", f"at most {high:g} Ω", f"{low:g} Ω")
        csa, length = said["csa_mm2"], said["length_m"]
        if (csa is None) != (length is None):
            missing = "length_m" if length is None else "csa_mm2"
            if not entry.has(missing):  # one that is there and cannot be read was told already
                entry.fault(missing, "A conductor has a size and a length.", "csa_mm2 and length_m", "one of them")
        if csa is not None and (low is not None or high is not None):
            entry.fault("csa_mm2", "The resistance is given twice.", "a conductor, or low_ohm and high_ohm", "both")
        own = plain_id(entry, {x.id for x in found} | named | {MET, EARTH, "earthing"})
        link = Link(own, *ends, **said)
        entry.close()
        keep(book, entry, link.id, found, link)
        if entry.broken:  # the metal is there all the same, and may answer for any conductor
            book.unread.append(Unread("link", "", f"{entry.title}, which could not be read"))
    return tuple(found)


def _known_place(book: Book, entry: Entry, end: str, site: Site) -> None:
    """Report an end of a link that is no place of the earth network."""
    thing, mark, point = (x.strip() for x in end.partition("@"))
    circuit = next((c for c in site.circuits if c.id == thing), None)
    if not end or end == MET or (not mark and (circuit or thing in {b.id for b in site.boards})):
        return
    if not mark or (circuit is None and thing in {p.id for p in site.parts}):
        known_part(book, entry, "between", thing, {p.id for p in site.parts})
        if mark:
            entry.fault("between", "A part is one place and has no points.", thing, end)
        return
    if circuit is None and thing in book.broken:
        what = f"The entry of circuit '{thing}' is broken, so this cannot be judged either."
        entry.fault("between", what, "a circuit that can be read", end)
    elif circuit is None:
        known = ", ".join(c.id for c in site.circuits) or "none entered"
        entry.fault("between", f"There is no circuit '{thing}'.", "one of: " + known[:200], end)
    elif point not in dict(circuit.points):
        known = ", ".join(name for name, _ in circuit.points) or "none named: give the circuit its points"
        entry.fault("between", f"Circuit '{thing}' has no point '{point}'.", "one of: " + known[:200], end)
    elif circuit.cpc == "none":
        entry.fault(
            "between", f"Circuit '{thing}' is said to have no cpc.", "a circuit with a protective conductor", end
        )


def plain_id(entry: Entry, taken: set[str]) -> str:
    """An id that a step or a link can name together with an end or a point: no colon, no @, no comma."""
    found = new_id(entry, taken)
    no_marks(entry, found)
    return found


def no_marks(entry: Entry, found: str) -> None:
    """Report an id with a mark that parts a thing from its end or its point."""
    if set(found) & set(":@,"):
        entry.fault("id", "An id has no colon, no comma and no @.", "letters, digits, dots, blanks", short(found))


def new_id(entry: Entry, taken: set[str]) -> str:
    """The id of an entry, which must be there and be its own."""
    found = entry.text("id", need=True)
    if found and found in taken:
        entry.fault("id", "This id stands twice or is kept for something else.", "an id of its own", found)
    return found


def known_part(book: Book, entry: Entry, key: str, part: str, parts: set[str]) -> None:
    """Report a reference to a part that is not there, or whose own entry is broken."""
    if part in parts or not part:
        return
    if part in book.broken:
        entry.fault(
            key,
            f"The entry of part '{part}' is broken, so this cannot be judged either.",
            "a part that can be read",
            part,
        )
    else:
        entry.fault(
            key,
            f"There is no part '{part}'.",
            "one of: " + (", ".join(sorted(parts)) or "no parts entered"),
            part,
        )


def keep(
    book: Book, entry: Entry, entry_id: str, found: list[_Kept], thing: _Kept, needs: tuple[str, ...] | None = None
) -> None:
    """Keep a whole entry; note the id of a broken one. Of two with one id neither is kept: nobody knows which is meant.

    needs  the keys on which verdicts rest; one that is wrong in another key is kept. None: every key.
    """
    if thing in found:  # the very same entry again was told and changes nothing
        return
    same = [x for x in found if x.id == entry_id]
    if same or (entry.lost(needs) if needs is not None else entry.broken):
        book.broken.append(entry_id)
        book.lost.setdefault(entry.table, []).append(entry_id)
        for x in same:
            found.remove(x)
    elif entry_id not in book.lost.get(entry.table, ()):
        found.append(thing)
