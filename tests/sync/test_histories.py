"""Two phones and an office: whatever is cut, killed or shows the wrong time, all end with the same, and nothing is lost."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from wide import WIDE

from earthwright.assess import assess
from earthwright.records.replay import replay

from .simulated import VISIT, World, clashes, plain, prepared, sync


@pytest.mark.parametrize("seed", range(60 if WIDE else 6))
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


def test_what_is_read_on_says_what_is_read_anew(tmp_path: Path) -> None:
    """A reading at the office and a phone's disconnection that did not know of it, both since the visit was looked at."""
    office, phone, _ = prepared(tmp_path)
    for desk in (office, phone):
        desk.read(VISIT)
    reading = {"read": "conductor", "bond": "water", "shown": "0.03", "leads": "a"}
    kept = office.add(VISIT, "step", reading, "Office")
    phone.add(VISIT, "step", {"off": "water"}, "J. Example")
    sync(phone, office, "phone0")
    for desk in (office, phone):
        found = desk.read(VISIT)
        assert [e.id for e in found.entries if e.mixed] == [kept.id]
        assert found.book == replay(VISIT, desk.store.events(VISIT)).book
        assert any("without knowing" in f.what for f in found.book.findings)
