"""Read the transcribed values, and the list of those that are not covered, each with its reason."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def values() -> list[dict[str, Any]]:
    """Every transcribed value with its topic."""
    found = []
    for file in sorted((HERE / "data").glob("*.toml")):
        with file.open("rb") as opened:
            found += [{**v, "topic": file.stem} for v in tomllib.load(opened)["value"]]
    return found


def not_covered() -> dict[str, str]:
    """Ids that no check uses, with the reason."""
    with (HERE / "not_covered.toml").open("rb") as opened:
        return {i: entry["why"] for entry in tomllib.load(opened)["entry"] for i in entry["ids"]}
