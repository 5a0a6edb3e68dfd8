"""The visit before: found by place and day, and held beside this one; what is kept rests on the visit alone."""

from __future__ import annotations

import datetime as dt
import io
import json
from pathlib import Path

import pikepdf
import pytest

from earthwright.desk import Desk
from earthwright.desk.last_visit import same_place
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document
from earthwright.paper.verify import verify

BOARD = (Path(__file__).parents[1] / "visits" / "24-ragged-board.toml").read_text(encoding="utf-8")
PLACE = "12 Perrin Gardens, Stellbridge"
TODAY = dt.date(2026, 11, 20)


def on(date: str, place: str = PLACE) -> str:
    return BOARD.replace("2026-11-20", date).replace(PLACE, place)


def families(a: Assessment | None) -> set[str]:
    assert a is not None
    return {f.family for f in a.findings}


def test_the_latest_earlier_visit_to_the_place_is_the_one_before(desk: Desk) -> None:
    now = desk.take_in(on("2026-11-20"))
    assert desk.before(now) == ""
    old = desk.take_in(on("2016-05-02"))
    assert desk.before(now) == old
    desk.take_in(on("2026-11-25"))  # later than this one
    desk.take_in(on("2021-05-02", "14 Perrin Gardens, Stellbridge"))  # next door
    assert desk.before(now) == old
    newer = desk.take_in(on("2021-05-02", "12 PERRIN GARDENS  Stellbridge"))
    assert desk.before(now) == newer
    assert desk.before(newer) == old
    same_day = desk.take_in(on("2021-05-02") + "\n# the same day, begun later\n")
    assert desk.before(now) == same_day


def test_the_same_day_is_not_an_earlier_visit(desk: Desk) -> None:
    desk.take_in(on("2026-11-20"))
    again = desk.take_in(on("2026-11-20"), again=True)
    assert desk.before(again) == ""
    assert "rows.carried_over" not in families(desk.assess(again))


def test_a_heading_corrected_struck_or_erased_is_seen_at_the_next_question(desk: Desk) -> None:
    now, old, older = desk.take_in(on("2026-11-20")), desk.take_in(on("2021-05-02")), desk.take_in(on("2016-05-02"))
    assert desk.before(now) == old
    heading = next(e for e in desk.read(old).entries if e.kind == "visit")
    wrong = desk.correct(heading.id, {**heading.body, "place": "Somewhere else"}, "typed in the wrong visit")
    assert desk.before(now) == older
    desk.strike(wrong.id, "it was right after all")
    assert desk.before(now) == old
    desk.erase(old, "asked for by the client", "A. Keeper")
    assert desk.before(now) == older
    desk.erase(older, "asked for by the client", "A. Keeper")  # two erased places are not the same place
    assert desk.before(now) == desk.before(old) == ""


def test_a_visit_that_cannot_be_read_is_passed_over(desk: Desk) -> None:
    now, old = desk.take_in(on("2026-11-20")), desk.take_in(on("2016-05-02"))
    late = desk.start(PLACE, date="2024-02-30")
    assert desk.read(late).book.visit is None
    assert desk.before(now) == old
    assert desk.before(late) == ""
    assert desk.assess(late, today=TODAY) is None


def test_a_visit_begun_from_a_later_one_says_that_a_date_is_wrong(desk: Desk) -> None:
    desk.take_in(on("2016-05-02"))
    late = desk.take_in(on("2026-12-20"))
    now = desk.next_visit(late, "2026-11-20")
    assert desk.before(now) == late
    assert "times.date" in {f.family for f in desk.assess(now).findings if "before the last one" in f.what}  # type: ignore[union-attr]


def test_two_desks_at_one_journal_see_what_the_other_kept(desk: Desk, tmp_path: Path) -> None:
    now = desk.take_in(on("2026-11-20"))
    assert desk.before(now) == ""
    other = Desk(tmp_path / "journal.sqlite")
    old = other.take_in(on("2021-05-02"))
    other.close()
    assert desk.before(now) == old


def test_only_what_was_written_since_is_read_again(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    now, old = desk.take_in(on("2026-11-20")), desk.take_in(on("2021-05-02"))
    assert desk.before(now) == old
    asked: list[str] = []
    events = desk.store.events
    monkeypatch.setattr(desk.store, "events", lambda visit="", **more: asked.append(visit) or events(visit, **more))
    desk.add(old, "step", {"note": "more"})
    assert desk.before(now) == old
    assert asked == [old]  # read as the visit it is, not as one of the journal
    newer = desk.start(PLACE, date="2024-01-01")
    assert desk.before(now) == newer
    assert asked == [old, newer, newer]
    assert desk.before(now) == newer
    assert len(asked) == 3


def test_digits_of_the_last_visit_and_days_to_come_are_spoken_of(desk: Desk) -> None:
    now = desk.take_in(on("2026-11-20"))
    assert "rows.carried_over" not in families(desk.assess(now, today=TODAY))
    old = desk.take_in(on("2021-05-02"))
    said = [f for f in desk.assess(now, today=TODAY).findings if f.family == "rows.carried_over"]  # type: ignore[union-attr]
    assert len(said) == 1
    assert "2021-05-02" in said[0].what
    early = {f.what for f in desk.assess(now, today=dt.date(2026, 11, 19)).findings}  # type: ignore[union-attr]
    assert "The visit is dated in the future." in early
    assert "The visit is dated in the future." not in {f.what for f in desk.assess(now, today=TODAY).findings}  # type: ignore[union-attr]
    assert desk.assess(now, today=TODAY) is desk.assess(now, today=TODAY)
    heading = next(e for e in desk.read(old).entries if e.kind == "visit")
    desk.correct(heading.id, {**heading.body, "place": "Somewhere else"}, "the wrong place")  # not a change of this one
    assert "rows.carried_over" not in families(desk.assess(now, today=TODAY))


def test_what_is_kept_rests_on_the_visit_alone(desk: Desk) -> None:
    now = desk.take_in(on("2026-11-20"))
    before = desk.record(now)
    made = make_document(before, "evidence sheet", book=desk.as_visit_book(now), draft=True)  # type: ignore[arg-type]
    desk.take_in(on("2021-05-02"))
    assert "rows.carried_over" in families(desk.assess(now, today=dt.date(2020, 1, 1)))
    assert desk.record(now) == before
    again = make_document(desk.record(now), "evidence sheet", book=desk.as_visit_book(now), draft=True)  # type: ignore[arg-type]
    assert again == made
    with pikepdf.open(io.BytesIO(again)) as pdf:
        record = json.loads(pdf.attachments["record.json"].get_file().read_bytes())
    assert "rows.carried_over" not in {f["family"] for f in record["findings"]}
    for day in (dt.date(2020, 1, 1), dt.date(2031, 1, 1)):
        found = verify(again, day)
        assert found.agrees, found.checks
        assert {c.outcome for c in found.checks} == {"agrees"}


@pytest.mark.parametrize(
    ("a", "b", "same"),
    [
        ("12 Perrin Gardens, Stellbridge", "12 perrin gardens stellbridge", True),
        ("12 Perrin Gardens", "12 Perrin Gardens, Stellbridge", False),
        ("12 Perrin Gardens", "12A Perrin Gardens", False),
        ("[erased]", "[missing]", True),
    ],
)
def test_places_are_compared_by_their_words(a: str, b: str, same: bool) -> None:
    assert (same_place(a) == same_place(b)) is same
    assert same_place("[erased]") == same_place("[missing]") == ""


def test_the_printed_record_of_an_export_agrees_when_it_is_judged_again(desk: Desk) -> None:
    now = desk.take_in(on("2026-11-20"))
    desk.take_in(on("2021-05-02"))
    paper = desk.paper_of(desk.read(now))
    assert paper is not None
    assert {c.outcome for c in verify(paper, dt.date(2031, 1, 1)).checks} == {"agrees"}
