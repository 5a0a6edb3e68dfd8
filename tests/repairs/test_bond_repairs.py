"""A bond that is put right within a visit: what was found, what is left, and what no further reading can prove.

Expectations by hand: 11 ± 1 m of 10 mm² at 1.83 mΩ/m is 0.017 to 0.032 Ω with a good joint.
"""

from __future__ import annotations

import pytest
from books import TN_S, bonded, site

from earthwright.assess import assess
from earthwright.assess.earth import Earth
from earthwright.assess.rulings import Rulings
from earthwright.assess.site import site_data
from earthwright.outcomes.assessment import Assessment, BondJudged
from earthwright.paper.page import bonding_page
from earthwright.report.observations import overall, propose
from earthwright.report.record import json_schema, to_json
from earthwright.visitbook import read_text

HEAD = site("bonding", TN_S) + bonded("gas", 11, 1, 0.22)
SECOND = """
[[part]]
id = "water"
kind = "water"
[[bond]]
part = "water"
csa_mm2 = 10
length_m = 16
length_tol_m = 1
"""
SHORTED = 'check = "shorted"\nshown = 0.00'
APART = 'check = "open"\nshown = "over-range"'
REPAIR = 'repair = "gas"\nremade = "joint"\nat = "10:40"'
OFF, ON = 'off = "gas"', 'on = "gas"'


def read(test: str, shown: float | str | list[float], bond: str = "gas") -> str:
    values = shown if isinstance(shown, list) else [shown]
    typed = [f'"{v}"' if isinstance(v, str) else f"{v:.2f}" for v in values]
    return f'read = "{test}"\nbond = "{bond}"\nshown = {typed[0] if len(typed) == 1 else "[" + ", ".join(typed) + "]"}'


def visit(*steps: str, head: str = HEAD) -> Assessment:
    book = read_text(head + "".join(f"[[step]]\n{s}\n" for s in steps))
    assert book.findings == ()
    assert book.visit is not None
    return assess(book.visit)


def gas(*steps: str, head: str = HEAD) -> BondJudged:
    return visit(*steps, head=head).bonds[0]


WANDERS = (SHORTED, OFF, read("conductor", [0.43, 0.29, 0.61]), SHORTED)
WELL = (read("conductor", 0.03), read("path", "over-range"), ON, read("together", 0.03), SHORTED, APART)


def test_a_joint_that_wandered_is_remade_and_proved_by_what_is_read_after_it() -> None:
    b = gas(*WANDERS, REPAIR, *WELL)
    assert b.verdict == "proved"
    assert b.next is None or b.next.test == "joint"
    (found,) = b.found
    assert (found.verdict, found.named) == ("disproved", "impaired")
    assert [r.reading.id for r in found.readings] == ["r1", "r2", "r3"]
    assert "Found: conductor alone, MET end off: 0.43 Ω" in b.words
    assert "Put right (joint), 10:40. Left: Conductor alone, MET end off: 0.03 Ω" in b.words


def test_what_is_left_is_weighed_by_the_readings_after_the_repair_and_no_others() -> None:
    assert gas(*WANDERS, REPAIR, *WELL).evidence == gas(SHORTED, OFF, *WELL).evidence


def test_a_remade_bond_is_not_shown_until_it_is_read_again() -> None:
    b = gas(*WANDERS, REPAIR)
    assert b.verdict == "not shown"
    assert b.evidence.whole_over_open == pytest.approx(0.0, abs=1e-9)
    assert "Left: not shown, since nothing was measured on it after that." in b.words
    assert b.next is not None
    assert b.next.test == "conductor"


def test_good_readings_do_not_argue_a_break_away_without_a_repair() -> None:
    broken = (read("together", 0.03), OFF, SHORTED, read("conductor", "over-range"), SHORTED)
    b = gas(*broken, *WELL)
    assert b.evidence.verdict == "proved"  # the digits alone would
    assert b.verdict == "not shown"
    assert "over-range (r2)" in b.contradicted
    assert b.next is not None
    assert "enter the repair" in b.next.do
    assert all(w.proves == 0.0 for w in b.could_show)
    assert gas(*broken, REPAIR, *WELL).verdict == "proved"


def test_an_over_range_whose_leads_were_never_tried_is_argued_away() -> None:
    b = gas(read("together", 0.03), OFF, read("conductor", "over-range"), *WELL[:-2])
    assert not b.contradicted


@pytest.mark.parametrize("shown", [[0.43, 0.03], [0.12, 0.03], [0.03]])
def test_no_reading_is_promised_to_prove_what_its_repetition_could_not(shown: list[float]) -> None:
    """Whatever the digits of one more reading of the conductor, the judging itself is asked what it then says."""
    steps = (OFF, read("conductor", shown), read("path", 0.05), ON, read("together", 0.02))
    b = gas(*steps)
    promised = {w.test: w.proves for w in b.could_show}["conductor"]
    for more in (0.0, 0.01, 0.02, 0.03, 0.04, 0.05):
        after = gas(*steps, OFF, read("conductor", more), SHORTED, APART)
        if after.verdict == "proved":
            break
    else:
        assert promised < 0.05
    if b.verdict != "proved" and promised > 0.5:
        assert any(
            gas(*steps, OFF, read("conductor", more), SHORTED, APART).verdict == "proved" for more in (0.02, 0.03)
        )


def test_two_repairs_make_three_states() -> None:
    again = (read("conductor", "over-range"), SHORTED, 'repair = "gas"\nremade = "conductor renewed"')
    b = gas(*WANDERS, REPAIR, *again, *WELL)
    assert [(f.verdict, f.named, f.repair.remade) for f in b.found] == [
        ("disproved", "impaired", "joint"),
        ("disproved", "open", "conductor renewed"),
    ] or b.found[1].verdict == "not shown"
    assert b.verdict == "proved"


def test_the_whole_network_weighs_found_and_left_on_unknowns_of_their_own() -> None:
    steps = (
        *(OFF, SHORTED, read("conductor", "over-range"), read("path", 0.04), SHORTED, REPAIR),
        *(read("conductor", 0.03), read("path", 0.04), ON, read("together", 0.02), SHORTED),
        *('off = "water"', read("conductor", 0.03, "water"), 'on = "water"', SHORTED),
    )
    book = read_text(HEAD + SECOND + "".join(f"[[step]]\n{s}\n" for s in steps))
    assert book.visit is not None
    a = assess(book.visit, whole_site=True)
    assert a.site_evidence is not None
    weighed = {b.bond: b for b in a.site_evidence.bonds}
    assert set(weighed) == {"gas", "water"}  # what is gone is weighed and not reported
    assert weighed["gas"].evidence.posterior["whole"] > 0.95
    rulings = Rulings(book.visit)
    data = site_data(book.visit, a.bonds, rulings, a.model, Earth.of(book.visit, rulings))
    assert data.gone == {"gas (found)"}
    bond_of = {r.id: (r.bond, r.off) for r in data.readings}
    assert bond_of["r1"] == bond_of["r2"] == ("gas (found)", {"gas"})
    assert bond_of["r3"] == bond_of["r5"] == ("gas", {"gas (found)"})
    assert bond_of["r6"] == ("water", {"gas (found)"})


def test_a_break_without_a_repair_is_not_proved_by_the_whole_network_either() -> None:
    steps = (OFF, SHORTED, read("conductor", "over-range"), SHORTED, *WELL)
    a = visit(*steps, head=HEAD + SECOND)
    assert a.bonds[0].evidence.verdict == "proved"
    book = read_text(HEAD + SECOND + "".join(f"[[step]]\n{s}\n" for s in steps))
    assert book.visit is not None
    found = assess(book.visit, whole_site=True).site_evidence
    assert found is not None
    assert found.of("gas").evidence.verdict == "not shown"


def test_what_was_found_is_proposed_as_put_right_and_counts_no_longer() -> None:
    a = visit(*WANDERS, REPAIR, *WELL, read("joint", 0.0))
    (p,) = [p for p in propose(a) if p.about == "gas"]
    assert p.name == "bond.put-right"
    assert p.put_right
    assert p.code == "C2"
    assert "put right" in p.what
    assert overall(a).proposed != "unsatisfactory"
    before = visit(*WANDERS)
    assert overall(before).proposed == "unsatisfactory"


def test_the_record_prints_both_and_its_data_follow_the_schema() -> None:
    jsonschema = pytest.importorskip("jsonschema")
    a = visit(*WANDERS, REPAIR, *WELL)
    (page,) = bonding_page(a)["bonds"]  # type: ignore[misc]
    names = [row[0] for row in page["readings"]]
    assert names[:2] == ["found: conductor, one end off", "put right"]
    assert page["readings"][0][1].count("Ω") == 3  # all that was found, in one row
    assert "conductor, one end off" in names[2:]
    jsonschema.validate(to_json(a), json_schema())


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ('repair = "nothing"\nremade = "joint"', "There is no conductor 'nothing'"),
        ('repair = "gas"', "remade"),
        ('repair = "gas:cpc"\nremade = "joint"', "There is no circuit or board 'gas'"),
    ],
)
def test_a_repair_of_nothing_is_a_fault_with_its_place(step: str, said: str) -> None:
    book = read_text(f"{HEAD}[[step]]\n{step}\n")
    assert any(said in f"{f.where} {f.what}" for f in book.findings)


def test_the_far_end_belongs_to_the_bond() -> None:
    b = gas(*WANDERS, 'repair = "gas@part"\nremade = "clamp"', *WELL)
    assert b.verdict == "proved"


def test_evidence_of_nothing_speaks_of_nothing() -> None:
    b = gas(*WANDERS, REPAIR)
    assert b.evidence.posterior["whole"] == pytest.approx(1 / 3)
