"""The fields of each form by the table of the visit book it fills: keys, kinds of value, units, choices."""

from __future__ import annotations

from collections.abc import Mapping

from ..evidence.graph import EARTH, Node, earth_network
from ..evidence.graph.model import POINT
from ..outcomes.assessment import Assessment
from ..site.codes import CURRENTS, LIVE, METHODS, SPD_TYPES, SWITCH_KINDS, WIRING
from ..site.installation import (
    BURIED,
    CIRCUIT_KINDS,
    CLASSES,
    CPC_KINDS,
    DIRECTIONS,
    ELECTRODE_KINDS,
    IN_WALL,
    MATERIALS,
    OPEN_PEN,
    PART_KINDS,
    RCD_TYPES,
    SIDES,
    SYSTEMS,
    USES,
)
from .spec import LIVE_SAID, Spec
from .spec_paper import DANGER, DEPARTURE, OBSERVATION, ORIGIN, REPORT
from .spec_stages import THEN, drop_empty, put_stage, stage_specs, stage_value
from .words import say


def _accuracy(function: str, unit: str) -> tuple[Spec, ...]:
    return (
        Spec(f"{function}.pct", unit="%", more=function != "continuity"),
        Spec(f"{function}.digits", more=function != "continuity"),
        Spec(f"{function}.step", unit=unit, more=function != "continuity"),
        Spec(f"{function}.top", unit=unit, more=True),
    )


VISIT = (
    Spec("place"),
    Spec("date", "date"),
    Spec("kind", choices=("bonding", "periodic", "initial", "minor works"), start="periodic"),
    Spec("inspector"),
    Spec("firm", more=True),
    Spec("client", more=True),
    Spec("temp_c", unit="°C", start="15", more=True),
    Spec("extent", "area", more=True),
    Spec("limitations", "list", more=True),
    Spec("edition", more=True),
    Spec("designed", "date", more=True),
    Spec("decision", choices=("simple", "guarded"), more=True),
    Spec("clamp_stop_a", unit="A", more=True),
    Spec("extraneous_ma", unit="mA", more=True),
    Spec("note", "area", more=True),
)
SUPPLY = (
    Spec("system", choices=SYSTEMS),
    Spec("pme", "flag"),
    Spec("neutral_at_most_mm2", unit="mm²"),
    Spec("neutral_mm2", unit="mm²", more=True),
    Spec("earthing_mm2", unit="mm²"),
    Spec("earthing_material", choices=MATERIALS, more=True),
    Spec("earthing_needed_mm2", unit="mm²", more=True),
    Spec("earthing_buried", choices=BURIED, more=True),
    Spec("line_mm2", unit="mm²"),
    Spec("phases", choices=("1", "3"), start="1"),
    Spec("fuse_a", unit="A"),
    Spec("u0_v", unit="V", more=True),
    Spec("u_v", unit="V", more=True),
    Spec("frequency_hz", unit="Hz", more=True),
    Spec("ze_ohm", unit="Ω", more=True),
    Spec("ze_how", choices=("enquiry", "measurement", "calculation"), more=True),
    Spec("ipf_ka", unit="kA", more=True),
    Spec("ipf_how", choices=("enquiry", "measurement", "calculation"), more=True),
    Spec("fuse", more=True),
    Spec("other_sources", "list", more=True),
    Spec("sources_a", unit="A", more=True),
)
PART = (
    Spec("kind", choices=PART_KINDS, start="water"),
    Spec("name"),
    Spec("material", more=True),
    Spec("entry", more=True),
    Spec("owner", more=True),
    Spec("plastic_section_m", unit="m", more=True),
    Spec("note", "area", more=True),
)
BOND = (
    Spec("part"),
    Spec("csa_mm2", unit="mm²", start="10"),
    Spec("length_m", unit="m"),
    Spec("length_tol_m", unit="m"),
    Spec("strands", more=True),
    Spec("material", choices=MATERIALS, more=True),
    Spec("position", more=True),
    Spec("side", choices=SIDES, more=True),
    Spec("before_branch", "flag", more=True),
    Spec("from_meter_m", unit="m", more=True),
    Spec("clamp", more=True),
    Spec("label", "flag", more=True),
    Spec("visible", "flag", more=True),
    Spec("supplementary", "flag", more=True),
    Spec("note", "area", more=True),
)
LINK = (
    Spec("id"),
    Spec("between", "pair"),
    Spec("low_ohm", unit="Ω"),
    Spec("high_ohm", unit="Ω"),
    Spec("csa_mm2", unit="mm²", more=True),
    Spec("length_m", unit="m", more=True),
    Spec("material", choices=MATERIALS, more=True),
    Spec("note", "area"),
)
LEADS = (
    Spec("id", start="long"),
    Spec("allowed", choices=("nulled", "subtracted", "none"), start="nulled"),
    Spec("null_ohm", unit="Ω"),
    Spec("lead_ohm", unit="Ω", more=True),
    Spec("note"),
)
INSTRUMENT = (
    Spec("id", start="tester"),
    Spec("name"),
    Spec("serial"),
    Spec("checked", "date", more=True),
    Spec("valid_until", "date"),
    *_accuracy("continuity", "Ω"),
    *_accuracy("insulation", "MΩ"),
    *_accuracy("loop", "Ω"),
)
BOARD = (
    Spec("id", start="db1"),
    Spec("name"),
    Spec("where"),
    Spec("fed_by", more=True),
    Spec("phases", choices=("1", "3"), more=True),
    Spec("live", choices=tuple(LIVE), says=LIVE_SAID, more=True),
    Spec("spd_type", choices=tuple(SPD_TYPES), says=SPD_TYPES, more=True),
    Spec("spd", more=True),
    Spec("note", "area", more=True),
    Spec("switch.kind", choices=SWITCH_KINDS, more=True, group="switch"),
    Spec("switch.standard", more=True, group="switch"),
    Spec("switch.poles", choices=("1", "2", "3", "4"), more=True, group="switch"),
    Spec("switch.rating_a", unit="A", more=True, group="switch"),
    Spec("switch.rated_v", unit="V", more=True, group="switch"),
    Spec("switch.fuse_a", unit="A", more=True, group="switch"),
    Spec("switch.where", more=True, group="switch"),
    Spec("main_switch", more=True, group="switch"),
    Spec("rcd.rcd_type", choices=RCD_TYPES, more=True, group="rcd"),
    Spec("rcd.rcd_ma", unit="mA", more=True, group="rcd"),
    Spec("rcd.rcd_delay", more=True, group="rcd"),
    Spec("rcd.standard", more=True, group="rcd"),
    Spec("rcd.rating_a", unit="A", more=True, group="rcd"),
    Spec("current", choices=CURRENTS, more=True, group="other_supply"),
    Spec("u0_v", unit="V", more=True, group="other_supply"),
    Spec("u_v", unit="V", more=True, group="other_supply"),
    Spec("frequency_hz", unit="Hz", more=True, group="other_supply"),
    Spec("electrode", more=True, group="other_supply"),
)
CIRCUIT = (
    Spec("id"),
    Spec("board"),
    Spec("name"),
    Spec("kind", choices=CIRCUIT_KINDS, start="radial", chips=True),
    Spec("use", choices=USES),
    Spec("device"),
    Spec("rcd_type", choices=(*RCD_TYPES, "none"), chips=True),
    Spec("rcd_ma", unit="mA"),
    Spec("line_mm2", unit="mm²"),
    Spec("cpc_mm2", unit="mm²"),
    Spec("length_m", unit="m"),
    Spec("points", "list"),
    Spec("breaking_ka", unit="kA"),
    Spec("reference", choices=tuple(METHODS), says=METHODS),
    Spec("wiring", choices=tuple(WIRING), says=WIRING),
    Spec("neutral_mm2", unit="mm²", more=True),
    Spec("cpc", choices=CPC_KINDS, more=True),
    Spec("cable", more=True),
    Spec("method", more=True),
    Spec("length_tol_m", unit="m", more=True),
    Spec("conductor_c", unit="°C", more=True),
    Spec("design_a", unit="A", more=True),
    Spec("rcd_delay", more=True),
    Spec("afdd", "flag", more=True),
    Spec("rdc_dd", "flag", more=True),
    Spec("direction", choices=DIRECTIONS, more=True),
    Spec("spurs", more=True),
    Spec("phases", choices=("1", "3"), more=True),
    Spec("line", choices=("L1", "L2", "L3"), more=True),
    Spec("material", choices=MATERIALS, more=True),
    Spec("poles", choices=("1", "2", "3", "4"), more=True),
    Spec("power_factor", more=True),
    Spec("let_through_a2s", unit="A²s", more=True),
    Spec("coil_ohm", unit="Ω", more=True),
    Spec("location", more=True),
    Spec("open_pen", choices=OPEN_PEN, more=True),
    Spec("fittings", choices=CLASSES, more=True),
    Spec("grouped", more=True),
    Spec("ambient_c", unit="°C", more=True),
    Spec("in_insulation_mm", unit="mm", more=True),
    Spec("in_wall", choices=IN_WALL, more=True),
    Spec("rcd_reason", more=True),
    Spec("electrode", more=True),
    Spec("note", "area", more=True),
    Spec("rcd_standard", more=True, group="rcd_apart"),
    Spec("rcd_rating_a", unit="A", more=True, group="rcd_apart"),
)
ELECTRODE = (
    Spec("id", start="rod"),
    Spec("kind", choices=ELECTRODE_KINDS, start="rod"),
    Spec("where"),
    Spec("condition"),
    Spec("length_m", unit="m", more=True),
    Spec("diameter_mm", unit="mm", more=True),
    Spec("width_mm", unit="mm", more=True),
    Spec("depth_m", unit="m", more=True),
    Spec("area_m2", unit="m²", more=True),
    Spec("count", more=True),
    Spec("spacing_m", unit="m", more=True),
    Spec("soil_ohm_m", unit="Ω·m", more=True),
    Spec("note", "area", more=True),
)
SPECS: dict[str, tuple[Spec, ...]] = {
    "visit": VISIT,
    "supply": SUPPLY,
    "part": PART,
    "bond": BOND,
    "link": LINK,
    "leads": LEADS,
    "instrument": INSTRUMENT,
    "board": BOARD,
    "circuit": CIRCUIT,
    "electrode": ELECTRODE,
    "report": REPORT,
    "origin": ORIGIN,
    "danger": DANGER,
    "observation": OBSERVATION,
    "departure": DEPARTURE,
}


def specs_of(table: str, body: Mapping[str, object]) -> tuple[Spec, ...]:
    """The fields of an entry's form; an observation has those of its stages besides."""
    return (*SPECS[table], *(stage_specs(body) if table == "observation" else ()))


# Keys that other entries refer to; they are chosen once.
FIXED = {
    "link": ("id",),
    "leads": ("id",),
    "instrument": ("id",),
    "board": ("id",),
    "circuit": ("id",),
    "electrode": ("id",),
    "bond": ("part",),
}


def choices_of(spec: Spec, a: Assessment | None, table: str, now: str = "") -> tuple[tuple[str, str], ...]:
    """What may be chosen, code and word; parts and boards are those of the site.

    now  what stands there: words of an earlier book are offered beside the codes, so that no form loses them
    """
    if spec.kind == "flag":
        return (("yes", say("steps.yes")), ("no", say("steps.no")))
    site = a.visit.site if a else None
    if site and table == "bond" and spec.key == "part":
        return tuple((p.id, p.title) for p in site.parts)
    if site and spec.kind == "pair":
        return tuple((n.id, _place(n)) for n in earth_network(site).nodes if n.id != EARTH)
    if site and table == "circuit" and spec.key == "board":
        return tuple((b.id, b.name or b.id) for b in site.boards)
    kept = ((now, now),) if now and spec.choices and now not in spec.choices else ()
    return (*((c, spec.word(c)) for c in spec.choices), *kept)


def _place(node: Node) -> str:
    return f"{node.of}: {node.title}" if node.kind == POINT else node.title


def body_from(table: str, form: Mapping[str, str], before: Mapping[str, object]) -> dict[str, object]:
    """An entry from its form; keys that the form does not show stay as they were."""
    body: dict[str, object] = dict(before)
    for spec in specs_of(table, before):
        if spec.key not in form or (before and form[spec.key] == value_of(spec, before)):
            continue  # what was not touched stays as it was, in its own form
        value: object = form[spec.key]
        if spec.kind == "flag":
            value = {"yes": True, "no": False}.get(str(value), value)
        elif spec.kind in ("list", "pair"):
            value = _lines(str(value), places=spec.key == "points")
        _put(body, spec.key, value)
    drop_empty(body)
    return body


def _lines(typed: str, places: bool) -> object:
    """A list with one thing on each line; points may be a bare number of them, or have their places: ``hall = 4``."""
    lines = [line.strip() for line in typed.splitlines() if line.strip()]
    if places and len(lines) == 1 and lines[0].isdigit():
        return lines[0]
    if places and lines and all("=" in line for line in lines):
        return {k.strip(): v.strip() for k, _, v in (line.partition("=") for line in lines)}
    return lines


def _put(body: dict[str, object], key: str, value: object) -> None:
    if key.startswith(f"{THEN}."):
        put_stage(body, key, value)
        return
    outer, dot, inner = key.partition(".")
    empty = value in ("", [], None)
    if not dot:
        if empty:
            body.pop(key, None)
        else:
            body[key] = value
        return
    held = body.get(outer)
    table = dict(held) if isinstance(held, dict) else {}
    if empty:
        table.pop(inner, None)
    else:
        table[inner] = value
    if table:
        body[outer] = table
    else:
        body.pop(outer, None)


def value_of(spec: Spec, body: Mapping[str, object]) -> str:
    """What stands in an entry for a field, as it would be typed."""
    outer, dot, inner = spec.key.partition(".")
    value = stage_value(body, spec.key) if outer == THEN else body.get(outer)
    if dot and outer != THEN:
        value = value.get(inner) if isinstance(value, dict) else None
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "\n".join(map(str, value))
    return "\n".join(f"{k} = {v}" for k, v in value.items()) if isinstance(value, dict) else str(value)
