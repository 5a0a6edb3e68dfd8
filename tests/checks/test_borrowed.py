"""An earth that is lent by another circuit."""

from __future__ import annotations

import pytest

from earthwright.site.events import Repair

from .made import circuit, found, off, on, read, visit

TWO = (circuit("c1"), circuit("c2"))


@pytest.mark.parametrize("test", ["r2", "r1r2"])
def test_an_earth_that_goes_with_the_lenders_conductor(test: str) -> None:
    v = visit(read(test, "c2", "0.60"), off("c1:cpc"), read(test, "c2", "over-range"), on("c1:cpc"), circuits=TWO)
    (f,) = found(v, "cpc.borrowed")
    assert (f.entry, f.severity.value) == ("c2", "stop")
    assert "only through the protective conductor of c1" in f.what


def test_what_is_no_loan() -> None:
    own = visit(read("r2", "c2", "0.60"), off("c2:cpc"), read("r2", "c2", "over-range"), on("c2:cpc"), circuits=TWO)
    kept = visit(read("r2", "c2", "0.60"), off("c1:cpc"), read("r2", "c2", "0.60"), on("c1:cpc"), circuits=TWO)
    never = visit(off("c1:cpc"), read("r2", "c2", "over-range"), on("c1:cpc"), circuits=TWO)
    open_always = visit(read("r2", "c2", "over-range"), circuits=TWO)
    for v in (own, kept, never, open_always):
        assert found(v, "cpc.borrowed") == []


def test_a_conductor_of_its_own_ends_it() -> None:
    lent = (read("r2", "c2", "0.60"), off("c1:cpc"), read("r2", "c2", "over-range"), on("c1:cpc"))
    given = Repair(seq=0, what="c2:cpc", remade="a protective conductor of its own")
    assert found(visit(*lent, given, read("r2", "c2", "0.40"), circuits=TWO), "cpc.borrowed") == []
    other = Repair(seq=0, what="c1:cpc", remade="a terminal")
    assert found(visit(*lent, other, circuits=TWO), "cpc.borrowed")
