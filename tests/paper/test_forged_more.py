"""A second workshop of forgeries, by other hands: none agrees, and what cannot be compared is never said to."""

from __future__ import annotations

import pytest
from forged_more import MORE
from test_forged import answered
from test_verify import document

from earthwright.desk.demo import visit_text


@pytest.fixture(scope="module")
def genuine() -> bytes:
    return document(visit_text(), "bonding record")


def test_the_genuine_one_agrees(genuine: bytes) -> None:
    assert answered(genuine) == "agrees"


@pytest.mark.parametrize("kind", MORE)
def test_no_forgery_agrees(genuine: bytes, kind: str) -> None:
    lie = MORE[kind](genuine)
    assert lie != genuine
    said = answered(lie)
    assert said != "agrees"
    # Only a document that names another build cannot be held against what this one prints; a false verdict is seen there too.
    if not any(word in kind for word in ("build", "version number")):
        assert said != "cannot be checked here"
    if kind in ("another build and painted over", "another build and verdict"):
        assert said == "differs"
