"""What stands in the building: supply, terminals, parts, bonds, boards and circuits. Frozen; no arithmetic.

Together they make the earth network, a graph (``evidence/graph``): its nodes are the main earthing terminal
(:data:`MET`), boards, parts and points of circuits, its edges bonds, protective conductors and known metal.
"""

from __future__ import annotations

from typing import Protocol, TypeVar

from attrs import NOTHING, frozen

from .board import Board, Switch
from .circuit import (
    CIRCUIT_KINDS,
    CLASSES,
    CPC_KINDS,
    DIRECTIONS,
    IN_WALL,
    MATERIALS,
    OPEN_PEN,
    RCD_TYPES,
    USES,
    Circuit,
    Device,
)
from .fields import (
    AREA,
    COUNT,
    FIRST,
    FLAG,
    ID,
    NAMES,
    NEVER,
    NUMBER,
    PAIR,
    REFERENCE,
    TEXT,
    WHOLE,
    WORD,
    also,
    field,
)
from .range import AMPERES, Range

__all__ = [
    "BURIED",
    "CIRCUIT_KINDS",
    "CLASSES",
    "CPC_KINDS",
    "DIRECTIONS",
    "ELECTRODE_KINDS",
    "IN_WALL",
    "MATERIALS",
    "MET",
    "OPEN_PEN",
    "PART_KINDS",
    "RCD_TYPES",
    "SIDES",
    "SYSTEMS",
    "USES",
    "Board",
    "Bond",
    "Circuit",
    "Device",
    "Electrode",
    "Link",
    "Part",
    "Site",
    "Supply",
    "Switch",
]

MET = "MET"

SYSTEMS = ("TN-S", "TN-C-S", "TT", "TN-C", "IT")
PART_KINDS = ("water", "gas", "oil", "heating", "ducting", "steel", "lightning", "tank", "other")
# On which side of a meter or an insulating insert a clamp sits.
SIDES = ("consumer", "supplier")
# How a buried earthing conductor is protected, best first (table 54.1).
BURIED = ("protected", "no mechanical protection", "no corrosion protection")
# How what the distributor declares came to be known.
HOW = ("enquiry", "measurement", "calculation")
ELECTRODE_KINDS = ("rod", "tape", "plate", "foundation", "mat", "other")


class _Named(Protocol):
    @property
    def id(self) -> str: ...


_T = TypeVar("_T", bound=_Named)


# fmt: off
@frozen
class Supply:
    """The supply at the origin. Whatever is not known is None.

    neutral_csa_mm2   copper-equivalent; an upper bound ("not more than 35 mm²") where ``neutral_at_most`` says so
    u_v               None: what the edition gives for three phases
    earthing_buried   empty: it does not run through soil
    """

    system: str | None = field(WORD, "System", "as found", choices=SYSTEMS, default=None, ask=FIRST, fact="system")
    pme: bool | None = field(FLAG, "PME conditions apply", "whether the distributor's do", ask=FIRST)
    u0_v: float = field(NUMBER, "Voltage line to earth", unit="V", above=0, most=1000, default=230.0, after="fuse_a", possible=Range("A voltage to earth", "V", 6, 700, usual=(6, 400), high="That may be between lines."), fact="voltage")
    phases: int = field(WHOLE, "Phases", choices=("1", "3"), default=1, start="1", after="line_csa_mm2", ask=FIRST)
    frequency_hz: float = field(NUMBER, "Frequency", unit="Hz", above=0, most=1000, default=50.0, after="u_v", fact="voltage")
    neutral_csa_mm2: float | None = field(NUMBER, "Neutral", "of the supply, copper-equivalent", key="neutral_mm2", unit="mm²", above=0, most=1000, after="neutral_at_most", fact="bonding")
    neutral_at_most: bool = field(NUMBER, "Supply neutral, not more than", "where only an upper bound is known", key="neutral_at_most_mm2", unit="mm²", above=0, most=1000, default=False, ask=FIRST, puts=("25", "16", "35"), habit=True, fact="bonding")
    earthing_csa_mm2: float | None = field(NUMBER, "Earthing conductor fitted", key="earthing_mm2", unit="mm²", above=0, most=1000, ask=FIRST, puts=("16", "10", "6"), habit=True, fact="intake")
    earthing_needed_mm2: float | None = field(NUMBER, "Earthing conductor required", "if it was worked out", unit="mm²", above=0, most=1000, after="earthing_material", fact="bonding")
    earthing_material: str = field(WORD, "Earthing conductor, material", choices=MATERIALS, default="copper", fact="intake")
    line_csa_mm2: float | None = field(NUMBER, "Line conductor", "of the tails", key="line_mm2", unit="mm²", above=0, most=1000, after="earthing_buried", ask=FIRST, puts=("25", "16", "35"), fact="tails")
    ze_ohm: float | None = field(NUMBER, "Ze declared", "external loop impedance", unit="Ω", above=0, most=10000, keep=False, after="frequency_hz", possible=Range("A stated Ze", "Ω", 0, 5000, False, usual=(0.005, 500), high="mΩ typed as Ω."), fact="origin")
    ze_how: str = field(WORD, "Ze known by", choices=HOW, keep=False, after="ze_ohm", fact="origin")
    ipf_ka: float | None = field(NUMBER, "Fault current declared", "prospective, the highest", unit="kA", above=0, most=200, keep=False, after="ze_how", possible=Range("A stated fault current", "kA", 0, 100, False, usual=(0.02, 80), high=AMPERES), fact="origin")
    ipf_how: str = field(WORD, "Fault current known by", choices=HOW, keep=False, after="ipf_ka", fact="origin")
    fuse: str = field(TEXT, "Main fuse, kind", after="ipf_how", fact="intake")
    fuse_a: float | None = field(NUMBER, "Main fuse", unit="A", above=0, most=5000, ask=FIRST, after="phases", puts=("60", "80", "100"), habit=True, possible=Range("A supply fuse", "A", 1, 1600, usual=(15, 1250), high="A nought too many, or kVA."), fact="intake")
    other_sources: tuple[str, ...] = field(NAMES, "Other sources", after="fuse", fact="nothing")
    sources_a: float | None = field(NUMBER, "Other sources together, current a phase", "what all of them can feed in", unit="A", above=0, most=5000, after="other_sources", fact="nothing")
    u_v: float | None = field(NUMBER, "Voltage between lines", unit="V", above=0, most=2000, after="u0_v", fact="voltage")
    earthing_buried: str = field(WORD, "Earthing conductor in soil", choices=BURIED, after="earthing_needed_mm2", fact="intake")


@frozen
class Part:
    """A conductive part that may be extraneous: a service pipe, steel, a tank."""

    id: str = field(ID, "Short name", need=True, ask=NEVER)
    kind: str = field(WORD, "Kind", choices=PART_KINDS, default="other", start="water", ask=FIRST)
    name: str = field(TEXT, "Name", ask=FIRST)
    material: str = field(TEXT, "Material")
    entry: str = field(TEXT, "Where it enters")
    owner: str = field(TEXT, "Whose it is, if not the client's", "such a part is not to be clamped or opened")
    plastic_section_m: float | None = field(NUMBER, "Plastic section", unit="m", least=0, most=10000)
    note: str = field(AREA, "Remark", keep=False)

    @property
    def title(self) -> str:
        """The name to print."""
        return self.name or self.id


@frozen
class Bond:
    """A protective bonding conductor from the main earthing terminal to a part, with the joint at its far end.

    iec_class  conductor class of IEC 60228 (2: stranded)
    side, before_branch, from_meter_m  empty or None: as ``position`` says, else not known
    """

    id: str = field(ID, "Short name", "the part's, if it has none of its own", default=NOTHING, ask=NEVER)
    part: str = field(REFERENCE, "Part", need=True, ask=FIRST)
    csa_mm2: float = field(NUMBER, "Cross-section", unit="mm²", above=0, most=1000, need=True, start="10", ask=FIRST)
    length_m: float = field(NUMBER, "Length", "of the route", unit="m", above=0, most=5000, need=True, ask=FIRST, possible=Range("The length of a bond", "m", 0, 2000, usual=(0, 300), high="cm or mm typed as m."))
    length_tol_m: float = field(NUMBER, "Length may be out by", unit="m", least=0, most=1000, default=NOTHING, ask=FIRST)
    material: str = field(WORD, "Material", choices=MATERIALS, default="copper", after="strands")
    iec_class: int = field(WHOLE, "Conductor class (IEC 60228)", choices=("1", "2", "5"), default=2, ask=NEVER)
    strands: str = field(TEXT, "Strands as seen", "e.g. 7/1.35")
    position: str = field(TEXT, "Where the clamp sits", "where on the part")
    clamp: str = field(TEXT, "Clamp", "what it is", after="from_meter_m")
    label: bool | None = field(FLAG, "Warning label there", keep=False, after="clamp")
    visible: bool | None = field(FLAG, "Whole run seen", keep=False, after="label")
    supplementary: bool = field(FLAG, "Supplementary bond", default=False, after="visible")
    note: str = field(AREA, "Remark", keep=False, after="supplementary")
    side: str = field(WORD, "Side of the meter or insert", "on which the clamp sits", choices=SIDES, after="position")
    before_branch: bool | None = field(FLAG, "Before the first branch", after="side")
    from_meter_m: float | None = field(NUMBER, "From the meter outlet", unit="m", least=0, most=100, after="before_branch")


@frozen
class Link:
    """Known metal between two places that is no bond from the MET: a boiler, a frame, a pipe in common, or a
    supplementary bonding conductor.

    a, b  each the MET, a part, a board (its earth bar), a circuit (its furthest point) or ``c5@boiler`` (circuit c5 there)
    r_low_ohm, r_high_ohm  what its resistance may be [Ω]; both None when nothing is known
    csa_mm2, length_m, material  of a conductor, whose resistance then follows
    """

    id: str = field(ID, "Short name", need=True, ask=FIRST)
    a: str = field(PAIR, "Between", "two of: the MET, a part, a board, a circuit (its furthest point), c5@boiler", key="between", need=True, ask=FIRST)
    b: str = also()
    r_low_ohm: float | None = field(NUMBER, "Least resistance", key="low_ohm", unit="Ω", least=0, most=1e6, keep=False, ask=FIRST)
    r_high_ohm: float | None = field(NUMBER, "Greatest resistance", key="high_ohm", unit="Ω", least=0, most=1e6, keep=False, ask=FIRST)
    note: str = field(AREA, "Remark", keep=False, ask=FIRST)
    csa_mm2: float | None = field(NUMBER, "Cross-section", unit="mm²", above=0, most=1000)
    length_m: float | None = field(NUMBER, "Length", unit="m", above=0, most=5000)
    material: str = field(WORD, "Material", choices=MATERIALS, default="copper")


@frozen
class Electrode:
    """An earth electrode; its size as far as it has one: rod, tape or plate."""

    id: str = field(ID, "Short name", need=True, start="rod", ask=FIRST)
    kind: str = field(WORD, "Kind", choices=ELECTRODE_KINDS, default="rod", start="rod", ask=FIRST)
    where: str = field(TEXT, "Where", ask=FIRST)
    condition: str = field(TEXT, "Condition", keep=False, ask=FIRST)
    length_m: float | None = field(NUMBER, "Length", unit="m", above=0, most=1000)
    diameter_mm: float | None = field(NUMBER, "Diameter", unit="mm", above=0, most=1000)
    width_mm: float | None = field(NUMBER, "Width", unit="mm", above=0, most=10000)
    depth_m: float | None = field(NUMBER, "Depth", unit="m", least=0, most=200)
    area_m2: float | None = field(NUMBER, "Area", unit="m²", above=0, most=10000)
    count: int = field(COUNT, "How many", least=1, most=100, default=1)
    spacing_m: float | None = field(NUMBER, "Apart by", unit="m", above=0, most=1000)
    soil_ohm_m: float | None = field(NUMBER, "Soil resistivity", "if it is known", unit="Ω·m", above=0, most=1e6)
    note: str = field(AREA, "Remark", keep=False)
# fmt: on


@frozen(cache_hash=True)
class Site:
    """The building and its installation."""

    place: str = field(TEXT, "Place", "where the installation is", need=True, ask=FIRST, fact="nothing", person=True)
    supply: Supply = Supply()
    parts: tuple[Part, ...] = ()
    bonds: tuple[Bond, ...] = ()
    links: tuple[Link, ...] = ()
    electrodes: tuple[Electrode, ...] = ()
    boards: tuple[Board, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    note: str = ""

    def part(self, part_id: str) -> Part:
        """The part of that id. Raises KeyError."""
        return _by_id(self.parts, part_id)

    def bond(self, bond_id: str) -> Bond:
        """The bond of that id. Raises KeyError."""
        return _by_id(self.bonds, bond_id)

    def circuit(self, circuit_id: str) -> Circuit:
        """The circuit of that id. Raises KeyError."""
        return _by_id(self.circuits, circuit_id)

    def board(self, board_id: str) -> Board:
        """The board of that id. Raises KeyError."""
        return _by_id(self.boards, board_id)


def _by_id(things: tuple[_T, ...], wanted: str) -> _T:
    for thing in things:
        if thing.id == wanted:
            return thing
    raise KeyError(wanted)
