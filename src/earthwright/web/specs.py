"""The fields of each form by the table of the visit book it fills: keys, kinds of value, units, choices."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import evolve

from ..evidence.graph import EARTH, Node, earth_network
from ..evidence.graph.model import POINT
from ..outcomes.assessment import Assessment
from ..site.reading import Accuracy
from ..site.tables import TABLES
from .spec import Spec, specs_for
from .spec_stages import THEN, drop_empty, put_stage, stage_specs, stage_value
from .words import say


def _accuracy(function: str, unit: str) -> tuple[Spec, ...]:
    """The limits of error of one function; those of continuity are asked for first."""
    return tuple(
        evolve(
            spec,
            key=f"{function}.{spec.key}",
            unit={"digits": "", "%": "%"}.get(spec.unit, unit),
            more=function != "continuity" or spec.key == "top",
            said=f"{function.capitalize()}: {spec.said}",
            said_short=f"{function.capitalize()}: {spec.said}",
        )
        for spec in specs_for(Accuracy)
    )


# Functions of an instrument that a form asks for, each with its unit.
_FUNCTIONS = {"continuity": "Ω", "insulation": "MΩ", "loop": "Ω"}
SPECS: dict[str, tuple[Spec, ...]] = {
    t.name: specs_for(t.kind) for t in TABLES if t.name not in ("step", "sign", "receipt")
}
SPECS["instrument"] += tuple(spec for f, unit in _FUNCTIONS.items() for spec in _accuracy(f, unit))


def specs_of(table: str, body: Mapping[str, object]) -> tuple[Spec, ...]:
    """The fields of an entry's form; an observation has those of its stages besides."""
    return (*SPECS[table], *(stage_specs(body) if table == "observation" else ()))


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
