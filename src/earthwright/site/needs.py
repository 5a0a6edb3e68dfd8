"""Which tests a circuit needs: asked by the judgement, the papers and the pages alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from attrs import evolve, frozen

from . import tests
from .circuit import Circuit, Device
from .events import Reading
from .tests import CIRCUIT, TESTS, spoken

LIVE_TO_LIVE = ("L-N", "L-L")
TO_EARTH = ("L-E", "LN-E", "all-E", "L-PE", "N-E")
AFDD_BUTTON = "AFDD button"
OF_SPD = "SPD"


class Made(Protocol):
    """A row of the schedule as far as this asks: which test, where, what was read, and why nothing was."""

    @property
    def test(self) -> str: ...
    @property
    def point(self) -> str: ...
    @property
    def readings(self) -> Sequence[Reading]: ...
    @property
    def absent(self) -> str: ...


@frozen
class Need:
    """One test that a circuit needs; of several any one will do.

    between  of an insulation test: between what, one of these;  words  the same in words;  point  which function
    key      the place where a page takes it: (test, between, method)
    printed  whether a schedule has a column for it; nothing is required for a paper that it does not print
    """

    tests: tuple[str, ...]
    between: tuple[str, ...] = ()
    words: str = ""
    method: str = ""
    point: str = ""
    printed: bool = True

    @property
    def names(self) -> str:
        """The tests that would do."""
        return self.point or " or ".join(spoken(t) for t in self.tests)

    @property
    def said(self) -> str:
        """What it is called where it is missing."""
        return f"{self.names} {self.words}".strip()

    @property
    def key(self) -> tuple[str, str, str]:
        """The place where a page takes it: test, between, method or function."""
        return self.tests[0], self.between[0] if self.between else "", self.method or self.point

    def entered(self, rows: Iterable[Made]) -> bool:
        """Whether something is entered of its test, between whatever."""
        return any(self._is(t) for t in rows)

    def met(self, rows: Iterable[Made]) -> bool:
        """Whether something was read of it, or a reason is stated why not."""
        return any(t.absent or self._read(t.readings) for t in rows if self._is(t))

    def _read(self, readings: Sequence[Reading]) -> bool:
        """Whether a reading counts; a row that is worked out has none and counts itself."""
        if not self.between and not readings:
            return True
        return any(not r.refused and (not self.between or r.between in self.between) for r in readings)

    def _is(self, t: Made) -> bool:
        here = not self.point or t.point.upper() in ("", self.point.upper())
        return here and t.test in self.tests and t.absent != MISSING


MISSING = "missing"
ENDS = tuple(Need((t,)) for t in tests.ENDS)
# The usual record of a ring is its ends and the highest R1+R2; a profile shows more, and takes the place of R1+R2.
CROSSED = (Need(("ring ln", "r1r2"), printed=False), Need(("ring le", "r1r2")))
CONTINUITY = (Need(tests.CPC),)
ALWAYS = (
    Need(("insulation",), LIVE_TO_LIVE, "between live conductors"),
    Need(("insulation",), TO_EARTH, "to earth"),
    Need(("polarity",)),
)
SEQUENCE = (Need(("phase sequence",), printed=False),)
LOOP = (Need(("zs",)),)
RESIDUAL = (Need(("rcd",), method="x1"), Need(("rcd button",)))
ARC = (Need(("functional",), point=AFDD_BUTTON),)
SURGE = (Need(("functional",), point=OF_SPD),)
EVERY = (*ENDS, *CROSSED, *CONTINUITY, *ALWAYS, *SEQUENCE, *LOOP, *RESIDUAL, *ARC)


def has_rcd(d: Device) -> bool:
    """Whether a device has a residual current function, or a separate device for it."""
    return bool(d.rcd_type or d.rcd_ma is not None or d.rcd_standard or d.rcd_rating_a is not None)


def needs_of(circuit: Circuit, *, feeds: bool) -> tuple[Need, ...]:
    """The tests that a circuit needs. ``feeds``: whether it feeds a board, at which its loop is read as Zdb."""
    cpc = circuit.cpc != "none"
    return (
        *((*ENDS, *CROSSED) if circuit.kind == "ring" else CONTINUITY if cpc else ()),
        *ALWAYS,
        *(SEQUENCE if circuit.phases == 3 else ()),
        *(LOOP if cpc and not feeds else ()),
        *(RESIDUAL if has_rcd(circuit.device) else ()),
        *(ARC if circuit.device.afdd else ()),
    )


def offered(circuit: Circuit, *, residual: bool) -> tuple[Need, ...]:
    """What a page asks for: what is needed, and what may be read of it all the same. ``residual``: its board has such a device."""
    needs = needs_of(evolve(circuit, cpc="core") if circuit.cpc == "none" else circuit, feeds=False)
    more = tuple(n for n in RESIDUAL if residual and n not in needs)
    always = always_offered(CIRCUIT)
    return (*(n for n in needs if n not in (*CROSSED, *ARC)), *more, *(n for n in needs if n in ARC), *always)


def always_offered(of: str) -> tuple[Need, ...]:
    """The places that a page always has at a circuit, board, electrode, part or the origin."""
    places = ((t, p) for t in TESTS for p in t.places if p.of == of)
    return tuple(Need((t.name,), (p.between,) if p.between else (), method=p.method) for t, p in places)


def keys_of(needs: Iterable[Need]) -> tuple[tuple[str, str, str], ...]:
    """The places where a page takes what is needed: test, between, method or function."""
    return tuple((t, *n.key[1:]) for n in needs for t in n.tests)


def lacking(needs: Iterable[Need], rows: Sequence[Made]) -> tuple[Need, ...]:
    """The needs that nothing meets; a test of which nothing at all is entered counts once, without its words."""
    found: dict[tuple[str, ...], Need] = {}
    for n in (n for n in needs if not n.met(rows)):
        found.setdefault(
            (*n.tests, n.point) if not n.entered(rows) else (*n.tests, n.words),
            n if n.entered(rows) else evolve(n, words=""),
        )
    return tuple(found.values())
