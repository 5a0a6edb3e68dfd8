"""Visit 30: cpcs, bonds and known metal are one graph. Conclusions by the sums that stand in the visit book."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.assess import assess, site_cpcs
from earthwright.assess.earth import Earth
from earthwright.assess.rulings import Rulings
from earthwright.base.errors import Severity
from earthwright.cli import main
from earthwright.gates.shut import ISOLATION
from earthwright.gates.steps import gates
from earthwright.outcomes.assessment import Assessment
from earthwright.report.observations import propose
from earthwright.site.events import Off
from earthwright.visitbook import read_book, read_text

BOOK = Path(__file__).parent / "30-one-graph.toml"


@pytest.fixture(scope="module")
def a() -> Assessment:
    book = read_book(BOOK)
    assert book.visit is not None
    assert not [f for f in book.findings if f.severity is Severity.ERROR]
    return assess(book.visit, found=book.findings)


def test_the_reading_at_the_gas_pipe_is_the_boilers_cpc(a: Assessment) -> None:
    """0.17 Ω is 14 m of 1.5 mm² and no 16 m of 10 mm²: the bond is no longer there, and the network says so."""
    gas = next(b for b in a.bonds if b.bond.id == "gas")
    assert gas.verdict == "disproved"
    assert a.site_evidence is not None
    weighed = a.site_evidence.of("gas")
    assert (weighed.evidence.verdict, weighed.evidence.named) == ("disproved", "open")
    boiler = a.site_evidence.of("c2:cpc")
    assert boiler.circuit == "c2"
    assert boiler.evidence.posterior["whole"] > 0.5
    assert "Protective conductor to c2 at boiler: whole" in a.site_evidence.words
    known = [s for s in a.site_evidence.strays if s.known == "boiler frame"]
    assert {known[0].a, known[0].b} == {"gas", "c2@boiler"}


def test_the_same_break_is_named_from_the_boiler(a: Assessment) -> None:
    """A whole network reads 0.02 to 0.05 Ω there; with the bond open c2 alone has 0.15 to 0.21 Ω."""
    finding = next(f for f in a.findings if f.family == "continuity.alone")
    assert finding.entry == "c2"
    assert "the bond gas is open: then 0.15 to 0.21 Ω" in finding.because


def test_circuits_are_proved_from_the_met_over_the_sub_main(a: Assessment) -> None:
    circuits = {c.circuit.id: c.cpc for b in a.boards for c in b.circuits}
    assert {name: cpc.verdict for name, cpc in circuits.items() if cpc} == {
        "c2": "proved",
        "f1": "not shown",
        "c7": "proved",
    }
    assert not [p for p in propose(a) if p.name.startswith("cpc.")]


def test_taking_the_sub_main_off_names_what_it_carries(a: Assessment) -> None:
    gate = next(g for g in gates(a.visit, Off(seq=99, what="f1:cpc")) if g.name == ISOLATION)
    assert "Without earth while it is off: board db2 with 1 circuit." in gate.instead
    plain = next(g for g in gates(a.visit, Off(seq=99, what="water")) if g.name == ISOLATION)
    assert "Without earth" not in plain.instead  # only its own pipe, which goes without saying


def test_what_only_known_metal_still_holds_is_said_apart(a: Assessment) -> None:
    """With c2's cpc off the boiler hangs on its frame and the gas bond, which a plumber may part."""
    gate = next(g for g in gates(a.visit, Off(seq=99, what="c2:cpc")) if g.name == ISOLATION)
    assert "Held by known metal only: circuit c2." in gate.instead
    assert "Without earth" not in gate.instead


def run(*arguments: str) -> tuple[int, str]:
    done = CliRunner().invoke(main, ["between", str(BOOK), *arguments])
    return done.exit_code, " ".join(done.output.split())


def test_between_two_places_on_the_terminal() -> None:
    code, text = run("MET", "gas")
    assert code == 0
    assert "It would show a break in the bond gas (then 0.12 to 0.24 Ω)." in text
    assert "It could not show a break in" in text
    code, text = run("MET", "c7", "--off", "f1:cpc")
    assert "not known. Nothing that is entered joins the two, and other metal was not read." in text
    assert "Without earth while it is off: board db2 with 1 circuit." in text


def test_between_as_data() -> None:
    code, text = run("MET", "gas", "--json")
    data = json.loads(text)
    assert (code, data["joined"], data["display"]) == (0, True, "0.00 to 0.06 Ω")
    assert data["breaks"][0]["of"] == "gas"
    assert run("MET", "earth", "--json")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("MET", "attic"), "no place 'attic'. Known: MET"),
        (("MET", "gas", "--off", "nowt"), "no conductor of the earth network is called 'nowt'"),
        (("MET", "gas", "--step", "0"), "expected 0.0001 to 1 Ω, found 0"),
        (("MET", "gas", "--step", "nan"), "expected 0.0001 to 1 Ω, found nan"),
    ],
)
def test_between_says_what_is_wrong(arguments: tuple[str, ...], said: str) -> None:
    code, text = run(*arguments)
    assert code == 2
    assert said in text


def test_between_a_place_and_itself_is_said_not_crashed_on() -> None:
    """The furthest point and the boiler are one place by the entries: nothing lies between the leads."""
    for a, b in (("c2", "c2@boiler"), ("c2", "c2"), ("db2", "f1")):
        code, text = run(a, b)
        assert code == 0
        assert "one and the same place" in " ".join(text.split())
    code, text = run("MET", "gas")
    assert text.startswith("Main earthing terminal to gas pipe")
    code, text = run("met", "gas")
    assert code == 2
    assert "Did you mean 'MET'?" in text


def test_too_many_conductors_to_weigh_are_named_and_those_that_were_read_come_first() -> None:
    """Three bonds leave room for five protective conductors; a sixth that is tied is left out by name."""
    text = '[visit]\nplace = "x"\ndate = 2026-11-20\n[supply]\nsystem = "TN-C-S"\n[[leads]]\nid = "l"\nallowed = "nulled"\n'
    text += '[[board]]\nid = "db1"\n'
    for i in range(3):
        text += f'[[part]]\nid = "p{i}"\nkind = "other"\n[[bond]]\npart = "p{i}"\ncsa_mm2 = 10\nlength_m = {9 + i}\n'
    for i in range(6):
        text += f'[[circuit]]\nid = "c{i}"\nline_mm2 = 2.5\ncpc_mm2 = 1.5\nlength_m = {10 + i}\n'
        text += f'[[link]]\nid = "k{i}"\nbetween = ["p{i % 3}", "c{i}"]\nlow_ohm = 0.0\nhigh_ohm = 0.02\n'
    text += '[[step]]\nread = "together"\nbond = "p0"\nshown = 0.02\n[[step]]\nread = "r2"\nof = "c5"\nleads = "l"\nshown = 0.03\n'
    book = read_text(text)
    assert book.visit is not None
    rulings = Rulings(book.visit)
    tied = site_cpcs.tied(book.visit, Earth.of(book.visit, rulings), rulings, frozenset())
    assert [b.circuit for b in tied.bonds] == ["c5", "c0", "c1", "c2", "c3"]
    assert tied.left == ("c4",)
