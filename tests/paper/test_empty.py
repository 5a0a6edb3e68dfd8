"""A visit at which nothing was looked at gives no document, and a bond that nobody read is not passed over."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.assess import assess
from earthwright.cli import main
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.begin import blank_book
from earthwright.paper.documents import NotIssued, make_document, missing_fields
from earthwright.paper.kinds import DOCUMENTS, ENDS_IN
from earthwright.site.visit import VISIT_KINDS
from earthwright.visitbook import read_text

HEAD = '[visit]\nplace = "3 Fellgate, Marl"\ndate = 2026-11-20\nkind = "bonding"\ninspector = "J. Example"\n'
BOND = '[[part]]\nid = "gas"\nkind = "gas"\n[[bond]]\npart = "gas"\ncsa_mm2 = 10\nlength_m = 9\n'
READ = '[[step]]\noff = "gas"\nread = "conductor"\nbond = "gas"\nshown = 0.02\n'
BACK = '[[step]]\non = "gas"\n'


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    return assess(book.visit, found=book.findings, broken=book.broken)


def lacks(text: str, document: str = "bonding record") -> list[str]:
    return [m.what for m in missing_fields(judged(text), document)]


# The isolation notice hangs at the lock before anything is looked at: a pen fills in what it says.
@pytest.mark.parametrize("document", [d for d in DOCUMENTS if d != "isolation notice"])
def test_an_empty_visit_gives_no_document(document: str) -> None:
    full = HEAD + 'extent = "all"\nlimitations = ["none"]\n[report]\noperational = ["none"]\n'
    assert lacks(full, document)
    with pytest.raises(NotIssued):
        make_document(judged(full), document)


def test_a_bonding_record_needs_a_bond_a_reading_and_a_name() -> None:
    assert lacks(HEAD) == ["Bonds: at least one"]
    assert lacks(HEAD + BOND) == ["Bonds: gas: a reading"]
    assert lacks(HEAD + 'limitations = ["gas: behind fixed tiles"]\n' + BOND) == []
    limited = '[[step]]\nread = "conductor"\nbond = "gas"\nabsent = "LIM"\nnote = "behind fixed tiles"\n'
    assert lacks(HEAD + BOND + limited) == []
    assert lacks(HEAD + 'limitations = ["none"]\n' + BOND) == ["Bonds: gas: a reading"]
    assert lacks(HEAD + BOND + READ) == ["gas put back"]
    assert lacks(HEAD + BOND + READ + BACK) == []
    assert lacks(HEAD.replace("J. Example", "") + BOND + READ + BACK) == ["Bonding record: Inspected and tested by"]
    assert lacks(HEAD + BOND + READ.replace("0.02", "true") + BACK)[0] == "An entry cannot be read"


def test_a_visit_that_danger_stopped_has_its_record() -> None:
    """Nothing may be taken off while the neutral is lost, so no reading of a bond is asked for."""
    visits = Path(__file__).parents[1] / "visits"
    text = (visits / "16-open-pen.toml").read_text(encoding="utf-8")
    assert lacks(text) == ["Bonding record: Inspected and tested by"]
    assert lacks(text, "evidence sheet") == []


def test_the_command_refuses_it_and_writes_nothing(tmp_path: Path) -> None:
    (tmp_path / "v.toml").write_text(HEAD, encoding="utf-8")
    out = str(tmp_path / "r.pdf")
    refused = CliRunner().invoke(main, ["paper", str(tmp_path / "v.toml"), "-o", out])
    assert refused.exit_code == 6
    assert "a record without a bond says nothing" in refused.output
    assert not (tmp_path / "r.pdf").exists()
    assert CliRunner().invoke(main, ["paper", str(tmp_path / "v.toml"), "-o", out, "--draft"]).exit_code == 0


def taken(text: str, today: dt.date) -> str:
    """A blank book with every line of what the paper asks for taken as it stands."""
    tables = ("supply", "report", "origin")
    lines, live = [], False
    for line in text.splitlines():
        head = re.match(r"#?\[+([a-z._]+)\]+", line)
        if head:
            live = head[1] in tables
        within = re.match(r"#(client|firm|extent|limitations) = ", line)
        lines.append(line[1:] if line.startswith("#") and not line.startswith("# ") and (live or within) else line)
    return (
        "\n".join(lines).replace('place = ""', 'place = "Here"').replace('inspector = ""', 'inspector = "J. Example"')
    )


@pytest.mark.parametrize("kind", VISIT_KINDS)
def test_a_book_begun_for_a_kind_of_visit_holds_every_entry_that_its_document_asks_for(kind: str) -> None:
    today = dt.date(2026, 11, 20)
    text = blank_book(today, kind)
    assert judged(text.replace('place = ""', 'place = "Here"')).visit.kind == kind
    book = read_text(taken(text, today))
    wrong = [f.sentence() for f in book.findings if f.severity.value == "error"]
    assert [w for w in wrong if "not one of the words known" not in w] == [], "each line is of its kind as it stands"
    assert book.visit is not None
    asked = [
        m.at
        for m in missing_fields(assess(book.visit, found=book.findings), ENDS_IN[kind])
        if m.at.table in ("visit", "report", "origin", "inspected")
    ]
    for at in asked:  # nothing is said yet, but the line to say it in is there
        assert re.search(rf"^#?{at.key} = ", text, re.MULTILINE), at.said()
