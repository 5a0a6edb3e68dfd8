"""The invented houses of the benchmark: a few sound ones stay silent, and every blunder is named in one of the first few."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from earthwright.assess import assess, bond
from earthwright.base.errors import Severity
from earthwright.evidence.worth import Worth

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))

from invented.blunders import BLUNDERS, spoilt
from invented.houses import DATE, again, house

TRIES = 12


@pytest.fixture(autouse=True)
def _without_the_worth_of_further_readings(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bond, "worth", lambda _bond, _evidence, test, _display, **_: Worth(test, 0.0, 0.0, 0.0))


@pytest.mark.parametrize("number", range(6))
def test_a_sound_house_raises_no_alarm(number: int) -> None:
    h = house(number)
    found = assess(h.visit(), previous=again(h), today=DATE).findings
    assert [f.sentence() for f in found if f.severity.rank <= Severity.WARNING.rank] == []


def test_a_house_is_the_same_on_every_run() -> None:
    assert house(3).visit() == house(3).visit()
    assert house(3).visit() != house(4).visit()


@pytest.mark.parametrize("family", [f for f in BLUNDERS if f != "rows.swapped (bonds)"])
def test_a_planted_blunder_is_named(family: str) -> None:
    names = BLUNDERS[family][1]
    tries = 0
    for number in range(40 * TRIES):
        planted = spoilt(family, number) if tries < TRIES else None
        if planted is None:
            continue
        tries += 1
        found = assess(planted.visit, previous=planted.previous, today=planted.today).findings
        if any(f.family in names and f.severity.rank <= Severity.WARNING.rank for f in found):
            return
    pytest.fail(f"{family} was not named in {tries} houses")
