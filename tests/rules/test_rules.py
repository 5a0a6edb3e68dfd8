"""Rule data: dates, edges, strictness, and another country's standard as nothing but a folder of data."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from earthwright.errors import NoRule, RuleDataError
from earthwright.rules import RuleBook
from earthwright.rules.lookup import (
    WIRING,
    conductor_mohm_per_m,
    continuity_guidance,
    extraneous_thresholds,
    joint_guidance,
    k_value,
)
from earthwright.rules.sizes import (
    conducts_like_copper,
    earthing_conductor_min,
    main_bond_min,
    next_standard,
    standard_sizes,
    supplementary_bond_min,
)

BOOK = RuleBook.load()
DAY = dt.date(2026, 11, 20)
A4 = BOOK.edition_for(WIRING, DAY)
HERE = Path(__file__).parent


def test_every_table_of_every_edition_loads() -> None:
    for edition in BOOK.editions:
        for table in edition.tables:
            assert edition.table(table).rows


@pytest.mark.parametrize(
    ("day", "edition"),
    [
        ("2019-06-01", "2018"),
        ("2020-02-01", "2018+A1"),
        ("2022-09-26", "2018+A1"),
        ("2022-09-27", "2018+A2"),
        ("2024-07-30", "2018+A2"),
        ("2024-07-31", "2018+A2+A3"),
        ("2026-04-14", "2018+A2+A3"),
        ("2026-04-15", "2018+A2+A3"),
        ("2026-10-14", "2018+A2+A3"),
        ("2026-10-15", "2018+A4"),
        ("2026-11-25", "2018+A4"),
    ],
)
def test_the_edition_in_force_on_each_side_of_every_date(day: str, edition: str) -> None:
    assert BOOK.edition_for(WIRING, dt.date.fromisoformat(day)).edition == edition


def test_either_edition_may_be_chosen_in_the_overlap_and_only_there() -> None:
    for day in ("2026-04-15", "2026-10-14"):
        on = dt.date.fromisoformat(day)
        assert {e.edition for e in BOOK.editions_open(WIRING, on)} == {"2018+A2+A3", "2018+A4"}
        assert BOOK.edition_for(WIRING, on, "2018+A4").edition == "2018+A4"
    with pytest.raises(NoRule, match=r"may not be used on 2026-04-14; open then: 2018\+A2\+A3"):
        BOOK.edition_for(WIRING, dt.date(2026, 4, 14), "2018+A4")
    with pytest.raises(NoRule, match="may not be used on 2026-10-15"):
        BOOK.edition_for(WIRING, dt.date(2026, 10, 15), "2018+A2+A3")


def test_before_the_first_and_after_the_last_known_day_there_is_no_rule() -> None:
    with pytest.raises(NoRule, match="the first is from 2018-07-02"):
        BOOK.edition_for(WIRING, dt.date(2018, 7, 1))
    with pytest.raises(NoRule, match="know what is in force up to 2027-05-25"):
        BOOK.edition_for(WIRING, dt.date(2027, 5, 26))
    assert BOOK.edition_for(WIRING, dt.date(2027, 5, 25)).edition == "2018+A4"
    with pytest.raises(NoRule, match="no rule data for the standard 'NF X'"):
        BOOK.of("NF X")


def test_an_edition_known_only_by_its_dates_has_no_tables() -> None:
    old = BOOK.edition_for(WIRING, dt.date(2019, 6, 1))
    with pytest.raises(NoRule, match=r"2018 has no table 'bond.main.pme'"):
        old.table("bond.main.pme")


def test_shared_tables_are_one_file_under_two_names() -> None:
    old = BOOK.edition_for(WIRING, dt.date(2023, 1, 1)).table("bond.main.pme")
    new = A4.table("bond.main.pme")
    assert old.rows == new.rows
    assert (old.edition, new.edition) == ("2018+A2", "2018+A4")
    data = HERE.parents[1] / "src/earthwright/rules/data/bs-7671"
    assert [p.parent.name for p in data.rglob("bond.main.pme.toml")] == ["2018+A2"]


@pytest.mark.parametrize(
    ("neutral", "bond"),
    [
        (0.1, 10),
        (34.99, 10),
        (35, 10),
        (35.01, 16),
        (50, 16),
        (50.01, 25),
        (95, 25),
        (95.01, 35),
        (150, 35),
        (150.01, 50),
        (400, 50),
    ],
)
def test_pme_bond_below_at_and_above_each_edge(neutral: float, bond: float) -> None:
    """BS 7671 table 54.8."""
    chain = main_bond_min(
        A4,
        system="TN-C-S",
        pme=True,
        earthing_needed_mm2=None,
        line_csa_mm2=None,
        neutral_csa_mm2=neutral,
        neutral_at_most=False,
    )
    assert chain.needed_mm2 == bond
    assert chain.limit is not None
    assert chain.limit.side == "min"


def bond_by_earthing(earthing: float | None, line: float | None = None, system: str = "TN-S"):
    return main_bond_min(
        A4,
        system=system,
        pme=None,
        earthing_needed_mm2=earthing,
        line_csa_mm2=line,
        neutral_csa_mm2=None,
        neutral_at_most=False,
    )


@pytest.mark.parametrize(
    ("earthing", "bond", "why"),
    [
        (6, 6, "at least 6"),
        (12, 6, "half is 6"),
        (12.1, 10, "next standard size"),
        (16, 10, "half is 8"),
        (20, 10, "half is 10"),
        (50, 25, "half is 25"),
        (50.1, 25, "no more than 25"),
        (95, 25, "no more than 25"),
    ],
)
def test_bond_by_half_the_required_earthing_conductor(earthing: float, bond: float, why: str) -> None:
    """544.1.1: half, at least 6 mm², no more than 25 mm² asked for."""
    chain = bond_by_earthing(earthing)
    assert chain.needed_mm2 == bond
    assert why in chain.steps[-1].why
    assert chain.steps[-1].decided


def test_the_chain_starts_from_the_line_conductor_when_nothing_was_calculated() -> None:
    chain = bond_by_earthing(None, line=25)
    assert [s.clause for s in chain.steps] == ["543.1.4, table 54.7", "544.1.1"]
    assert chain.needed_mm2 == 10


def test_what_is_missing_is_named() -> None:
    assert "required" in bond_by_earthing(None).unknown[0]
    nothing = main_bond_min(
        A4, system=None, pme=None, earthing_needed_mm2=16, line_csa_mm2=None, neutral_csa_mm2=25, neutral_at_most=False
    )
    assert "earthing arrangement" in nothing.unknown[0]
    presumed = main_bond_min(
        A4,
        system="TN-C-S",
        pme=None,
        earthing_needed_mm2=16,
        line_csa_mm2=None,
        neutral_csa_mm2=None,
        neutral_at_most=False,
    )
    assert "nobody has said" in presumed.steps[0].inputs
    assert "supply neutral" in presumed.unknown[0]
    known = main_bond_min(
        A4,
        system="TN-C-S",
        pme=None,
        earthing_needed_mm2=16,
        line_csa_mm2=None,
        neutral_csa_mm2=35,
        neutral_at_most=True,
    )
    assert known.needed_mm2 == 10
    assert "at most 35" in known.steps[1].inputs


@pytest.mark.parametrize(("line", "pe"), [(15.9, 16), (16, 16), (16.1, 16), (35, 16), (35.1, 25), (150, 95)])
def test_earthing_conductor_below_at_and_above_each_edge(line: float, pe: float) -> None:
    """Table 54.7, rounded up to a standard size."""
    assert earthing_conductor_min(A4, line).value_mm2 == pe


def test_supplementary_bonds() -> None:
    """544.2."""
    assert supplementary_bond_min(A4, between="extraneous and extraneous", protected=True).needed_mm2 == 2.5
    assert supplementary_bond_min(A4, between="extraneous and extraneous", protected=False).needed_mm2 == 4
    assert supplementary_bond_min(A4, between="exposed and exposed", protected=True, smaller_cpc_mm2=6).needed_mm2 == 6
    assert (
        supplementary_bond_min(A4, between="exposed and extraneous", protected=False, smaller_cpc_mm2=6).needed_mm2 == 4
    )
    assert supplementary_bond_min(A4, between="exposed and exposed", protected=True).unknown
    with pytest.raises(NoRule):
        supplementary_bond_min(A4, between="pipe and pipe", protected=True)


def test_standard_sizes() -> None:
    assert next_standard(A4, 4.0) == 4
    assert next_standard(A4, 4.01) == 6
    with pytest.raises(NoRule, match="above the largest"):
        next_standard(A4, 301)
    assert list(standard_sizes(A4)) == sorted(standard_sizes(A4))


def test_single_figures() -> None:
    row = conductor_mohm_per_m(BOOK, DAY, "copper", 2, 10)
    assert (row.value, row.unit, row.confidence) == (Decimal("1.83"), "mΩ/m", "read")
    with pytest.raises(NoRule, match=r"has no row for material copper, iec_class 2, csa_mm2 11"):
        conductor_mohm_per_m(BOOK, DAY, "copper", 2, 11)
    assert k_value(A4, "core", "copper", "70 °C thermoplastic").value == 115
    assert joint_guidance(A4).value == 0.05
    assert "not a limit" in joint_guidance(A4).note
    assert [float(t.value) for t in extraneous_thresholds(A4)] == [6667, 22000, 45000]
    assert conducts_like_copper(16, 1.91, 1.15) == Decimal("9.6335")


@pytest.mark.parametrize(("expected", "there"), [(0.0, True), (0.0999, True), (0.1, True), (0.1001, False)])
def test_continuity_guidance_only_where_less_than_a_tenth_is_expected(expected: float, there: bool) -> None:
    assert (continuity_guidance(A4, expected) is not None) is there


def test_a_column_of_words_is_not_a_number(tmp_path: Path) -> None:
    _standard(
        tmp_path,
        table='id = "t"\ntitle = "t"\nclause = "1"\nkeys = []\n[units]\nvalue = "text"\n'
        + SOURCE
        + '[[row]]\nvalue = "word"\n',
    )
    value = RuleBook.load(tmp_path).editions[0].table("t").look()
    assert value.text("value") == "word"
    with pytest.raises(TypeError, match="holds text"):
        _ = value.value


# ---- another country's standard: a folder of data, not a line of code ----


def test_a_second_standard_is_only_a_folder_of_data() -> None:
    book = RuleBook.load(HERE / "data_other")
    edition = book.edition_for("NORM E", dt.date(2025, 1, 1))
    row = edition.table("bond.main.pme").look(neutral_mm2=30)
    assert row.value == 16
    assert row.clause == "7.3"
    chain = main_bond_min(
        edition,
        system="TN-C-S",
        pme=True,
        earthing_needed_mm2=None,
        line_csa_mm2=None,
        neutral_csa_mm2=30,
        neutral_at_most=False,
    )
    assert chain.needed_mm2 == 16


# ---- strictness: everything wrong is told, with file and key ----

SOURCE = '[source]\ndocument = "d"\nplace = "p"\nread_by = "r"\nconfidence = "read"\n'
EDITION = (
    'standard = "S"\nedition = "1"\ntitle = "S 1"\nmay_be_used_from = 2020-01-01\nin_force = 2020-01-01\n'
    'withdrawn = "open"\nreviewed_until = 2030-01-01\n'
)


def _standard(root: Path, *, edition: str = EDITION + SOURCE, table: str = "") -> None:
    folder = root / "s" / "1"
    folder.mkdir(parents=True)
    (folder / "edition.toml").write_text(edition)
    if table:
        (folder / "t.toml").write_text(table)


def _faults(root: Path) -> list[str]:
    with pytest.raises(RuleDataError) as caught:
        RuleBook.load(root).editions[0].table("t")
    return str(caught.value).splitlines()


@pytest.mark.parametrize(
    ("edition", "said"),
    [
        (EDITION, "source: needed"),
        (EDITION + SOURCE + "extra = 1\n", "source: extra: unknown key"),
        ("more = 1\n" + EDITION + SOURCE, "more: unknown key"),
        (EDITION.replace('"S 1"', '""') + SOURCE, "title: needed, a text"),
        (EDITION.replace("in_force = 2020-01-01", 'in_force = "soon"') + SOURCE, "in_force: needed, a date"),
        (EDITION.replace('withdrawn = "open"\n', "") + SOURCE, 'withdrawn: needed, a date or "open"'),
        (EDITION + SOURCE.replace('"read"', '"guess"'), "confidence: 'read' or 'memory'"),
        (EDITION + SOURCE.replace('document = "d"\n', ""), "source: document: needed"),
        (EDITION + SOURCE + '[[share]]\nfrom = "0"\ntables = ["x"]\n', "no other edition folder '0'"),
        (EDITION + SOURCE + '[[share]]\nfrom = "1"\ntables = ["x"]\n', "no other edition folder '1'"),
        ("= broken", "not TOML"),
    ],
)
def test_edition_faults_name_file_and_key(tmp_path: Path, edition: str, said: str) -> None:
    _standard(tmp_path, edition=edition)
    assert any(said in fault for fault in _faults(tmp_path))


HEAD = 'id = "t"\ntitle = "t"\nclause = "1"\nkeys = ["a"]\n'
UNITS = '[units]\na = "m"\nvalue = "Ω"\n'


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (
            HEAD.replace('"t"\ntitle', '"x"\ntitle') + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\n",
            "must be the file's name",
        ),
        (HEAD.replace('clause = "1"\n', "") + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "clause: needed"),
        (HEAD + UNITS + "[[row]]\na = 1\nvalue = 2\n", "source: needed"),
        (HEAD + UNITS + SOURCE, "at least one is needed"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = 1\n", "row 1: value: missing"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\nb = 3\n", "b: has no unit"),
        (HEAD + UNITS + SOURCE + '[[row]]\na = 1\nvalue = "two"\n', "value: expected a number"),
        (HEAD + UNITS.replace('"Ω"', '"text"') + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "value: expected a text"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = 1\nvalue = true\n", "value: expected a number"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = [1]\nvalue = 2\n", "a: expected a number"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = { over = 1 }\nvalue = 2\n", "a: expected"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = { above = true }\nvalue = 2\n", "a: expected"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = { above = 1, from = 1 }\nvalue = 2\n", "a: expected"),
        (HEAD + UNITS + SOURCE + '[[row]]\na = 1\nvalue = 2\nconfidence = "sure"\n', "confidence: 'read' or 'memory'"),
        (
            HEAD + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\n[[row]]\na = 1\nvalue = 3\n",
            "row with a 1: stands twice",
        ),
        (
            HEAD + UNITS + SOURCE + "[[row]]\na = { to = 2 }\nvalue = 2\n[[row]]\na = { above = 3 }\nvalue = 3\n",
            "a gap between 2 and 3",
        ),
        (
            HEAD + UNITS + SOURCE + "[[row]]\na = { to = 3 }\nvalue = 2\n[[row]]\na = { above = 2 }\nvalue = 3\n",
            "ranges overlap at 2",
        ),
        (
            HEAD + UNITS + SOURCE + "[[row]]\na = { to = 3 }\nvalue = 2\n[[row]]\na = { from = 3 }\nvalue = 3\n",
            "ranges overlap at 3",
        ),
        (
            HEAD + UNITS + SOURCE + "[[row]]\na = { above = 3 }\nvalue = 2\n[[row]]\na = { above = 4 }\nvalue = 3\n",
            "ranges overlap at 4",
        ),
        ("more = 1\n" + HEAD + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "more: unknown key"),
        ("= broken", "not TOML"),
    ],
)
def test_table_faults_name_file_and_key(tmp_path: Path, table: str, said: str) -> None:
    _standard(tmp_path, table=table)
    faults = _faults(tmp_path)
    assert any(said in fault for fault in faults), faults
    assert all("t.toml" in fault for fault in faults)


def test_all_faults_of_a_table_are_told_at_once(tmp_path: Path) -> None:
    _standard(tmp_path, table=HEAD + UNITS + SOURCE + "[[row]]\na = 1\n[[row]]\nvalue = true\n")
    assert len(_faults(tmp_path)) == 3


def test_a_gap_may_be_declared(tmp_path: Path) -> None:
    rows = "[[row]]\na = { to = 2 }\nvalue = 2\n[[row]]\na = { above = 3 }\nvalue = 3\n"
    _standard(tmp_path, table="gaps = true\n" + HEAD + UNITS + SOURCE + rows)
    table = RuleBook.load(tmp_path).editions[0].table("t")
    assert table.look(a=2).value == 2
    with pytest.raises(NoRule):
        table.look(a=2.5)
    assert len(table.keys_of("a")) == 2


def test_keys_are_matched_by_kind(tmp_path: Path) -> None:
    units = '[units]\na = "text"\nb = "true or false"\nc = "m"\nvalue = "Ω"\n'
    table = (
        HEAD.replace('["a"]', '["a", "b", "c"]')
        + units
        + SOURCE
        + '[[row]]\na = "x"\nb = true\nc = 1\nvalue = 1\n'
        + '[[row]]\na = "x"\nb = false\nc = { from = 5, to = 6 }\nvalue = 3\n'
    )
    _standard(tmp_path, table=table)
    t = RuleBook.load(tmp_path).editions[0].table("t")
    assert t.look(a="x", b=True, c=1).value == 1
    assert t.look(a="x", b=False, c=5).value == 3
    assert t.look(a="x", b=False, c=6).value == 3
    wrong = [
        {"a": "y", "b": True, "c": 1},
        {"a": "x", "b": 1, "c": 1},
        {"a": "x", "b": True, "c": True},
        {"a": "x", "b": False, "c": 4.99},
        {"a": "x", "b": False, "c": 6.01},
        {"a": "x", "b": False, "c": "5"},
        {"a": "x", "b": True},
        {"a": "x", "b": True, "c": 1, "d": 1},
    ]
    for keys in wrong:
        with pytest.raises(NoRule):
            t.look(**keys)
    with pytest.raises(NoRule, match="has no row for that"):
        t.look()


def test_a_folder_without_an_edition_is_refused(tmp_path: Path) -> None:
    (tmp_path / "s" / "1").mkdir(parents=True)
    with pytest.raises(RuleDataError, match=r"s/1/edition\.toml: missing"):
        _ = RuleBook.load(tmp_path).editions
    (tmp_path / "bare" / "s").mkdir(parents=True)
    with pytest.raises(RuleDataError, match=r"s: no edition\.toml found"):
        _ = RuleBook.load(tmp_path / "bare").editions
    (tmp_path / "empty").mkdir()
    for read in (lambda book: book.editions, lambda book: book.check()):
        with pytest.raises(RuleDataError, match=r"no edition\.toml found"):
            read(RuleBook.load(tmp_path / "empty"))


def test_the_newest_open_edition_counts_when_none_is_the_sole_one_yet(tmp_path: Path) -> None:
    _standard(tmp_path, edition=EDITION.replace("in_force = 2020-01-01", "in_force = 2020-07-01") + SOURCE)
    assert RuleBook.load(tmp_path).edition_for("S", dt.date(2020, 2, 1)).edition == "1"
