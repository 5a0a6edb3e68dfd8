"""Further sources: what they ask for is said once, and of those that run by themselves their own earth."""

from __future__ import annotations

import pytest

from earthwright.base.errors import Severity
from earthwright.site.installation import Electrode, Supply

from .live_visit import judge, visit


def said(*sources: str, **more: object) -> list[tuple[str, str]]:
    v = visit(supply=Supply("TN-C-S", True, other_sources=sources), **more)  # type: ignore[arg-type]
    found = [f for f in judge(v).findings if f.family.startswith("sources")]
    assert all(f.severity is Severity.NOTE for f in found)
    return [(f.family, f.found) for f in found]


def test_without_another_source_nothing_is_said() -> None:
    assert said() == []


@pytest.mark.parametrize("source", ["PV 3.6 kW", "wind"])
def test_sun_and_wind_ask_for_isolation_and_a_notice(source: str) -> None:
    assert said(source) == [("sources.any", "")]


@pytest.mark.parametrize(
    "source", ["battery 10 kWh", "storage", "Generator", "UPS", "hybrid inverter", "V2H charger", "back-up"]
)
def test_what_may_run_by_itself_asks_for_its_own_earth(source: str) -> None:
    assert said("PV", source) == [("sources.any", ""), ("sources.island", "no electrode is entered")]
    with_rod = said(source, electrodes=(Electrode("rod"),))
    assert with_rod[1] == ("sources.island", "electrode rod is entered")


def test_without_an_edition_there_is_no_rule_to_say() -> None:
    assert said("battery", date=visit().date.replace(year=1990)) == []
