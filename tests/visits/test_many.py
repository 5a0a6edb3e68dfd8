"""A works of any size, invented and sound: read without a finding, judged without an alarm."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.site.events import Reading
from earthwright.site.ledger import still_off
from earthwright.visitbook import read_text


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("many", Path(__file__).parent / "many.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_two_hundred_circuits_on_ten_boards_are_read() -> None:
    text = load().many()
    assert text == load().many()
    book = read_text(text)
    assert book.findings == ()
    assert book.visit is not None
    site = book.visit.site
    assert (len(site.boards), len(site.circuits)) == (10, 200)
    assert {b.fed_by for b in site.boards} == {"", *(f"db1.{i}" for i in range(1, 10))}
    assert sum(c.use == "distribution" for c in site.circuits) == 9
    assert {c.device.rcd_type for c in site.circuits if c.use == "distribution"} == {""}
    assert {c.device.rcd_ma for c in site.circuits if c.use != "distribution"} == {30}
    assert len(text) / len(site.circuits) < 550  # characters to type for a circuit with all its tests
    assert not still_off(book.visit.events)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_sound_works_raises_no_alarm(seed: int) -> None:
    book = read_text(load().many(2, 10, seed))
    assert book.visit is not None
    a = assess(book.visit, found=book.findings, broken=book.broken)
    assert [f.sentence() for f in a.findings if f.severity.rank <= Severity.WARNING.rank] == []
    rows = [t for b in a.boards for c in b.circuits for t in c.tests]
    assert {t.outcome for t in rows if t.test in ("zs", "insulation", "rcd", "polarity", "disconnection")} == {"meets"}
    rings = [c.ring for b in a.boards for c in b.circuits if c.ring]
    assert {(r.verdict, r.named) for r in rings} == {("proved", "whole")}
    assert len(rings) == sum(c.kind == "ring" for c in book.visit.site.circuits)
    assert all(not e.refused for e in book.visit.events if isinstance(e, Reading))
