"""What the whole network says in cases whose answer is plain without any sum."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

from earthwright.base.display import Display
from earthwright.evidence.bond import (
    DISPROVED,
    IMPAIRED,
    NOT_SHOWN,
    OPEN,
    PROVED,
    WHOLE,
    Copper,
    Evidence,
    Model,
    Observed,
)
from earthwright.evidence.network import (
    Option,
    SiteBond,
    SiteData,
    SiteEvidence,
    SiteLink,
    SiteModel,
    SiteReading,
    weigh,
)
from earthwright.evidence.network.ask import best
from earthwright.evidence.network.model import BondWeighed, SiteWorth
from earthwright.evidence.network.weighing import cautious, everything
from earthwright.evidence.network.words import site_words
from earthwright.evidence.worth import Worth

OVER = math.inf
C, P, T = "conductor", "path", "together"
WATER = SiteBond("w", "water", Copper(1.83, 16, 1), "Water service")
GAS = SiteBond("g", "gas", Copper(1.83, 24, 2), "Gas pipe")
QUICK = SiteModel(batches=4, draws=30, followed=5)


def taken(*readings: tuple[object, ...]) -> tuple[SiteReading, ...]:
    """Readings after which the leads were shorted and good."""
    return tuple(
        SiteReading(f"r{k + 1}", bond, Observed(test, shown, shorted_after=True), frozenset(off))  # type: ignore[arg-type]
        for k, (bond, test, shown, *off) in enumerate(readings)
    )


def test_a_bond_is_proved_through_its_neighbour() -> None:
    """The path of the gas bond is 0.06 Ω with the water bond on and 31 Ω with it off: so the water bond was the path."""
    boiler = SiteLink("boiler", "water", "gas", 0.01, 0.03)
    e = weigh(SiteData((WATER, GAS), taken(("g", P, 0.06), ("g", P, 31.0, "w"), ("w", T, 0.02)), (boiler,)))
    assert e.of("w").evidence.posterior[WHOLE] > 0.95
    assert e.of("w").alone.verdict == NOT_SHOWN
    assert e.of("w").evidence.whole_over_open > e.of("w").alone.whole_over_open + 0.5
    assert e.of("g").evidence.posterior[WHOLE] == pytest.approx(1 / 3, abs=0.05)  # nothing was read of it
    known = next(s for s in e.strays if s.known)
    assert (known.present, known.known) == (1.0, "boiler")
    assert known.band is not None
    assert 0.01 <= known.band.low < known.band.high <= 0.03


def test_with_the_link_off_the_neighbour_is_no_evidence() -> None:
    boiler = SiteLink("boiler", "water", "gas", 0.01, 0.03)
    on = weigh(SiteData((WATER, GAS), taken(("g", P, 0.06)), (boiler,), QUICK))
    off = weigh(SiteData((WATER, GAS), taken(("g", P, 0.06, "boiler")), (boiler,), QUICK))
    assert on.of("w").evidence.posterior[WHOLE] > off.of("w").evidence.posterior[WHOLE] + 0.1


def test_an_isolated_pipe_has_no_metal_beside_it() -> None:
    """Path over-range at both parts, leads shorted after: no stray link below the range of the display is left."""
    readings = taken(("w", P, OVER), ("g", P, OVER), ("w", T, 0.03))
    e = weigh(
        SiteData((WATER, GAS), readings, (), evolve(SiteModel(), batches=8, draws=400))
    )  # the edge of a band takes many draws
    assert e.of("w").evidence.verdict == PROVED
    direct = next(s for s in e.strays if (s.a, s.b) == ("water", "MET"))
    assert direct.present < 0.4
    assert direct.band is None or direct.band.low > 90


def test_a_reading_that_fits_nothing_is_found_and_named() -> None:
    """Six readings of two sound bonds, one of them in the wrong row: together 1.04 Ω where 0.04 Ω of copper is."""
    sound = [("w", C, 0.03), ("w", P, 0.11), ("w", T, 0.02), ("g", C, 0.04), ("g", P, 0.11)]
    e = weigh(SiteData((WATER, GAS), taken(*sound, ("g", T, 1.04)), (), QUICK))
    assert [m.reading for m in e.misfits] == ["r6"]
    assert e.misfits[0].chance < e.misfits[0].level == pytest.approx(0.001 / 6)
    assert "Reading r6 on the bond to the Gas pipe fits nothing" in e.words
    assert e.of("g").evidence.verdict == PROVED  # the other two still prove it
    clean = weigh(SiteData((WATER, GAS), taken(*sound, ("g", T, 0.03)), (), QUICK))
    assert clean.misfits == ()
    assert "fits nothing" not in clean.words


@pytest.mark.parametrize("shown", [0.31, 5.43, 41.7, 78.41, 96.36])
def test_an_honest_path_of_any_size_is_no_misfit(shown: float) -> None:
    """What the metal beside a bond may be is known so little that no value of it is a surprise."""
    e = weigh(SiteData((WATER, GAS), taken(("w", T, 0.03), ("g", T, 0.04), ("g", C, 0.05), ("g", P, shown)), (), QUICK))
    assert e.misfits == ()


def test_a_route_shorter_than_its_tolerance() -> None:
    stub = SiteBond("g", "gas", Copper(1.83, 0.5, 1.0), "Gas pipe")
    e = weigh(SiteData((WATER, stub), taken(("g", C, 0.0), ("g", P, 2.0), ("w", T, 4.0)), (), QUICK))
    assert e.of("g").evidence.posterior[WHOLE] > 0.9


def test_repeats_that_do_not_agree_contradict_each_other_and_not_the_network() -> None:
    """A joint that wanders under the hand: 0.43, 0.29 and 0.61 Ω over the same conductor."""
    wander = [("w", C, 0.43), ("w", C, 0.29), ("w", C, 0.61)]
    e = weigh(SiteData((WATER, GAS), taken(*wander, ("g", T, 0.03)), (), QUICK))
    assert e.misfits == ()
    assert (e.of("w").evidence.verdict, e.of("w").evidence.named) == (DISPROVED, IMPAIRED)


def test_a_slip_is_not_taken_as_stated() -> None:
    """Conductor 0.02 Ω of 40 m, which copper cannot show, equal to together: the end was not off."""
    long = SiteBond("g", "gas", Copper(1.83, 60, 1), "Gas pipe")
    e = weigh(SiteData((WATER, long), taken(("g", C, 0.03), ("g", T, 0.03), ("g", P, 0.04)), (), QUICK))
    assert [m.reading for m in e.misfits] == ["r1"]


def test_hypotheses_that_no_available_reading_parts_are_named() -> None:
    """Together at the gas bond is lower than its copper, and no end may come off: whether it is whole stays open."""
    data = SiteData((WATER, GAS), taken(("w", C, 0.03), ("g", T, 0.02)), (), QUICK)
    barred = [o for o in everything(data) if o.bond == "w" or o.test == T]
    e = weigh(data, barred)
    pairs = {a.hypotheses for a in e.alike if a.bond == "g"}
    assert (WHOLE, OPEN) in pairs
    assert "No reading that may be taken can tell whether the bond to the Gas pipe is whole or open." in e.words
    free = weigh(data)
    assert (WHOLE, OPEN) not in {a.hypotheses for a in free.alike}
    assert free.next is not None
    assert (free.next.option.bond, free.next.option.test) == ("g", C)


def test_a_neighbour_can_part_what_its_own_bond_may_not() -> None:
    """The gas bond may not be opened, but through a known boiler the path of the water bond tells of it."""
    boiler = SiteLink("boiler", "water", "gas", 0.01, 0.02)
    model = evolve(QUICK, bond=Model(path_absent=1.0), between=0.0)
    data = SiteData((WATER, GAS), taken(("g", T, 0.04)), (boiler,), model)
    barred = [o for o in everything(data) if o.bond == "w" or o.test == T]
    e = weigh(data, barred)
    assert {a.hypotheses for a in e.alike} & {(WHOLE, OPEN), (WHOLE, IMPAIRED)} == set()
    path = next(w for w in e.worths if (w.option.bond, w.option.test) == ("w", P))
    assert path.bits > path.own.bits + 0.3


def worth_of(bond: str, test: str, bits: float, opens: int) -> SiteWorth:
    return SiteWorth(Option(bond, test, opens=opens), Worth(test, bits, 0.0, 0.0), bits)


def test_among_equals_the_least_disconnection_is_chosen() -> None:
    """Just inside a tenth of the best, and just outside it; just at what is enough, and just below."""
    inside = [worth_of("w", C, 1.0, 1), worth_of("g", T, 0.901, 0)]
    assert best(inside, 0.05) is inside[1]
    outside = [worth_of("w", C, 1.0, 1), worth_of("g", T, 0.899, 0)]
    assert best(outside, 0.05) is outside[0]
    off_already = [worth_of("w", C, 1.0, 1), worth_of("g", C, 0.95, 0)]
    assert best(off_already, 0.05) is off_already[1]
    assert best([worth_of("w", T, 0.05, 0)], 0.05) is not None
    assert best([worth_of("w", T, 0.0499, 0)], 0.05) is None
    assert best([], 0.05) is None


@pytest.mark.parametrize(
    ("log10_factor", "error", "verdict"),
    [
        (2.2, 0.1, PROVED),
        (2.19, 0.1, NOT_SHOWN),
        (2.0, 0.0, PROVED),
        (-2.2, 0.1, DISPROVED),
        (-2.19, 0.1, NOT_SHOWN),
        (-2.0, 0.0, DISPROVED),
    ],
)
def test_the_verdict_allows_two_standard_errors(log10_factor: float, error: float, verdict: str) -> None:
    logs = {WHOLE: 0.0, IMPAIRED: -5.0 if log10_factor > 0 else 0.0, OPEN: -log10_factor}
    found, named = cautious(logs, {IMPAIRED: error, OPEN: error}, 2.0)
    assert found == verdict
    assert named == (OPEN if verdict == DISPROVED else "")


def test_no_verdict_on_a_bond_of_which_an_entry_could_not_be_read() -> None:
    data = SiteData((WATER, GAS), taken(("w", C, 0.03), ("w", P, 0.11)), (), QUICK, frozenset({"w"}))
    e = weigh(data)
    assert e.of("w").evidence.verdict == NOT_SHOWN
    assert e.of("w").withheld
    assert "because an entry of it could not be read" in e.words
    apart = weigh(evolve(data, model=evolve(QUICK, between=0.0)))
    assert apart.of("w").evidence.verdict == NOT_SHOWN
    with pytest.raises(KeyError):
        e.of("steel")


def test_nothing_read_nothing_known() -> None:
    e = weigh(SiteData((WATER, GAS), (), (), QUICK))
    for b in e.bonds:
        assert list(b.evidence.posterior.values()) == pytest.approx([1 / 3] * 3, abs=1e-9)
    assert e.next is not None
    assert e.next.option.test == C


def test_the_paragraph() -> None:
    e = weigh(SiteData((WATER, GAS), taken(("w", C, 0.03), ("w", P, 0.11), ("g", T, 0.04)), (), QUICK))
    assert e.words.startswith("3 readings on 2 bonds, weighed as one network with unknown metal between the parts")
    assert "Bond to the Water service: whole over 99.9 %, impaired under 0.1 %, open under 0.1 %; proved." in e.words
    assert "Most would be told by the bond to the Gas pipe by itself, MET end off" in e.words
    assert " safe" not in e.words
    one = weigh(SiteData((WATER,), taken(("w", C, 0.03))))
    assert one.words.startswith("1 reading on 1 bond; no metal but the MET joins them")
    assert one.words.endswith("No further reading of continuity would tell more.")


def verdict_of(verdict: str, named: str = "") -> Evidence:
    return Evidence(
        {WHOLE: 0.0, IMPAIRED: 0.0, OPEN: 0.0}, verdict, named, {WHOLE: 0.5, IMPAIRED: 0.2, OPEN: 0.3}, Model()
    )


@pytest.mark.parametrize(
    ("now", "alone", "expected"),
    [
        (verdict_of(PROVED), verdict_of(NOT_SHOWN), "proved, where its own readings alone say not shown."),
        (verdict_of(DISPROVED, OPEN), verdict_of(PROVED), "disproved: open, where its own readings alone say proved."),
        (
            verdict_of(NOT_SHOWN),
            verdict_of(DISPROVED, IMPAIRED),
            "not shown, where its own readings alone say disproved: impaired.",
        ),
        (verdict_of(NOT_SHOWN), verdict_of(NOT_SHOWN), "open 30 %; not shown."),
    ],
)
def test_a_verdict_that_moved_is_said_beside_the_old_one(now: Evidence, alone: Evidence, expected: str) -> None:
    e = SiteEvidence((BondWeighed("w", now, alone),), (), (), (), (), None, "sampled", 8, 0.1, SiteModel())
    words = site_words(e, SiteData((WATER,), ()))
    assert expected in words
    much_more = "No further reading of continuity" if now.verdict == PROVED else "No reading that may be taken"
    assert much_more in words


def test_options_default_to_all_three_at_every_bond() -> None:
    options = everything(SiteData((WATER, GAS), ()))
    assert {(o.bond, o.test, o.opens) for o in options} == {
        (b, t, 0 if t == T else 1) for b in ("w", "g") for t in (C, P, T)
    }
    assert options[0].display == Display()
