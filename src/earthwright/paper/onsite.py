"""What is left at the place: the notice that something is isolated, and labels and tags to cut out."""

from __future__ import annotations

from ..base.days import day
from ..evidence.bond import PROVED
from ..outcomes.assessment import Assessment
from ..site.at import At, field_at
from ..site.events import Isolation
from .boards import device_words, rcd_words
from .digits import number
from .fields import Field, Group

RESTORED = "restored"
LABELS_NOTE = (
    "To cut out, for what a printed label of your own may say. The warning label at earthing and bonding connections is made to its standard and is bought: "
    "a paper tag does not replace it. The six months for the test button are from memory of the standard."
)


def isolation_groups(a: Assessment) -> tuple[Group, ...]:
    """What a notice needs: the place, and who puts it up."""
    return _groups(a, "Isolation notice")


def labels_groups(a: Assessment) -> tuple[Group, ...]:
    """What labels need besides: something to hang on."""
    things = len(a.visit.site.boards) + len(a.visit.site.bonds)
    hung = Field("A board or a bond", str(things) if things else "", At("board").or_at(At("bond")))
    return _groups(a, "Labels and tags", hung)


def _groups(a: Assessment, title: str, *more: Field) -> tuple[Group, ...]:
    return (
        Group(
            title,
            (
                Field("Installation", a.visit.site.place, field_at("visit", "place")),
                Field("By", a.visit.inspector, field_at("visit", "inspector")),
                *more,
            ),
        ),
    )


def isolation_page(a: Assessment) -> dict[str, object]:
    """The notice for the point of isolation and for whoever is there: what is off, why, who may switch it on, whom to call."""
    v, r = a.visit, a.visit.paperwork.report
    stages = [e for e in v.events if isinstance(e, Isolation)]
    off = bool(stages) and stages[-1].stage != RESTORED
    return {
        "what": "The supply of this installation" if off else "",
        "since": next((e.at for e in stages if e.at), "") if off else "",
        "unearthed": [e.what for e in a.still_off],
        "by": [x for x in (v.inspector, v.firm, r.firm_phone) if x],
        "why": "It is being inspected and tested. Parts that are earthed at other times may have no earth now.",
        "rules": [
            "Do not switch on, and do not take off the lock.",
            "Only the person named here takes this off, after everything that was disconnected is back.",
            "Isolated does not mean dead: prove it dead with a tester that is proved before and after.",
        ],
        "told": "For whoever lives or works here: no power until the person named here says so. Freezers, alarms, lifts and equipment that a "
        "life depends on: tell that person before anything is switched off.",
    }


def labels_page(a: Assessment) -> dict[str, object]:
    """Labels for boards, tags for clamps and for the lock, each as a title with lines."""
    return {"note": LABELS_NOTE, "labels": [*_boards(a), *_bonds(a), *_lock(a)]}


def _boards(a: Assessment) -> list[dict[str, object]]:
    r = a.visit.paperwork.report
    made: list[dict[str, object]] = []
    for b in a.boards:
        k = b.board
        circuits = [
            ", ".join(x for x in (f"{c.circuit.id} {c.circuit.name}".strip(), device_words(c.circuit.device)) if x)
            for c in b.circuits
        ]
        fed = f"Fed by circuit {k.fed_by}" if k.fed_by else "Fed from the origin"
        made.append({"kind": "Board", "title": k.name or k.id, "lines": [fed, *circuits], "wide": len(circuits) > 6})
        if k.rcd is not None or any(c.circuit.device.rcd_ma for c in b.circuits):
            device = rcd_words(k.rcd) if k.rcd is not None else "The residual current devices here"
            said = f"{device}: press the test button at least every six months. If the power stays on, call an electrician."
            made.append({"kind": "Beside the board", "title": "Test button", "lines": [said], "wide": False})
    if made:
        again = day(r.next_by) if r.next_by else "____________"
        lines = [f"Inspected on {day(a.visit.date)} by {a.visit.inspector}", f"To be inspected again by {again}"]
        made.append({"kind": "Beside the board", "title": "Inspection", "lines": lines, "wide": False})
    return made


def _bonds(a: Assessment) -> list[dict[str, object]]:
    made: list[dict[str, object]] = []
    for b in a.bonds:
        run = f"{number(b.bond.csa_mm2)} mm² {b.bond.material}, {b.bond.length_m:g} m"
        proved = [f"Measured and proved whole on {day(a.visit.date)}"] if b.verdict == PROVED else []
        for end in (f"At the clamp: {b.part.title}", "At the main earthing terminal"):
            lines = [f"Main earthing terminal to {b.part.title}", run, *proved, "Lives depend on it: leave it on."]
            made.append({"kind": end, "title": f"Bond, {b.part.title}", "lines": lines, "wide": False})
    return made


def _lock(a: Assessment) -> list[dict[str, object]]:
    v = a.visit
    lines = [
        ", ".join(x for x in (v.inspector, v.firm, v.paperwork.report.firm_phone) if x) or "Name, telephone:",
        "Date, time: ____________________",
        "What is off: ____________________",
    ]
    return [{"kind": "On the lock", "title": "Locked off. Do not switch on.", "lines": lines, "wide": False}]
