"""Whether the signatures of a document hold: typed ones in its visit, electronic ones in its file, and none taken out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..outcomes.assessment import Assessment
from ..site.particulars import DRAWN, ELECTRONIC
from .answers import AGREES, CANNOT, DIFFERS, NOT_ASKED, Check
from .attachments import read_inside
from .signing import ALTERED, APPENDED, EXPIRED, GOOD, UNKNOWN, UNREADABLE, NoLibrary, SignatureFound, check_signatures

TYPED_HOLDS = "It names this version of the visit; a typed name proves nobody."
DRAWN_HOLDS = (
    "It names this version of the visit, and its strokes are those that were given; whose hand drew them is not known."
)


def signature_checks(
    content: bytes, a: Assessment | None, record: str, trusted: Sequence[bytes] = (), *, announced: bool = True
) -> tuple[Check, ...]:
    """Every signature with how it stands. Raises CannotSign for a certificate to trust that cannot be read.

    a          the visit inside, judged again;  record  hash of the record that a signature must name
    trusted    certificates of signers or authorities; then each signature must lead to one, and there must be one
    announced  whether a role that the visit says is signed electronically must be (not yet, while it is being signed)
    """
    return (*given_checks(a), *_electronic(content, a, record, trusted, announced))


def given_checks(a: Assessment | None) -> Iterator[Check]:
    """The signatures and receipts that stand in the visit itself: typed, announced, or drawn."""
    for s in a.visit.paperwork.signs if a is not None else ():
        void = a.visit.paperwork.void(s) if a is not None else ""
        word = f"VOID: {void}." if void else DRAWN_HOLDS if s.how == DRAWN else TYPED_HOLDS
        name = f"{s.how} signature, {s.role}, {s.name}{f', {s.at}' if s.at else ''}"
        yield Check(name, DIFFERS if void else AGREES, word)
    for r in a.visit.paperwork.receipts if a is not None else ():
        papers = a.visit.paperwork if a is not None else None
        void, forged = (papers.void(r), papers.forged(r)) if papers else ("", "")
        name = f"receipt of the {r.document}, {r.name}{f', {r.at}' if r.at else ''}"
        # A receipt speaks of the version that was handed over: an entry made afterwards takes nothing from it.
        word = "It names this version of the visit." if not void else f"It names an earlier version: {void}."
        yield Check(name, DIFFERS if forged else AGREES, f"VOID: {forged}." if forged else word)


def _electronic(
    content: bytes, a: Assessment | None, record: str, trusted: Sequence[bytes], announced: bool
) -> Iterator[Check]:
    name = "electronic signature"
    found: tuple[SignatureFound, ...] = ()
    if read_inside(content).signed or trusted:
        try:
            found = check_signatures(content, trusted)
        except NoLibrary as error:
            yield Check(name, CANNOT, f"Not checked. {error}")
            return
    yield from (_one(s, record, bool(trusted)) for s in found)
    if trusted and not found:
        yield Check(
            name, DIFFERS, "You named whom you trust, and nobody signed this file electronically, or it was taken out."
        )
    missing = _announced(a) - {s.role for s in found} if announced else set()
    for role in sorted(missing):
        words = f"The visit says that this was signed electronically as '{role}', and the file holds no such signature."
        yield Check(name, DIFFERS, f"{words} It was taken out, or never made.")
    if not found and not trusted and not missing:
        yield Check(name, NOT_ASKED, "There is none in this file, and the visit announces none.")


def _announced(a: Assessment | None) -> set[str]:
    papers = a.visit.paperwork if a is not None else None
    return {s.role for s in papers.signs if s.how == ELECTRONIC and papers.holds(s)} if papers else set()


def _one(s: SignatureFound, record: str, asked: bool) -> Check:
    clock = f", {s.at} by the signer's clock" if s.at else ""
    name = f"electronic signature, {s.role or 'role not readable'}, {s.signer or 'signer not readable'}{clock}"
    if s.outcome in (ALTERED, APPENDED, UNREADABLE):
        return Check(name, DIFFERS, f"{s.outcome}; {s.words}.")
    if record not in s.reason:
        return Check(name, DIFFERS, "It was made for another record than the one inside.")
    if s.outcome == GOOD or (s.outcome == UNKNOWN and not asked):
        more = "" if asked else " Name whom you trust with --trust."
        return Check(name, AGREES, f"{s.outcome}; {s.words}.{more}")
    return Check(name, CANNOT if s.outcome == EXPIRED else DIFFERS, f"{s.outcome}; {s.words}.")
