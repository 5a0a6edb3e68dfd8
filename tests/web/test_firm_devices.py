"""What a device or an archive may say where people sign in: nothing in another's name, however it is wrapped."""

from __future__ import annotations

import asyncio
import datetime as dt
import json
from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from attrs import evolve
from firm_made import AFirm

from earthwright.desk import Desk
from earthwright.firm.names import not_theirs
from earthwright.records.trouble import NotKept
from earthwright.sync.carried import Run, answered
from earthwright.sync.line import Refused
from earthwright.sync.names import held, let_in

ME, OTHER = "Ines Quarry", "Sara Holt"
NOW = dt.datetime(2026, 11, 20, 12, 0, tzinfo=dt.UTC)
Entries = list[tuple[str, dict[str, Any]]]


@pytest.fixture(scope="module")
def made() -> Iterator[AFirm]:
    firm = AFirm()
    yield firm
    firm.desk.close()


def ask(made: AFirm, token: str, name: str, body: bytes) -> httpx.Response:
    async def go() -> httpx.Response:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(made.nobody.app)) as client:
            shown = {"authorization": f"Bearer {token}"}
            return await client.post(f"http://here/sync/{name}", content=body, headers=shown)

    return asyncio.run(go())


def send(made: AFirm, phone: Desk, login: str = "ines") -> str:
    """A whole run from a device of a person; what it was refused with, or what of it was kept back and why."""
    token = let_in(made.desk.store, "phone", NOW, made.people[login].id)
    try:
        run = Run(phone.store, lambda: NOW, ())
        while run.ask is not None:
            answer = ask(made, token, run.ask.name, run.ask.body)
            try:
                found = answered(run.ask, answer.status_code, answer.content)
            except Refused as error:
                run.fail(error)
            else:
                run.hand(found)
    except Refused as error:
        return str(error)
    with phone.store.reading() as connection:
        return " ".join(one.said for one in held(connection))


def written(visit: str, entries: Entries, by: str = ME) -> Desk:
    desk = Desk(":memory:")
    heading = {"place": "9 Sent Lane", "date": {"date": "2026-11-20"}, "inspector": ME}
    begun = [] if entries and entries[0][0] == "visit" else [("visit", heading)]
    for n, (kind, body) in enumerate([*begun, *entries], 1):
        if kind in ("correct", "strike"):
            body = {**body, "event": f"{visit}-{body['event']}"}
            if kind == "correct":
                desk.correct(body["event"], body["body"], "r", by, id=f"{visit}-{n}")
            else:
                desk.strike(body["event"], "r", by, id=f"{visit}-{n}")
        else:
            desk.add(visit, kind, body, by, id=f"{visit}-{n}")
    return desk


OWN = {"role": "inspected and tested by", "name": ME, "content": "0"}
FORGED: dict[str, tuple[Entries, str]] = {
    "countersigned": ([("sign", {**OWN, "role": "authorised for issue", "name": OTHER})], f"signature of {OTHER}"),
    "countersigned by oneself": ([("sign", {**OWN, "role": "authorised for issue"})], "has to give it at the office"),
    "signed for another": ([("sign", {**OWN, "name": "Ivan Brook"})], "signature of Ivan Brook"),
    "own signature made another's": (
        [("sign", OWN), ("correct", {"event": 2, "body": {**OWN, "name": OTHER}})], f"signature of {OTHER}"),
    "own signature made a countersignature": (
        [("sign", OWN), ("correct", {"event": 2, "body": {**OWN, "role": "authorised for issue"}})], "to give it at the office"),
    "a strike taken back": (
        [("sign", {**OWN, "name": OTHER}), ("strike", {"event": 2}), ("strike", {"event": 3})], f"signature of {OTHER}"),
    "a gate opened": ([("step", {"override": "bond", "by": OTHER, "reason": "r"})], f"gate opened in the name of {OTHER}"),
    "inspected by another": (
        [("visit", {"place": "x", "date": {"date": "2026-11-20"}, "inspector": "SARA  HOLT"})], "who has to bring it"),
    "taken out again": ([("sign", {**OWN, "name": OTHER}), ("strike", {"event": 2})], ""),
    "signed by oneself": ([("sign", OWN), ("step", {"override": "bond", "by": ME, "reason": "r"})], ""),
    "inspected by somebody long gone": (
        [("visit", {"place": "x", "date": {"date": "2009-11-20"}, "inspector": "A. Predecessor"})], ""),
}  # fmt: skip


@pytest.mark.parametrize("kind", FORGED)
def test_nothing_is_sent_or_brought_in_another_name(made: AFirm, kind: str) -> None:
    entries, said = FORGED[kind]
    name = f"v-{list(FORGED).index(kind):04}"
    phone = written(f"{name}-sent", entries)
    told = send(made, phone)
    assert (said in told) if said else told == ""
    assert made.desk.holds(f"{name}-sent") is not bool(said), "all of a message is kept, or nothing"
    packed = written(f"{name}-brought", entries).hand_over(f"{name}-brought")
    if said:
        with pytest.raises(NotKept, match=said):
            made.firm.take_over(made.people["ines"], packed)
    else:
        made.firm.take_over(made.people["ines"], packed)
    assert made.desk.holds(f"{name}-brought") is not bool(said)


def test_who_may_send_at_all(made: AFirm) -> None:
    phone = written("v-by-another", [], by=OTHER)
    assert "another name than yours" in send(made, phone)
    for login in ("carl", "eric"):
        assert "does not work on visits" in send(made, written(f"v-of-{login}", []), login)
    token = let_in(made.desk.store, "phone", NOW, made.people["carl"].id)
    assert ask(made, token, "file/" + "0" * 64, b"x").json()["said"].startswith("Whose device this is does not work")


def test_a_countersignature_is_not_changed_by_whoever_it_is_about(made: AFirm) -> None:
    """The visit of Ines, countersigned by Sara; a device of Ines moves that signature to another version."""
    visit = "v-countersigned"
    phone = written(visit, [])
    assert send(made, phone) == ""
    body = {**OWN, "role": "authorised for issue", "name": OTHER}
    sign = made.desk.add(visit, "sign", body, OTHER)
    assert send(made, phone) == "", "fetched"
    phone.correct(sign.id, {**body, "content": "1"}, "r", ME)
    assert f"signature of {OTHER}" in send(made, phone)


@pytest.mark.parametrize("inspector", [{"first": OTHER}, [OTHER], 5])
def test_an_inspector_that_is_no_text_is_refused_or_kept_and_breaks_nothing(made: AFirm, inspector: Any) -> None:
    body = {"place": "9 Odd Lane", "date": {"date": "2026-11-20"}, "inspector": "x"}
    phone = written(f"visit-odd-{type(inspector).__name__}", [("visit", body), ("visit", {**body, "inspector": OTHER})])
    events = [evolve(e, body={**e.body, "inspector": inspector}) for e in phone.store.events()]
    person = made.people["ines"]
    assert not_theirs(person, made.firm.people.all(), events[:1], events) == ("", "")
    why, _ = not_theirs(person, made.firm.people.all(), [], events)
    assert bool(why) is isinstance(inspector, list), "what reads as another's name is another's"


MALFORMED: dict[str, tuple[str, dict[str, Any]]] = {
    "a file that is half a character": ("lacking", {"files": ["\ud800"]}),
    "a file that is a list": ("lacking", {"files": [["x"]]}),
    "a visit that is half a character": ("fetch", {"visits": {"\ud800": [0, ""]}}),
    "a visit that is no id": ("fetch", {"visits": {"../x": [0, ""]}}),
    "a place beyond all": ("fetch", {"visits": {"v-123456789": [2**70, ""]}}),
    "a place before all": ("fetch", {"visits": {"v-123456789": [-1, ""]}}),
}


@pytest.mark.parametrize("login", ["ines", "sara"])
@pytest.mark.parametrize("what", MALFORMED)
def test_a_message_that_cannot_be_is_refused_in_words(made: AFirm, what: str, login: str) -> None:
    name, said = MALFORMED[what]
    token = let_in(made.desk.store, "phone", NOW, made.people[login].id)
    answer = ask(made, token, name, json.dumps(said).encode())
    assert answer.status_code in (400, 409), answer.text
    assert len(answer.json()["said"]) > 20
