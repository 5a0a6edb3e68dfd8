"""The whole network within the judgement of a visit: when it is worked out, what it may ask for, what it says."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from attrs import evolve
from books import BOILER, CONNECTED, ISOLATED, WATER_AND_GAS

from earthwright.assess import assess
from earthwright.assess import site as whole
from earthwright.assess.earth import Earth
from earthwright.assess.rulings import Rulings
from earthwright.base.errors import Severity
from earthwright.evidence.bond import DISPROVED, NOT_SHOWN, PROVED, Evidence, Model
from earthwright.evidence.network import SiteData, SiteModel
from earthwright.evidence.network.model import Alike, BondWeighed, Misfit, SiteEvidence
from earthwright.outcomes.assessment import Assessment
from earthwright.site.visit import Visit
from earthwright.visitbook import read_text

BOOKS = Path(__file__).parents[1] / "visits"

HEAD = (
    """
[visit]
place = "3 Alderwick Mews, Tolland Cross"
date = 2026-11-20
kind = "bonding"
[supply]
system = "TN-C-S"
pme = true
neutral_at_most_mm2 = 35
[[instrument]]
id = "tester"
continuity = { pct = 3, digits = 2, step = 0.01, top = 99.99 }
"""
    + WATER_AND_GAS
)
OFF = (
    """
[[step]]
clamp = "water"
shown = 0.02
"""
    + ISOLATED
    + """[[step]]
clamp = "water"
shown = 0.02
load = "main switch off"
[[step]]
off = "water"
"""
)


def visit(steps: str = CONNECTED, link: str = BOILER, owner: str = "") -> Visit:
    book = read_text(HEAD.replace("OWNER", owner).replace("LINK", link) + steps)
    assert book.findings == ()
    assert book.visit is not None
    return book.visit


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fewer draws: what is looked at here does not hang on the last figure."""
    monkeypatch.setattr(whole, "SiteModel", lambda bond: SiteModel(bond=bond, batches=4, draws=20, followed=3))


def _data(a: Assessment) -> SiteData:
    rulings = Rulings(a.visit)
    return whole.site_data(a.visit, a.bonds, rulings, a.model, Earth.of(a.visit, rulings))


def test_with_a_known_link_and_an_open_question_it_is_worked_out_unasked() -> None:
    a = assess(visit())
    assert a.site_evidence is not None
    assert a.site_evidence.method == "sampled"
    assert a.site_next is not None
    assert a.site_next.test == "clamp current"  # nobody has put the clamp meter round a bond yet
    assert "one end of one bond at a time" in " ".join(a.site_next.first)
    assert [
        f.family for f in a.findings if f.family.startswith("site.") and f.severity.rank <= Severity.WARNING.rank
    ] == []


def test_without_a_known_tie_it_is_worked_out_only_when_asked_for() -> None:
    assert assess(visit(link="")).site_evidence is None
    asked = assess(visit(link=""), whole_site=True)
    assert asked.site_evidence is not None
    assert len(asked.site_evidence.bonds) == 2
    assert assess(visit(), whole_site=False).site_evidence is None


def test_a_reading_with_another_bond_off_ties_them_too() -> None:
    gas = '[[step]]\nread = "together"\nbond = "gas"\nshown = 0.03\n'
    a = assess(visit(CONNECTED + OFF + gas.replace("0.03", "0.04"), link=""))
    assert a.site_evidence is not None
    data = _data(a)
    assert [(r.bond, r.observed.shown, set(r.off)) for r in data.readings] == [
        ("water", 0.02, set()),
        ("gas", 0.03, set()),
        ("gas", 0.04, {"water"}),
    ]


def test_nothing_to_gain_nothing_is_worked_out() -> None:
    """Every bond that was read is decided by its own readings: the demo."""
    demo = read_text((BOOKS.parents[1] / "src/earthwright/desk/demo/visit.toml").read_text(encoding="utf-8")).visit
    assert demo is not None
    assert assess(demo).site_evidence is None


def test_repeats_that_agree_count_once_and_those_that_do_not_stand() -> None:
    more = '[[step]]\nread = "together"\nbond = "water"\nshown = {}\n'
    a = assess(visit(CONNECTED + more.format(0.03) + more.format(0.90)), whole_site=False)
    data = _data(a)
    assert [r.observed.shown for r in data.readings if r.bond == "water"] == [0.03, 0.90]


def test_a_link_may_have_the_name_of_a_bond() -> None:
    a = assess(visit(link=BOILER.replace('id = "boiler"', 'id = "gas"')), whole_site=True)
    assert a.site_evidence is not None
    assert [s.known for s in a.site_evidence.strays if s.known] == ["gas (link)"]


def test_links_of_unknown_or_no_resistance() -> None:
    unknown = BOILER.replace("low_ohm = 0.01\nhigh_ohm = 0.03\n", "")
    a = assess(visit(link=unknown), whole_site=False)
    (link,) = _data(a).links
    assert (link.r_low_ohm, link.r_high_ohm) == a.model.path_ohm
    short = BOILER.replace("0.01", "0").replace("0.03", "0")
    a = assess(visit(link=short), whole_site=False)
    (link,) = _data(a).links
    assert 0 < link.r_low_ohm < link.r_high_ohm < 0.002


def test_a_bond_with_an_entry_that_could_not_be_read_gets_no_verdict_from_its_neighbours() -> None:
    unread = '[[step]]\nread = "together"\nbond = "water"\nshown = "0.0x"\n'
    book = read_text(HEAD.replace("OWNER", "").replace("LINK", BOILER) + CONNECTED + unread)
    assert book.visit is not None
    a = assess(book.visit, found=book.findings, whole_site=True)
    assert a.site_evidence is not None
    assert [b.withheld for b in a.site_evidence.bonds] == [True, False]
    assert a.site_evidence.of("water").evidence.verdict == NOT_SHOWN


# ---- gates ----


def offered(v: Visit) -> set[tuple[str, str, int]]:
    a = assess(v, whole_site=False)
    return {(o.bond, o.test, o.opens) for o in whole.options(v, a.bonds, a.alarms)}


ALL = {(b, t, 0 if t == "together" else 1) for b in ("water", "gas") for t in ("conductor", "path", "together")}
GAS_SHUT = ALL - {("gas", "conductor", 1), ("gas", "path", 1)}


def clamp(on: str, shown: float) -> str:
    return f'[[step]]\nclamp = "{on}"\nshown = {shown}\n'


def test_a_bond_that_nobody_clamped_may_be_offered_with_the_clamp_first() -> None:
    assert offered(visit()) == ALL


@pytest.mark.parametrize(("amps", "expected"), [(0.99, ALL), (1.0, ALL), (1.01, GAS_SHUT)])
def test_a_bond_that_carries_current_is_never_offered_to_be_opened(amps: float, expected: set[object]) -> None:
    assert offered(visit(CONNECTED + clamp("gas", amps))) == expected


def test_a_part_of_others_is_never_offered_to_be_opened() -> None:
    v = visit(owner='owner = "gas transporter"')
    assert offered(v) == GAS_SHUT
    a = assess(v, whole_site=False)
    gas = next(b for b in a.bonds if b.bond.id == "gas")
    assert "belongs to the gas transporter" in " ".join(whole.barred(v, gas))


def test_what_is_off_needs_no_opening_and_goes_back_before_anything_else() -> None:
    assert offered(visit(CONNECTED + OFF)) == {
        ("water", "together", 1),
        ("water", "conductor", 0),
        ("water", "path", 0),
        ("gas", "together", 1),
        ("gas", "conductor", 2),
        ("gas", "path", 2),
    }


def test_the_next_reading_may_need_nothing_opened() -> None:
    v = visit(CONNECTED + clamp("gas", 4.0) + clamp("water", 4.0))
    a = assess(v, whole_site=True)
    assert a.site_evidence is not None
    assert {w.option.test for w in a.site_evidence.worths} == {"together"}
    assert a.site_next is None or a.site_next.test == "together"


# ---- what is said ----


def weighed(now: str, alone: str, *, factor: float, error: float = 0.1, withheld: bool = False) -> BondWeighed:
    posterior = {"whole": 0.9, "impaired": 0.05, "open": 0.05}
    logs = {"whole": 0.0, "impaired": -factor, "open": -5.0}
    e = Evidence(logs, now, "open" if now == DISPROVED else "", posterior, Model())
    return BondWeighed("gas", e, evolve(e, verdict=alone, named=""), {"impaired": error, "open": error}, withheld)


@pytest.mark.parametrize(
    ("bond", "family", "severity"),
    [
        (weighed(DISPROVED, PROVED, factor=-3), "site.disproved", Severity.WARNING),
        (weighed(DISPROVED, NOT_SHOWN, factor=-3), "site.disproved", Severity.WARNING),
        (weighed(PROVED, NOT_SHOWN, factor=3), "site.proved", Severity.NOTE),
        (weighed(NOT_SHOWN, PROVED, factor=1.79), "site.weaker", Severity.NOTE),
        (weighed(NOT_SHOWN, PROVED, factor=1.8), "", None),
        (weighed(NOT_SHOWN, PROVED, factor=1.81), "", None),
        (weighed(NOT_SHOWN, NOT_SHOWN, factor=1), "", None),
        (weighed(DISPROVED, PROVED, factor=-3, withheld=True), "", None),
    ],
)
def test_a_bond_that_looks_different_in_the_light_of_the_rest(
    bond: BondWeighed, family: str, severity: Severity | None
) -> None:
    e = SiteEvidence((bond,), (), (), (), (), None, "sampled", 8, 0.1, SiteModel())
    assert [(f.family, f.severity) for f in whole.findings(e)] == ([(family, severity)] if family else [])


def test_misfits_and_what_cannot_be_told_are_findings() -> None:
    e = SiteEvidence(
        (),
        (),
        (Misfit("r7", "gas", 1e-5, 2e-4),),
        (Alike("gas", ("whole", "open"), 0.01),),
        (),
        None,
        "sampled",
        8,
        0.1,
        SiteModel(),
    )
    misfit, alike = whole.findings(e)
    assert (misfit.family, misfit.severity, misfit.entry) == ("site.misfit", Severity.WARNING, "gas")
    assert "once in 5 000 times" in misfit.expected
    assert (alike.family, alike.severity) == ("site.alike", Severity.NOTE)
    assert whole.findings(None) == []


def test_a_reading_in_the_wrong_row_is_a_warning_on_the_visit() -> None:
    """Water read three ways, together at 2.41 Ω beside a conductor of 0.03 Ω."""

    def read(test: str, bond: str, shown: float) -> str:
        return f'[[step]]\nread = "{test}"\nbond = "{bond}"\nshown = {shown}\n'

    shorted = '[[step]]\ncheck = "shorted"\nshown = 0.00\n'
    off = OFF + read("conductor", "water", 0.03) + read("path", "water", 0.06) + '[[step]]\non = "water"\n'
    steps = shorted + read("together", "gas", 0.03) + off + read("together", "water", 2.41) + shorted
    a = assess(visit(steps))
    assert a.site_evidence is not None
    assert [f.family for f in a.findings if f.family == "site.misfit"] == ["site.misfit"]


SOUND = ("00-control", "01-masked", "15-below-resolution")


@pytest.mark.parametrize("name", SOUND)
def test_sound_visits_stay_silent_even_when_asked(name: str) -> None:
    book = read_text((BOOKS / f"{name}.toml").read_text(encoding="utf-8"))
    assert book.visit is not None
    a = assess(book.visit, whole_site=True)
    assert a.site_evidence is not None
    assert not [f for f in a.findings if f.family.startswith("site.")]
    for b in a.site_evidence.bonds:
        assert b.evidence.verdict == PROVED
        assert math.isfinite(b.evidence.whole_over_open)


def test_the_words_of_a_visit_never_promise() -> None:
    a = assess(visit(), whole_site=True)
    assert a.site_evidence is not None
    assert " safe" not in a.site_evidence.words


def test_a_step_that_only_asks_for_another_first_does_not_bar() -> None:
    a = assess(visit(), whole_site=False)
    for b in a.bonds:
        assert whole.barred(a.visit, b) == ()
