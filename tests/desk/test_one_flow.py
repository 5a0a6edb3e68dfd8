"""One flow: what a page asks of one thing is what is judged of it among all, and a visit read on is the visit read anew."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from attrs import evolve
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from earthwright.assess import assess, earth, rulings
from earthwright.assess.bond import weighed
from earthwright.desk import Desk, undo
from earthwright.desk.intake import book_drafts
from earthwright.gates import support
from earthwright.outcomes.assessment import Assessment
from earthwright.records import Draft
from earthwright.records.event import Kept
from earthwright.records.replay import Replayed, replay, replay_on
from earthwright.report.record import as_text
from earthwright.site.events import ORIGIN
from earthwright.visitbook import read_text

VISITS = Path(__file__).parents[1] / "visits"
BOOKS = [*sorted(VISITS.glob("*.toml")), *sorted((VISITS / "practice").glob("*.toml"))]
# What people write when they are in a hurry: nothing, what is not there, two things at once, a check that cannot be.
ODD_STEPS: list[dict[str, object]] = [
    {},
    {"off": "nothing of that name"},
    {"on": "all"},
    {"check": "shorted", "shown": "99"},
    {"clamp": "water", "shown": "soon"},
    {"read": "zs", "of": "c1", "shown": "0.5", "point": "12 m"},
    {"read": "together", "bond": "water", "shown": "1,2"},
    {"tests": {"r1r2": "0.4", "polarity": "good"}, "of": "1", "point": "7 m"},
    {"isolated": "dead", "look": "water"},
    {"repair": "water@part", "remade": "new clamp"},
]
# What is done at a bond beside which the boiler's protective conductor leads, in any order.
GOOD_STEPS: list[dict[str, object]] = [
    {"off": "gas"},
    {"on": "gas"},
    {"read": "conductor", "bond": "gas", "shown": "0.04"},
    {"read": "together", "bond": "gas", "shown": "0.03"},
    {"isolated": "restored"},
]


def things_of(a: Assessment) -> list[str]:
    site = a.visit.site
    of_site = (x.id for some in (site.circuits, site.boards, site.electrodes, site.parts, site.bonds) for x in some)
    return list(dict.fromkeys((ORIGIN, *of_site)))


def said_of(a: Assessment, of: str) -> list[object]:
    """Everything that a page of one thing may show."""
    return [
        [c for b in a.boards for c in b.circuits if c.circuit.id == of],
        [b for b in a.boards if b.board.id == of],
        [b for b in a.bonds if of in (b.bond.id, b.part.id)],
        [n for n in a.not_judged if of == n.entry],
        [p for p in a.parts if p.part.id == of],
        [f for f in a.found if f.of == of],
        (a.origin, a.electrodes, a.alarms, a.still_off, a.editions, a.model, a.visit),
    ]


def test_one_thing_is_judged_as_it_is_among_all() -> None:
    chosen, asked = random.Random(12), 0
    for path in [*BOOKS[:24], *BOOKS[24::2]]:
        book = read_text(path.read_text("utf-8"))
        if book.visit is None:
            continue
        whole = assess(book.visit, broken=book.broken, whole_site=False)
        things = things_of(whole)
        some = things if path.parent == VISITS else [ORIGIN, *chosen.sample(things, min(2, len(things)))]
        for of in some:
            one = assess(book.visit, broken=book.broken, only=of)
            assert said_of(one, of) == said_of(whole, of), (path.name, of)
            asked += 1
    assert asked > 200


def kept(kind: str, body: dict[str, object], seq: int) -> Kept:
    return Kept(seq, f"e{seq}", "v", seq, kind, body, "", "", "J. Example", "", f"hash {seq}")


def same(a: Replayed, b: Replayed) -> bool:
    return a == b and list(a.tables) == list(b.tables)


def test_a_visit_read_on_step_by_step_is_the_visit_read_anew() -> None:
    """Every visit with its steps in their order and in any other, foreign and odd ones among them, a few at a time."""
    chosen = random.Random(5)
    foreign = [d.body for d in book_drafts(BOOKS[0].read_bytes(), "v", "", "") if d.kind == "step"]
    for n, path in enumerate(BOOKS):
        drafts = book_drafts(path.read_bytes(), "v", "", "")
        steps = [d.body for d in drafts if d.kind == "step"]
        if n % 2:
            steps += chosen.sample(foreign, 2) + chosen.sample(ODD_STEPS, 4)
            chosen.shuffle(steps)
        events = [kept(d.kind, d.body, i) for i, d in enumerate((d for d in drafts if d.kind != "step"), 1)]
        visit = replay("v", events)
        while steps:
            size = chosen.choice((1, 2, len(steps)))
            new = [kept("step", body, len(events) + i) for i, body in enumerate(steps[:size], 1)]
            events, steps = [*events, *new], steps[size:]
            further = replay_on(visit, new)
            assert further is not None
            visit = further
            if chosen.random() < 0.1:
                assert same(visit, replay("v", events)), path.name
        assert same(visit, replay("v", events)), path.name


def test_what_is_wrong_with_a_step_is_what_the_book_would_say_of_it() -> None:
    for path in BOOKS[::9]:
        drafts = book_drafts(path.read_bytes(), "v", "", "")
        events = [kept(d.kind, d.body, i) for i, d in enumerate(drafts, 1)]
        visit = replay("v", events)
        for body in ODD_STEPS:
            longer = replay("v", [*events, kept("step", body, len(events) + 1)])
            said = [f for f in longer.book.findings if f.line == len(events) + 1]
            assert [evolve(f, line=0) for f in said] == [evolve(f, line=0) for f in visit.reader.faults(body)]


def test_the_desk_holds_what_a_fresh_reading_gives_whatever_comes(tmp_path: Path) -> None:
    """Steps, things, corrections, strikes and photos in a random order; what is held is never older than the journal."""
    chosen = random.Random(8)
    desk = Desk(tmp_path / "j.sqlite")
    visit = desk.start("x", date="2026-11-20", by="J. Example")
    desk.add(visit, "part", {"id": "water"})
    bond = desk.add(visit, "bond", {"part": "water", "csa_mm2": "10", "length_m": "8"})
    told: list[Kept] = []
    for n in range(24):
        what = chosen.choice(("step", "step", "step", "strike", "correct", "photo", "part"))
        if what == "step":
            told += desk.add_all([Draft(visit, "step", dict(b)) for b in chosen.sample(ODD_STEPS, 2)])
        elif what == "strike" and told:
            desk.strike(told.pop(chosen.randrange(len(told))).id, "mistyped")
        elif what == "correct":
            desk.correct(bond.id, {"part": "water", "csa_mm2": "10", "length_m": str(n + 1)}, "measured")
        elif what == "photo":
            desk.attach(visit, b"photo", "clamp", media="image/png")
        elif what == "part":
            desk.add(visit, "part", {"id": f"p{n}"})
        assert same(desk.read(visit), replay(visit, desk.store.events(visit)))
        one, whole = desk.judge(visit, "water"), desk.assess(visit)
        assert one is not None
        assert whole is not None
        assert said_of(one, "water") == said_of(whole, "water")
    desk.close()


@pytest.mark.parametrize("kind", ["correct", "strike", "part", "photo"])
def test_only_steps_are_read_on(kind: str) -> None:
    visit = replay("v", [kept("visit", {"place": "x", "date": "2026-11-20"}, 1)])
    assert replay_on(visit, [kept("step", {"note": "x"}, 2), kept(kind, {}, 3)]) is None
    assert replay_on(visit, []) is None


def test_to_offer_undo_the_visit_is_not_read_anew_while_nothing_is_off(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each entry's page offers it: with sixty circuits the reading anew took longer than the rest of the page."""
    visit_id = desk.take_in((VISITS / "00-control.toml").read_bytes())
    read = desk.read(visit_id)
    monkeypatch.setattr(undo, "replay", lambda *a: pytest.fail("read anew"))
    found = undo.to_undo(read, anybody=True)
    assert found
    assert not found.held


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(
        st.one_of(
            st.sampled_from([*ODD_STEPS, *GOOD_STEPS]).map(lambda body: ("step", body)),
            st.sampled_from(("1", "2.5", "4")).map(lambda mm2: ("size", {"cpc_mm2": mm2})),
            st.just(("strike", {})),
        ),
        min_size=2,
        max_size=5,
    )
)
def test_what_is_held_from_entry_to_entry_is_what_is_judged_from_nothing(
    changes: list[tuple[str, dict[str, object]]],
) -> None:
    """Nothing that is held by its value changes an answer: not the earth of the site, not what rests on an end, not the hash."""
    held, book = [], (VISITS / "30-one-graph.toml").read_bytes()
    drafts = book_drafts(book, "v", "", "")
    events = [kept(d.kind, d.body, i) for i, d in enumerate(drafts, 1)]
    circuit = next(e for e in events if e.kind == "circuit")
    for kind, body in changes:
        seq = len(events) + 1
        if kind == "step":
            events.append(kept("step", body, seq))
        elif kind == "size":
            events.append(kept("correct", {"event": circuit.id, "body": {**circuit.body, **body}, "reason": "x"}, seq))
        else:
            last = next(e for e in reversed(events) if e.kind == "step")
            events.append(kept("strike", {"event": last.id, "reason": "x"}, seq))
        held.append(_judged(events))
    for n in range(len(changes)):
        for cache in (earth._built, support._shape, support.without_earth, rulings.resistance, weighed):
            cache.cache_clear()
        assert _judged(events[: len(drafts) + n + 1]) == held[n]


def _judged(events: list[Kept]) -> str:
    visit = replay("v", events).book.visit
    assert visit is not None
    return as_text(assess(visit))
