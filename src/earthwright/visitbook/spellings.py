"""Words as busy people write them: outcomes, and why there is no reading. What is understood is one of our words, or nothing."""

from __future__ import annotations

import re

from ..site.events import ABSENT

GOOD, BAD = "good", "bad"
LIM, NOT_APPLICABLE, NOT_VERIFIED, NOT_TESTED = ABSENT

# fmt: off
_GOOD = (
    "good", "ok", "okay", "pass", "passed", "p", "correct", "yes", "y", "satisfactory", "sat", "✓", "✔", "☑", "√",
    "tick", "ticked", "✅", "acceptable", "acc", "confirmed", "verified", "works", "working", "trips", "tripped",
    "operates", "operated",
)
_BAD = (
    "bad", "fail", "fails", "failed", "f", "no", "n", "not ok", "incorrect", "wrong", "reversed", "unsatisfactory",
    "unsat", "cross", "crossed", "faulty", "❌", "x", "✗", "✘", "☒", "does not work", "not working",
    "does not trip", "did not trip", "no trip", "not tripping", "does not operate", "did not operate",
    "doesn't work", "doesn't trip", "didn't trip",
)
# fmt: on
_OUTCOMES = {**dict.fromkeys(_GOOD, GOOD), **dict.fromkeys(_BAD, BAD)}
_ABSENT = {
    **dict.fromkeys(("lim", "l.i.m", "limitation", "limited"), LIM),
    **dict.fromkeys(("n/a", "n\\a", "n.a", "na", "not applicable"), NOT_APPLICABLE),
    **dict.fromkeys(("n/v", "n.v", "nv", "not verified"), NOT_VERIFIED),
    **dict.fromkeys(("not tested", "not done", "omitted", "n/t", "n.t", "nt", "untested"), NOT_TESTED),
}
# The word, then what parts it from its reason: a colon, a dash, a bracket, a comma, a stroke, or a blank alone.
_WITH_REASON = re.compile(
    rf"({'|'.join(map(re.escape, sorted(_ABSENT, key=len, reverse=True)))})(?:\.?\s*[:;,(/\-–—]\s*|\.?\s+)(.+?)\)?",
    re.IGNORECASE,
)
# A limitation whose word is its reason.
_NO_WAY = re.compile(
    r"(?:no access|not accessible|inaccessible|unable to test|could not (?:be )?test(?:ed)?|not possible)\b.*",
    re.IGNORECASE,
)


def outcome_of(typed: object) -> str:
    """``good`` or ``bad`` for a tick, a yes, a pass or their contraries; empty for anything else."""
    if isinstance(typed, bool):
        return GOOD if typed else BAD
    plain = " ".join(typed.replace("\ufe0f", "").split()).casefold().rstrip(".!") if isinstance(typed, str) else ""
    return _OUTCOMES.get(plain, "")


def absent_of(typed: object) -> tuple[str, str]:
    """Why there is no reading, as one of :data:`~earthwright.events.ABSENT`, and its reason: ``LIM: locked``.

    Both are empty for anything else.
    """
    if not isinstance(typed, str):
        return "", ""
    words = " ".join(typed.split())
    alone = words.casefold().rstrip(".")
    if alone in _ABSENT:
        return _ABSENT[alone], ""
    if _NO_WAY.fullmatch(words):
        return LIM, words
    match = _WITH_REASON.fullmatch(words)
    return (_ABSENT[match[1].casefold()], match[2].strip()) if match else ("", "")
