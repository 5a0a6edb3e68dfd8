"""The leaflet for the people who live there: each fault with its own consequence, in words of school, over all visits."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import Any

import made
import pytest
import readability
from attrs import evolve

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document, page_of
from earthwright.paper.leaflet import leaflet
from earthwright.report import coding
from earthwright.report.household import KINDS, OF_ITEM, OF_PROPOSAL, of_proposal
from earthwright.report.observations import propose
from earthwright.report.stops import OTHER, PLAIN, stops
from earthwright.site.inspection import PERIODIC_ITEMS
from earthwright.site.particulars import CODES, Observation, Stage
from earthwright.site.tests import ENDS
from earthwright.visitbook import read_text

VISITS = sorted((Path(__file__).parents[1] / "visits").glob("**/*.toml"))
HIGHEST = 7.0  # Flesch-Kincaid grade


def judged(path: Path) -> Assessment | None:
    book = read_text(path.read_text(encoding="utf-8-sig"))
    return assess(book.visit, found=book.findings, broken=book.broken, whole_site=False) if book.visit else None


def taken_up(a: Assessment) -> Assessment:
    """The same visit with every proposal taken up as it was proposed."""
    rows = tuple(Observation(str(i), p.what, p.where, p.about, (p.name,), p.code) for i, p in enumerate(propose(a), 1))
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, observations=rows)))


def grade(sentences: list[str]) -> float:
    """Flesch-Kincaid grade by the library, which takes a sentence a line with its words set apart."""
    lines = [x for s in sentences for x in re.split(r"(?<=[.!?])\s+", s) if re.search("[A-Za-z]", x)]
    text = "\n".join(re.sub(r"([.,:;!?])(?=\s|$)", r" \1", x) for x in lines)
    return float(readability.getmeasures(text, lang="en")["readability grades"]["Kincaid"])


def sentences(a: Assessment) -> list[str]:
    """What the leaflet says in its own words; what the inspector entered stands as it was entered."""
    said: Any = leaflet(a)
    found = [said["head"], said["unseen"], *said["good"], *said["call"], *(words for _, words in said["codes"])]
    for x in (*said["found"], *said["open"]):
        found += [x.get(k, "") for k in ("what", "means", "until", "stage", "by", "who")]
    return [x for x in (*found, *(s.plain for s in stops(a))) if x]


def test_everything_that_is_proposed_or_inspected_has_a_sentence_of_its_own() -> None:
    assert set(OF_ITEM) == {i.id for i in PERIODIC_ITEMS}
    names = {f"test.{t}" for t in (*coding._FAILED, *ENDS)} | set(coding._RUNS_ON)
    assert names <= set(OF_PROPOSAL)
    assert set(OF_PROPOSAL.values()) | set(OF_ITEM.values()) <= set(KINDS)
    assert set(KINDS) <= set(OF_PROPOSAL.values()) | set(OF_ITEM.values()) | {"ring in doubt", "earth high"}
    means = [k.means for k in KINDS.values()]
    assert len(set(means)) > 0.8 * len(means)


def test_each_kind_of_fault_reads_easily() -> None:
    hard = {
        name: round(level, 1)
        for name, k in KINDS.items()
        if (level := grade([x for x in (k.found, k.means, k.until) if x])) > HIGHEST
    }
    assert not hard
    assert grade([*PLAIN.values(), OTHER]) <= HIGHEST


def test_the_measure_can_fail() -> None:
    trade = (
        "Supplementary equipotential bonding conductors interconnecting simultaneously accessible extraneous-conductive-parts "
        "of the installation demonstrate unsatisfactory continuity."
    )
    assert grade([trade]) > 20


def test_the_leaflet_of_every_visit_reads_at_grade_seven_or_below() -> None:
    levels, told = {}, set()
    for path in VISITS:
        if (plain := judged(path)) is None:
            continue
        proposals = propose(plain)
        levels[path.stem] = max(grade(sentences(a)) for a in ((plain, taken_up(plain)) if proposals else (plain,)))
        for p in proposals:
            kind = of_proposal(p)
            assert kind.found or p.name == "look", f"{path.stem}: {p.name} has no words"
            told.add(p.name)
    assert len(levels) > 120
    assert len(told) > 20
    print(
        f"highest grade {max(levels.values()):.1f}, mean {sum(levels.values()) / len(levels):.1f} over {len(levels)} visits"
    )
    assert {k: round(v, 1) for k, v in levels.items() if v > HIGHEST} == {}


def with_stage(a: Assessment, *stages: Stage, code: str = "C2") -> Assessment:
    o = Observation("1", "The cover is cracked.", "hall", "board-enclosure", (), code, stages=stages)
    papers = evolve(a.visit.paperwork, observations=(o,))
    return evolve(a, visit=evolve(a.visit, paperwork=papers))


@pytest.mark.parametrize("code", CODES)
def test_it_says_by_when_and_by_whom(code: str) -> None:
    said = page_of(with_stage(made.job(2, 0, 0), code=code), "leaflet")["leaflet"]
    assert isinstance(said, dict)
    (row,) = said["found"]
    assert "Fingers could reach live parts" in row["means"]
    assert row["who"]
    expected = {"C1": "now.", "C2": "17 December 2026 at the latest", "FI": "17 December 2026", "C3": "when it suits"}
    assert row["by"].startswith(expected[code])
    assert [x["what"] for x in said["now"]] == (["The cover is cracked."] if code == "C1" else [])


def test_what_was_put_right_asks_for_nothing_more() -> None:
    a = made.job(2, 0, 0)
    day = a.visit.date
    said = page_of(with_stage(a, Stage("remedied", day), Stage("confirmed", day, seen="looked")), "leaflet")["leaflet"]
    assert isinstance(said, dict)
    assert said["head"] == "All that we found has been put right."
    assert (said["found"][0]["by"], said["found"][0]["means"], said["found"][0]["who"]) == ("", "", "")


def test_it_is_the_first_page_of_the_condition_report_if_asked_for(tmp_path: Path) -> None:
    a = made.job(2, 1, 1)
    report = evolve(a.visit.paperwork.report, leaflet=True)
    with_it = evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, report=report)))
    assert page_of(a, "condition report")["leaflet"] is None
    assert page_of(with_it, "condition report")["leaflet"] == page_of(a, "leaflet")["leaflet"]

    (tmp_path / "d.pdf").write_bytes(make_document(with_it, "condition report"))
    done = subprocess.run(["pdftotext", tmp_path / "d.pdf", "-"], capture_output=True, text=True, check=True)
    firsts = [page.strip().split("\n")[0] for page in done.stdout.split("\f")]
    assert firsts[0] == "For the people who live here"
    assert "Electrical installation condition report" in firsts[1:3]
