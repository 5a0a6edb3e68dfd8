"""The drawing for a reading on a bond."""

from __future__ import annotations

from ...paper import svg
from ...site.events import CLAMP_BODY, CONDUCTOR, JOINT, PATH, TOGETHER, State
from ...site.installation import Bond, Part
from ...site.reading import LeadSet
from ..words import say
from .parts import box, label, lock, meter, probe, sheet, wire

WIDTH, HEIGHT = 340, 268
X_MET, X_JOINT, Y = 30, 226, 96
NEEDS_END_OFF = (CONDUCTOR, PATH, CLAMP_BODY)


def bond_drawing(test: str, bond: Bond, part: Part, state: State, leads: LeadSet | None) -> str:
    """How to connect one of the bond tests. Raises ValueError for a test it does not know.

    state  what is off and isolated now, so that what is still to be done is drawn as still to be done
    """
    if test not in (CONDUCTOR, PATH, TOGETHER, JOINT, CLAMP_BODY):
        raise ValueError(f"no drawing is known for the test {test!r}")
    off = bond.id in state.off or test in NEEDS_END_OFF
    a, b = _probes(test)
    words = words_of(test, part, leads)
    pieces = [
        svg.tag("rect", x=X_MET - 10, y=34, width=14, height=150, rx=2, class_="ink"),
        label(X_MET - 14, 26, "MET", bold=True, size=15),
        _conductor(off),
        label(112, Y + 20, f"{bond.csa_mm2:g} mm², {bond.length_m:g} m", size=13),
        _clamp(),
        box(X_JOINT + 8, Y - 58, 98, 116, [*svg.wrap(part.title, 12, 4)]),
        wire(f"M {X_MET + 4} 158 H 104"),
        wire(f"M {a[0]} {a[1]} C {a[0] + 20} {a[1] + 66} 96 196 128 218", "lead"),
        wire(f"M {b[0]} {b[1]} C {b[0]} {b[1] + 80} 262 196 226 218", "lead"),
        meter(122, 208, "Ω", say("draw.continuity")),
        probe(*a, "A"),
        probe(*b, "B"),
        label(40, 178, say("draw.others"), size=12.5, kind="soft halo"),
    ]
    if test in NEEDS_END_OFF:
        pieces.append(lock(4, 222, say("draw.locked" if state.isolated else "draw.lock_first")))
    return sheet(WIDTH, HEIGHT, say("draw.title"), words, pieces)


def _conductor(off: bool) -> str:
    if not off:
        return wire(f"M {X_MET + 4} {Y} H {X_JOINT}")
    return (
        wire(f"M {X_JOINT} {Y} H 108 L 78 {Y - 24}")
        + svg.tag("circle", cx=X_MET + 8, cy=Y, r=5, class_="none edge", stroke_width=2)
        + label(96, Y - 30, say("draw.end_off"), size=14, kind="bad", bold=True)
    )


def _clamp() -> str:
    return svg.tag("rect", x=X_JOINT - 5, y=Y - 9, width=14, height=18, rx=3, class_="box", stroke_width=2)


def _probes(test: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where A and B go."""
    met, free, part = (X_MET + 2.0, 128.0), (78.0, Y - 24.0), (X_JOINT + 34.0, Y + 44.0)
    return {
        CONDUCTOR: (free, part),
        PATH: (met, part),
        TOGETHER: (met, part),
        JOINT: ((X_JOINT - 24, Y * 1.0), part),
        CLAMP_BODY: (free, (X_JOINT + 2.0, Y + 18.0)),
    }[test]


def words_of(test: str, part: Part, leads: LeadSet | None) -> str:
    """The same in words: for a screen reader, and under the drawing."""
    key = {CONDUCTOR: "conductor", PATH: "path", TOGETHER: "together", JOINT: "joint", CLAMP_BODY: "clamp_body"}[test]
    return say(f"connect.{key}", part=part.title) + " " + _leads(leads) + "."


def _leads(leads: LeadSet | None) -> str:
    if leads is None:
        return say("draw.leads_none")
    allowed = say(f"leads.{leads.allowed}")
    value = leads.null_ohm if leads.allowed == "nulled" else leads.lead_ohm
    return say("draw.leads", id=leads.id, allowed=allowed) + (f" {value:g} Ω" if value is not None else "")
