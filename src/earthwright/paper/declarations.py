"""What each signature certifies, in our own words, and who gives it: one statement for one person in several roles.

The duties are those that BS 7671 part 6 and appendix 6 describe, told as facts: who answers for design, construction,
inspection and test; that departures are named; that for what was there already the inspector answers for skill and
care within the extent and limitations named. The words of the model forms are not used.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from ..base.days import moment
from ..outcomes.assessment import Assessment
from ..site.particulars import AUTHORISED, BUILT, DESIGNED, DRAWN, ELECTRONIC, PEN, TESTED, Sign
from ..site.strokes import as_svg
from .kinds import BY_NAME, MINOR, RECORD, REPORTS, STATES
from .shortfalls import departures_said

# What a role answers for in new work, each the words for one of them and for a list of them.
ANSWERS_FOR = {DESIGNED: "the design", BUILT: "the construction", TESTED: "the inspection and test"}
SAID = {AUTHORISED: "qualified supervisor, authorised for issue"}


@frozen
class Declared:
    """One block of signature: the roles, the statement above it, and the signature itself where it was given."""

    roles: tuple[str, ...]
    statement: str
    sign: Sign | None = None
    void: str = ""
    named: str = ""

    def as_texts(self) -> dict[str, object]:
        """As printed."""
        s, roles = self.sign, [SAID.get(r, r) for r in self.roles]
        title = ", ".join(roles)
        block: dict[str, object] = {
            "role": title[0].upper() + title[1:],
            "statement": self.statement,
            "name": self.named,
            "at": "",
            "hash": "",
            "strokes": "",
            "pen": False,
            "void": True,
            "state": "Not signed.",
            "blank": s is None,
        }
        if s is None:
            return block
        block |= {
            "name": ", ".join(x for x in (s.name, s.position, s.firm) if x),
            "at": moment(s.at),
            "strokes": as_svg(s.strokes),
            "hash": s.content,
        }
        return {
            **block,
            "pen": s.how == PEN,
            "void": bool(self.void),
            "state": f"VOID: {self.void}." if self.void else _state(s),
        }


def _state(s: Sign) -> str:
    return {
        ELECTRONIC: "An electronic signature in this role belongs inside this file.",
        PEN: "Given once it is signed in ink above.",
        DRAWN: "Signed on the screen. This version was signed.",
    }.get(s.how, "This version was signed.")


def roles_of(a: Assessment, document: str) -> tuple[str, ...]:
    """The roles that must sign a document: a certificate also by the qualified supervisor, where one is named."""
    roles = BY_NAME[document].roles
    second = bool(roles) and AUTHORISED not in roles and bool(a.visit.paperwork.report.supervisor)
    return (*roles, AUTHORISED) if second else roles


def offered(a: Assessment, document: str) -> tuple[str, ...]:
    """The roles that a document can be signed in: those that must, else those that may."""
    return roles_of(a, document) or BY_NAME[document].may


def declarations(a: Assessment, document: str) -> tuple[Declared, ...]:
    """A block for each person who signs a document, and one for each role that nobody has taken yet."""
    papers = a.visit.paperwork
    wanted = offered(a, document)
    last: dict[str, Sign] = {}
    for s in (*papers.signs, *(s for s in papers.signs if papers.holds(s))):
        last[s.role] = s  # the last that holds, else the last; voided ones do not pile up
    apart = BY_NAME[document].called == REPORTS or BY_NAME[document].may or not wanted
    others = () if apart else tuple(r for r in last if r not in wanted)
    asked = (*(r for r in wanted if r in last or r not in BY_NAME[document].may), *others)
    together: dict[object, list[str]] = {}
    for role in dict.fromkeys(asked):
        together.setdefault(_hand(last.get(role), role), []).append(role)
    made = []
    for roles in together.values():
        sign = last.get(roles[0])
        named = {AUTHORISED: papers.report.supervisor, TESTED: a.visit.inspector}.get(roles[0], "")
        void = papers.void(sign) if sign is not None else ""
        made.append(Declared(tuple(roles), statement(a, document, roles), sign, void, named))
    return tuple(made)


def _hand(s: Sign | None, role: str) -> object:
    """Whose hand it is: the same for the roles that one person took on the same version; reviewing one's own work is apart."""
    if s is None or role == AUTHORISED:
        return role
    return (s.name, s.position, s.firm, s.how, s.content)


def statement(a: Assessment, document: str, roles: Iterable[str]) -> str:
    """What the signature of somebody in these roles certifies in a document."""
    taken = list(roles)
    if document == RECORD:
        return _record(a)
    if taken == [AUTHORISED]:
        return _second(document)
    if BY_NAME[document].called == REPORTS:
        return _existing(a)
    if BY_NAME[document].called == STATES:
        return _remedial(a)
    mine = [words for role, words in ANSWERS_FOR.items() if role in taken]
    if document == MINOR:
        mine = list(ANSWERS_FOR.values())
    return _new_work(a, document, mine)


def rules_said(a: Assessment) -> str:
    """The edition that is declared against."""
    return a.editions[0].title if a.editions else "the wiring rules (no edition is known for this date)"


def _new_work(a: Assessment, document: str, mine: list[str]) -> str:
    what = ", ".join(mine[:-1]) + (" and " if len(mine) > 1 else "") + mine[-1] if mine else "what is named here"
    said = (
        f"I answer for {what} of the work described above. I gave it the care and skill that the job asks for, and as far "
        f"as I know and can judge it complies with {rules_said(a)}{_but(a)}."
    )
    if "the inspection and test" in ", ".join(mine):
        said += " The results that go with this certificate are those I found."
    if document == MINOR:
        said += " What was there before is no worse protected for it; what I saw of it is remarked above."
    return said


def _but(a: Assessment) -> str:
    """The departures as part of the sentence."""
    departures = departures_said(a).strip().rstrip(".")
    if departures.lower() in ("", "none"):
        return ", without departures" if departures else "; whether there are departures is not stated"
    return f", but for these departures: {departures}"


def _existing(a: Assessment) -> str:
    return (
        "I inspected and tested what is listed under Extent, with reasonable skill and care, and within the limitations stated "
        f"there, those agreed before and those met on the day. I judged it by {rules_said(a)}. The observations, their codes and the schedules "
        "give the condition as I found it on that day. I say nothing about what was not inspected or tested."
    )


def _second(document: str) -> str:
    what = BY_NAME[document].called
    more = "that the codes and the overall assessment follow from them, " if what == REPORTS else ""
    return (
        f"I looked through this {what} and its schedules before it went out. I am content that they are complete, {more}"
        f"and that whoever inspected and tested is competent for it. I release it for the contractor named."
    )


def _remedial(a: Assessment) -> str:
    return (
        "Each item above shown as put right was checked after the work, by the reading or the inspection beside it, "
        f"and judged by {rules_said(a)}. I answer for those checks, not for work that is not named here. What is "
        "still open is shown as open. About the rest of the installation I say nothing beyond the report."
    )


def _record(a: Assessment) -> str:
    limits = [x for x in a.visit.limitations if x.strip().lower() != "none"]
    extent = a.visit.extent.rstrip(".") or "the bonds listed"
    within = f"Limitations: {'; '.join(limits).rstrip('.')}." if limits else "No limitation is stated."
    return f"I took the readings in this record with reasonable skill and care. Extent: {extent}. {within}"
