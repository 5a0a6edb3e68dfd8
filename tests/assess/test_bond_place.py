"""Where the clamp of a bond sits, of which class it is, and a bond that runs on to another part."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.assess.clamp_place import place_of
from earthwright.outcomes.assessment import Assessment
from earthwright.report.observations import propose
from earthwright.report.words import bond_words
from earthwright.site.bond_chain import looped
from earthwright.site.installation import MET, Bond, Link, Part, Supply

from .live_visit import read, visit

PME = Supply("TN-C-S", True, neutral_csa_mm2=35)
WATER = Bond("water", "water", 10, 9, 1)


def judged(*events: Any, links: tuple[Link, ...] = (), part: dict[str, Any] | None = None, **bond: Any) -> Assessment:
    v = visit(*events, supply=PME)
    parts = (Part("water", "water", **(part or {})), *((Part("gas", "gas"),) if links else ()))
    return assess(evolve(v, site=evolve(v.site, parts=parts, bonds=(evolve(WATER, **bond),), links=links, boards=())))


def outcomes(a: Assessment) -> list[str]:
    return [j.outcome for j in a.bonds[0].place]


def codes(a: Assessment, name: str) -> list[str]:
    return [p.code for p in propose(a) if p.name.startswith(name)]


def families(a: Assessment, start: str) -> list[str]:
    return [f.family for f in a.findings if f.family.startswith(start)]


def test_nothing_is_said_of_a_place_that_nobody_entered() -> None:
    a = judged()
    assert outcomes(a) == []
    assert families(a, "bond.") == []


# 544.1.2: within 600 mm of the meter outlet, where practicable.
@pytest.mark.parametrize(("metres", "outcome"), [(0.0, "meets"), (0.59, "meets"), (0.6, "meets"), (0.61, "fails")])
def test_the_distance_from_the_meter(metres: float, outcome: str) -> None:
    a = judged(from_meter_m=metres)
    assert outcomes(a) == [outcome]
    assert codes(a, "bond.place") == (["C3"] if outcome == "fails" else [])


@pytest.mark.parametrize(("before", "outcome"), [(True, "meets"), (False, "fails")])
def test_before_the_first_branch(before: bool, outcome: str) -> None:
    assert outcomes(judged(before_branch=before)) == [outcome]


@pytest.mark.parametrize(("side", "outcome"), [("consumer", "meets"), ("supplier", "fails")])
def test_on_the_consumers_side(side: str, outcome: str) -> None:
    assert outcomes(judged(side=side)) == [outcome]


def test_before_an_insert_the_house_pipework_is_not_shown_to_be_bonded() -> None:
    assert codes(judged(side="supplier"), "bond.place") == ["C3"]
    assert codes(judged(side="supplier", part={"plastic_section_m": 0.15}), "bond.place") == ["FI"]


@pytest.mark.parametrize(
    ("position", "place"),
    [
        ("street side of the plastic meter insert, 1.4 m before the stop tap", ("supplier", None, None)),
        ("before the meter", ("supplier", None, None)),
        ("Supplier's side of the insulating insert", ("supplier", None, None)),
        ("0.4 m from the meter outlet union, before any branch", ("consumer", True, 0.4)),
        ("600 mm from the meter, after the first tee", ("", False, 0.6)),
        ("850mm after the gas meter", ("consumer", None, 0.85)),
        ("under the sink, by the stop tap", ("", None, None)),
        ("consumer's side of the meter", ("consumer", None, None)),
        ("garage, on the pipe to the boiler, past a branch", ("", False, None)),
    ],
)
def test_a_position_in_words(position: str, place: tuple[str, bool | None, float | None]) -> None:
    found = place_of(Bond("w", "w", 10, 9, 1, position=position))
    assert (found.side, found.before_branch, found.from_meter_m) == place


def test_what_is_entered_goes_before_words() -> None:
    bond = Bond("w", "w", 10, 9, 1, position="before the meter, after a tee", side="consumer", before_branch=True)
    assert (place_of(bond).side, place_of(bond).before_branch) == ("consumer", True)


def test_a_part_of_somebody_elses_asks_on_which_side_the_clamp_sits() -> None:
    owned = {"owner": "gas transporter"}
    assert families(judged(part=owned), "bond.") == ["bond.owner"]
    assert families(judged(part=owned, side="consumer"), "bond.") == []
    wrong = judged(part=owned, side="supplier")
    assert families(wrong, "bond.") == ["bond.place"]
    assert "gas transporter" in next(p.what for p in propose(wrong) if p.name == "bond.place")


# BS 951 by the label: red for dry places, blue and green for damp ones.
@pytest.mark.parametrize(
    ("clamp", "position", "found"),
    [
        ("BS 951, red, dry class", "in a wet meter pit", ["fails"]),
        ("BS 951 dry", "outside wall", ["fails"]),
        ("BS 951 red label", "outdoors, by the oil tank", ["fails"]),
        ("BS 951 blue", "in a wet meter pit", ["meets"]),
        ("BS 951 green", "outdoors", ["meets"]),
        ("BS 951 red", "under the sink", []),
        ("BS 951", "in a wet meter pit", []),
        ("", "in a wet meter pit", []),
    ],
)
def test_the_class_of_the_clamp_for_its_place(clamp: str, position: str, found: list[str]) -> None:
    a = judged(clamp=clamp, position=position)
    assert outcomes(a) == found
    assert codes(a, "bond.place") == (["C3"] if found == ["fails"] else [])


def test_a_bond_whose_clamp_is_in_the_wrong_place_is_not_said_to_need_nothing() -> None:
    wrong = judged(side="supplier", part={"plastic_section_m": 0.15}).bonds[0]
    assert "not on the consumer's side" in wrong.words
    done = bond_words(evolve(wrong, next=None))
    assert "Nothing more is needed" not in done
    assert "Nothing more is needed" in bond_words(evolve(judged(side="consumer").bonds[0], next=None))


def test_a_supplementary_bond_has_no_meter() -> None:
    assert outcomes(judged(supplementary=True, side="supplier", from_meter_m=3)) == []


# ---- one conductor for two pipes ----

# 9 m + 6 m of 10 mm² at 1.83 mΩ/m are 0.027 Ω, with tolerance and two joints under 0.09 Ω.
LOOP = Link("on", "water", "gas", csa_mm2=10, length_m=6)


@pytest.mark.parametrize(
    ("shown", "family", "code"),
    [
        ("0.03", "looped.one", []),
        ("0.30", "looped.high", ["FI"]),
        ("1.5", "looped.open", ["C2"]),
        ("20000", "looped.open", ["C2"]),
        ("", "looped.unread", ["FI"]),
    ],
)
def test_what_was_read_through_the_conductor_that_runs_on(shown: str, family: str, code: list[str]) -> None:
    events = (read("extraneous", "gas", shown),) if shown else ()
    a = judged(*events, links=(LOOP,))
    assert families(a, "looped") == [family]
    assert codes(a, "looped") == code
    assert codes(a, "part.") == []
    assert families(a, "extraneous.un") == []


@pytest.mark.parametrize(("csa", "code"), [(10, []), (6, ["C3"])])
def test_the_conductor_that_runs_on_is_a_main_bond(csa: float, code: list[str]) -> None:
    a = judged(read("extraneous", "gas", "0.03"), links=(evolve(LOOP, csa_mm2=csa),))
    assert codes(a, "looped.size") == code


def test_only_a_conductor_runs_on() -> None:
    pipe = Link("boiler", "water", "gas", r_low_ohm=0.0, r_high_ohm=0.1)
    a = judged(links=(pipe,))
    assert families(a, "looped") == []
    assert codes(a, "part.unsettled") == ["FI"]


def test_a_bond_may_run_on_twice_and_back_to_itself() -> None:
    v = visit()
    parts = tuple(Part(name, "other") for name in ("water", "gas", "oil"))
    links = (
        LOOP,
        Link("more", "oil", "gas", csa_mm2=10, length_m=3),
        Link("back", "oil", "water", csa_mm2=10, length_m=3),
    )
    site = evolve(v.site, parts=parts, bonds=(WATER,), links=links)
    assert {part: [x.id for x in way] for part, (_, way) in looped(site).items()} == {"gas": ["on"], "oil": ["back"]}
    assert looped(evolve(site, bonds=())) == {}
    assert looped(evolve(site, links=(Link("tail", MET, "gas", csa_mm2=10, length_m=3),))) == {}
