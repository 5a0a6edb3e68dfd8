"""Who may do what, in one place. Everything that is not said here is refused.

A visit is its inspector's, and theirs whom the office sent along: nobody else in the firm enters anything into it. A qualified supervisor reads every visit and
countersigns those of others, never their own. The office plans, gives and hands over, and measures nothing. A client reads
what was handed over. Taking personal data out is a right of its own, which goes with no other.
"""

from __future__ import annotations

from attrs import frozen

INSPECTOR, SUPERVISOR, OFFICE, CLIENT, ERASER = "inspector", "qualified supervisor", "office", "client", "erase"
ROLES = (INSPECTOR, SUPERVISOR, OFFICE, CLIENT, ERASER)
STAFF = (INSPECTOR, SUPERVISOR, OFFICE)

# What an address asks for.
OPEN = "open"  # nobody has to sign in
SELF = "self"  # one's own account
WORK = "work"  # staff: lists and sums
SEE = "see a visit"
ENTER = "enter into a visit"
SIGN = "sign a paper"
BEGIN = "begin a visit"
CHECK = "countersign"
PLAN = "plan"  # plan visits, give them, hand papers over, see the instruments
PEOPLE = "people"
ESTATE = "all homes together"
ERASE = "take personal data out"
HANDED = "what was handed over"
NOBODY = "nobody"

_ALWAYS = {
    INSPECTOR: {SELF, WORK, BEGIN},
    SUPERVISOR: {SELF, WORK, BEGIN, SEE, PLAN, PEOPLE, ESTATE},
    OFFICE: {SELF, WORK, SEE, PLAN, PEOPLE, ESTATE},
    CLIENT: {SELF, HANDED},
    ERASER: {SELF, ERASE},
}
_OWN = {SEE, ENTER, SIGN}  # of one's own visit, by those who measure
_OF_OTHERS = {SIGN, CHECK}  # of somebody else's, by a qualified supervisor

# What an address under a visit asks for: to see it, or to enter something, unless it stands here.
_VISIT = {
    ("POST", "/v/{visit}/paper/{document}"): SIGN,
    ("GET", "/v/{visit}/check"): SEE,
    ("POST", "/v/{visit}/check"): CHECK,
    ("POST", "/v/{visit}/weighed"): SEE,
    ("GET", "/v/{visit}/handed"): PLAN,
    ("POST", "/v/{visit}/handed"): PLAN,
    ("POST", "/v/{visit}/give"): PLAN,
}
_OTHERS = {
    "/static/{name}": OPEN, "/sign-in": OPEN, "/join/{key}": OPEN, "/sync/{name:path}": OPEN, "/health": OPEN, "/metrics": OPEN, "/h/{key}": OPEN,
    "/h/{key}/{hash}.pdf": OPEN, "/calendar/{key}.ics": OPEN, "/sign-out": SELF, "/me": SELF, "/people": PEOPLE,
    "/": WORK, "/kept": WORK, "/together": WORK, "/sums": WORK, "/sums/{name}": WORK, "/new": BEGIN, "/book": BEGIN, "/written": BEGIN,
    "/plan": PLAN, "/office": PLAN, "/tools": PLAN, "/tools/{serial:thing}": PLAN, "/handed": HANDED,
    "/handed/{visit}/{hash}.pdf": HANDED, "/erase": ERASE,
}  # fmt: skip


@frozen
class Person:
    """Somebody with an account. ``gone``: when they left; they cannot act, and what they did stays under their name."""

    id: str
    login: str
    name: str
    role: str
    mail: str = ""
    gone: str = ""


def right_of(method: str, path: str) -> str:
    """What an address, as the routes write it, asks for; one that nobody thought of is nobody's."""
    method = "GET" if method == "HEAD" else method
    if path.startswith("/v/{visit}/"):
        return _VISIT.get((method, path), SEE if method == "GET" else ENTER)
    return ESTATE if path.startswith("/portfolio/") else _OTHERS.get(path, NOBODY)


def may(person: Person, right: str, *, own: bool = False) -> bool:
    """Whether a person may do what an address asks for. ``own``: the visit of the address is theirs."""
    if person.gone or person.role not in ROLES:
        return False
    if right in (OPEN, *_ALWAYS[person.role]):
        return True
    if own:
        return person.role in (INSPECTOR, SUPERVISOR) and right in _OWN
    return person.role == SUPERVISOR and right in _OF_OTHERS


def may_let_in(person: Person, role: str) -> bool:
    """Whether a person may invite somebody to a role: whoever countersigns is let in by one who does."""
    return may(person, PEOPLE) and (
        role in (INSPECTOR, OFFICE, CLIENT) or (person.role == SUPERVISOR and role in ROLES)
    )
