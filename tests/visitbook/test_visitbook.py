"""Visit books: every fault told at once with its place, the broken entry never judged, the rest judged."""

from __future__ import annotations

import random
import re
import tomllib
from pathlib import Path

import pytest
from wide import seeds

from earthwright.assess import assess
from earthwright.base.errors import Severity, VisitBookError
from earthwright.desk.demo import visit_text
from earthwright.visitbook import ReadBook, read_book, read_text
from earthwright.visitbook.blank import BLANK
from earthwright.visitbook.lines import Lines

HEAD = '[visit]\nplace = "x"\ndate = 2026-11-20\n'
PART = '[[part]]\nid = "water"\nkind = "water"\n'
BOND = '[[bond]]\npart = "water"\ncsa_mm2 = 10\nlength_m = 16\n'
LEADS = '[[leads]]\nid = "long"\nallowed = "nulled"\n'


def said(text: str) -> list[str]:
    return [f"{f.where}: {f.what}" for f in read_text(text).findings]


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ("[visit]\ndate = 2026-11-20\n", "visit: place", "needed and is missing"),
        ('[visit]\nplace = "x"\n', "visit: date", "needed and is missing"),
        ('[visit]\nplace = "x"\ndate = "soon"\n', "visit: date", "cannot be read"),
        (HEAD + "plaec = 1\n", "visit: plaec", "not known here"),
        (HEAD + "decision = 'hopeful'\n", "visit: decision", "not one of the words"),
        (HEAD + "temp_c = 'warm'\n", "visit: temp_c", "cannot be read"),
        (HEAD + "temp_c = 900\n", "visit: temp_c", "not possible"),
        (HEAD + "limitations = [1]\n", "visit: limitations", "cannot be read"),
        (HEAD + "[visits]\n", "visit book: visits", "not known here"),
        (HEAD + "[supply]\nsystem = 'TN-X'\n", "supply: system", "not one of the words"),
        (HEAD + "[supply]\nneutral_mm2 = 25\nneutral_at_most_mm2 = 35\n", "supply: neutral_at_most_mm2", "given twice"),
        (HEAD + "[supply]\nphases = 2\n", "supply: phases", "cannot be read"),
        (HEAD + "[supply]\npme = 'yes'\n", "supply: pme", "cannot be read"),
        (HEAD + "[[part]]\nkind = 'water'\n", "part 1: id", "needed and is missing"),
        (HEAD + PART + PART, "part water: id", "stands twice"),
        (HEAD + "[[part]]\nid = 'MET'\n", "part MET: id", "kept for something else"),
        (HEAD + PART + "[[bond]]\npart = 'gas'\ncsa_mm2 = 10\nlength_m = 1\n", "bond gas: part", "no part 'gas'"),
        (HEAD + PART + BOND + BOND, "bond water: id", "stands twice"),
        (HEAD + PART + BOND.replace("16", "-16"), "bond water: length_m", "not possible"),
        (HEAD + PART + BOND.replace("10", "true"), "bond water: csa_mm2", "cannot be read"),
        (HEAD + PART + BOND.replace("10", "nan"), "bond water: csa_mm2", "not possible"),
        (HEAD + PART + BOND + "length_tol_m = 16\n", "bond water: length_tol_m", "swallows the length"),
        (HEAD + PART + BOND + "iec_class = 3\n", "bond water: iec_class", "cannot be read"),
        (HEAD + PART + "[[link]]\nid = 'l'\nbetween = ['water']\n", "link l: between", "two different places"),
        (HEAD + PART + "[[link]]\nid = 'l'\nbetween = ['MET', 'oil']\n", "link l: between", "no part 'oil'"),
        (
            HEAD + PART + "[[link]]\nid = 'l'\nbetween = ['MET', 'water']\nlow_ohm = 2\nhigh_ohm = 1\n",
            "link l: low_ohm",
            "above high",
        ),
        (HEAD + "[[leads]]\nid = 'a'\n", "leads a: allowed", "needed and is missing"),
        (HEAD + "[[instrument]]\nid = 'm'\ncontinuity = 3\n", "instrument m: continuity", "not a table"),
        (
            HEAD + "[[instrument]]\nid = 'm'\ncontinuity = { pct = -3 }\n",
            "instrument m: continuity: pct",
            "not possible",
        ),
        (HEAD + "step = 3\n", "visit: step", "not known here"),
        (HEAD + "[[step]]\n", "step 1", "says nothing"),
        (HEAD + "[[step]]\nread = 'joint'\ncheck = 'open'\n", "step 1", "does one thing"),
        (HEAD + "[[step]]\noff = 'water'\n", "step 1: off", "no conductor 'water'"),
        (HEAD + "[[step]]\nclamp = 'earthing'\n", "step 1: shown", "digits are missing"),
        (HEAD + "[[step]]\nclamp = 'earthing'\nshown = 'lots'\n", "step 1: shown", "not digits"),
        (HEAD + "[[step]]\nvolts = 'MET to earth'\nshown = true\n", "step 1: shown", "not a reading"),
        (HEAD + "[[step]]\nisolated = 'sort of'\n", "step 1: isolated", "not one of the words"),
        (HEAD + "[[step]]\nlook = 'joint'\n", "step 1: seen", "needed and is missing"),
        (HEAD + "[[step]]\noverride = 'clamp'\nreason = 'x'\n", "step 1: by", "An override is signed"),
        (HEAD + "[[step]]\ncheck = 'shorted'\nshown = 0.00\n", "step 1: leads", "Which lead set"),
        (HEAD + LEADS + "[[step]]\ncheck = 'known'\nshown = 0.50\n", "step 1: nominal_ohm", "needed and is missing"),
        (
            HEAD + PART + BOND + "[[step]]\nread = 'conductor'\nbond = 'gas'\nshown = 0.03\n",
            "step 1: bond",
            "no bond 'gas'",
        ),
        (
            HEAD + PART + BOND + "[[step]]\nread = 'conductor'\nbond = 'water'\nshown = []\n",
            "step 1: shown",
            "list of digits is empty",
        ),
        (
            HEAD + PART + BOND + "[[step]]\nread = 'conductor'\nbond = 'water'\nleads = 'short'\nshown = 0.03\n",
            "step 1: leads",
            "not entered",
        ),
        (HEAD + "[[step]]\nat = 5\nnote = 'x'\n", "step 1: at", "cannot be read"),
        (HEAD + "inspector = '" + "x" * 2001 + "'\n", "visit: inspector", "too long"),
    ],
)
def test_a_fault_names_its_place_and_what_was_expected(text: str, where: str, what: str) -> None:
    book = read_text(text, "v.toml")
    hits = [f for f in book.findings if f.where == where and what in f.what]
    assert hits, said(text)
    assert all(f.severity is Severity.ERROR and f.expected and f.file == "v.toml" for f in hits)


def test_lines_are_named() -> None:
    text = HEAD + PART + BOND.replace("16", "-16")
    (finding,) = read_text(text, "v.toml").findings
    assert text.splitlines()[finding.line - 1] == "length_m = -16"
    assert finding.sentence().startswith("v.toml:10: bond water: length_m:")


def test_lines_survive_comments_and_long_strings() -> None:
    lines = Lines(
        '# a\n[visit]\nnote = """\n[[step]]\nshown = 1\n"""\n[[step]] # one\nshown = 2\n[[step]]\nshown = 3\n'
    )
    assert lines.of("step", 0, "shown") == 8
    assert lines.of("step", 1, "shown") == 10
    assert lines.of("step", 1, "other") == 9
    assert lines.of("absent") == 0


def test_all_faults_at_once() -> None:
    text = (
        "[visit]\nplace = ''\ntemp_c = true\n"
        + PART
        + BOND.replace("10", "'ten'")
        + "[[step]]\nread = 'conductor'\nbond = 'water'\nshown = '1,234'\n"
    )
    wheres = {f.where for f in read_text(text).findings}
    assert {
        "visit: place",
        "visit: date",
        "visit: temp_c",
        "bond water: csa_mm2",
        "step 1: bond",
        "step 1: shown",
    } <= wheres


def test_a_near_miss_is_suggested() -> None:
    (finding,) = read_text(HEAD + PART + BOND + "lenght_tol_m = 1\n").findings
    assert finding.do == "Did you mean 'length_tol_m'?"


def test_times_dates_notes_and_repeats() -> None:
    text = (
        HEAD
        + PART
        + BOND
        + LEADS
        + (
            "[[step]]\nat = 10:15:00\nnote = 'arrived'\n[[step]]\nat = 2026-11-20T10:20:00\noff = ['water', 'earthing']\nwhy = 'test'\n"
            "[[step]]\nread = 'conductor'\nbond = 'water'\nshown = [0.43, 0.29]\n"
        )
    )
    book = read_text(text)
    assert book.findings == ()
    assert book.visit is not None
    kinds = [type(e).__name__ for e in book.visit.events]
    assert kinds == ["Off", "Off", "Reading", "Reading"]
    assert [e.seq for e in book.visit.events] == [1, 2, 3, 4]


def test_a_broken_part_breaks_what_stands_on_it_and_nothing_else() -> None:
    text = (
        HEAD
        + "[[part]]\nid = 'gas'\nkind = 'gass'\n"
        + PART
        + "[[bond]]\npart = 'gas'\ncsa_mm2 = 10\nlength_m = 9\n"
        + BOND
        + LEADS
        + "[[step]]\noff = 'gas'\n[[step]]\nread = 'conductor'\nbond = 'gas'\nshown = 0.02\n"
        + "[[step]]\noff = 'water'\nread = 'conductor'\nbond = 'water'\nshown = 0.03\n"
        + "[[step]]\ncheck = 'shorted'\nshown = '0.00'\n"
    )
    book = read_text(text)
    assert book.broken == ("gas",)
    assert book.visit is not None
    a = assess(book.visit, found=book.findings, broken=book.broken)
    assert [b.bond.id for b in a.bonds] == ["water"]
    assert a.bonds[0].verdict == "proved"
    assert [n.entry for n in a.not_judged] == ["gas"]


def test_a_refused_reading_holds_the_verdict_back() -> None:
    text = (
        HEAD
        + PART
        + BOND
        + LEADS
        + (
            "[[step]]\noff = 'water'\nread = 'conductor'\nbond = 'water'\nshown = 0.03\n[[step]]\nread = 'conductor'\nbond = 'water'\nshown = '1,234'\n"
        )
    )
    book = read_text(text)
    assert book.visit is not None
    (b,) = assess(book.visit, found=book.findings).bonds
    assert b.verdict == "not shown"
    assert b.next is not None
    assert "Correct the entry" in b.next.do


def test_the_blank_book_is_whole_once_the_place_is_given() -> None:
    text = BLANK.format(today="2026-11-20").replace('place = ""', 'place = "x"')
    book = read_text(text)
    assert book.findings == ()
    assert all(line.count("#") for line in text.splitlines() if line.startswith("# "))


def test_files_with_marks_and_line_ends_of_other_systems(tmp_path: Path) -> None:
    file = tmp_path / "v.toml"
    file.write_bytes(b"\xef\xbb\xbf" + HEAD.replace("\n", "\r\n").encode())
    assert read_book(file).findings == ()


@pytest.mark.parametrize("text", ["= 1", "[visit", "a = 01", "[visit]\n[visit]\n", "x = " + "[" * 5000])
def test_no_toml_is_one_clear_error(text: str) -> None:
    with pytest.raises(VisitBookError, match="cannot be read as a visit book"):
        read_text(text)


# ---- 200 mutated visit books: no crash, no verdict on a broken entry ----

ABSURD = [
    '""',
    "true",
    "-1",
    "0",
    "1e300",
    "nan",
    "inf",
    '"0,05"',
    '"0.4 kΩ"',
    '"<script>"',
    "[]",
    "{}",
    "2026-02-30",
    '"over-range"',
    "99999999999999999999",
    '"\\u0000"',
    "[1, true]",
    '"' + "9" * 400 + '"',
]


def mutate(text: str, seed: int) -> str:
    """One to three changes: a key dropped, renamed, given another type or an absurd value, a line doubled, a table cut."""
    rng = random.Random(seed)
    lines = text.splitlines()
    for _ in range(rng.randint(1, 3)):
        places = [i for i, line in enumerate(lines) if "=" in line and not line.lstrip().startswith("#")]
        i = rng.choice(places)
        key = lines[i].split("=")[0].rstrip()
        kind = rng.randrange(6)
        if kind == 0:
            del lines[i]
        elif kind == 1:
            lines[i] = lines[i].replace(key, key + "x", 1)
        elif kind in (2, 3):
            lines[i] = f"{key} = {rng.choice(ABSURD)}"
        elif kind == 4:
            lines[i] = f'{key} = "{lines[i].split("=", 1)[1].strip().strip(chr(34))} kΩ"'
        else:
            heads = [j for j, line in enumerate(lines) if line.startswith("[")]
            del lines[rng.choice(heads)]
    return "\n".join(lines) + "\n"


def judged(book: ReadBook) -> None:
    if book.visit is None:
        assert any(f.severity is Severity.ERROR for f in book.findings)
        return
    a = assess(book.visit, found=book.findings, broken=book.broken)
    for b in a.bonds:
        assert b.bond.id not in book.broken
        if any(e.refused for e in book.visit.events if getattr(e, "of", "") == b.bond.id and hasattr(e, "refused")):
            assert b.verdict == "not shown"
    assert set(book.broken) <= {n.entry for n in a.not_judged}


@pytest.mark.parametrize("seed", seeds(200))
def test_mutated_visit_books(seed: int) -> None:
    text = mutate(visit_text(), seed)
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        with pytest.raises(VisitBookError):
            read_text(text)
        return
    judged(read_text(text))


@pytest.mark.parametrize("seed", seeds(150))
def test_mutated_earth_networks(seed: int) -> None:
    """Visit 30 has a sub-board, known metal at a circuit's point and readings from the MET: any of it may be broken."""
    text = mutate((Path(__file__).parents[1] / "visits" / "30-one-graph.toml").read_text(encoding="utf-8"), seed)
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        with pytest.raises(VisitBookError):
            read_text(text)
        return
    book = read_text(text)
    judged(book)
    for link in book.visit.site.links if book.visit else ():
        assert link.id not in book.broken


def test_no_change_passes_unnoticed() -> None:
    """Of the mutations that still parse, a changed digit aside, each is answered by a finding."""
    silent = []
    for seed in range(200):
        text = mutate(visit_text(), seed)
        try:
            data = tomllib.loads(text)
        except tomllib.TOMLDecodeError:
            continue
        if not read_text(text).findings and data != tomllib.loads(visit_text()):
            silent.append(seed)
    # Dropping an optional key, or putting over-range for digits, is a different visit but a whole one.
    assert len(silent) < 60
    for seed in silent:
        changed = set(mutate(visit_text(), seed).splitlines()) ^ set(visit_text().splitlines())
        assert not any(
            re.search(r"= (true|nan|inf|\"0,05\"|\[\]|\{\})$", line)
            for line in changed
            if not re.match(
                r"label|holds|(name|note|position|strands|extent|inspector|seen|load|material|serial|place) = \"", line
            )
        ), changed
