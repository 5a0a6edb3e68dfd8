"""A condition report from an empty journal to its issue, every entry of it through the forms of the pages."""

from __future__ import annotations

import datetime as dt
import re

import httpx
from asked import Site, forms_of, text_of

from earthwright.desk import Desk
from earthwright.paper.requirements import missing_fields
from earthwright.paper.verify import verify

from .test_visit import begin, furnish, prove

STAGES = ("locked", "tester proved", "dead", "tester proved again")
REPORT = {
    "number": "1", "issued": "2026-11-20", "purpose": "sale", "client_address": "1 Test Row", "occupier": "A. Client", "premises": "dwelling",
    "country": "England", "rented": "no", "agreed_with": "A. Client", "operational": "none", "sampling": "all of it", "age_years": "20",
    "alterations": "none", "records": "none", "previous": "2016-11-01", "overall": "satisfactory", "overall_reason": "Ze was read with the bonds on; the distributor states 0.35 Ω", "next_by": "2031-11-20",
    "next_reason": "as found", "firm_address": "2 Test Row", "general": "sound", "concealed": "cables in walls", "copies": "client", "not_recorded": "none", "vulnerable": "none",
}  # fmt: skip
ORIGIN = {
    "live": "1-phase, 2-wire", "current": "AC", "polarity": "confirmed", "demand_a": "60", "earthing": "distributor", "fuse_standard": "BS 1361",
    "fuse_type": "2", "switch_where": "hall", "switch_standard": "BS EN 60947-3", "switch_poles": "2", "switch_a": "100", "switch_v": "230",
    "switch_rcd": "none", "not_present": "gas\noil\nsteel\nlightning\nheating\nducting\ntank\nother", "earthing_checked": "yes",
}  # fmt: skip
CIRCUIT = {
    "id": "1", "board": "db1", "name": "Lights", "use": "lighting", "device": "BS EN 60898 B6", "line_mm2": "1.5", "neutral_mm2": "1.5",
    "cpc_mm2": "1", "length_m": "20", "breaking_ka": "6", "rcd_type": "A", "rcd_ma": "30", "cable": "A", "method": "C", "points": "6", "poles": "1",
}  # fmt: skip


def good(answer: httpx.Response) -> None:
    assert answer.status_code == 303, text_of(answer)


def test_a_condition_report_is_issued_from_the_pages_alone(site: Site, desk: Desk) -> None:
    base = begin(site)
    visit = base.split("/")[-1]

    def fill(page: str, **typed: object) -> None:
        good(site.send(site.get(f"{base}/{page}"), f"{base}/{page}", **typed))

    def entry(kind: str) -> str:
        return "entry/" + next(e.id for e in desk.read(visit).entries if e.kind == kind)

    fill(
        entry("visit"),
        do="correct",
        kind="periodic",
        client="A. Client",
        firm="Example",
        extent="all of it",
        limitations="none",
        why="agreed",
    )
    furnish(site, base)
    fill("add/instrument", id="tester", name="tester", serial="0000", valid_until="2027-03-01")
    prove(site, base)
    fill("bond/water/joint", shown="0.00", key="digits")
    fill("leads", check="shorted", shown="0.00", key="digits")
    fill("steps", do="isolated", isolated="restored")
    fill(
        entry("supply"),
        do="correct",
        fuse_a="80",
        line_mm2="25",
        phases="1",
        frequency_hz="50",
        u0_v="230",
        why="looked",
    )
    fill("add/report", **REPORT)
    fill("add/origin", **ORIGIN)
    fill("add/board", id="db1", name="Board", where="hall", main_switch="100 A", spd="none")
    fill("add/circuit", **CIRCUIT)
    origin = {"ze..": "0.30", "fault current.L-N.": "0.80", "fault current.L-E.": "0.75", "polarity..": "good"}
    fill("circuits/origin", **{f"c.origin.{k}": v for k, v in origin.items()})
    board = {
        "zdb..": "0.31",
        "fault current.L-N.": "0.78",
        "fault current.L-E.": "0.74",
        "functional..": "good",
        "polarity..": "good",
    }
    fill("circuits/db1", **{f"c.db1.{k}": v for k, v in board.items()})
    fill(
        "circuits/1",
        **{"c.1.zs..": "0.90", "c.1.rcd..x1": "25.0", "c.1.rcd button..": "good", "c.1.polarity..": "good"},
    )
    for stage in STAGES:
        fill("steps", do="isolated", isolated=stage)
    fill("circuits/1", **{"c.1.r1r2..": "0.60", "c.1.insulation.L-E.": ">299", "c.1.insulation.L-N.": ">299"})
    fill("leads", check="shorted", shown="0.00", key="digits")
    items = next(f for f in forms_of(site.get(f"{base}/inspected").text) if f["action"] == f"{base}/inspected")[
        "fields"
    ]
    chosen = {k: "acceptable" for k in items if k not in ("uid", "head") and not k.endswith(".note")}  # type: ignore[union-attr]
    fill("inspected", **chosen)
    while links := re.findall(rf'href="({base}/findings/[0-9a-f]{{12}})"', site.get(f"{base}/findings").text):
        good(site.send(site.get(links[0]), links[0], code="none", reason="seen, and in order"))
    for role in ("inspected and tested by", "authorised for issue"):
        fill("paper/condition-report", do="sign", role=role, name="J. Example", position="inspector")
    a = desk.assess(visit)
    assert a is not None
    assert [m.sentence() for m in missing_fields(a, "condition report")] == []
    path = f"{base}/paper/condition-report"
    issued = site.follow(site.send(site.get(path), path, do="issue"))
    link = re.search(rf'href="({base}/issued/[0-9a-f]{{64}}\.pdf)"', issued.text)
    assert link
    paper = site.get(link[1]).content
    assert paper.startswith(b"%PDF-")
    checked = verify(paper, dt.date(2031, 1, 1))  # judged and printed again from what is inside, years later
    assert {c.name: c.outcome for c in checked.checks} == {
        "record inside": "agrees",
        "record and readings": "agrees",
        "paper and record": "agrees",
    }
    # What comes after the issue voids nothing that was issued.
    fill("steps", do="look", look="water", seen="label put on", holds="yes")
    assert site.get(link[1]).status_code == 200
    assert "void" in text_of(site.get(path))
