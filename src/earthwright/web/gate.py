"""Where a firm's people sign in: every address is asked who it is, and whether that person may.

A handler is only ever reached through here (:func:`guarded`), so an address that nobody thought of answers nobody. What is
not one's own is answered as if it were not there.
"""

from __future__ import annotations

from functools import wraps
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..firm import Firm, Person
from ..firm.rights import ENTER, OPEN, SEE, SIGN, may, right_of
from .render import page, see_other
from .views.common import Handler
from .words import say

COOKIE = "earthwright"
_OF_A_VISIT = (SEE, ENTER, SIGN)


def firm_of(request: Request) -> Firm:
    """The firm whose pages these are."""
    found = request.app.state.settings.firm
    assert isinstance(found, Firm)  # the pages of a firm are only there where there is one
    return found


def who(request: Request) -> Person | None:
    """Who is signed in; None where nobody is, and where there are no accounts."""
    found = getattr(request.state, "person", None)
    return found if isinstance(found, Person) else None


def me(request: Request) -> Person:
    """Who is signed in, where the address asks for somebody."""
    found = who(request)
    assert found is not None  # guarded
    return found


def guarded(route: Route) -> Route:
    """A route that asks first."""
    methods = route.methods or {"GET"}
    rights = {m: right_of(m, route.path) for m in methods}
    handler: Handler = route.endpoint

    @wraps(handler)
    async def asked(request: Request) -> Response:
        firm, right = firm_of(request), rights[request.method]
        person = firm.people.who(request.cookies.get(cookie_of(request), ""))
        request.state.person = person
        request.state.by = person.name if person else ""
        if right == OPEN:
            return await handler(request)
        if person is None:
            return _sign_in_first(request)
        visit = request.path_params.get("visit", "")
        if not may(person, right, own=bool(visit) and firm.works_on(person, visit)):
            if visit and right in _OF_A_VISIT and not firm.sees(person, visit):
                raise HTTPException(404)
            return page(request, "error.html", 403, what=say("firm.not_yours"), do=say("firm.not_yours_do"))
        return await handler(request)

    return Route(route.path, asked, methods=sorted(methods), name=route.name)


def _sign_in_first(request: Request) -> Response:
    if request.method == "POST":
        return page(request, "error.html", 401, what=say("firm.signed_out"), do=say("firm.signed_out_do"))
    where = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return see_other("/sign-in" if where == "/" else f"/sign-in?to={quote(where, safe='')}")


def cookie_of(request: Request) -> str:
    """Name of the cookie; over HTTPS one that no neighbour of this name, and no page without HTTPS, can set."""
    return f"__Host-{COOKIE}" if request.url.scheme == "https" else COOKIE


def signed_in(request: Request, answer: Response, key: str) -> Response:
    """An answer that gives the browser its key: not for scripts, not for requests that other pages send."""
    secure = request.url.scheme == "https"
    answer.set_cookie(
        cookie_of(request), key, max_age=60 * 86400, path="/", secure=secure, httponly=True, samesite="lax"
    )
    return answer
