"""Certificates over what does not comply: refused, unsigned, and only with a departure that stands beside the result."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from earthwright.assess import assess
from earthwright.cli import main
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import NotIssued, make_document, missing_fields
from earthwright.paper.kinds import CERTIFICATE, MINOR
from earthwright.paper.requirements import does_not_comply
from earthwright.paper.shortfalls import shortfalls
from earthwright.visitbook import read_text

WHOLE = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")
ROLES = ("designer", "constructor", "inspected and tested by")
OVER = (CERTIFICATE, MINOR)


def damaged(old: str, new: str, count: int = 1) -> str:
    assert WHOLE.count(old) >= 1, old
    return WHOLE.replace(old, new, count)


# What is damaged → the visit book, and what a departure has to name.
CASES = {
    "insulation 0.2 MΩ": (damaged('"insulation LN-E" = ">299"', '"insulation LN-E" = 0.20'), ("1", "insulation")),
    "Zs 9.57 Ω": (damaged("shown = 0.60", "shown = 9.57"), ("1", "zs")),
    "bond open": (damaged("shown = [0.03, 0.03]", 'shown = ["over-range", "over-range"]'), ("water", "continuity")),
    "wrong polarity": (damaged('of = "1"\noutcome = "good"', 'of = "1"\noutcome = "bad"'), ("1", "polarity")),
}


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    assert [f.sentence() for f in book.findings] == []
    return assess(book.visit)


def departure(of: str, test: str, kind: str = "departure", reason: str = "agreed with the designer, drawing 7") -> str:
    return f'\n[[departure]]\nof = "{of}"\ntest = "{test}"\nkind = "{kind}"\nreason = "{reason}"\n'


def answered(text: str) -> str:
    return text + "".join(departure(s.of, s.test) for s in shortfalls(judged(text)))


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def text_of(content: bytes, folder: Path) -> str:
    reader = shutil.which("pdftotext")
    assert reader, "this check reads the PDF with poppler's pdftotext (Debian: apt install poppler-utils)"
    (folder / "d.pdf").write_bytes(content)
    done = subprocess.run([reader, "-raw", str(folder / "d.pdf"), "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


@pytest.mark.parametrize("document", OVER)
def test_a_sound_installation_has_nothing_to_answer(document: str) -> None:
    assert does_not_comply(judged(WHOLE), document) == []


@pytest.mark.parametrize("document", OVER)
@pytest.mark.parametrize("case", CASES)
def test_it_is_refused_and_says_what_to_do(case: str, document: str) -> None:
    text, (of, test) = CASES[case]
    a = judged(text)
    assert (of, test) in {(s.of, s.test) for s in shortfalls(a)}
    said = [m.sentence() for m in does_not_comply(a, document)]
    assert any(
        f'[[departure]] of = "{of}", test = "{test}"' in s and "put it right and test it again" in s for s in said
    ), said
    with pytest.raises(NotIssued):
        make_document(a, document)


@pytest.mark.parametrize("document", OVER)
@pytest.mark.parametrize("case", CASES)
def test_with_a_departure_it_goes_on_and_the_reason_stands_beside_the_result(
    case: str, document: str, tmp_path: Path
) -> None:
    a = judged(answered(CASES[case][0]))
    assert does_not_comply(a, document) == []
    assert {m.what.partition(":")[0] for m in missing_fields(a, document)} == {"Signature"}
    said = text_of(make_document(a, document, draft=True), tmp_path)
    first = said.partition("Page 1 of")[0]
    assert "What does not comply, or is not decided" in first
    assert "Departure: agreed with the designer, drawing 7" in first
    assert said.count("agreed with the designer, drawing 7") >= 2, "in the list, and beside the result"
    assert "Departures from the rules listed with their results on page 1" in said, "not 'none'"


def test_a_departure_is_for_one_result_alone() -> None:
    text, _ = CASES["Zs 9.57 Ω"]
    other = judged(text + departure("1", "insulation") + departure("2", "zs"))
    assert (
        next(m.at.said() for m in does_not_comply(other, CERTIFICATE)) == '[[departure]] of = "1", test = "zs", reason'
    )


def test_what_is_not_part_of_the_work_says_so(tmp_path: Path) -> None:
    text, (of, test) = CASES["bond open"]
    rest = "".join(departure(s.of, s.test) for s in shortfalls(judged(text)) if (s.of, s.test) != (of, test))
    a = judged(text + rest + departure(of, test, "existing", "the client was told in writing"))
    said = text_of(make_document(a, MINOR, draft=True), tmp_path)
    assert "Not part of this work: the client was told in writing" in said


def test_a_minor_certificate_asks_for_its_circuit_and_what_it_relies_on_alone() -> None:
    far = judged(WHOLE.replace("shown = 0.60", "shown = 9.57").replace('circuit = "1"', 'circuit = "2"'))
    assert ("1", "zs") in {(s.of, s.test) for s in shortfalls(far)}
    assert not [m for m in does_not_comply(far, MINOR) if '"zs"' in m.where]


@pytest.mark.parametrize(
    ("entry", "what"),
    [
        ('[[departure]]\nof = "nine"\ntest = "zs"\nreason = "x"\n', "There is nothing called 'nine'."),
        ('[[departure]]\nof = "1"\ntest = "zs"\n', "This is needed and is missing."),
        (departure("1", "zs") + departure("1", "zs"), "This result has a departure already."),
        ('[[departure]]\nof = "1"\ntest = "zs"\nkind = "maybe"\nreason = "x"\n', "This is not one of the words"),
    ],
)
def test_a_departure_that_cannot_be_read_is_told(entry: str, what: str) -> None:
    assert any(what in f.what for f in read_text(WHOLE + entry).findings)


@pytest.mark.parametrize("kind", ["initial", "minor works"])
def test_nobody_signs_over_it(kind: str, tmp_path: Path) -> None:
    visit = tmp_path / "v.toml"
    text = CASES["Zs 9.57 Ω"][0].replace('kind = "periodic"', f'kind = "{kind}"')
    visit.write_text(text, encoding="utf-8")
    refused = run("sign", visit, "--role", "inspected and tested by", "--name", "J. Example")
    assert refused.exit_code == 6
    assert "Circuit 1" in refused.output
    assert visit.read_text(encoding="utf-8") == text
    visit.write_text(answered(text), encoding="utf-8")
    assert run("sign", visit, "--role", "inspected and tested by", "--name", "J. Example").exit_code == 0


def test_a_report_on_what_is_there_is_signed_whatever_it_found(tmp_path: Path) -> None:
    visit = tmp_path / "v.toml"
    visit.write_text(CASES["Zs 9.57 Ω"][0], encoding="utf-8")
    assert run("sign", visit, "--role", "inspected and tested by", "--name", "J. Example").exit_code == 0
    assert run("sign", visit, "--role", "constructor", "--name", "J. Example").exit_code == 6


RING = (
    '[[circuit]]\nid = "3"\nboard = "db1"\nkind = "ring"\nuse = "sockets"\ndevice = "BS EN 61009 B32"\nline_mm2 = 2.5\ncpc_mm2 = 1.5\n'
    '[[step]]\nof = "3"\ntests = {{ "ring r1" = 0.62, "ring rn" = 0.62, "ring r2" = {r2}, r1r2 = 0.41 }}\n{more}[[step]]\ncheck = "shorted"\nshown = 0.00\n'
)


def test_a_ring_asks_for_a_departure_where_it_was_read_and_not_shown_and_not_for_want_of_a_reading() -> None:
    """A reading that was not taken is a lack and no departure; one that was taken and shows nothing stands in the way."""
    profile = '[[step]]\nread = "ring ln"\nof = "3"\nat_points = { "4 m" = 0.31, "20 m" = 0.31 }\n'
    wanted = {
        RING.format(r2="1.02", more=""): False,
        RING.format(r2="1.02", more=profile): True,
        RING.format(r2='"over-range"', more=""): True,
    }
    for text, asks in wanted.items():
        assert (("3", "ring") in {(s.of, s.test) for s in shortfalls(judged(WHOLE + text))}) is asks, text


def test_continuity_whose_digits_do_not_count_is_not_certified() -> None:
    end = 'check = "shorted"\nshown = 0.00\n[[step]]\nclamp'
    text = damaged(end, end.replace("0.00", "0.06"))
    assert {("1", "r1r2"), ("2", "r1r2")} <= {(s.of, s.test) for s in shortfalls(judged(text))}
