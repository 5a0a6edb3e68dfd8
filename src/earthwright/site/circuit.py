"""A circuit and its protective device: every field declared once (:mod:`earthwright.site.fields`)."""

from __future__ import annotations

from attrs import evolve, frozen

from .codes import METHODS, WIRING
from .fields import (
    AREA,
    CODE,
    COUNT,
    CURVE,
    DELAY,
    DEVICE,
    FIRST,
    FLAG,
    ID,
    NEVER,
    NUMBER,
    POINTS,
    REFERENCE,
    RUNS,
    TEXT,
    THEN,
    WHOLE,
    WORD,
    Field,
    field,
)
from .range import Range
from .stretch import Stretch, stretches_of

MATERIALS = ("copper", "copper tinned", "aluminium", "steel")
CIRCUIT_KINDS = ("radial", "ring")
USES = ("final", "distribution", "lighting", "sockets", "fixed", "cooker", "shower", "heating", "charging point")
CPC_KINDS = ("core", "separate", "conduit", "trunking", "armour", "sheath", "none")
RCD_TYPES = ("AC", "A", "F", "B")
NONE = "none"  # said of a residual current device that is not there, although one is usual
LINES = ("L1", "L2", "L3")
# Protection class of the fittings of a circuit, where it has no protective conductor.
CLASSES = ("class I", "class II")
# What keeps a PME earth from harm where it serves metal out of doors, if the supply's PEN conductor is lost.
OPEN_PEN = ("own electrode", "detector", "low electrode", "balanced load", "not outdoors", "none")
# Where a cable runs in a wall, and whether a nail would find it.
IN_WALL = ("under 50 mm", "50 mm or deeper", "behind earthed metal", "not in a wall")
# Which way power may flow through a protective device that has a source on either side.
DIRECTIONS = ("either way", "one way")


# fmt: off
# The one key of a circuit that no attribute holds, since it is kept in metres.
TOLERANCE = Field(NUMBER, "Lengths may be out by", "instead of length_tol_m", unit="%", least=0, most=99, key="length_tol_pct", ask=NEVER, fact="conductor", local=True)


@frozen
class Device:
    """An overcurrent protective device, with what a residual current function adds to it.

    rcd_standard, rcd_rating_a  are of a residual current device that stands apart from the overcurrent device; empty and
    None where it is one device, whose own standard and rating hold
    """

    standard: str = field(TEXT, "Device, standard", "as written on the device, e.g. BS EN 60898", short="Standard", head="Device standard", ask=NEVER, fact="device")
    type: str = field(TEXT, "Device, type", "B, C, D, gG, 2 …", head="Device type", ask=NEVER, fact="device")
    rating_a: float | None = field(NUMBER, "Device, rated current", "rated current of the device", unit="A", above=0, most=6300, short="Rated current", head="Rating", ask=NEVER, possible=Range("The rating of a device", "A", 0.1, 6300, usual=(0.5, 1600), high="A nought too many."), fact="device")
    breaking_ka: float | None = field(NUMBER, "Breaking capacity", "rated short-circuit capacity of the device", unit="kA", above=0, most=200, ask=THEN, fact="device")
    poles: int = field(WHOLE, "Poles", "poles of the device", choices=("1", "2", "3", "4"), default=1, fact="device")
    rcd_type: str = field(WORD, "RCD type", "type of the circuit's own RCD function", choices=(*RCD_TYPES, NONE), chips=True, short="Type", ask=FIRST, fact="residual")
    rcd_ma: float | None = field(NUMBER, "RCD rated residual current", "rated residual current", unit="mA", above=0, most=30000, short="Rated residual current", head="IΔn", ask=FIRST, fact="residual")
    rcd_delay: str = field(DELAY, "RCD delay", "S for a time-delayed device, none, or a set time such as 150 ms", short="Delay", hint="S, none, or such as 150 ms", fact="residual")
    afdd: bool = field(FLAG, "Arc fault detection", "whether the device detects arc faults", default=False, head="AFDD", fact="device")
    coil_ohm: float | None = field(NUMBER, "Coils of the device add", "what the device's coils add to a loop reading", unit="Ω", least=0, most=100, head="Coil", fact="device")
    curve: tuple[tuple[float, float], ...] = field(CURVE, "Curve of the maker", "points of the maker's curve: 87 at 5 | 200 at 0.4", unit="A at s", head="Curve", after="let_through_a2s", ask=NEVER, fact="device")
    let_through_a2s: float | None = field(NUMBER, "Energy let through", "the maker's let-through energy there", unit="A²s", above=0, most=1e9, head="Let-through", fact="device")
    rcd_standard: str = field(TEXT, "Separate RCD, standard", "of a residual current device that stands apart, e.g. BS EN 61008; or none", short="Standard", head="RCD standard", group="rcd_apart", after="rcd_delay", fact="residual")
    rcd_rating_a: float | None = field(NUMBER, "Separate RCD, rated current", "rated current of that separate device", unit="A", above=0, most=6300, short="Rated current", head="RCD rating", group="rcd_apart", after="rcd_standard", fact="residual")
    rdc_dd: bool = field(FLAG, "Smooth DC above 6 mA detected", "whether smooth direct current above 6 mA is detected", default=False, head="RDC-DD", after="afdd")
    direction: str = field(WORD, "Power may flow (maker)", "which way the maker lets power flow through the device", choices=DIRECTIONS, head="Power flows", after="rdc_dd", fact="guard")


@frozen
class Circuit:
    """One circuit of a board.

    line    which line a single-phase circuit of a three-phase board is on, if known
    points  named points in order, with their distance along the cable [m] if known
    cable, method  in words, for whatever no code (:mod:`earthwright.site.codes`) says
    """

    id: str = field(ID, "Short name", "id of the circuit, its own in the whole visit (needed)", need=True, head="Circuit", ask=FIRST)
    board: str = field(REFERENCE, "Board", "id of the board; may be empty while there is one board", need=True, ask=FIRST, local=True)
    name: str = field(TEXT, "Name", "what it serves", ask=FIRST)
    kind: str = field(WORD, "Kind", "radial or ring", choices=CIRCUIT_KINDS, default="radial", start="radial", chips=True, ask=FIRST, fact="conductor")
    use: str = field(WORD, "Use", "what it is for; decides disconnection time and the need for an RCD", choices=USES, default="final", ask=FIRST, fact="use")
    phases: int = field(WHOLE, "Phases", "1 or 3", choices=("1", "3"), default=1, fact="use")
    device: Device = field(DEVICE, "Device, such as B32", "type and rating, with the standard before them if it differs from the usual one", of=Device, default=Device(), after="line", ask=FIRST, fact="device")
    line_mm2: float | None = field(NUMBER, "Line conductor", "cross-section of the line conductor", unit="mm²", above=0, most=1000, head="Line", ask=FIRST, fact="conductor")
    neutral_mm2: float | None = field(NUMBER, "Neutral", "of the neutral, where it differs", unit="mm²", above=0, most=1000, fact="conductor")
    cpc_mm2: float | None = field(NUMBER, "Protective conductor", "of the protective conductor", unit="mm²", above=0, most=10000, head="cpc", ask=FIRST, fact="conductor")
    cpc: str = field(WORD, "Protective conductor is", "what the protective conductor is", choices=CPC_KINDS, default="core", head="cpc kind", fact="conductor")
    material: str = field(WORD, "Material", "of the conductors", choices=MATERIALS, default="copper", fact="conductor")
    cable: str = field(TEXT, "Cable in words", "kind of cable in words, for the voltage drop", head="Cable", after="wiring", fact="load")
    method: str = field(TEXT, "Where it runs, in words", "how the cable runs in words, where no code says it", head="Method", after="reference", fact="load")
    conductor_c: float = field(NUMBER, "Conductor temperature in use", "working temperature of the conductors", unit="°C", least=20, most=250, default=70.0, head="Conductor", fact="conductor")
    length_m: float | None = field(NUMBER, "Length", "to the furthest point; of a ring the whole ring", unit="m", above=0, most=5000, ask=FIRST, possible=Range("The length of a circuit", "m", 0, 5000, usual=(0, 1000), high="cm typed as m."), fact="conductor", local=True)
    length_tol_m: float | None = field(NUMBER, "Length may be out by", "how far out that may be", unit="m", least=0, most=1000, head="Length ±", fact="conductor", local=True)
    design_a: float | None = field(NUMBER, "Design current", "for the voltage drop", unit="A", above=0, most=6300, fact="load", local=True)
    power_factor: float = field(NUMBER, "Power factor", "for the voltage drop", unit="1", above=0, most=1, default=1.0, fact="load")
    points: tuple[tuple[str, float | None], ...] = field(POINTS, "Points in their order, with their place (hall = 4), or how many", "how many, or names in order with their metres: hall = 12 | loft = 20.5", head="Points", ask=FIRST, fact="conductor", local=True)
    spurs: int = field(COUNT, "Spurs", "spurs of a ring", least=0, most=50, default=0, fact="conductor", local=True)
    location: str = field(TEXT, "Location", "section of the special location, e.g. 701", fact="use", local=True)
    note: str = field(AREA, "Remark", "anything else about the circuit", head="Note", keep=False, after="electrode")
    line: str = field(WORD, "On line", "which line a single-phase circuit is on", choices=LINES, head="Phase line", after="phases", fact="use")
    wiring: str = field(CODE, "Wiring", "code of the kind of wiring", choices=WIRING, after="material", ask=THEN, fact="load")
    reference: str = field(CODE, "Reference method", "code of how the cable runs", choices=METHODS, after="cable", ask=THEN, fact="load")
    open_pen: str = field(WORD, "Guard against a lost PEN", "what guards against a lost PEN where PME serves it", choices=OPEN_PEN, head="Open PEN")
    grouped: int = field(COUNT, "Circuits bunched with it (itself too)", "circuits bunched together, this one among them", least=0, most=60, default=0, head="Grouped", fact="load", local=True)
    ambient_c: float | None = field(NUMBER, "Air round the cable", "of the air round the cable", unit="°C", least=-20, most=80, head="Ambient", fact="load", local=True)
    in_insulation_mm: float | None = field(NUMBER, "Length in thermal insulation", "length that thermal insulation surrounds", unit="mm", above=0, most=100000, head="In insulation", fact="load", local=True)
    in_wall: str = field(WORD, "Cable in a wall", "how deep the cable lies in a wall", choices=IN_WALL, head="In wall", fact="guard", local=True)
    rcd_reason: str = field(TEXT, "Reason for no 30 mA RCD, or for type AC", "why there is no 30 mA device, or one of type AC, as documented", head="RCD reason", fact="guard", local=True)
    fittings: str = field(WORD, "Fittings, where there is no cpc", "class of the fittings, where there is no cpc", choices=CLASSES, head="Fittings")
    electrode: str = field(REFERENCE, "Own electrode (its id)", "id of its own electrode, where not the site's earth serves it", head="Electrode", fact="system", local=True)
    runs: str = field(RUNS, "Lengths of cable, where its size changes", "from the board on: 10 m 2.5/1.5 + 6 m 1.5/1.0; 2 x for cables in parallel, method C, wiring A, spur at 4 m:", head="Lengths of cable", hint="10 m 2.5/1.5 + 6 m 1.5/1.0", after="length_tol_m", fact="conductor")
# fmt: on

    @property
    def stretches(self) -> tuple[Stretch, ...]:
        """What :attr:`runs` says, from the board on; empty for a cable of one size."""
        return stretches_of(self.runs)

    def like(self, s: Stretch) -> Circuit:
        """The circuit as if all its cable were like one of its stretches, behind the fuse that stands there."""
        device = self.device if s.fuse_a is None else Device("BS 1362", rating_a=s.fuse_a)
        return evolve(
            self,
            device=device,
            length_m=s.length_m,
            line_mm2=s.line_mm2,
            cpc_mm2=s.cpc_mm2 or (None if s.cpc else self.cpc_mm2),
            cpc=s.cpc or self.cpc,
            wiring=s.wiring or self.wiring,
            reference=s.method or self.reference,
            runs="",
        )
