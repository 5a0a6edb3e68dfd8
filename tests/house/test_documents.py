"""Every declared document has what its declaration names: what makes it, what it needs, its template and its kind of visit."""

from __future__ import annotations

import pytest

from earthwright.paper.kinds import ALL, BY_NAME, ENDS_IN, Document, made_by
from earthwright.paper.pdf import HERE
from earthwright.site.visit import VISIT_KINDS


@pytest.mark.parametrize("document", ALL, ids=lambda d: d.name)
def test_what_a_declaration_names_is_there(document: Document) -> None:
    for function in (document.page, *filter(None, (document.groups,)), *document.asks):
        assert callable(made_by(function)), function
    assert (HERE / "templates" / document.template).is_file()
    assert bool(document.roles) == bool(document.called)


def test_every_kind_of_visit_ends_in_one_document() -> None:
    assert set(ENDS_IN) == set(VISIT_KINDS)
    assert len(BY_NAME) == len(ALL)
