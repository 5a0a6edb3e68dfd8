"""The sheet to carry: for those who write with a pencil, what each test should show stands beside an empty box."""

from __future__ import annotations

from ..assess.circuits.ahead import Ahead, ahead
from ..base.quantity import Band
from ..outcomes.assessment import Assessment, BondJudged
from ..site.at import At, field_at
from ..site.events import CONDUCTOR, JOINT, PATH, TOGETHER
from ..site.installation import Circuit
from .boards import device_words
from .digits import number
from .fields import Field, Group

BOND_TESTS = (
    (CONDUCTOR, "Conductor, MET end off"),
    (PATH, "Path, MET end off"),
    (TOGETHER, "All connected"),
    (JOINT, "Joint"),
)
CIRCUIT_HEAD = (
    *(
        "No.",
        "Circuit, device",
        "r1, rn Ω",
        "r2 Ω",
        "R1+R2 Ω",
        "L–N MΩ",
        "L–E MΩ",
        "Polarity",
        "Zs Ω",
        "RCD ms",
        "Button",
    ),
)
NOTES = (
    "Small print: what a sound installation should show, by the lengths, sizes and devices entered. A reading below it means that other metal "
    "or another way answered; above it, resistance that should not be there.",
    "Bands come before the reading: write down what the display shows, not what is expected.",
    "Prove dead and lock off. Clamp meter round a bond before it is touched, and again after isolating. One end of one bond at a time, back "
    "before anything is energised. Short the leads before and after.",
)


def carry_groups(a: Assessment) -> tuple[Group, ...]:
    """What the sheet needs: a place, and something to measure."""
    s = a.visit.site
    things = len(s.bonds) + len(s.circuits)
    return (
        Group(
            "Sheet to carry",
            (
                Field("Installation", s.place, field_at("visit", "place")),
                Field("A bond or a circuit to measure", str(things) if things else "", At("bond").or_at(At("circuit"))),
            ),
        ),
    )


def carry_page(a: Assessment) -> dict[str, object]:
    """The sheet as texts: each box with what it should show, empty where nothing can be said."""
    bands = ahead(a.visit)
    v = a.visit
    return {
        "lead": "To be written by hand, and typed in afterwards as the display showed it.",
        "bonds": [_bond(b) for b in a.bonds],
        "bond_head": [words for _, words in BOND_TESTS],
        "boards": [
            {
                "title": b.board.name or b.board.id,
                "rows": [_circuit(c.circuit, bands[c.circuit.id]) for c in b.circuits],
            }
            for b in a.boards
        ],
        "circuit_head": list(CIRCUIT_HEAD),
        "origin": [
            ["Ze Ω", f"declared {v.site.supply.ze_ohm:g}" if v.site.supply.ze_ohm is not None else ""],
            ["Ipf kA", ""],
            ["Polarity", ""],
            ["Phase sequence", "" if v.site.supply.phases == 3 else "one phase"],
            *([f"{e.where or e.id}, to earth Ω", ""] for e in v.site.electrodes),
        ],
        "instruments": [f"{i.name or i.id}, {i.serial or 'no serial number'}" for i in v.instruments],
        "leads": [
            [
                x.id,
                {"nulled": f"null {x.null_ohm:g} Ω" if x.null_ohm is not None else "nulled"}.get(x.allowed, x.allowed),
            ]
            for x in v.leads
        ],
        "notes": list(NOTES),
    }


def _bond(b: BondJudged) -> dict[str, object]:
    shown = {e.test: e.shown for e in b.expected}
    return {
        "name": b.part.title,
        "run": f"{b.bond.length_m:g} m of {b.bond.csa_mm2:g} mm² {b.bond.material}",
        "expected": [_band(shown.get(test)) for test, _ in BOND_TESTS],
    }


def _circuit(c: Circuit, x: Ahead) -> list[str]:
    ring = c.kind == "ring"
    d = c.device
    zs = ", ".join(
        words
        for words, value in (
            (f"about {x.zs:.2f}", x.zs) if x.zs is not None else ("", None),
            (f"hot to {number(x.zs_most)}", x.zs_most),
            (f"cold to {x.zs_cold:.2f}", x.zs_cold) if x.zs_cold is not None else ("", None),
        )
        if value is not None
    )
    least = f"from {number(x.insulation)}" if x.insulation is not None else ""
    name = ", ".join(y for y in (c.name, device_words(d)) if y)
    return [
        c.id,
        name,
        _band(x.r1) if ring else "–",
        _band(x.r2) if ring else "–",
        _band(x.r1r2),
        least,
        least,
        "",
        zs,
        f"to {number(x.rcd_ms)}" if x.rcd_ms is not None else "" if d.rcd_ma is not None or d.rcd_type else "–",
        "" if d.rcd_ma is not None or d.rcd_type else "–",
    ]


def _band(band: Band | None) -> str:
    """A band as it would be read off a display."""
    return "" if band is None else f"{band.low:.2f} to {band.high:.2f}"
