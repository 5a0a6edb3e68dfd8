"""The chain: what is hashed, that it cannot be changed, that it is found when it was changed all the same."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text

from earthwright.records import Conflict, Draft, JournalError, Moved, NotKept, Store
from earthwright.records.canon import canonical, digest, envelope
from earthwright.records.verify import verify

VISIT = "visit-0001"


def step(shown: str = "0.02", **more: Any) -> Draft:
    return Draft(VISIT, "step", {"read": "together", "bond": "water", "shown": shown}, "J. Example", **more)


# RFC 8785, 3.2.2 and 3.2.3: the strings and the order of keys of its own examples.
@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ({"numbers": [333333333], "string": '€$\x0f\nA\'B"\\"/'},
         '{"numbers":[333333333],"string":"€$\\u000f\\nA\'B\\"\\\\\\"/"}'),
        ({"€": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
          "😀": "Emoji: Grinning Face", "\x80": "Control", "ö": "Latin Small Letter O With Diaeresis"},
         '{"\\r":"Carriage Return","1":"One","\x80":"Control","ö":"Latin Small Letter O With Diaeresis",'
         '"€":"Euro Sign","😀":"Emoji: Grinning Face","\ufb33":"Hebrew Letter Dalet With Dagesh"}'),
        ([True, None, False, -7, []], "[true,null,false,-7,[]]"),
    ],
)  # fmt: skip
def test_canonical_json_is_that_of_rfc_8785(value: object, expected: str) -> None:
    assert canonical(value) == expected


@pytest.mark.parametrize(
    "value",
    [1.5, float("nan"), Decimal("0.02"), 2**53, -(2**53), "a\0b", "\ud800", {"\ud800": 1}, {1: 2}, {1, 2}, b"x"],
)
def test_what_has_no_exact_form_is_refused(value: object) -> None:
    with pytest.raises(NotKept):
        canonical({"key": value})


def test_largest_whole_number_and_depth_at_the_edge() -> None:
    assert canonical(2**53 - 1) == "9007199254740991"
    nested: Any = 1
    for _ in range(12):
        nested = [nested]
    assert canonical(nested).count("[") == 12
    with pytest.raises(NotKept, match="nested"):
        canonical([nested])


@given(
    st.recursive(
        st.none()
        | st.booleans()
        | st.integers(-(2**53) + 1, 2**53 - 1)
        | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")),
        lambda inner: (
            st.lists(inner, max_size=3) | st.dictionaries(st.text("abcé😀\ufb33", max_size=3), inner, max_size=3)
        ),
        max_leaves=12,
    )
)
def test_canonical_json_is_json_and_does_not_depend_on_the_order_of_keys(value: Any) -> None:
    written = canonical(value)
    assert json.loads(written) == value
    assert canonical(json.loads(written)) == written
    if isinstance(value, dict):
        assert canonical(dict(reversed(value.items()))) == written


def test_hash_is_sha_256_of_the_canonical_event(store: Store) -> None:
    """Worked out here by hand from the columns, with nothing of the package."""
    store.append([step(), step("0.03")])
    with store.reading() as connection:
        rows = connection.execute(text("SELECT * FROM event ORDER BY no")).mappings().all()
    last = "0" * 64
    for row in rows:
        event = {**row, "form": 1, "body": json.loads(row["body"]), "by": json.loads(row["who"])}
        del event["hash"], event["who"]
        made = json.dumps(event, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert row["hash"] == hashlib.sha256(made.encode()).hexdigest()
        assert row["prev"] == last
        last = row["hash"]
    assert store.head() == (2, last)


def test_envelope_is_canonical() -> None:
    made = envelope(
        no=1, id="a", visit="b", seq=1, kind="k", body='{"é":"\\n"}', at="t", kept_at="u", by='""', prev="0"
    )
    assert canonical(json.loads(made)) == made


def test_numbers_run_without_gap_in_journal_and_visit(store: Store) -> None:
    other = Draft("visit-0002", "step", {"note": "x"})
    kept = store.append([step(), other, step(), other])
    assert [(k.no, k.visit, k.seq) for k in kept] == [
        (1, VISIT, 1), (2, "visit-0002", 1), (3, VISIT, 2), (4, "visit-0002", 2),
    ]  # fmt: skip
    assert store.events() == kept
    assert store.events(VISIT) == [kept[0], kept[2]]
    assert store.events(after=3) == [kept[3]]
    assert store.visit_head(VISIT) == (2, kept[2].hash)
    assert store.visit_head("visit-0009") == (0, "")
    assert [v[:2] for v in store.visits()] == [(VISIT, 2), ("visit-0002", 2)]


def test_sent_again_adds_nothing_and_gives_the_first(store: Store) -> None:
    first = store.append([step(id="client-id-1", at="2026-11-25T10:00:00")])[0]
    again = store.append([step(id="client-id-1", at="2026-11-25T11:30:00")])[0]
    assert again == first
    assert (first.new, again.new) == (True, False)
    assert store.head() == (1, first.hash)


@pytest.mark.parametrize(
    "other",
    [
        step("0.03", id="client-id-1"),
        Draft(VISIT, "step", {"read": "together", "bond": "water", "shown": "0.02"}, "A. Other", "client-id-1"),
        Draft(
            "visit-0002", "step", {"read": "together", "bond": "water", "shown": "0.02"}, "J. Example", "client-id-1"
        ),
        Draft(VISIT, "note", {"read": "together", "bond": "water", "shown": "0.02"}, "J. Example", "client-id-1"),
    ],
    ids=["body", "by", "visit", "kind"],
)
def test_same_id_with_other_content_is_an_error(store: Store, other: Draft) -> None:
    first = store.append([step(id="client-id-1")])[0]
    with pytest.raises(Conflict, match="client-id-1"):
        store.append([step("0.05"), other])
    assert store.head() == (1, first.hash)  # nothing of the two was kept


def test_many_at_once_are_looked_for_in_one_question_and_an_id_counts_once_all_the_same(store: Store) -> None:
    """As one by one: what is there is given back, what comes twice in one message is kept once, two contents are refused."""
    first = store.append([step("0.02", id="client-id-1")])[0]
    many = [step(f"0.0{n}", id=f"client-id-{n}") for n in range(2, 6)]
    kept = store.append([*many, step("0.02", id="client-id-1"), step("0.03", id="client-id-3")])
    assert [k.new for k in kept] == [True] * 4 + [False] * 2
    assert (kept[4].no, kept[5].no) == (first.no, kept[1].no)
    assert verify(store).whole
    head = store.head()
    with pytest.raises(Conflict, match="client-id-8"):
        store.append([step(f"0.0{n}", id=f"client-id-{n}") for n in (7, 8, 9)] + [step("0.11", id="client-id-8")])
    assert store.head() == head


@pytest.mark.parametrize(
    "draft",
    [
        Draft("short", "step", {}),
        Draft("../../etc/passwd", "step", {}),
        Draft(VISIT, "Step", {}),
        Draft(VISIT, "a step", {}),
        Draft(VISIT, "step", {}, id="x"),
        Draft(VISIT, "step", {}, id="'; DROP TABLE event; --"),
        Draft(VISIT, "step", {}, by="x" * 201),
        Draft(VISIT, "step", {}, by="a\0"),
        Draft(VISIT, "step", {"shown": 0.02}),
        Draft(VISIT, "step", {"note": "x" * 256_001}),
        Draft(VISIT, "step", []),  # type: ignore[arg-type]
        Draft(VISIT, "step", {"by": {"personal": "k", "seal": "s"}}),
        Draft(VISIT, "strike", {"event": "no-such-event", "reason": "r"}),
        Draft(VISIT, "correct", {"event": "no-such-event", "reason": "r", "body": {}}),
        Draft(VISIT, "photo", {"hash": "0" * 64}),
        Draft(VISIT, "erase", {"keys": [], "files": []}),
    ],
)
def test_what_cannot_be_kept_is_refused_whole(store: Store, draft: Draft) -> None:
    with pytest.raises(NotKept):
        store.append([step(), draft])
    assert store.head()[0] == 0
    assert verify(store).whole


def test_a_change_needs_a_reason_and_its_own_visit(store: Store) -> None:
    one = store.append([step()])[0]
    for draft in (
        Draft(VISIT, "strike", {"event": one.id, "reason": "  "}),
        Draft("visit-0002", "strike", {"event": one.id, "reason": "r"}),
        Draft(VISIT, "correct", {"event": one.id, "reason": "r", "body": "text"}),
    ):
        with pytest.raises(NotKept):
            store.append([draft])
    struck = store.append([Draft(VISIT, "strike", {"event": one.id, "reason": "r"})])[0]
    with pytest.raises(NotKept, match="strike it out instead"):
        store.append([Draft(VISIT, "correct", {"event": struck.id, "reason": "r", "body": {}})])


STATEMENTS = [
    "UPDATE event SET body = '{}' WHERE no = 1",
    "UPDATE event SET kept_at = kept_at",
    "DELETE FROM event WHERE no = 2",
    "DELETE FROM event",
    "INSERT INTO erased SELECT key, (SELECT id FROM event WHERE no = 1) FROM personal",
    "UPDATE personal SET value = 'A. Other'",
    "DELETE FROM personal",
    "UPDATE content SET bytes = bytes",
    "DELETE FROM content",
    "INSERT INTO event SELECT no + 5, 'x' || id, visit, seq + 5, kind, body, at, kept_at, who, 'a' || prev, 'b' || hash FROM event WHERE no = 2",
    "INSERT INTO event SELECT no + 1, 'x' || id, visit, seq + 1, kind, body, at, kept_at, who, 'a' || prev, 'b' || hash FROM event WHERE no = 2",
    "INSERT INTO event SELECT no + 1, 'x' || id, visit, seq + 7, kind, body, at, kept_at, who, hash, 'b' || hash FROM event WHERE no = 2",
]


@pytest.mark.parametrize("statement", STATEMENTS)
def test_the_database_itself_refuses_changes(store: Store, statement: str) -> None:
    store.append([step(), step("0.03")], [b"a photo"])
    before = store.events()
    with (
        pytest.raises(JournalError, match=r"append-only|signed erasure|does not follow"),
        store.writing() as connection,
    ):
        connection.execute(text(statement))
    assert store.events() == before


def test_replacing_or_emptying_is_refused_in_each_databases_own_way(store: Store) -> None:
    store.append([step(), step("0.03")], [b"a photo"])
    before = store.events()
    own = (
        ["INSERT OR REPLACE INTO event SELECT no, id, visit, seq, kind, '{}', at, kept_at, who, prev, hash FROM event WHERE no = 2",
         "REPLACE INTO event SELECT 3, id, visit, 3, kind, '{}', at, kept_at, who, hash, 'x' FROM event WHERE no = 2",
         "UPDATE OR REPLACE event SET no = 1 WHERE no = 2"]
        if store.sqlite
        else ["TRUNCATE event CASCADE", "TRUNCATE personal",
              "INSERT INTO event SELECT * FROM event WHERE no = 2 ON CONFLICT (no) DO UPDATE SET body = '{}'"]
    )  # fmt: skip
    for statement in own:
        with pytest.raises(JournalError, match=r"append-only|does not follow"), store.writing() as connection:
            connection.execute(text(statement))
    assert store.events() == before


COLUMNS = ("no", "id", "visit", "seq", "kind", "body", "at", "kept_at", "who", "prev", "hash")


@pytest.mark.parametrize("column", COLUMNS)
def test_a_changed_column_is_found_although_the_guards_were_taken_away(store: Store, column: str) -> None:
    store.append([step(), step("0.03"), step("0.04")])
    _unguard(store)
    to = (
        "no + 10"
        if column == "no"
        else "seq + 10"
        if column == "seq"
        else f"replace({column}, substr({column}, 1, 1), 'z')"
    )
    with store.writing() as connection:
        connection.execute(text(f"UPDATE event SET {column} = {to} WHERE no = 2"))
    said = " ".join(f.sentence() for f in verify(store).faults)
    assert "event " in said
    assert "The guard 'event_no_update' is gone" in said


def _unguard(store: Store) -> None:
    with store.writing() as connection:
        for when in ("update", "delete"):
            of = "" if store.sqlite else " ON event"
            connection.execute(text(f"DROP TRIGGER event_no_{when}{of}"))


@pytest.mark.parametrize("no", [1, 2, 3])
def test_an_event_taken_out_is_found_at_the_end_only_by_a_known_hash(store: Store, no: int) -> None:
    kept = store.append([step(), step("0.03"), step("0.04")])
    _unguard(store)
    with store.writing() as connection:
        connection.execute(text(f"DELETE FROM event WHERE no = {no}"))
    faults = [f for f in verify(store).faults if "guard" not in f.what]
    assert bool(faults) == (no < 3)
    known = verify(store, [kept[2].hash])
    assert (no == 3) == any("was given out" in f.what for f in known.faults)


def test_a_changed_event_whose_hash_was_worked_out_again_breaks_the_next_one(store: Store) -> None:
    store.append([step(), step("0.03"), step("0.04")])
    _unguard(store)
    with store.writing() as connection:
        row = dict(connection.execute(text("SELECT * FROM event WHERE no = 2")).mappings().one())
        row["body"] = row["body"].replace("0.03", "0.01")
        who = row.pop("who")
        del row["hash"]
        made = digest(envelope(**row, by=who))
        connection.execute(text("UPDATE event SET body = :b, hash = :h WHERE no = 2"), {"b": row["body"], "h": made})
    assert any("event 3" in f.where and "hang" in f.what for f in verify(store).faults)


def test_clock_set_back_is_noted_and_keeps_the_order(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    store.append([step()])
    monkeypatch.setattr("earthwright.records.writer.now", lambda: "2020-01-01T00:00:00.000000Z")
    back = store.append([step("0.03")], check=lambda _: None)[0]
    monkeypatch.undo()
    store.append([step("0.04")])
    found = verify(store)
    assert found.whole
    assert [n.where for n in found.notes] == [f"event {back.no}"]
    assert [e.body["shown"] for e in store.events()] == ["0.02", "0.03", "0.04"]


def test_odd_characters_and_several_names_are_hashed_alike_on_every_way(store: Store) -> None:
    odd = 'x"\\\n\x01\x7f\u2028é😀'
    for way in ({}, {"check": lambda _: None}):
        body = {"note": odd, odd: [odd, 1, True, None], "client": odd, "copies": [odd, "B. Other", odd]}
        kept = store.append(
            [Draft(VISIT, "step", body, odd, at=odd), Draft("visit-0002", "step", body, "B. Other")], **way
        )
        assert store.events(after=kept[0].no - 1) == kept
        assert (kept[0].body, kept[0].by, kept[0].at) == (body, odd, odd)
    assert verify(store).whole


def test_a_name_that_was_erased_meanwhile_is_kept_again_under_a_new_key(url: str) -> None:
    store, other = Store(url), Store(url)
    store.append([step()])
    with other.reading() as connection:
        keys = [row[0] for row in connection.execute(text("SELECT key FROM personal"))]
    other.erase(Draft(VISIT, "erase", {"keys": keys, "files": [], "reason": "asked for"}, "A. Other"), keys, [])
    assert store.append([step("0.03")])[0].by == "J. Example"
    assert [e.by for e in store.events(kinds=("step",))] == ["[erased]", "J. Example"]
    assert verify(store).whole
    store.close()
    other.close()


def test_known_hashes_may_be_shortened_to_twelve_digits(store: Store) -> None:
    kept = store.append([step(), step("0.03")])
    assert verify(store, [kept[0].hash, kept[1].hash[:12], kept[1].hash.upper()]).whole
    for short in (kept[0].hash[:11], "0" * 64, ""):
        assert not verify(store, [short]).whole


def test_nothing_is_kept_that_rests_on_a_state_that_has_passed(store: Store) -> None:
    """What was looked at is named; the program's way and the database's own way refuse alike, and only for that visit."""
    first = store.append([Draft("visit-0001", "step", {"note": "a"})])[0]
    second = store.append([Draft("visit-0001", "step", {"note": "b"}, id="second-0001")], head=first.hash)[0]
    store.append([Draft("visit-0002", "step", {"note": "elsewhere"})])
    for draft in (
        Draft("visit-0001", "step", {"note": "c"}),
        Draft("visit-0001", "strike", {"event": first.id, "reason": "x"}),
    ):
        with pytest.raises(Moved):
            store.append([draft], head=first.hash)
    again = store.append([Draft("visit-0001", "step", {"note": "b"}, id="second-0001")], head=first.hash)[0]
    assert (again.hash, again.new) == (second.hash, False)
    third = store.append([Draft("visit-0001", "step", {"note": "c"}, by="A. One")], head=second.hash)[0]
    assert store.visit_head("visit-0001") == (3, third.hash)
    assert len(store.events("visit-0001")) == 3
