"""Under which words each signature stands, who signs once, and what the schedules say beside their figures."""

from __future__ import annotations

from pathlib import Path

import made
import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.boards import board_schedule
from earthwright.paper.circuits import DETAILS, RESULTS
from earthwright.paper.contents import LEGEND
from earthwright.paper.declarations import declarations
from earthwright.paper.documents import page_of
from earthwright.paper.kinds import CERTIFICATE, MINOR, RECORD, REPORT
from earthwright.paper.requirements import missing_fields
from earthwright.report.coding import edition_if_any
from earthwright.rules import clause_of
from earthwright.site.inspection import ITEMS, PERIODIC_ITEMS, SPLIT
from earthwright.site.particulars import AUTHORISED, BUILT, DESIGNED, TESTED, Observation, Sign
from earthwright.visitbook import read_text

COMPLETE = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")


def changed(a: Assessment, **papers: object) -> Assessment:
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, **papers)))


def reported(a: Assessment, **fields: object) -> Assessment:
    return changed(a, report=evolve(a.visit.paperwork.report, **fields))


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None, [f.sentence() for f in book.findings]
    return assess(book.visit)


# ---- what a signature certifies ----


def test_one_person_in_three_roles_signs_once_under_one_statement() -> None:
    first, second = declarations(made.job(2, 0, 0), CERTIFICATE)
    assert first.roles == (DESIGNED, BUILT, TESTED)
    assert "the design, the construction and the inspection and test" in first.statement
    assert second.roles == (AUTHORISED,)
    assert "I release it" in second.statement


def test_other_hands_sign_under_their_own_part() -> None:
    a = made.job(2, 0, 0)
    signs = tuple(
        evolve(s, name="D. Esigner", position="engineer") if s.role == DESIGNED else s for s in a.visit.paperwork.signs
    )
    mine = declarations(changed(a, signs=signs), CERTIFICATE)
    assert [d.roles for d in mine] == [(DESIGNED,), (BUILT, TESTED), (AUTHORISED,)]
    assert "the construction" not in mine[0].statement
    assert "design" not in mine[1].statement
    assert "results" not in mine[0].statement


def test_nobody_signed_yet_a_block_for_each_role() -> None:
    a = made.job(2, 0, 0, signed=False)
    mine = declarations(a, CERTIFICATE)
    assert [d.roles for d in mine] == [(DESIGNED,), (BUILT,), (TESTED,), (AUTHORISED,)]
    assert {d.as_texts()["state"] for d in mine} == {"Not signed."}
    assert [d.as_texts()["name"] for d in mine] == ["", "", "J. Example", "P. Sample"]


def test_the_second_signature_is_asked_for_where_a_supervisor_is_named() -> None:
    a = made.job(2, 0, 0)
    alone = changed(a, signs=tuple(s for s in a.visit.paperwork.signs if s.role != AUTHORISED))
    assert [m.what for m in missing_fields(alone, CERTIFICATE)] == [f"Signature: {AUTHORISED}"]
    assert missing_fields(reported(alone, supervisor=""), CERTIFICATE) == []


def test_departures_stand_in_the_sentence_that_is_signed() -> None:
    a = made.job(2, 0, 0)
    assert "without departures" in declarations(a, CERTIFICATE)[0].statement
    other = reported(a, departures="the route of circuit C1, drawing 7")
    assert "but for these departures: the route of circuit C1, drawing 7" in declarations(other, MINOR)[0].statement
    assert "not stated" in declarations(reported(a, departures=""), CERTIFICATE)[0].statement


def test_existing_work_is_signed_for_within_extent_and_limitations() -> None:
    a = made.job(2, 0, 0)
    (tested, _) = declarations(a, REPORT)
    assert tested.roles == (TESTED,)
    for words in ("skill and care", "Extent", "limitations", "I say nothing", "BS 7671"):
        assert words in tested.statement
    limited = evolve(a, visit=evolve(a.visit, limitations=("loft not reached: boarded over",)))
    assert "loft not reached" in str(page_of(limited, RECORD)["declaration"])


def test_a_voided_signature_is_shown_once_and_void() -> None:
    a = made.job(2, 0, 0)
    old = tuple(Sign(TESTED, "J. Example", f"2026-11-2{n}T10:00", content="beef" * 16) for n in range(3))
    mine = declarations(changed(a, signs=old), MINOR)
    assert [(d.roles, d.as_texts()["void"]) for d in mine] == [((TESTED,), True), ((AUTHORISED,), True)]
    again = declarations(changed(a, signs=(*old, *a.visit.paperwork.signs)), MINOR)
    assert not again[0].as_texts()["void"]


def test_ink_is_not_called_signed_before_it_is() -> None:
    a = made.job(2, 0, 0)
    pen = tuple(evolve(s, how="pen") for s in a.visit.paperwork.signs)
    assert {d.as_texts()["state"] for d in declarations(changed(a, signs=pen), CERTIFICATE)} == {
        "Given once it is signed in ink above."
    }


# ---- the schedule of inspections ----


def test_it_is_fine_enough_each_line_with_clause_and_number() -> None:
    assert 60 <= len(PERIODIC_ITEMS) <= 80
    assert len({i.number for i in PERIODIC_ITEMS}) == len(PERIODIC_ITEMS)
    assert len({i.id for i in ITEMS}) == len(ITEMS)
    assert all(clause_of(edition_if_any(made.job(2, 0, 0)), i.rule) for i in ITEMS)


def test_names_of_earlier_visit_books_are_read_as_the_lines_they_became() -> None:
    ids = {i.id for i in ITEMS}
    assert not set(SPLIT) & ids
    assert {line for lines in SPLIT.values() for line in lines} <= ids
    text = made.BOOK + "".join(("[inspected]\n", *(f'{old} = "acceptable"\n' for old in SPLIT)))
    a = judged(text)
    assert {i.item for i in a.visit.paperwork.inspected} == {line for lines in SPLIT.values() for line in lines}
    mixed = judged(made.BOOK + '[inspected]\nboard-heat = "C2: scorched"\nboard-fixed = "acceptable"\n')
    assert {(i.item, i.outcome) for i in mixed.visit.paperwork.inspected} == {
        ("board-firm", "acceptable"),
        ("board-enclosure", "acceptable"),
        ("board-heat", "C2"),
    }


def test_line_and_observation_name_each_other() -> None:
    a = made.job(2, 0, 0)
    inspected = tuple(
        evolve(i, outcome="C2", note="scorched") if i.item == "board-heat" else i for i in a.visit.paperwork.inspected
    )
    seen = Observation("7", "The cover is scorched", "main board", "board-heat", (), "C2")
    page = page_of(changed(a, inspected=inspected, observations=(seen,)), REPORT)
    number = next(i.number for i in PERIODIC_ITEMS if i.id == "board-heat")
    lines = [i for g in page["inspection"] for i in g["items"]]  # type: ignore[attr-defined]
    assert [(i["number"], i["outcome"], i["observations"]) for i in lines if i["observations"]] == [
        (number, "C2", ["7"])
    ]
    assert [o["lines"] for o in page["observations"]] == [[number]]  # type: ignore[attr-defined]


def test_a_limitation_needs_its_reason() -> None:
    a = made.job(2, 0, 0)
    inspected = tuple(evolve(i, outcome="LIM") if i.item == "circuit-seals" else i for i in a.visit.paperwork.inspected)
    asked = [m.what for m in missing_fields(changed(a, inspected=inspected), REPORT)]
    assert "Reason for the limitation of 'circuit-seals'" in asked
    told = tuple(evolve(i, note="no loft hatch") if i.outcome == "LIM" else i for i in inspected)
    assert not any("limitation" in m.what for m in missing_fields(changed(a, inspected=told), REPORT))


# ---- the condition report ----


def test_the_next_inspection_is_subject_to_the_work_that_the_codes_ask_for() -> None:
    def subject(a: Assessment) -> str:
        groups = page_of(a, REPORT)["groups"]
        fields = {f["label"]: f["value"] for g in groups for f in g["fields"]}  # type: ignore[attr-defined]
        return str(fields["Subject to"])

    assert (
        subject(made.job(4, 3, 1))
        == "Only once observations 1, 3 (C2) are put right and observation 2 (FI) is looked into"
    )
    assert subject(made.job(2, 0, 0)).startswith("No work is asked for first")


def test_the_last_inspection_may_be_one_that_nobody_knows_of() -> None:
    a = made.job(2, 0, 0)
    unknown = reported(a, previous=None, previous_number="none known")
    assert not any("Last inspection" in m.what for m in missing_fields(unknown, REPORT))
    blank = reported(a, previous=None, previous_number="")
    assert any("Last inspection" in m.what for m in missing_fields(blank, REPORT))


# ---- the schedule of circuits ----


def highest(a: Assessment) -> list[str]:
    column = [head for head, *_ in DETAILS].index("Highest Zs Ω")
    return [row[column] for row in board_schedule(a, a.boards[0]).details]


def test_the_highest_zs_follows_from_the_device_with_or_without_a_reading() -> None:
    """BS 7671 table 41.3: type B 20 A 2.19 Ω, 6 A 7.28 Ω."""
    head, rest = COMPLETE.split('[[step]]\nread = "zs"\nof = "1"')
    unread = head + rest[rest.index("[[step]]") :]
    assert highest(judged(COMPLETE)) == highest(judged(unread)) == ["2.19", "7.28"]
    high = judged(
        COMPLETE.replace('of = "1"\npoint = "far end"\nshown = 0.60', 'of = "1"\npoint = "far end"\nshown = 2.60')
    )
    assert highest(high)[0] == "2.19"
    nameless = COMPLETE.replace('standard = "BS EN 61009", type = "B", rating_a = 20, ', "")
    assert highest(judged(nameless))[0] == ""


def test_a_loop_that_its_residual_current_device_makes_good_says_so() -> None:
    """2.60 Ω is more than the 2.19 Ω of the overcurrent device, and far less than 50 V / 30 mA."""
    text = COMPLETE.replace("r1r2 = 0.37", "r1r2 = 2.20").replace("shown = 0.60", "shown = 2.60")
    a = judged(text)
    remark = board_schedule(a, a.boards[0]).results[0][-1]
    assert "the residual current device disconnects" in remark
    assert "Zs above" not in board_schedule(judged(COMPLETE), judged(COMPLETE).boards[0]).results[0][-1]


@pytest.mark.parametrize(("failing", "printed"), [(0, "0.50"), (1, "2.93 ✗")])
def test_a_result_that_fails_bears_a_sign(failing: int, printed: str) -> None:
    a = made.job(2, 0, failing)
    schedules = page_of(a, REPORT)["schedules"]
    zs = [row[RESULTS.index("Zs Ω")] for row in schedules[0]["results"]]  # type: ignore[index]
    assert zs[0 if failing else 1] == printed
    values = [row[i] for row in schedules[0]["results"] for i in range(len(RESULTS) - 1)]  # type: ignore[index]
    assert sum(v.endswith("✗") for v in values) == failing


def test_what_the_signs_and_words_mean_stands_on_the_page() -> None:
    for words in ("✗ beside", "? beside", "> and <", "LIM:", "N/A:", "N/V:", "No rule:"):
        assert words in LEGEND


@pytest.mark.parametrize(("breaking", "sign"), [("6", ""), ("1", " ? not decided")])
def test_a_value_outside_the_rows_that_is_left_open_bears_its_sign_and_the_word(breaking: str, sign: str) -> None:
    """Devices marked 1 kA, and 1.05 kA that flows at the board: whether the assembly is claimed for it is left open."""
    a = judged(COMPLETE.replace("breaking_ka = 6,", f"breaking_ka = {breaking},"))
    assert {x: value for x, value, _ in board_schedule(a, a.boards[0]).facts}["Ipf at the board"] == f"1.05 kA{sign}"


def test_the_highest_reading_of_an_electrode_that_fails_bears_its_sign() -> None:
    """411.5.3: RA · IΔn ≤ 50 V; 30 mA allow 1667 Ω, and 1900 Ω are more."""
    text = COMPLETE.replace('system = "TN-C-S"\npme = true\nneutral_at_most_mm2 = 35\n', 'system = "TT"\npme = false\n')
    text = text.replace('earthing = "distributor"', 'earthing = "electrode"')
    text += '[[electrode]]\nid = "rod"\nkind = "rod"\nwhere = "garden"\n'
    ze = 'method = "two-lead"\nshown = 0.21\n'  # read while the earthing conductor is off
    for shown, printed in (("190", "190 Ω"), ("1900", "1900 Ω ✗ fails")):
        rod = f'[[step]]\nread = "electrode"\nof = "rod"\nmethod = "rod alone"\nshown = {shown}\n'
        groups = page_of(judged(text.replace(ze, ze + rod)), CERTIFICATE)["groups"]
        fields = {f["label"]: f["value"] for g in groups for f in g["fields"]}  # type: ignore[attr-defined]
        assert fields["Electrode, resistance"] == printed


def test_every_particular_is_in_the_record_and_may_come_as_text_or_tables() -> None:
    """Declared once: what the page, the visit book and the record call it is one name."""
    from earthwright.report.record import to_json

    report = to_json(judged(COMPLETE))["visit"]["paperwork"]["report"]  # type: ignore[index]
    for key in ("firm_address", "firm_phone", "firm_body", "firm_number", "supervisor", "general", "concealed"):
        assert report[key]
    assert (report["alterations_years"], report["previous_number"]) == (11, "A-3")
