"""The bill of materials names every package that is installed, with version and hashes, and what it cannot read it refuses."""

from __future__ import annotations

import importlib.util
import json
import re
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def bill() -> ModuleType:
    spec = importlib.util.spec_from_file_location("bill", ROOT / "requirements" / "bill.py")
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


@pytest.mark.parametrize("name", ["run", "sign", "dev"])
def test_every_package_of_a_list_is_in_its_bill(bill: ModuleType, name: str) -> None:
    text = (ROOT / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
    made = json.loads(json.dumps(bill.bill(text)))
    assert (made["bomFormat"], made["specVersion"], made["version"]) == ("CycloneDX", "1.6", 1)
    listed = {m[1].lower().replace("_", "-") for m in re.finditer(r"^([A-Za-z0-9._-]+)(?:\[.*\])?==", text, re.M)}
    assert {c["name"] for c in made["components"]} == listed
    refs = [c["bom-ref"] for c in made["components"]]
    assert len(set(refs)) == len(refs)
    assert made["dependencies"][0]["dependsOn"] == sorted(refs)
    kept = [p["value"] for c in made["components"] for p in c["properties"]]
    assert sorted(kept) == sorted(re.findall(r"sha256:([0-9a-f]{64})", text))


def test_what_we_ask_for_ourselves_is_in_it(bill: ModuleType) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [
        *project["dependencies"],
        *(x for e in ("pdf", "table", "store", "web") for x in project["optional-dependencies"][e]),
    ]
    made = bill.bill((ROOT / "requirements" / "run.txt").read_text(encoding="utf-8"))
    for one in asked:
        assert re.split(r"[<>=\[]", one)[0] in {c["name"] for c in made["components"]}, one


@pytest.mark.parametrize("text", ["attrs>=26\n", "attrs==26.1.0\n", "attrs @ file:///x\n"])
def test_what_is_not_pinned_or_has_no_hash_is_refused(bill: ModuleType, text: str) -> None:
    with pytest.raises(ValueError):
        bill.bill(text)


def test_what_the_security_list_points_at_is_there() -> None:
    text = (ROOT / "docs" / "security-list.md").read_text(encoding="utf-8")
    tests = "".join(p.read_text(encoding="utf-8") for p in (ROOT / "tests").rglob("test_*.py"))
    for path in re.findall(r"`(tests/[\w/.]+)`", text):
        assert (ROOT / path).exists(), path
    for name in re.findall(r"`(test_\w+)`", text):
        assert f"def {name}(" in tests, name
    for path in re.findall(r"`((?:records|web)/\w+\.py)`", text):
        assert (ROOT / "src" / "earthwright" / path).exists(), path
