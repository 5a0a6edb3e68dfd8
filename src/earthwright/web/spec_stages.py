"""What became of an observation: its stages as rows of fields, those that stand and an empty one."""

from __future__ import annotations

from collections.abc import Mapping

from ..site.particulars import STAGES
from .spec import Spec

THEN = "then"
KEYS = ("stage", "on", "by", "what", "reading", "seen")


def stage_specs(body: Mapping[str, object]) -> tuple[Spec, ...]:
    """The fields of the stages of an observation: ``then.0.stage`` and so on, one row more than there are."""
    return tuple(
        Spec(
            f"{THEN}.{n}.{key}",
            "date" if key == "on" else "text",
            choices=STAGES if key == "stage" else (),
            more=True,
            group="stage",
        )
        for n in range(len(_rows(body)) + 1)
        for key in KEYS
    )


def _rows(body: Mapping[str, object]) -> list[dict[str, object]]:
    held = body.get(THEN)
    return [dict(x) for x in held if isinstance(x, dict)] if isinstance(held, list) else []


def stage_value(body: Mapping[str, object], key: str) -> object:
    """What stands in a field of a stage; None when there is no such stage."""
    _, n, inner = key.split(".")
    rows = _rows(body)
    return rows[int(n)].get(inner) if int(n) < len(rows) else None


def put_stage(body: dict[str, object], key: str, value: object) -> None:
    """Put a value into a field of a stage."""
    _, n, inner = key.split(".")
    rows = _rows(body)
    rows += [{} for _ in range(int(n) + 1 - len(rows))]
    rows[int(n)] = {k: v for k, v in {**rows[int(n)], inner: value}.items() if v not in ("", None)}
    body[THEN] = rows


def drop_empty(body: dict[str, object]) -> None:
    """A stage of which every field is blank is none."""
    if THEN in body:
        rows = [r for r in _rows(body) if r]
        body[THEN] = rows
        if not rows:
            del body[THEN]
