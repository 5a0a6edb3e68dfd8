"""Protective conductors of radials: what R1+R2 and R2 prove, with and without other metal at the point.

Sums by hand from the largest resistances of IEC 60228: 1.5 mm² 12.1, 2.5 mm² 7.41, 6 mm² 3.08 mΩ/m.
"""

from __future__ import annotations

import math
import random

import pytest
from books import bonded

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.evidence.bond import (
    COARSE,
    DISPROVED,
    NOT_SHOWN,
    OPEN,
    PROVED,
    BondEvidence,
    Copper,
    Model,
    Observed,
    of_one_together,
)
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import CircuitJudged, CpcJudged, TestJudged
from earthwright.visitbook import read_text

HEAD = (
    """
[visit]
place = "x"
date = 2026-11-20
kind = "periodic"
[supply]
system = "TN-C-S"
"""
    + bonded("gas", 16, 1, 0.2)
    + """[[board]]
id = "db1"
[[board]]
id = "db2"
fed_by = "f1"
[[circuit]]
id = "c2"
board = "db1"
use = "sockets"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 25
length_tol_m = 2.5
points = { near = 10, boiler = 25 }
[[circuit]]
id = "f1"
board = "db1"
line_mm2 = 10
cpc_mm2 = 6
length_m = 12
length_tol_m = 1
[[circuit]]
id = "c7"
board = "db2"
use = "sockets"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 20
length_tol_m = 1
"""
)
LINK = "[[link]]\nid = 'frame'\nbetween = ['gas', 'c2@boiler']\nlow_ohm = 0.0\nhigh_ohm = 0.01\n"
SHORTED = "[[step]]\ncheck = 'shorted'\nleads = 'long'\nshown = 0.00\n"


def step(test: str, shown: float | str, of: str = "c2", point: str = "boiler", **more: str) -> str:
    digits = f"'{shown}'" if isinstance(shown, str) else f"{shown:.2f}"
    lines = [f"read = '{test}'", f"of = '{of}'", "leads = 'long'", f"shown = {digits}"]
    if point:
        lines.append(f"point = '{point}'")
    lines += [f"{k} = '{v}'" for k, v in more.items()]
    return "[[step]]\n" + "\n".join(lines) + "\n"


def off(what: str) -> str:
    return f"[[step]]\noff = '{what}'\n"


def judged(*steps: str, link: bool = False) -> Assessment:
    book = read_text(HEAD + (LINK if link else "") + SHORTED + "".join(steps) + SHORTED)
    assert book.visit is not None
    assert not [f for f in book.findings if f.severity is Severity.ERROR], book.findings
    return assess(book.visit, found=book.findings)


def circuit(a: Assessment, name: str = "c2") -> CircuitJudged:
    return next(c for b in a.boards for c in b.circuits if c.circuit.id == name)


def cpc(a: Assessment, name: str = "c2") -> CpcJudged:
    found = circuit(a, name).cpc
    assert found is not None
    return found


def row(a: Assessment, test: str, name: str = "c2") -> TestJudged:
    return next(t for t in circuit(a, name).tests if t.test == test)


def families(a: Assessment) -> set[str]:
    return {f.family for f in a.findings}


def test_a_plain_reading_proves_a_plain_conductor() -> None:
    """25 m: R1+R2 = 25 × (7.41 + 12.1) = 0.488 Ω."""
    found = cpc(judged(step("r1r2", 0.49)))
    assert (found.verdict, found.others) == (PROVED, ())
    assert "Proved: the protective conductor of c2 to boiler is whole." in found.words
    assert cpc(judged(step("r2", 0.30))).verdict == PROVED


def test_nothing_read_shows_nothing() -> None:
    found = cpc(judged())
    assert (found.verdict, found.evidence) == (NOT_SHOWN, None)
    assert found.words == "Not shown: no R1+R2 or R2 that counts."


def test_over_range_with_good_leads_is_open_in_line_or_cpc() -> None:
    a = judged(step("r1r2", "over-range"))
    assert (cpc(a).verdict, cpc(a).named) == (DISPROVED, OPEN)
    assert "line or protective conductor of c2 to boiler is not continuous" in cpc(a).words
    assert "line or" not in cpc(judged(step("r2", "over-range"))).words


def test_extra_resistance_is_named() -> None:
    found = cpc(judged(step("r1r2", 1.02)))
    assert (found.verdict, found.named) == (DISPROVED, "impaired")


def test_a_point_that_is_joined_to_a_bonded_pipe_proves_little() -> None:
    """At the boiler 0.28 to 0.33 Ω beside frame and bond 0.03 to 0.06 Ω: 0.03 Ω is what a cut conductor reads too."""
    a = judged(step("r2", 0.03), link=True)
    found = cpc(a)
    assert found.verdict == NOT_SHOWN
    assert found.others == ("frame", "the bond gas")
    assert found.other_ohm is not None
    assert found.other_ohm.low == pytest.approx(15 * 1.83 * 0.93 / 1000)
    assert found.other_ohm.high == pytest.approx(0.02 + 17 * 1.83 / 1000 + 0.01 + 0.01)
    assert "could have read the same" in found.words
    assert "take the cpc of c2 off at its board" in found.words
    r2 = row(a, "r2")
    assert r2.inside is True  # what the whole network should read, other metal and all
    assert (r2.outcome, r2.reason) == (
        "not decided",
        "frame and the bond gas join the point as well, and answered with it or in its place",
    )
    assert "continuity.parallel" not in families(a)  # it is known, so it is no riddle


@pytest.mark.parametrize(
    ("steps", "link"),
    [
        ((step("r2", 0.03),), True),
        ((step("r2", 0.12, point="near"),), False),
        ((step("r2", 0.28, of="c7", point="", between="MET"),), False),
        ((off("c2:cpc"), step("r2", 0.03)), True),
    ],
)
def test_rows_laid_side_by_side_know_the_network_too(steps: tuple[str, ...], link: bool) -> None:
    """Known metal, a nearer point, the sub-main and a lifted cpc are no misplaced points and no impossible copper."""
    assert not {f for f in families(judged(*steps, link=link)) if f.startswith(("rows.", "copper.", "continuity."))}


def test_without_the_link_the_same_digits_are_a_riddle() -> None:
    assert "continuity.parallel" in families(judged(step("r2", 0.03)))


def test_digits_of_the_conductor_alone_mean_that_the_other_metal_is_gone() -> None:
    a = judged(step("r2", 0.30), link=True)
    finding = next(f for f in a.findings if f.family == "continuity.alone")
    assert "the bond gas is open: then 0.25 to 0.36 Ω" in finding.because
    assert "frame is open" in finding.because
    assert cpc(a).verdict == PROVED  # an open conductor would have read the pipe


def test_lifted_at_the_board_the_free_end_proves_and_the_bar_shows_the_rest() -> None:
    a = judged(off("c2:cpc"), step("r2", 0.30, between="free end"), step("r2", 0.03), link=True)
    found = cpc(a)
    assert found.verdict == PROVED
    assert len(found.used) == 2
    lifted = row(a, "r2")
    assert lifted.outcome == "no rule"
    assert lifted.inside is True
    assert lifted.corrected is not None
    assert lifted.corrected.reading.between == "free end"  # the bar tells of other metal only


def test_over_range_with_the_own_cpc_lifted_is_as_it_should_be() -> None:
    a = judged(step("r2", 0.30), off("c2:cpc"), step("r2", "over-range"))
    assert row(a, "r2").outcome == "no rule"
    assert "continuity.open" not in families(a)
    assert cpc(a).verdict == PROVED


def test_a_cut_conductor_that_the_pipe_speaks_for() -> None:
    """Free end over-range, the bar still reads 0.03 Ω over frame and bond: open, and said so."""
    a = judged(off("c2:cpc"), step("r2", "over-range", between="free end"), step("r2", 0.03), link=True)
    assert (cpc(a).verdict, cpc(a).named) == (DISPROVED, OPEN)
    assert "cpc.flattered" in families(a)
    assert "only through other metal (entered: frame and the bond gas)" in cpc(a).words


def test_the_long_lead_from_the_met_reads_the_sub_main_too() -> None:
    """f1 12 × 3.08 = 0.037 Ω, c7 20 × 12.1 = 0.242 Ω; the tail of db1 up to 0.02 Ω, connections up to 0.025 Ω."""
    a = judged(step("r2", 0.28, of="c7", point="", between="MET"))
    expected = row(a, "r2", "c7").expected
    assert expected is not None
    assert expected.low == pytest.approx((11 * 3.08 + 19 * 12.1) * 0.93 / 1000)
    assert expected.high == pytest.approx(0.02 + (13 * 3.08 + 21 * 12.1) / 1000 + 0.025)
    assert cpc(a, "c7").verdict == PROVED
    bar = row(judged(step("r2", 0.28, of="c7", point="", between="bar")), "r2", "c7").expected
    assert bar is not None
    assert bar.high == pytest.approx(21 * 12.1 / 1000 + 0.025)


def test_the_furthest_point_read_counts() -> None:
    a = judged(step("r2", 0.30), step("r2", 0.12, point="near"))
    assert cpc(a).point == "boiler"
    assert cpc(judged(step("r2", 0.12, point="near"))).point == "near"


def test_worked_out_from_the_loop_is_no_evidence() -> None:
    found = cpc(judged(step("r1r2", 0.49, method="calculated")))
    assert (found.verdict, found.used) == (NOT_SHOWN, ())


def test_rings_and_circuits_without_a_cpc_have_none() -> None:
    text = HEAD.replace("cpc_mm2 = 1.5\nlength_m = 20", "cpc = 'none'\nlength_m = 20") + SHORTED
    book = read_text(text)
    assert book.visit is not None
    assert circuit(assess(book.visit), "c7").cpc is None


def test_size_or_length_not_entered_is_said() -> None:
    text = HEAD.replace("cpc_mm2 = 1.5\nlength_m = 20", "cpc = 'armour'\nlength_m = 20") + SHORTED
    book = read_text(text + step("r2", 0.2, of="c7", point=""))
    assert book.visit is not None
    found = cpc(assess(book.visit), "c7")
    assert (found.verdict, found.evidence) == (NOT_SHOWN, None)
    assert found.words == "Not shown: the resistance of a cpc that is armour is not known."


def test_a_word_that_is_not_known_for_the_far_end_is_refused() -> None:
    book = read_text(HEAD + SHORTED + step("r2", 0.3, between="free-end"))
    finding = next(f for f in book.findings if f.severity is Severity.ERROR)
    assert "bar, MET, free end" in finding.expected


# ---- the quadrature for circuits against the one of bonds, which is held to printed reference values ----


def _cases() -> list[tuple[Copper, Observed, Model]]:
    chance = random.Random(20261127)
    found = []
    for _ in range(60):
        length = chance.uniform(3.0, 90.0)
        tol = length * chance.choice((0.03, 0.1, 0.2))
        cpc_r, line_r = chance.choice(((12.1, 7.41), (18.1, 12.1), (3.08, 1.83), (7.41, 4.61)))
        line = ((length - tol) * line_r * 0.93e-3, (length + tol) * line_r * 1e-3 + 0.025)
        true = length * (cpc_r + line_r) / 1e3
        shown = chance.choice((true, true * chance.uniform(0.3, 1.0), true + 10 ** chance.uniform(-1.5, 1.5), math.inf))
        model = Model(path_absent=chance.choice((0.5, 0.9)), joint_ohm=0.025, extra_ohm=(0.15, 100.0))
        observed = Observed("together", round(shown, 2), offset=line, shorted_after=chance.random() < 0.5)
        found.append((Copper(cpc_r, length, tol), observed, model))
    return found


@pytest.mark.parametrize("case", _cases())
def test_the_quick_sum_is_that_of_the_bonds(case: tuple[Copper, Observed, Model]) -> None:
    copper, observed, model = case
    quick = of_one_together(copper, observed, model, COARSE)
    same = BondEvidence(copper, [observed], model, COARSE).result()
    fine = BondEvidence(copper, [observed], model).result()
    for h in ("whole", "impaired", "open"):
        assert quick.log_likelihood[h] == pytest.approx(same.log_likelihood[h], abs=1e-9)
    assert quick.whole_over_open == pytest.approx(fine.whole_over_open, abs=0.1)
    assert quick.whole_over_impaired == pytest.approx(fine.whole_over_impaired, abs=0.1)


def test_r1r2_agrees_with_a_simulation() -> None:
    """The line shares the length of the cpc and the quadrature does not know it: within 0.25 of a power of ten of a simulation."""
    chance = random.Random(7)
    copper, line_r, model = (
        Copper(12.1, 25.0, 2.5),
        7.41,
        Model(path_absent=0.9, joint_ohm=0.025, extra_ohm=(0.15, 100.0)),
    )
    shown, hits = 0.49, {"whole": 0.0, "impaired": 0.0, "open": 0.0}
    rounds = 200_000
    low, high = Observed("together", shown).display.window(shown)
    for h in hits:
        total = 0.0
        for _ in range(rounds):
            length = chance.uniform(22.5, 27.5)
            c = length * 12.1e-3 * chance.uniform(0.93, 1.0) + chance.uniform(0.0, 0.025)
            if h == "impaired":
                c += 0.15 * (100.0 / 0.15) ** chance.random()
            path = math.inf if chance.random() < 0.9 else 0.005 * 2e5 ** chance.random()
            if h == "open":
                if math.isinf(path):
                    continue
                true = path
            else:
                true = c if math.isinf(path) else c * path / (c + path)
            true += length * line_r * 1e-3 * chance.uniform(0.93, 1.0) + chance.uniform(0.0, 0.025)
            if low <= true <= high:
                gain, slack = 1.0 + chance.uniform(-0.03, 0.03), chance.uniform(-0.02, 0.02)
                total += abs(true * gain + slack - shown) < 0.005
        hits[h] = total / rounds
    base, scale = 0.002 / 200, (1 - 0.002) * (1 - 0.0015 - 0.015)  # the leads were shorted afterwards
    logs = {h: math.log10(base + scale * p) for h, p in hits.items()}
    observed = Observed(
        "together", shown, offset=(22.5 * line_r * 0.93e-3, 27.5 * line_r * 1e-3 + 0.025), shorted_after=True
    )
    e = of_one_together(copper, observed, model, COARSE)
    assert e.whole_over_open == pytest.approx(logs["whole"] - logs["open"], abs=0.25)
    assert e.whole_over_impaired == pytest.approx(logs["whole"] - logs["impaired"], abs=0.25)


def test_what_is_left_of_the_circuit_itself_is_no_other_way() -> None:
    """Read past the boiler: the stretch from the boiler on is the conductor asked about, not metal that joins beside it."""
    c = cpc(judged(step("r1r2", 0.28, point=""), link=True))
    assert c.verdict == NOT_SHOWN
    assert c.others == ("frame", "the bond gas")
    assert c.words.startswith("Besides this conductor frame and the bond gas join the point to earth, ")
    row = next(t for t in circuit(judged(step("r1r2", 0.20, point=""), link=True)).tests if t.test == "r1r2")
    assert "frame and the bond gas join the point as well" in row.words.replace("Frame", "frame")


def test_the_ratio_is_not_asked_of_a_cpc_that_was_on_and_then_off() -> None:
    """R1+R2 with the boiler's frame beside it and R2 from the free end differ by the frame, not by a poor joint."""
    free = off("c2:cpc"), step("r2", 0.31, between="free end")
    a = judged(step("r1r2", 0.24), *free, link=True)
    assert "continuity.ratio" not in families(a)
    assert "continuity.ratio" in families(
        judged(off("c2:cpc"), step("r1r2", 0.35), step("r2", 0.31, between="free end"), link=True)
    )


def test_what_answered_for_an_open_cpc_is_not_named_beyond_what_is_entered() -> None:
    """The gas bond reads open as well, so the point's earth comes over metal that nobody entered."""
    gas = "[[step]]\noff = 'gas'\n[[step]]\nread = 'conductor'\nbond = 'gas'\nleads = 'long'\nshown = 'over-range'\n[[step]]\non = 'gas'\n"
    free = (off("c2:cpc"), step("r2", "over-range", between="free end"))
    a = judged(gas, step("r1r2", 0.30), *free, link=True)
    assert next(b for b in a.bonds if b.bond.id == "gas").named == OPEN
    found = cpc(a)
    assert (found.verdict, found.named) == (DISPROVED, OPEN)
    assert "only through other metal (entered: frame and the bond gas)" in found.words
    what = next(f.what for f in found.findings if f.family == "cpc.flattered")
    assert (
        what == "Its protective conductor is open; other metal was read in its place (entered: frame and the bond gas)."
    )


def test_readings_that_were_taken_are_not_asked_for_again() -> None:
    """A short fat cpc is not shown by both; then only its free end tells."""
    one = cpc(judged(step("r1r2", 0.28)))
    assert "free end" not in one.words
    short = (
        HEAD.replace("length_m = 25", "length_m = 3")
        .replace("boiler = 25", "boiler = 3")
        .replace("near = 10", "near = 1")
    )
    text = (
        short.replace("length_tol_m = 2.5", "length_tol_m = 0.3")
        + SHORTED
        + step("r1r2", 0.05)
        + step("r2", 0.03)
        + SHORTED
    )
    visit = read_text(text).visit
    assert visit is not None
    both = cpc(assess(visit))
    assert both.verdict == NOT_SHOWN
    assert "take the cpc of c2 off at its board and read R2 from its free end" in both.words


def test_a_loop_that_meets_its_limit_over_other_metal_is_no_acquittal() -> None:
    zs = "[[step]]\nread = 'zs'\nof = 'c2'\npoint = 'boiler'\nshown = 0.45\n"
    device = 'use = "sockets"\nline_mm2 = 2.5\ncpc_mm2 = 1.5\nlength_m = 25'
    text = HEAD.replace(device, 'device = "BS EN 60898 B16"\n' + device)

    def found(r2: str) -> set[str]:
        book = read_text(text + LINK + SHORTED + r2 + zs + SHORTED)
        assert book.visit is not None
        a = assess(book.visit)
        assert row(a, "zs").outcome == "meets"
        return families(a)

    cut = off("c2:cpc") + step("r2", "over-range", between="free end") + "[[step]]\non = 'c2:cpc'\n"
    assert "zs.flattered" in found(cut)
    assert "zs.flattered" not in found(step("r2", 0.04))


@pytest.mark.parametrize(
    ("r1r2", "r2", "verdict"),
    [(0.62, 0.39, NOT_SHOWN), (0.62, 0.40, DISPROVED), (0.65, 0.39, DISPROVED)],
)
def test_errors_that_all_lie_at_the_edge_of_their_limits_disprove_nothing(r1r2: float, r2: float, verdict: str) -> None:
    """25 ± 2.5 m: R2 to 0.333 + 0.025 = 0.358 Ω. 0.39 Ω may be (0.39 − 0.025)/1.03 = 0.354 Ω, 0.40 Ω no less than 0.364 Ω;
    R1+R2 of 0.62 and 0.65 Ω less a line of 0.229 Ω at most: 0.349 and 0.378 Ω."""
    assert cpc(judged(step("r1r2", r1r2), step("r2", r2))).verdict == verdict
