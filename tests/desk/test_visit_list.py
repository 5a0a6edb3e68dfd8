"""The list of visits, read on one by one, several in one go, and all anew: always the same lines."""

from __future__ import annotations

import pytest

from earthwright.desk import Desk
from earthwright.desk.visit_list import FEW, VisitList
from earthwright.firm.index import Index


@pytest.mark.parametrize("count", [1, FEW, FEW + 1, 2 * FEW])
def test_what_was_read_on_is_what_is_read_anew(count: int, desk: Desk) -> None:
    visits = [desk.start(f"{n} Alder Row", date="2026-11-20", visit_id=f"visit-{n:04d}") for n in range(2 * FEW + 2)]
    held: list[VisitList | Index] = [VisitList(desk.store), Index(desk.store)]
    for one in held:
        assert len(one.lines()) == len(visits)
    assert held[1].begun() == set()  # type: ignore[union-attr]
    for n, visit in enumerate(visits[:count]):
        desk.add(visit, "observation", {"what": f"loose clamp {n}", "code": "C2"})
        desk.add(visit, "report", {"next_by": "2027-01-01"} if n % 2 else {"client": "Mrs Quill"})
    desk.add(visits[0], "step", {"do": "isolated"})
    desk.start("99 Alder Row", date="2026-11-20", visit_id="visit-anew")
    anew: list[VisitList | Index] = [VisitList(desk.store), Index(desk.store)]
    for one, other in zip(held, anew, strict=True):
        assert one.lines() == other.lines()
    assert held[1].begun() == anew[1].begun() == {visits[0]}  # type: ignore[union-attr]
