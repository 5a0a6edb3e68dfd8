"""A current, a voltage or known metal that could not be read: nothing earlier and nothing quieter stands in its place."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.assess import assess
from earthwright.assess.precautions import before
from earthwright.cli import main
from earthwright.gates.shut import CLAMP, DANGER
from earthwright.outcomes.assessment import Assessment
from earthwright.site.events import Off
from earthwright.site.visit import Visit
from earthwright.visitbook import read_text

HEAD = """
[visit]
place = "9 Tenter Row, Harle"
date = 2026-11-20
[[leads]]
id = "long"
allowed = "nulled"
[[part]]
id = "water"
kind = "water"
[[bond]]
part = "water"
csa_mm2 = 10
length_m = 18
length_tol_m = 1
[[board]]
id = "db1"
[[circuit]]
id = "c1"
device = "BS EN 61009 B16"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 14
length_tol_m = 1
points = { boiler = 14 }
[[link]]
id = "frame"
between = ["water", "c1@boiler"]
low_ohm = 0.0
high_ohm = 0.01
"""
LOCKED = "".join(f'[[step]]\nisolated = "{s}"\n' for s in ("locked", "tester proved", "dead", "tester proved again"))


def clamp(shown: str, on: str = "water") -> str:
    return f'[[step]]\nclamp = "{on}"\nshown = {shown}\n'


def volts(shown: str) -> str:
    return f'[[step]]\nvolts = "MET to true earth"\nshown = {shown}\n'


def visit(*steps: str) -> Visit:
    found = read_text(HEAD + "".join(steps)).visit
    assert found is not None
    return found


def shut(*steps: str) -> set[str]:
    v = visit(*steps)
    return {g.name for g in before(v, Off(seq=len(v.events) + 1, what="water")) if not g.passes}


BAD = ('"4.1 or 4.2"', '"O.5"', '""', "true")


@pytest.mark.parametrize("bad", BAD)
def test_a_current_that_could_not_be_read_holds_the_bond_until_it_is_taken_again(bad: str) -> None:
    good = clamp("0.00")
    assert shut(good, LOCKED, good) == set()
    assert shut(clamp(bad), LOCKED, good) == {CLAMP}
    assert shut(good, LOCKED, clamp(bad)) == {CLAMP}
    assert shut(good, LOCKED, good, clamp(bad)) == {CLAMP}
    assert shut(good, LOCKED, good, clamp(bad, "watr")) == {CLAMP}  # nobody knows which was meant
    assert shut(good, LOCKED, good, clamp(bad, "earthing")) == set()
    assert shut(clamp(bad), good, LOCKED, clamp(bad), good) == set()


@pytest.mark.parametrize("bad", BAD)
def test_a_voltage_that_could_not_be_read_holds_every_disconnection_until_it_is_taken_again(bad: str) -> None:
    ready = (clamp("0.00"), LOCKED, clamp("0.00"))
    assert shut(*ready, volts("2"), volts(bad)) == {DANGER}
    assert shut(*ready, volts(bad), volts("2")) == set()


def test_what_to_do_next_is_to_correct_it_and_what_was_taken_off_before_it_is_not_blamed() -> None:
    ready = (clamp("0.00"), LOCKED, clamp("0.00"))
    for lost, word in ((clamp('"O.5"'), "step 7"), (volts('"14O"'), "step 7")):
        book = read_text(HEAD + "".join((*ready, lost)))
        assert book.visit is not None
        a = assess(book.visit, found=book.findings)
        then = a.bonds[0].next
        assert then is not None
        assert (then.test, word in then.do) == ("entry", True), then.do
        assert "gate.not_noted" not in {f.family for f in a.findings}
        late = (*ready, '[[step]]\noff = "water"\n[[step]]\non = "water"\n', lost)
        assert "gate.not_noted" not in {f.family for f in assess(visit(*late)).findings}
        early = (*ready, lost, '[[step]]\noff = "water"\n[[step]]\non = "water"\n')
        assert [f.severity.value for f in assess(visit(*early)).findings if f.family == "gate.not_noted"] == ["note"]


def test_a_voltage_that_says_nothing_of_its_places_is_told() -> None:
    book = read_text(HEAD + '[[step]]\nvolts = "radiator to tap"\nshown = 60\n')
    assert [f.severity.value for f in book.findings] == ["warning"]
    assert "between what" in book.findings[0].what
    for known in ("MET–true earth", "L1-N", "line to earth", "N-E", "L1-L2", "MET-E"):
        assert read_text(HEAD + f'[[step]]\nvolts = "{known}"\nshown = 2\n').findings == (), known


READ = (
    '[[step]]\ncheck = "shorted"\nshown = "0.00"\n[[step]]\nof = "c1"\npoint = "boiler"\ntests = { r1r2 = "0.27" }\n'
    '[[step]]\ncheck = "shorted"\nshown = "0.00"\n'
)


def cpc(text: str) -> tuple[Assessment, str]:
    book = read_text(text)
    assert book.visit is not None
    a = assess(book.visit, found=book.findings, broken=book.broken)
    judged = a.boards[0].circuits[0].cpc
    assert judged is not None
    return a, judged.verdict


@pytest.mark.parametrize(
    ("line", "now"),
    [
        ("high_ohm = 0.01", 'high_ohm = "x"'),
        ("high_ohm = 0.01", "hgh_ohm = 0.01"),
        ('"c1@boiler"', '"c1@boler"'),
        ('id = "frame"\n', ""),
        ("high_ohm = 0.01", 'high_ohm = 0.01\n[[link]]\nid = "frame"\nbetween = ["MET", "water"]'),
    ],
)
def test_known_metal_that_could_not_be_read_may_have_answered_for_any_conductor(line: str, now: str) -> None:
    """Metal that joins the point to earth can read for a cpc that is cut; losing its entry must not prove the cpc."""
    without = HEAD[: HEAD.index("[[link]]")]
    assert cpc(without + READ)[1] == "proved"
    assert line in HEAD
    a, verdict = cpc(HEAD.replace(line, now) + READ)
    assert verdict == "not shown"
    assert any("link" in f.where for f in a.findings if f.severity.value == "error")


def test_what_comes_next_is_to_correct_the_entry_and_every_command_tells_which(tmp_path: Path) -> None:
    text = HEAD.replace("high_ohm = 0.01", 'high_ohm = "x"') + READ
    then = cpc(text + '[[step]]\nread = "together"\nbond = "water"\nshown = 0.03\n')[0].bonds[0].next
    assert then is not None
    assert then.do == "Correct the entry first: it rests on link frame, which could not be read."
    book = tmp_path / "v.toml"
    book.write_text(text, encoding="utf-8")
    for command in (["next", str(book)], ["between", str(book), "MET", "c1@boiler"]):
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 3
        assert "link frame: high_ohm" in done.stderr
        assert "What rests on this is not judged" in done.stderr
