"""Nobody reads or writes what is not theirs: every address, for every role, on a visit of somebody else, with forms and raw."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator

import httpx
import pytest
from asked import NOON, Site, text_of
from firm_made import PHRASE, AFirm
from starlette.routing import Route

from earthwright.firm.rights import NOBODY, OPEN, ROLES, SELF, right_of
from earthwright.web.app import firm_routes

SECRET = "Hidden Lane"  # stands in the visit that is nobody's business
ROUTES = [(m, r.path) for r in firm_routes() for m in sorted(r.methods or ()) if isinstance(r, Route)]
# What each role may do with a visit that is not theirs. Everything else must be refused, and change nothing.
MAY = {
    "nobody": set(), "ines": set(), "carl": set(), "eric": {"erase"},
    "olga": {"see", "plan"}, "sara": {"see", "plan", "check"},
}  # fmt: skip
OWN_PAGES = {"/", "/kept", "/together", "/sums", "/sums/{name}", "/new", "/book", "/written", "/me", "/sign-out"}
ALLOWED = {
    "see": {("GET", "/v/")},
    "plan": {("GET", "/portfolio/"), ("GET", "/office"), ("GET", "/plan"), ("GET", "/people"), ("GET", "/tools")},
}


@pytest.fixture(scope="module")
def made() -> Iterator[AFirm]:
    firm = AFirm()
    firm.theirs = firm.begun("ivan", f"5 {SECRET}")  # type: ignore[attr-defined]
    firm.desk.add(firm.theirs, "part", {"id": "gas", "kind": "gas"}, "Ivan Brook")  # type: ignore[attr-defined]
    firm.desk.attach(firm.theirs, b"\xff\xd8\xff picture", "clamp", "Ivan Brook", media="image/jpeg")  # type: ignore[attr-defined]
    yield firm
    firm.desk.close()


def filled(path: str, made: AFirm, visit: str) -> str:
    """An address with every part filled in as somebody would who knows what is there."""
    read = made.desk.read(made.theirs)  # type: ignore[attr-defined]
    part = next(e for e in read.entries if e.kind == "part")
    photo = next(e for e in read.events if e.kind == "photo")
    values = {
        "visit": visit, "hash": photo.body["hash"], "entry": part.id, "document": "condition-report", "table": "part",
        "bond": "gas", "test": "conductor", "key": "x", "of": "origin", "observation": "1", "number": "1",
        "name": "resistance", "question": "q", "serial": "x",
    }  # fmt: skip
    return re.sub(r"\{(\w+)(?::\w+)?\}", lambda f: str(values[f[1]]), path)


def test_every_address_says_what_it_asks_for() -> None:
    forgotten = sorted({p for m, p in ROUTES if right_of(m, p) == NOBODY} - {"/demo"})
    assert forgotten == [], "an address that does not stand in firm/rights.py answers nobody"
    open_ = {p for m, p in ROUTES if right_of(m, p) == OPEN}
    assert open_ == {
        "/static/{name}", "/sign-in", "/join/{key}", "/sync/{name:path}", "/h/{key}", "/h/{key}/{hash}.pdf", "/calendar/{key}.ics", "/health", "/metrics",
    }  # fmt: skip


def test_a_role_that_is_not_known_may_nothing(made: AFirm) -> None:
    from attrs import evolve

    from earthwright.firm.rights import may

    for right in {right_of(m, p) for m, p in ROUTES} - {OPEN}:
        assert not may(evolve(made.people["sara"], role="keeper"), right, own=True)
        assert not may(evolve(made.people["sara"], gone="2026-01-01"), right, own=True)
    assert len(ROLES) == 5


def tries(made: AFirm, who: str) -> list[tuple[str, str, str, dict[str, object], dict[str, str]]]:
    """Method, route, address, what is sent, headers: each address by its page, and raw in other ways."""
    visit = made.theirs  # type: ignore[attr-defined]
    form = {"uid": "e" * 20, "kind": "water", "id": "evil", "do": "sign", "role": "authorised for issue", "name": "Sara Holt",
            "person": made.people["ines"].id, "remark": "evil", "to": "evil", "days": "9", "visit": visit, "digits": "1", "what": "evil",
            "after": visit, "place": "evil", "date": "2026-11-20", "reason": "evil", "head": made.desk.read(visit).head}  # fmt: skip
    found = []
    for method, path in ROUTES:
        right = right_of(method, path)
        if right in (OPEN, SELF) or method == "HEAD":
            continue
        address = filled(path, made, visit)
        found.append((method, path, address, form if method == "POST" else {}, {}))
        if "{visit}" in path and who in ("ines", "carl", "nobody"):  # the same, written otherwise
            other = address.replace("/v/", "/v/./").replace("/handed/", "/handed/./")
            found.append((method, path, other, form if method == "POST" else {}, {}))
            found.append((method, path, address + "?head=x&visit=" + made.visit["ines"], form if method == "POST" else {}, {
                "x-forwarded-user": "sara", "authorization": "Basic c2FyYTp4", "x-original-url": "/", "x-http-method-override": "GET"}))  # fmt: skip
    return found


def allowed(who: str, method: str, path: str) -> bool:
    if path in OWN_PAGES or path.startswith("/sums"):
        return who in ("ines", "olga", "sara") and (
            method == "GET" or path not in ("/new", "/book", "/written") or who != "olga"
        )
    right = right_of(method, path)
    rights = {
        "see a visit": "see", "plan": "plan", "people": "plan", "all homes together": "plan", "countersign": "check",
        "sign a paper": "check", "take personal data out": "erase", "what was handed over": "handed",
    }  # fmt: skip
    return rights.get(right, "none") in MAY[who] or (
        who == "carl" and right == "what was handed over" and path == "/handed"
    )


@pytest.mark.parametrize("who", sorted(MAY))
def test_no_role_gets_at_what_is_not_its_own(made: AFirm, who: str) -> None:
    site = made.nobody if who == "nobody" else made.browser[who]
    visit, before = made.theirs, made.desk.store.visit_head(made.theirs)[1]  # type: ignore[attr-defined]
    count, got_in, asked = 0, [], []
    for method, path, address, form, headers in tries(made, who):
        if allowed(who, method, path) and path.startswith(
            ("/v/", "/portfolio", "/office", "/plan", "/people", "/tools", "/erase")
        ):
            continue
        asked.append((method, path, address, form, headers))
    for (method, path, address, _, _), answer in zip(asked, asyncio.run(all_of(site, asked)), strict=True):
        count += 1
        lists = path in OWN_PAGES or path == "/handed"
        shown = (SECRET in answer.text or b"\xff\xd8\xff" in answer.content) and not (lists and who in ("olga", "sara"))
        if shown or not (answer.status_code in (303, 401, 403, 404, 405, 409, 422) or lists):
            got_in.append((method, address, answer.status_code, text_of(answer)[:80]))
    assert made.desk.store.visit_head(visit)[1] == before, "nothing was written to it"
    assert [x.id for x in made.firm.handing.of_visit(visit)] == []
    assert got_in == []
    print(f"{who}: {count} tries, {len(got_in)} succeeded")
    COUNTED[who] = count


async def all_of(
    site: Site, asked: list[tuple[str, str, str, dict[str, object], dict[str, str]]]
) -> list[httpx.Response]:
    """Every answer, in one browser."""
    transport = httpx.ASGITransport(site.app, raise_app_exceptions=True)
    async with httpx.AsyncClient(transport=transport, base_url="http://here", headers=site.headers) as client:
        return [await client.request(m, where, headers=h, data=form or None) for m, _, where, form, h in asked]


COUNTED: dict[str, int] = {}


def test_how_many_were_tried() -> None:
    assert not COUNTED or sum(COUNTED.values()) >= 400 or len(COUNTED) < len(MAY)


def test_a_supervisor_signs_for_others_in_one_role_and_in_no_other_name(made: AFirm) -> None:
    visit, sara = made.theirs, made.browser["sara"]  # type: ignore[attr-defined]
    here = f"/v/{visit}/paper/condition-report"
    before = made.events_of(visit)
    for role in ("inspected and tested by", "designer", "authorised for issue + inspected and tested by"):
        form = {"uid": "f" * 20, "do": "sign", "role": role, "name": "Ivan Brook", "head": made.desk.read(visit).head}
        assert sara.post(here, form).status_code in (200, 422)
        assert made.events_of(visit) == before, role
    own = made.visit["sara"]
    read = made.desk.read(own)
    assert made.firm.refuses(made.people["sara"], read, [("sign", {"role": "authorised for issue"})])
    assert made.firm.refuses(made.people["ivan"], made.desk.read(visit), [("sign", {"role": "authorised for issue"})])
    made.desk.add(visit, "step", {"note": "helped"}, "Sara Holt")
    assert made.firm.refuses(made.people["sara"], made.desk.read(visit), [("sign", {"role": "authorised for issue"})])


def test_whoever_found_anything_there_does_not_countersign(made: AFirm) -> None:
    """A supervisor gives a visit to herself, finds something, and gives it back."""
    sara, firm = made.people["sara"], made.firm
    for n, (kind, body, by) in enumerate((
        ("observation", {"id": "1", "what": "x", "code": "C3"}, "Sara Holt"), ("inspected", {"1.1": "acceptable"}, "Sara Holt"),
        ("step", {"note": "x"}, ""), ("part", {"id": "gas", "kind": "gas"}, "Ivan Brook"),
    )):  # fmt: skip
        visit = made.begun("ivan", f"{n} There And Back")
        firm.give(visit, sara, sara)
        made.desk.add(visit, kind, body, by)
        firm.give(visit, made.people["ivan"], sara)
        assert firm.may_countersign(sara, made.desk.read(visit)) is (kind == "part"), kind
    part = next(e for e in made.desk.read(visit).entries if e.kind == "part")
    made.desk.correct(part.id, {**part.body, "kind": "water"}, "r", "Sara Holt")
    assert not firm.may_countersign(sara, made.desk.read(visit))
    planned = f"{visit}-next"
    firm.plan(sara, made.people["ines"], planned, "", "2026-11-21", "periodic", visit)
    assert firm.may_countersign(sara, made.desk.read(planned)), "planning is no inspecting"
    firm.people.invite_again(made.people["ines"], sara.id)  # Sara could sign in as Ines now
    assert not firm.may_countersign(sara, made.desk.read(planned))


def test_whoever_can_sign_in_as_one_who_worked_there_does_not_countersign() -> None:
    """Another pass phrase counts when it is made and when it is used, of everybody who had to do with the visit."""
    made = AFirm()
    firm, people, (sara, ines, ivan, olga) = made.firm, made.firm.people, (made.people[x] for x in ("sara", "ines", "ivan", "olga"))  # fmt: skip

    def may(visit: str) -> bool:
        return firm.may_countersign(sara, made.desk.read(visit))

    before = people.invite_again(ines, sara.id)
    begun, given = (made.begun("ines", f"{n} Elm") for n in range(2))
    firm.give(given, ivan, olga)
    assert may(begun), "no address was used since it began"
    people.join(before, "ines", "six brown cables lie")
    assert not may(begun)
    assert not may(given), "whose it was before"
    nora = people.join(people.invite("Nora Field", "inspector", olga.id), "nora", PHRASE)
    late = {x: made.begun("ivan", f"{x} Oak") for x in ("along", "entered", "apart")}
    firm.send_along(late["along"], nora, olga)
    firm.send_along(late["along"], nora, olga, back=True)
    made.desk.add(late["entered"], "part", {"id": "gas", "kind": "gas"}, "Nora Field")
    assert [may(late[x]) for x in late] == [True] * 3
    people.invite_again(nora, sara.id)
    assert [may(late[x]) for x in late] == [False, False, True]
    made.desk.close()


def test_an_address_that_is_typed_opens_no_other_visit_to_it(made: AFirm) -> None:
    visit = made.theirs  # type: ignore[attr-defined]
    made.desk.add(visit, "supply", {"system": "TT"}, "Ivan Brook")
    nosy = made.begun("ines", f"5 {SECRET}")
    heading = next(e for e in made.desk.read(nosy).entries if e.kind == "visit")
    made.desk.correct(heading.id, {**heading.body, "date": {"date": "2026-11-21"}}, "r", "Ines Quarry")
    page = made.browser["ines"].get(f"/v/{nosy}/compare")
    assert made.desk.before(nosy) == ""
    assert "What has changed" not in text_of(page)
    made.firm.give(nosy, made.people["ines"], made.people["olga"])
    assert made.desk.before(nosy) == visit, "whoever was sent there sees what was found there last"


def test_numbers_for_a_scraper_are_not_passed_on_by_a_proxy(made: AFirm) -> None:
    assert made.nobody.get("/metrics").status_code == 200
    for head in ("x-forwarded-for", "forwarded", "x-real-ip", "via"):
        assert made.nobody.ask("GET", "/metrics", headers={head: "127.0.0.1"}).status_code == 404


def test_an_archive_does_not_open_a_visit_of_somebody_else(made: AFirm) -> None:
    visit = made.theirs  # type: ignore[attr-defined]
    packed = made.desk.hand_over(visit)
    before = made.events_of(visit)
    for who in ("ines", "sara"):
        answer = made.browser[who].post("/book", {"uid": "d" * 20}, files={"book": ("v.zip", packed)})
        assert answer.status_code == 422, who
        assert "somebody else's" in text_of(answer)
    assert made.events_of(visit) == before
    other = AFirm()
    mine = other.begun("ines", "9 Brought Lane")
    other.desk.add(mine, "sign", {"role": "authorised for issue", "name": "Sara Holt"}, "Sara Holt")
    forged = other.desk.hand_over(mine)
    answer = made.browser["ines"].post("/book", {"uid": "c" * 20}, files={"book": ("v.zip", forged)})
    assert "who has to give it at the office" in text_of(answer)
    other.desk.close()


def test_a_signature_in_a_book_is_not_taken_in(made: AFirm) -> None:
    book = (
        '[visit]\nplace = "3 Alder Row"\ndate = 2026-11-20\n[[sign]]\nrole = "authorised for issue"\nname = "Sara Holt"\n'
        'at = "2026-11-20T10:00"\ncontent = "0"\n'
    )
    answer = made.browser["ines"].post("/book", {"uid": "9" * 20}, files={"book": ("v.toml", book.encode())})
    assert answer.status_code == 422
    assert "signature" in text_of(answer)


def test_hosts_and_origins_are_asked_before_who_it_is(made: AFirm) -> None:
    ines = made.browser["ines"]
    foreign = Site(made.desk, made.settings, cookie=ines.headers["cookie"], origin="https://elsewhere.example")
    assert foreign.post("/sign-out").status_code == 403
    assert ines.get("/me").status_code == 200
    assert NOON.year == 2026
