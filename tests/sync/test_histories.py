"""Two phones and an office: whatever is cut, killed or shows the wrong time, all end with the same, and nothing is lost."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from earthwright.assess import assess

from .simulated import World, clashes, plain


@pytest.mark.parametrize("seed", range(10))
def test_all_end_with_the_same_events_and_findings(seed: int, tmp_path: Path) -> None:
    world = World(tmp_path, random.Random(seed))
    for _ in range(40):
        world.act()
    world.settle()
    office, *phones = world.everywhere()
    ids = [e.id for e in office.events]
    assert len(set(ids)) == len(ids)
    assert not set(world.told) - set(ids)
    for phone in phones:
        assert [plain(e) for e in phone.events] == [plain(e) for e in office.events]
        assert phone.tables == office.tables
        assert phone.book.findings == office.book.findings
    named = {e.id for e in office.entries if e.rivals}
    assert named == clashes(office.events)
    said = [
        assess(r.book.visit, found=r.book.findings, broken=r.book.broken) for r in (office, *phones) if r.book.visit
    ]
    assert [a.findings for a in said] == [said[0].findings] * 3
    assert not [f for f in said[0].findings if f.family == "times.order"]
    for desk in (world.office, *world.phones):
        found = desk.verify()
        assert found.whole, found.faults
    world.close()
