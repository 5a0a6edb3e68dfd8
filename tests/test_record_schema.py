"""The schema of the record: every definition described, verdicts as enumerations, a version and what it promises."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest

from earthwright.assess import assess
from earthwright.report.record import SCHEMA_ID, json_schema, to_json
from earthwright.visitbook import read_text

VISITS = Path(__file__).parent / "visits"
NAMES = (
    "00-control",
    "03-paint",
    "07-tt-electrode",
    "08-ring-broken-cpc",
    "10-adiabatic",
    "16-open-pen",
    "21-steel",
    "25-null-and-paint",
)


def record(name: str) -> dict[str, Any]:
    book = read_text((VISITS / f"{name}.toml").read_text(encoding="utf-8-sig"))
    assert book.visit is not None
    return to_json(assess(book.visit, found=book.findings, broken=book.broken, whole_site=False))


def test_every_definition_is_described_and_the_version_says_what_it_promises() -> None:
    schema: Any = json_schema()
    assert SCHEMA_ID in schema["$id"]
    assert "within a version no key is taken away" in schema["description"]
    bare = [name for name, d in schema["$defs"].items() if len(d.get("description", "")) < 12]
    assert bare == []
    jsonschema.Draft202012Validator.check_schema(schema)


def test_verdicts_and_outcomes_are_enumerations_and_records_keep_to_them() -> None:
    schema: Any = json_schema()
    free = [
        f"{name}.{field}"
        for name, d in schema["$defs"].items()
        for field, kind in d["properties"].items()
        if field == "verdict" or (field in ("outcome", "simple", "guarded") and name != "Reading")
        if "enum" not in kind
    ]
    assert free == []
    check = jsonschema.Draft202012Validator(schema)
    for name in NAMES:
        check.validate(record(name))
    spoilt = record("00-control")
    spoilt["bonds"][0]["verdict"] = "safe"
    with pytest.raises(jsonschema.ValidationError):
        check.validate(spoilt)
