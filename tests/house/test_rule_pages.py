"""The pages that are made from the rule data are fresh."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.cli import main

DOCS = Path(__file__).parents[2] / "docs"
DAY = "2026-11-28"


@pytest.mark.parametrize(("name", "option"), [("from-memory", "--memory"), ("requirements", "--coverage")])
def test_the_page_is_what_the_data_say(name: str, option: str) -> None:
    made = CliRunner().invoke(main, ["rules", option, "--page", "--on", DAY])
    assert made.exit_code == 0, made.output
    kept = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    assert kept == made.output, f"./run rules {option} --page --on {DAY} > docs/{name}.md"
