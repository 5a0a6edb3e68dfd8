"""The tables of a visit book, each with the class that declares its fields."""

from __future__ import annotations

from functools import lru_cache

from attrs import frozen

from .assumptions import Assumptions
from .circuit import TOLERANCE
from .fields import Field, entered
from .installation import Board, Bond, Circuit, Electrode, Link, Part, Supply
from .particulars import Danger, Departure, Observation, Origin, Particulars, Receipt, Sign
from .pictures import Picture
from .reading import Instrument, LeadSet
from .step import Step
from .visit import Visit

BUILDING, TOOLS = "building", "tools"


@frozen
class Table:
    """One table.

    name  as it stands in the book;  kind  the class of its entries;  many  whether there are several (``[[circuit]]``)
    again what it is of, if the next visit begins with it: the building, or the tools that are brought along
    says  what it is about;  also  keys that no attribute holds;  named  the key by which others refer to an entry, chosen once
    """

    name: str
    kind: type
    says: str
    many: bool = True
    again: str = ""
    also: tuple[Field, ...] = ()
    named: str = "id"

    @property
    def fields(self) -> tuple[Field, ...]:
        """The fields of an entry."""
        return (*entered(self.kind), *self.also)


TABLES = (
    Table("visit", Visit, "the visit itself", many=False),
    Table("supply", Supply, "the supply at the origin", many=False, again=BUILDING),
    Table("instrument", Instrument, "an instrument with its limits of error", again=TOOLS),
    Table("leads", LeadSet, "a set of leads and how it is allowed for", again=TOOLS),
    Table("part", Part, "a part that may have to be bonded", again=BUILDING),
    Table("bond", Bond, "a bonding conductor from the MET to a part", again=BUILDING, named="part"),
    Table("link", Link, "known metal between two places", again=BUILDING),
    Table("electrode", Electrode, "an earth electrode", again=BUILDING),
    Table("board", Board, "a distribution board", again=BUILDING),
    Table("circuit", Circuit, "a circuit of a board", also=(TOLERANCE,), again=BUILDING),
    Table("step", Step, "what was done, in its order"),
    Table("report", Particulars, "what the paper says about the job", many=False),
    Table("origin", Origin, "what no reading gives at the origin", many=False, again=BUILDING),
    Table("assumptions", Assumptions, "what is assumed otherwise than usual where nothing is measured", many=False),
    Table("danger", Danger, "what was done on the spot about a danger", many=False),
    Table("observation", Observation, "what was found, its code, and what became of it"),
    Table("departure", Departure, "why something is certified although it does not comply"),
    Table("picture", Picture, "a photograph, or a sketch of where things are"),
    Table("sign", Sign, "a signature"),
    Table("receipt", Receipt, "that somebody received a document"),
)
BY_NAME = {t.name: t for t in TABLES}
# Tables that no class declares: what is usual has the keys of a circuit, a schedule of inspections those of its items.
USUAL, INSPECTED = "usual", "inspected"
SINGLE = frozenset({USUAL, INSPECTED, *(t.name for t in TABLES if not t.many)})


def named_by(table: str) -> str:
    """The key by which others refer to an entry of a table."""
    return BY_NAME[table].named if table in BY_NAME else ""


@lru_cache(maxsize=256)
def label_of(table: str, key: str) -> str:
    """What a field is called, without a table the first of that key; empty where none is declared."""
    return next((f.label for t in TABLES if table in ("", t.name) for f in t.fields if f.key == key), "")


def said_of(table: str, key: str) -> str:
    """A field inside a sentence: its label, begun small unless it is an abbreviation; its key in words where none is declared."""
    label = label_of(table, key) or label_of("", key) or key.replace("_", " ")
    return label if label[:2].isupper() else label[:1].lower() + label[1:]
