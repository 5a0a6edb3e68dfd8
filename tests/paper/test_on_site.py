"""What is carried and what is left at the place: expected bands beside empty boxes, the isolation notice, labels and tags."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import made
import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.assess.circuits.ahead import ahead
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import missing_fields, page_of
from earthwright.visitbook import read_text

COMPLETE = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")
RING = """
[[circuit]]
id = "3"
board = "db1"
name = "Ring"
kind = "ring"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 40
length_tol_m = 0
device = { standard = "BS EN 60898", type = "B", rating_a = 32 }
"""


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    return assess(book.visit, found=book.findings, broken=book.broken)


def test_what_is_expected_follows_from_length_size_device_and_rules_without_a_reading() -> None:
    a = judged(COMPLETE.replace("[[step]]", RING + "[[step]]", 1).replace("[supply]", "[supply]\nze_ohm = 0.35", 1))
    assert ahead(a.visit) == ahead(evolve(a.visit, events=())), "no reading moves it"
    one, ring = ahead(a.visit)["1"], ahead(a.visit)["3"]
    # 22 m of 2.5 and 1.5 mm² at 20 °C or below: 7.41 + 12.1 mΩ/m (IEC 60228, table 2), and 0.05 Ω of connections.
    assert one.r1r2 is not None
    assert one.r1r2.high == pytest.approx(22 * 0.01951 + 0.05, abs=0.012)
    assert one.zs == pytest.approx(0.35 + one.r1r2.high, abs=0.001)
    assert (one.zs_most, one.zs_cold) == (pytest.approx(2.19), pytest.approx(2.19 * 0.8))  # B20, 0.4 s; 0.8 by custom
    assert (one.insulation, one.rcd_ms) == (1.0, 300.0)
    assert one.r1 is None
    assert ring.r1 is not None
    assert ring.r2 is not None
    assert ring.r1.high == pytest.approx(40 * 0.00741, abs=0.02)
    assert ring.r2.high / ring.r1.high == pytest.approx(12.1 / 7.41, rel=0.001)
    assert ring.rcd_ms is None


def test_the_sheet_to_carry_holds_no_reading_and_a_box_for_each() -> None:
    page: Any = page_of(judged(COMPLETE), "sheet to carry")
    row = page["boards"][0]["rows"][0]
    assert row[0] == "1"
    assert row[2:4] == ["–", "–"], "no ring"
    assert row[8] == "hot to 2.19, cold to 1.75"
    assert row[4].startswith("0.3")
    assert "0.37" not in str(page["boards"]), "the reading of R1+R2"
    assert page["bonds"][0]["expected"][1] == "", "a path through unknown metal can be anything"
    bare = judged('[visit]\nplace = "1 Test Row"\ndate = 2026-11-20\n')
    assert [m.what for m in missing_fields(bare, "sheet to carry")] == [
        "Sheet to carry: A bond or a circuit to measure"
    ]


def test_the_isolation_notice_tells_what_is_off_only_while_it_is() -> None:
    before, _, _ = COMPLETE.partition('[[step]]\nisolated = "restored"')
    off: Any = page_of(judged(before.rpartition('[[step]]\non = "earthing"')[0]), "isolation notice")
    assert (off["what"], off["unearthed"]) == ("The supply of this installation", ["earthing"])
    back: Any = page_of(judged(COMPLETE), "isolation notice")
    assert (back["what"], back["unearthed"]) == ("", [])


def test_a_tag_says_proved_only_of_a_bond_that_is() -> None:
    page: Any = page_of(judged(COMPLETE), "labels and tags")
    tags = [x for x in page["labels"] if x["title"] == "Bond, water service"]
    assert len(tags) == 2
    assert all("Measured and proved whole on 20 November 2026" in x["lines"] for x in tags)
    assert any(x["title"] == "Locked off. Do not switch on." for x in page["labels"])
    assert any("To be inspected again by 19 November 2031" in x["lines"] for x in page["labels"])
    unread: Any = page_of(judged(COMPLETE.partition("[[step]]")[0]), "labels and tags")
    assert not any("proved" in line for x in unread["labels"] for line in x["lines"])
    assert page_of(made.job(12, 0, 0), "labels and tags")["labels"][0]["wide"]  # type: ignore[index]
