"""A whole visit by forms alone: from an empty journal to an issued document, without script."""

from __future__ import annotations

import datetime as dt
import re

from asked import Site, text_of

from earthwright.desk.anchors import printed_from
from earthwright.paper.verify import verify
from earthwright.web.words import say
from earthwright.web.work import open_for


def begin(site: Site) -> str:
    page = site.get("/new")
    answer = site.send(
        page, "/new", place="1 Test Row, Nowhere", date="2026-11-20", kind="bonding", inspector="J. Example"
    )
    assert answer.status_code == 303
    return answer.headers["location"].rstrip("/")


def furnish(site: Site, base: str) -> None:
    """Supply, leads, instrument, one part with its bond."""
    site.send(
        site.get(f"{base}/add/supply"),
        f"{base}/add/supply",
        system="TN-C-S",
        pme="yes",
        neutral_at_most_mm2="35",
        earthing_mm2="16",
    )
    site.send(site.get(f"{base}/add/leads"), f"{base}/add/leads", id="long", allowed="nulled", null_ohm="0.21")
    site.send(site.get(f"{base}/add/part"), f"{base}/add/part", kind="water", name="Water service")
    answer = site.send(
        site.get(f"{base}/add/bond?part=water"), f"{base}/add/bond", csa_mm2="10", length_m="16", length_tol_m="1"
    )
    assert answer.headers["location"] == f"{base}/bond/water"


def prove(site: Site, base: str) -> None:
    """The three readings of a bond, with every step that must come first."""
    here = f"{base}/bond/water/conductor"
    for do, typed in (
        ("clamp", {"shown": "0.31", "load": "main switch on"}),
        ("isolate", {"isolated": ["locked", "tester proved", "dead", "tester proved again"]}),
        ("clamp_again", {"shown": "0.04", "load": "main switch off"}),
        ("leads", {"shown": "0.00"}),
        ("off", {}),
        ("read", {"shown": "0.03", "key": "digits"}),
    ):
        page = site.get(here)
        answer = site.send(page, here, do=do, **typed)
        assert answer.status_code == 303, (do, text_of(answer))
    path = f"{base}/bond/water/path"
    site.follow(site.send(site.get(path), path, do="read", shown="", key="over"))
    together = f"{base}/bond/water/together"
    site.follow(site.send(site.get(together), together, do="on"))
    site.follow(site.send(site.get(together), together, do="read", shown="0.03", key="digits"))
    leads = f"{base}/leads?bond=water"  # the leads are shorted again: only then do the readings count
    said = text_of(site.follow(site.send(site.get(leads), leads, shown="", key="zero")))
    assert "proved" in said


def test_from_an_empty_journal_to_an_issued_document(site: Site) -> None:
    assert say("visits.empty") in text_of(site.get("/"))
    base = begin(site)
    furnish(site, base)
    prove(site, base)
    joint = f"{base}/bond/water/joint"
    site.follow(site.send(site.get(joint), joint, do="read", shown="0.00", key="digits"))
    leads = f"{base}/leads"
    site.follow(site.send(site.get(leads), leads, check="shorted", shown="0.00", key="digits"))
    now = text_of(site.get(f"{base}/"))
    assert "1 proved, 0 disproved, 0 not shown" in now
    assert say("now.blocks_none") in now
    record = f"{base}/paper/bonding-record"
    page = site.follow(site.send(site.get(record), record, do="issue"))
    link = re.search(rf'href="({base}/issued/[0-9a-f]{{64}}\.pdf)"', page.text)
    assert link
    pdf = site.get(link[1])
    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.content.startswith(b"%PDF-")
    assert "issued" in text_of(site.get("/"))
    inside = verify(
        pdf.content, dt.date(2026, 11, 20)
    )  # nobody signed: only the issue itself says what it was printed from
    assert printed_from(site.desk, inside.content, (), inside.journal) == (base.split("/")[2], 0, "")


def test_the_demo_visit_offers_its_next_step(site: Site, demo: str) -> None:
    now = site.get(f"{demo}/")
    assert "1 proved, 1 disproved, 1 not shown" in text_of(now)
    link = re.search(r'class="card next".*?class="button" href="([^"]+)"', now.text, re.S)
    assert link
    assert link[1] == f"{demo}/bond/gas/conductor"
    assert say("stage.off") in text_of(site.get(link[1]))
    assert site.post("/demo").headers["location"] == f"{demo}/"  # opened again, not made again


def test_a_bond_in_use_is_not_opened_until_its_gates_are_open(site: Site) -> None:
    base = begin(site)
    furnish(site, base)
    here = f"{base}/bond/water/conductor"
    before = site.events(base.split("/")[-1])
    answer = site.post(here, {"do": "off"})
    assert answer.status_code == 422
    assert "clamp meter" in text_of(answer)
    answer = site.post(here, {"do": "read", "shown": "0.03"})
    assert answer.status_code == 422
    assert site.events(base.split("/")[-1]) == before


def test_a_closed_gate_is_passed_only_by_a_signed_reason(site: Site) -> None:
    base = begin(site)
    furnish(site, base)
    here = f"{base}/bond/water/conductor"
    for do, typed in (
        ("clamp", {"shown": "3.10", "load": "main switch on"}),
        ("isolate", {"isolated": ["locked", "tester proved", "dead", "tester proved again"]}),
        ("clamp_again", {"shown": "2.90", "load": "main switch off"}),
        ("leads", {"shown": "0.00"}),
    ):
        assert site.send(site.get(here), here, do=do, **typed).status_code == 303
    page = site.get(here)
    assert "carries" in text_of(page)
    refused = site.send(page, here, do="override", reason="", by="J. Example")
    assert refused.status_code == 422
    assert say("wrong.why") in text_of(refused)
    assert (
        site.send(site.get(here), here, do="override", reason="New bond in parallel first", by="J. Example").status_code
        == 303
    )
    page = site.get(here)
    assert "J. Example carried on: New bond in parallel first" in text_of(page)
    assert site.send(page, here, do="off").status_code == 303


def test_a_second_visit_takes_over_the_building_and_no_reading(site: Site, demo: str) -> None:
    page = site.get("/new?after=demo-visit")
    answer = site.send(page, "/new", place="12 Thornwick Lea, Harrowby Marsh", date="2026-11-24", after="demo-visit")
    base = answer.headers["location"].rstrip("/")
    now = text_of(site.get(f"{base}/"))
    assert "0 proved, 0 disproved, 3 not shown" in now
    compared = text_of(site.get(f"{base}/compare"))
    assert "measured at one visit only" in compared


def test_a_ring_is_drawn_as_its_sockets_are_entered(site: Site, demo: str) -> None:
    here = f"{demo}/circuits/2"
    answer = site.send(site.get(here), here, **{"p.3.ln": "0.19", "p.3.le": "0.25"})
    assert answer.status_code == 303, text_of(answer)
    assert site.desk.read("demo-visit").entries[-1].body["point"] == "window"


def test_entry_along_a_test_writes_every_row(site: Site, demo: str) -> None:
    here = f"{demo}/along/insulation|L-E|"
    page = site.get(here)
    before = site.events("demo-visit")
    answer = site.send(page, here, **{"c.1.insulation.L-E.": ">299", "c.3.insulation.L-E.": "55.0"})
    assert answer.status_code == 303, text_of(answer)
    assert site.events("demo-visit") == before + 2
    assert "55.0 MΩ" in text_of(site.follow(answer))


def test_a_part_is_judged_from_its_reading(site: Site) -> None:
    base = begin(site)
    site.send(site.get(f"{base}/add/part"), f"{base}/add/part", kind="water", name="Water service")
    here = f"{base}/circuits/water"
    assert "not decided" in text_of(site.get(here))
    refused = site.send(site.get(here), here, **{"c.water.extraneous..": "900 kΩ"})
    assert refused.status_code == 422  # nothing is isolated yet
    assert "Isolation is not proved" in text_of(refused)
    steps = f"{base}/steps"
    for stage in ("locked", "tester proved", "dead", "tester proved again"):
        site.send(site.get(steps), steps, do="isolated", isolated=stage)
    assert site.send(site.get(here), here, **{"c.water.extraneous..": "900 kΩ"}).status_code == 303
    assert "leave" in text_of(site.get(here))
    whole = site.desk.assess(base.split("/")[-1])
    assert whole is not None
    quick = open_for(site.desk, base.split("/")[-1], "water").a
    assert quick is not None
    assert quick.parts == whole.parts
