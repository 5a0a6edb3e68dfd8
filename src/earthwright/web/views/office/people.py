"""Signing in, joining, one's own account, and the people of the firm."""

from __future__ import annotations

import datetime as dt
import json
import math

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ....firm.passkeys import Place, why_not
from ....firm.people import Refused
from ....firm.rights import CLIENT, ERASER, ROLES, may_let_in
from ....records import JournalError
from ....sync.names import devices, let_in, shut_out
from ...forms import Typed
from ...gate import cookie_of, firm_of, me, signed_in, who
from ...phrase import SHORTEST, unfit
from ...render import page, see_other
from ...words import say
from ..common import form_of


async def sign_in_page(request: Request) -> Response:
    """GET the form to sign in."""
    return see_other(_to(request)) if who(request) else _sign_in(request, Typed())


def _sign_in(request: Request, typed: Typed, status: int = 0, asked: str = "") -> Response:
    to = typed.value("to") or request.query_params.get("to", "")
    status = status or (422 if typed.errors else 200)
    return page(request, "office/sign_in.html", status, typed=typed, to=_own(to), **passkeys(request, asked))


def passkeys(request: Request, asked: str) -> dict[str, object]:
    """What a page needs to offer passkeys, or to say why not. ``asked``: what this device is to answer, as JSON."""
    challenge = json.loads(asked)["challenge"] if asked else ""
    return {"no_passkey": why_not(_place(request)), "passkey_asked": asked, "challenge": challenge}


def _place(request: Request) -> Place:
    return Place(request.url.scheme, request.url.netloc)


def _can(request: Request) -> None:
    if why_not(_place(request)):
        raise HTTPException(404)


def _own(to: str) -> str:
    """An address of ours; anything else is the first page."""
    plain = to.startswith("/") and not to.startswith(("//", "/\\")) and to.isprintable()
    return to[:600] if plain else "/"


def _to(request: Request) -> str:
    return _own(request.query_params.get("to", ""))


async def sign_in_post(request: Request) -> Response:
    """POST login and pass phrase."""
    form, _ = await form_of(request)
    login, address = form.get("login", ""), request.client.host if request.client else ""
    by_passkey = form.get("do") == "passkey"
    wait = firm_of(request).people.wait_s(address=address, **({} if by_passkey else {"login": login}))
    if wait > 0:
        name, said = ("", "passkey.wait") if by_passkey else ("login", "guard.wait")
        return _sign_in(request, _back(form, name, say(said, seconds=math.ceil(wait))), 429)
    if by_passkey:
        return _by_passkey(request, form, address)
    found = firm_of(request).people.sign_in(login, form.get("phrase", ""), address)
    if found is None:
        return _sign_in(request, _back(form, "phrase", say("firm.wrong")))
    person, key = found
    return signed_in(request, see_other(_first(person.role, _own(form.get("to", "")))), key)


def _by_passkey(request: Request, form: dict[str, str], address: str) -> Response:
    _can(request)
    keys, place, answer = firm_of(request).passkeys, _place(request), form.get("answer", "")
    if not answer:
        return _sign_in(request, Typed(form), asked=keys.to_sign_in(place))
    found = keys.sign_in(answer, form.get("challenge", ""), place, address)
    if found is None:
        return _sign_in(request, Typed({"to": form.get("to", "")}, {"": (say("passkey.wrong"),)}))
    return signed_in(request, see_other(_first(found[0].role, _own(form.get("to", "")))), found[1])


def _back(form: dict[str, str], name: str, said: str) -> Typed:
    """The form as it was typed, but for its pass phrases: they do not go back into a page."""
    return Typed({k: v for k, v in form.items() if not k.startswith("phrase")}, {name: (said,)})


def _first(role: str, to: str) -> str:
    return {CLIENT: "/handed", ERASER: "/erase"}.get(role, to) if to == "/" else to


async def sign_out_post(request: Request) -> Response:
    """POST: forget this browser, or every one of this person."""
    form, _ = await form_of(request)
    people = firm_of(request).people
    if form.get("everywhere"):
        people.sign_out_everywhere(me(request))
    else:
        people.sign_out(request.cookies.get(cookie_of(request), ""))
    answer = see_other("/sign-in")
    answer.delete_cookie(cookie_of(request), path="/", secure=request.url.scheme == "https", httponly=True)
    return answer


async def join_page(request: Request) -> Response:
    """GET what an invitation is for."""
    return _join(request, Typed())


def _join(request: Request, typed: Typed) -> Response:
    found = firm_of(request).people.invited(request.path_params["key"])
    if found is None:
        return page(request, "error.html", 410, what=say("firm.no_invitation"), do=say("firm.no_invitation_do"))
    status = 422 if typed.errors else 200
    return page(request, "office/join.html", status, typed=typed, name=found[0], role=found[1], shortest=SHORTEST)


async def join_post(request: Request) -> Response:
    """POST the login and pass phrase that somebody chose."""
    form, _ = await form_of(request)
    people, phrase = firm_of(request).people, form.get("phrase", "")
    if why := unfit(phrase) or (say("firm.not_twice") if phrase != form.get("phrase_again") else ""):
        return _join(request, _back(form, "phrase", why))
    try:
        person = people.join(request.path_params["key"], form.get("login", ""), phrase)
    except Refused as error:
        return _join(request, _back(form, "login", str(error)))
    return signed_in(request, see_other(_first(person.role, "/")), people.begin(person))


async def me_page(request: Request) -> Response:
    """GET one's own account."""
    return _me(request, Typed())


def _me(request: Request, typed: Typed, feed: str = "", token: str = "", asked: str = "") -> Response:
    person = me(request)
    return page(
        request,
        "office/me.html",
        422 if typed.errors else 200,
        typed=typed,
        person=person,
        sessions=firm_of(request).people.sessions(person),
        feed=feed,
        token=token,
        here=f"{request.url.scheme}://{request.url.netloc}",
        devices=[d for d in devices(firm_of(request).store) if d.person == person.id],
        staff=person.role not in (CLIENT, ERASER),
        passkeys=firm_of(request).passkeys.of(person),
        **passkeys(request, asked),
    )


async def me_post(request: Request) -> Response:
    """POST another pass phrase, or another address for the calendar."""
    form, _ = await form_of(request)
    people, person = firm_of(request).people, me(request)
    if form.get("do") == "feed":
        return _me(request, Typed(), str(request.url_for("feed", key=people.new_feed(person))))
    if form.get("do") in ("device", "shut-out"):
        return _device(request, form)
    if form.get("do", "").startswith("passkey"):
        return _passkey(request, form)
    phrase = form.get("phrase", "")
    if why := unfit(phrase) or (say("firm.not_twice") if phrase != form.get("phrase_again") else ""):
        return _me(request, _back(form, "phrase", why))
    try:
        people.new_phrase(person, form.get("phrase_old", ""), phrase)
    except Refused as error:
        return _me(request, _back(form, "phrase_old", str(error)))
    return signed_in(request, see_other("/me?said=1"), people.begin(person))


def _passkey(request: Request, form: dict[str, str]) -> Response:
    """Have a passkey made on this device, keep what it made, or take one out."""
    keys, person, place = firm_of(request).passkeys, me(request), _place(request)
    if form["do"] == "passkey-out":
        keys.take_out(person, form.get("passkey", ""))
        return see_other("/me")
    _can(request)
    typed = Typed({k: v for k, v in form.items() if k in ("do", "passkey_name")})
    try:
        if form["do"] == "passkey":
            return _me(request, typed, asked=keys.to_make(person, form.get("phrase_now", ""), place))
        keys.make(person, form.get("passkey_name", ""), form.get("answer", ""), form.get("challenge", ""), place)
    except Refused as error:
        return _me(request, Typed(typed.values, {"phrase_now" if form["do"] == "passkey" else "": (str(error),)}))
    return see_other("/me")


def _device(request: Request, form: dict[str, str]) -> Response:
    """Let a phone of one's own send and fetch in one's name, or take its token back."""
    person, store = me(request), firm_of(request).store
    if form["do"] == "shut-out":
        if any(d.number == form.get("device") and d.person == person.id for d in devices(store)):
            shut_out(store, form["device"])
        return see_other("/me")
    try:
        token = let_in(store, form.get("device_name", ""), dt.datetime.now(dt.UTC), person.id)
    except JournalError as error:
        return _me(request, Typed(form, {"device_name": (str(error),)}))
    return _me(request, Typed(), token=token)


async def people_page(request: Request) -> Response:
    """GET everybody with an account, and the form that lets somebody in."""
    return _people(request, Typed())


def _people(request: Request, typed: Typed, invited: str = "") -> Response:
    everybody = firm_of(request).people.all()
    return page(
        request,
        "office/people.html",
        422 if typed.errors else 200,
        typed=typed,
        here=[p for p in everybody if not p.gone],
        gone=[p for p in everybody if p.gone],
        to_give=[(r, r) for r in ROLES if may_let_in(me(request), r)],
        roles=[(r, say("firm.role_" + r.replace(" ", "_"))) for r in ROLES if may_let_in(me(request), r)],
        may_end=[p.id for p in everybody if may_let_in(me(request), p.role) and p.id != me(request).id],
        invited=invited,
    )


async def people_post(request: Request) -> Response:
    """POST an invitation, or that somebody has left."""
    form, _ = await form_of(request)
    people, person = firm_of(request).people, me(request)
    try:
        if form.get("do") in ("leave", "again"):
            other = people.of_id(form.get("person", ""))
            if other is None or other.id == person.id or not may_let_in(person, other.role):
                raise HTTPException(404)
            if form["do"] == "again":
                key = people.invite_again(other, person.id)
                return _people(request, Typed(), str(request.url_for("join", key=key)))
            people.leave(other, person.id)
            return see_other("/people")
        if not may_let_in(person, form.get("role", "")):
            raise Refused(say("firm.not_that_role"))
        key = people.invite(form.get("name", ""), form["role"], person.id, form.get("mail", "").strip())
    except Refused as error:
        return _people(request, Typed(form, {"" if form.get("do") else "name": (str(error),)}))
    return _people(request, Typed(), str(request.url_for("join", key=key)))
