"""Read the transcribed values, and hold what a sum gives against one of them."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from attrs import frozen

HERE = Path(__file__).parent
GROUP = {"statement", "source", "confidence", "unit", "values"}
VALUE = {"id", "inputs", "output", "tolerance", "why", "note"}


@frozen
class Published:
    """One published value.

    output, tolerance  the figures as printed; a tolerance of 0 is an exact figure
    why                given where a tolerance is wider than half a printed digit
    half_digit         half a unit of the last printed digit, for each figure
    """

    id: str
    topic: str
    statement: str
    inputs: dict[str, Any]
    output: tuple[float, ...]
    tolerance: tuple[float, ...]
    half_digit: tuple[float, ...]
    unit: str
    source: str
    confidence: str
    why: str
    note: str


@cache
def values() -> tuple[Published, ...]:
    """Every transcribed value, in the order of the files."""
    found = []
    for file in sorted((HERE / "data").glob("*.toml"), key=lambda f: [int(f.stem.split("-")[0]), f.stem]):
        with file.open("rb") as opened:
            groups = tomllib.load(opened, parse_float=Decimal)["group"]
        for group in groups:
            assert set(group) == GROUP, f"{file.name}: {sorted(set(group) ^ GROUP)}"
            found += [_value(file.stem, group, value) for value in group["values"]]
    return tuple(found)


def _value(topic: str, group: dict[str, Any], value: dict[str, Any]) -> Published:
    assert set(value) <= VALUE, f"{value.get('id')}: {sorted(set(value) - VALUE)}"
    output, tolerance = _list(value["output"]), _list(value["tolerance"])
    assert len(output) == len(tolerance), value["id"]
    return Published(
        value["id"],
        topic,
        group["statement"].format(**value["inputs"], output=value["output"]),
        _plain(value["inputs"]),
        tuple(float(o) for o in output),
        tuple(float(t) for t in tolerance),
        tuple(_half_digit(o) for o in output),
        group["unit"],
        group["source"],
        group["confidence"],
        value.get("why", ""),
        value.get("note", ""),
    )


def _list(entry: Any) -> list[Decimal]:
    return [Decimal(e) for e in entry] if isinstance(entry, list) else [Decimal(entry)]


def _plain(entry: Any) -> Any:
    """Decimals as floats, all the way down."""
    if isinstance(entry, dict):
        return {key: _plain(inner) for key, inner in entry.items()}
    if isinstance(entry, list):
        return [_plain(inner) for inner in entry]
    return float(entry) if isinstance(entry, Decimal) else entry


def _half_digit(printed: Decimal) -> float:
    return 0.5 * 10.0 ** min(int(printed.as_tuple().exponent), 0)


@cache
def not_covered() -> dict[str, str]:
    """Ids that no check uses, with the reason."""
    with (HERE / "not_covered.toml").open("rb") as opened:
        return {i: entry["why"] for entry in tomllib.load(opened)["entry"] for i in entry["ids"]}


def differences(value: Published, routes: tuple[Callable[..., Any], ...], rules: Any) -> list[str]:
    """What the routes to one published value give that is not that value; empty when all agree.

    A figure looked up has to be the printed one to half its last digit; only a sum may use a wider tolerance.
    """
    wrong = []
    for route in routes:
        looked_up = getattr(route, "looked_up", False)
        found = route(value.inputs, rules)
        found = list(found) if isinstance(found, (list, tuple)) else [found]
        if len(found) != len(value.output):
            wrong.append(f"{value.id}: {len(found)} figures instead of {len(value.output)}")
            continue
        for ours, printed, wide, half in zip(found, value.output, value.tolerance, value.half_digit, strict=True):
            allowed = min(wide, half) if looked_up else wide
            if not abs(ours - printed) <= allowed * (1 + 1e-9) + 1e-9 * abs(printed):
                wrong.append(f"{value.id}: ours {ours}, published {printed} ± {allowed} {value.unit}; {value.source}")
    return wrong
