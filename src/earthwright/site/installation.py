"""What stands in the building: supply, terminals, parts, bonds, boards and circuits. Frozen; no arithmetic.

Together they make the earth network, a graph (:mod:`.earthnetwork`): its nodes are the main earthing terminal
(:data:`MET`), boards, parts and points of circuits, its edges bonds, protective conductors and known metal.
"""

from __future__ import annotations

from typing import Protocol, TypeVar

from attrs import field, frozen

MET = "MET"

SYSTEMS = ("TN-S", "TN-C-S", "TT", "TN-C", "IT")
PART_KINDS = ("water", "gas", "oil", "heating", "ducting", "steel", "lightning", "tank", "other")
CIRCUIT_KINDS = ("radial", "ring")
USES = ("final", "distribution", "lighting", "sockets", "fixed", "cooker", "shower", "heating", "charging point")
CPC_KINDS = ("core", "separate", "conduit", "trunking", "armour", "sheath", "none")
RCD_TYPES = ("AC", "A", "F", "B")
# On which side of a meter or an insulating insert a clamp sits.
SIDES = ("consumer", "supplier")
# Protection class of the fittings of a circuit, where it has no protective conductor.
CLASSES = ("class I", "class II")
# How a buried earthing conductor is protected, best first (table 54.1).
BURIED = ("protected", "no mechanical protection", "no corrosion protection")
# What keeps a PME earth from harm where it serves metal out of doors, if the supply's PEN conductor is lost.
OPEN_PEN = ("own electrode", "detector", "low electrode", "balanced load", "not outdoors", "none")
# Where a cable runs in a wall, and whether a nail would find it.
IN_WALL = ("under 50 mm", "50 mm or deeper", "behind earthed metal", "not in a wall")
# Which way power may flow through a protective device that has a source on either side.
DIRECTIONS = ("either way", "one way")
ELECTRODE_KINDS = ("rod", "tape", "plate", "foundation", "mat", "other")
MATERIALS = ("copper", "copper tinned", "aluminium", "steel")


class _Named(Protocol):
    @property
    def id(self) -> str: ...


_T = TypeVar("_T", bound=_Named)


@frozen
class Supply:
    """The supply at the origin.

    system            TN-S, TN-C-S, TT, TN-C or IT, as found; None if it is not known
    pme               whether the distributor's PME conditions apply; None if not known
    u0_v              nominal voltage line to earth [V]
    u_v               nominal voltage between lines [V]; None: what the edition gives for three phases
    phases            1 or 3
    neutral_csa_mm2   copper-equivalent cross-section of the supply neutral [mm²]; None if not known
    neutral_at_most   True when ``neutral_csa_mm2`` is an upper bound ("not more than 35 mm²")
    earthing_csa_mm2  cross-section of the earthing conductor fitted [mm²]
    earthing_needed_mm2  cross-section that the earthing conductor is required to have, if it was worked out [mm²]
    earthing_buried   one of :data:`BURIED` where it runs through soil; empty: it does not
    line_csa_mm2      line conductors of the tails [mm²]
    sources_a         what all ``other_sources`` together can feed in, a phase [A]; None if not known
    ze_ohm, ipf_ka    declared external loop impedance [Ω] and prospective fault current [kA], with ``*_how``
    """

    system: str | None = None
    pme: bool | None = None
    u0_v: float = 230.0
    phases: int = 1
    frequency_hz: float = 50.0
    neutral_csa_mm2: float | None = None
    neutral_at_most: bool = False
    earthing_csa_mm2: float | None = None
    earthing_needed_mm2: float | None = None
    earthing_material: str = "copper"
    line_csa_mm2: float | None = None
    ze_ohm: float | None = None
    ze_how: str = ""
    ipf_ka: float | None = None
    ipf_how: str = ""
    fuse: str = ""
    fuse_a: float | None = None
    other_sources: tuple[str, ...] = ()
    sources_a: float | None = None
    u_v: float | None = None
    earthing_buried: str = ""


@frozen
class Part:
    """A conductive part that may be extraneous: a service pipe, steel, a tank.

    owner  whose it is when it is not the client's ("gas transporter"); such a part is not to be clamped or opened
    """

    id: str
    kind: str
    name: str = ""
    material: str = ""
    entry: str = ""
    owner: str = ""
    plastic_section_m: float | None = None
    note: str = ""

    @property
    def title(self) -> str:
        """The name to print."""
        return self.name or self.id


@frozen
class Bond:
    """A protective bonding conductor from the main earthing terminal to a part, with the joint at its far end.

    csa_mm2       cross-section [mm²];  length_m, length_tol_m  route length and its tolerance [m]
    iec_class     conductor class of IEC 60228 (2: stranded)
    strands       as seen, e.g. ``7/1.35``
    position      where on the part the clamp sits;  clamp  what it is
    side          one of :data:`SIDES`;  before_branch  whether it sits before the first branch;  from_meter_m  behind the meter [m];
                  empty or None: as ``position`` says, else not known
    label         whether the warning label is there; None if not looked at
    visible       whether the whole run was seen
    """

    id: str
    part: str
    csa_mm2: float
    length_m: float
    length_tol_m: float
    material: str = "copper"
    iec_class: int = 2
    strands: str = ""
    position: str = ""
    clamp: str = ""
    label: bool | None = None
    visible: bool | None = None
    supplementary: bool = False
    note: str = ""
    side: str = ""
    before_branch: bool | None = None
    from_meter_m: float | None = None


@frozen
class Link:
    """Known metal between two places that is no bond from the MET: a boiler, a frame, a pipe in common, or a
    supplementary bonding conductor.

    a, b  each the MET, a part, a board (its earth bar), a circuit (its furthest point) or ``c5@boiler`` (circuit c5 there)
    r_low_ohm, r_high_ohm  what its resistance may be [Ω]; both None when nothing is known
    csa_mm2, length_m, material  of a conductor [mm², m], whose resistance then follows
    """

    id: str
    a: str
    b: str
    r_low_ohm: float | None = None
    r_high_ohm: float | None = None
    note: str = ""
    csa_mm2: float | None = None
    length_m: float | None = None
    material: str = "copper"


@frozen
class Electrode:
    """An earth electrode.

    kind          one of :data:`ELECTRODE_KINDS`;  count  how many are joined, ``spacing_m`` apart [m]
    length_m, diameter_mm, width_mm, depth_m, area_m2  its size as far as it has one: rod, tape or plate
    soil_ohm_m    resistivity of the soil [Ω·m], if it is known
    """

    id: str
    kind: str = "rod"
    where: str = ""
    condition: str = ""
    length_m: float | None = None
    diameter_mm: float | None = None
    width_mm: float | None = None
    depth_m: float | None = None
    area_m2: float | None = None
    count: int = 1
    spacing_m: float | None = None
    soil_ohm_m: float | None = None
    note: str = ""


@frozen
class Device:
    """An overcurrent protective device, with what a residual current function adds to it.

    standard      e.g. ``BS EN 60898``;  type  e.g. ``B``, ``gG``;  rating_a [A];  breaking_ka [kA]
    rcd_type      AC, A, F, B; empty if there is none;  rcd_ma  rated residual current [mA]
    rcd_delay     ``""``, ``S``, or a set time such as ``150 ms``
    rcd_standard, rcd_rating_a  standard and rated current [A] of a residual current device that stands apart from the
                  overcurrent device; empty and None where it is one device, whose own standard and rating hold
    rdc_dd        whether smooth direct current above 6 mA is detected beside it (RDC-DD, or in the charging equipment)
    direction     one of :data:`DIRECTIONS`, as the maker says; empty: not said
    coil_ohm      resistance that the device's own coils add to a loop reading [Ω], if known
    curve         points (current [A], time [s]) of its time-current curve, as read from the maker's sheet
    let_through_a2s  the maker's let-through energy at the highest fault current there [A²s]
    """

    standard: str = ""
    type: str = ""
    rating_a: float | None = None
    breaking_ka: float | None = None
    poles: int = 1
    rcd_type: str = ""
    rcd_ma: float | None = None
    rcd_delay: str = ""
    afdd: bool = False
    coil_ohm: float | None = None
    curve: tuple[tuple[float, float], ...] = ()
    let_through_a2s: float | None = None
    rcd_standard: str = ""
    rcd_rating_a: float | None = None
    rdc_dd: bool = False
    direction: str = ""


@frozen
class Switch:
    """The main switch of a board.

    kind      one of :data:`~earthwright.codes.SWITCH_KINDS`; a residual current device is the board's own, whose
              standard, rated current and residual current stand there and nowhere else
    poles     how many it opens;  rating_a [A], rated_v [V];  fuse_a  its fuses or its setting [A]
    where     where it is, if it is not in the board
    """

    kind: str = ""
    standard: str = ""
    poles: int | None = None
    rating_a: float | None = None
    rated_v: float | None = None
    fuse_a: float | None = None
    where: str = ""


@frozen
class Board:
    """A distribution board; ``fed_by`` names the circuit that feeds it, empty for the origin.

    main_switch, spd  what no field holds about the main switch and the surge protection, in words
    switch, spd_type  the same in fields;  rcd  the residual current device for the whole board
    current, live     AC or DC, code of the live conductors (:data:`~earthwright.codes.LIVE`); empty: as what feeds it
    electrode         id of the electrode that earths it in place of the site's own earth (a TT outbuilding); empty: none
    u0_v, u_v, frequency_hz  nominal voltage to earth and between lines [V], frequency [Hz]; None: as what feeds it
    """

    id: str
    name: str = ""
    where: str = ""
    fed_by: str = ""
    phases: int = 1
    main_switch: str = ""
    rcd: Device | None = None
    spd: str = ""
    note: str = ""
    switch: Switch | None = None
    spd_type: str = ""
    current: str = ""
    live: str = ""
    u0_v: float | None = None
    u_v: float | None = None
    frequency_hz: float | None = None
    electrode: str = ""

    def is_at(self, place: str) -> bool:
        """Whether a place said in words is the board's own, or that of its main switch."""
        own = (self.where, self.name, self.id, self.switch.where if self.switch else "")
        return place.casefold() in {x.casefold() for x in own if x}


@frozen
class Circuit:
    """One circuit of a board.

    kind          ``radial`` or ``ring``
    use           one of :data:`USES`
    phases, line  1 or 3; which line a single-phase circuit of a three-phase board is on (L1, L2, L3), if known
    line_mm2, neutral_mm2, cpc_mm2  cross-sections [mm²]; ``cpc`` says what the cpc is (core, conduit, armour, sheath)
    length_m, length_tol_m          length to the furthest point, for a ring the whole ring [m]
    points        named points in order, with their distance along the cable [m] if known
    wiring, reference  codes of the kind of wiring and of the reference method (:mod:`earthwright.site.codes`)
    grouped       how many circuits run bunched together, this one among them;  ambient_c  of the air round the cable [°C]
    in_insulation_mm  over what length thermal insulation surrounds the cable [mm];  in_wall  one of :data:`IN_WALL`
    rcd_reason    why there is no residual current device of 30 mA, or why one of type AC, as documented
    open_pen      one of :data:`OPEN_PEN`: what guards against a lost PEN conductor where PME serves it; empty: not said
    fittings      one of :data:`CLASSES`: what hangs on a circuit without a protective conductor; empty: not said
    electrode     as of a board, for one circuit: a charging point with its own rod
    cable, method      the same in words, for whatever no code says
    """

    id: str
    board: str
    name: str = ""
    kind: str = "radial"
    use: str = "final"
    phases: int = 1
    device: Device = Device()
    line_mm2: float | None = None
    neutral_mm2: float | None = None
    cpc_mm2: float | None = None
    cpc: str = "core"
    material: str = "copper"
    cable: str = ""
    method: str = ""
    conductor_c: float = 70.0
    length_m: float | None = None
    length_tol_m: float | None = None
    design_a: float | None = None
    power_factor: float = 1.0
    points: tuple[tuple[str, float | None], ...] = ()
    spurs: int = 0
    location: str = ""
    note: str = ""
    line: str = ""
    wiring: str = ""
    reference: str = ""
    open_pen: str = ""
    grouped: int = 0
    ambient_c: float | None = None
    in_insulation_mm: float | None = None
    in_wall: str = ""
    rcd_reason: str = ""
    fittings: str = ""
    electrode: str = ""


@frozen
class Site:
    """The building and its installation."""

    place: str
    supply: Supply = Supply()
    parts: tuple[Part, ...] = ()
    bonds: tuple[Bond, ...] = ()
    links: tuple[Link, ...] = ()
    electrodes: tuple[Electrode, ...] = ()
    boards: tuple[Board, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    note: str = field(default="")

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
