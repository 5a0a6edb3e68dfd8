"""What checking a document can come to: one question with its answer, and the answer to all of them together."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

AGREES, DIFFERS, CANNOT = "agrees", "differs", "cannot be checked here"
NOT_ASKED = "not asked"  # nobody named what it would be held against: a journal, a certificate that is trusted


@frozen
class Check:
    """One question put to a document, with its answer in words."""

    name: str
    outcome: str
    words: str


def answer(checks: Iterable[Check]) -> str:
    """One answer to all: what differs weighs most, then what cannot be checked; nothing unchecked counts as agreement."""
    outcomes = {c.outcome for c in checks}
    return next((o for o in (DIFFERS, CANNOT) if o in outcomes), AGREES)
