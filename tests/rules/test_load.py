"""Strictness of the loader: everything wrong is told at once, with file and key."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
import zipfile
from decimal import Decimal
from pathlib import Path

import attrs
import pytest

import earthwright
from earthwright.base.errors import NoRule, RuleDataError
from earthwright.rules import RuleBook

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


# ---- blocks ----


def _table(tmp_path: Path, table: str):  # type: ignore[no-untyped-def]
    _standard(tmp_path, table=table)
    return RuleBook.load(tmp_path).editions[0].table("t")


BLOCK = '[[block]]\nsame = { a = "x" }\ncolumns = ["b", "value"]\nrows = [[1, 2.50], [2, 3]]\n'
BLOCK_HEAD = HEAD.replace('["a"]', '["a", "b"]') + '[units]\na = "text"\nb = "m"\nvalue = "Ω"\n' + SOURCE


def test_a_block_is_many_rows_as_printed(tmp_path: Path) -> None:
    more = BLOCK.replace('"x"', '"y"') + 'confidence = "memory"\nnote = "n"\nclause = "2"\n'
    table = _table(tmp_path, BLOCK_HEAD + BLOCK + more)
    first, other = table.look(a="x", b=1), table.look(a="y", b=1)
    assert str(first.value) == "2.50"  # the printed digits stay
    assert (first.confidence, first.note, first.clause) == ("read", "", "1")
    assert (other.confidence, other.note, other.clause) == ("memory", "n", "2")
    assert (other.place, other.origin, other.applies_under) == ("p", "1", "S:1")
    assert [r.keys["b"] for r in table.where(a="y")] == [1, 2]
    assert table.where(a="z") == ()
    assert table.where(c=1) == ()
    assert table.where(b=True) == ()  # a yes is not the row of a number, asked before or after it
    assert [str(r.value) for r in table.where(b=1)] == [str(r.value) for r in table.where(b=1)] == ["2.50", "2.50"]
    assert table.where(b=True) == ()


@pytest.mark.parametrize(
    ("block", "said"),
    [
        (BLOCK + "more = 1\n", "block 1: more: unknown key"),
        (BLOCK.replace('["b", "value"]', '["b", "value", "a"]'), "block 1: a: stands twice"),
        (BLOCK.replace('["b", "value"]', '["b", "b"]'), "block 1: b: stands twice"),
        (BLOCK.replace('["b", "value"]', '["b", "note"]') + 'note = "n"\n', "block 1: note: stands twice"),
        (BLOCK.replace("[[1, 2.50], [2, 3]]", "[]"), "block 1: rows: at least one"),
        (BLOCK.replace("[2, 3]", "[2]"), "block 1, row 2: expected 2 entries, found 1"),
        (BLOCK.replace("[2, 3]", "[2, 3, 4]"), "block 1, row 2: expected 2 entries, found 3"),
        (BLOCK.replace("[2, 3]", "[1, 3]"), "row with a x, b 1: stands twice"),
        (BLOCK.replace("3]]", "inf]]"), "block 1, row 2: value: expected a number"),
        (BLOCK.replace("3]]", "nan]]"), "block 1, row 2: value: expected a number"),
        (BLOCK + "note = 1\n", "note: expected a text"),
        (BLOCK + "clause = 1\n", "clause: expected a text"),
    ],
)
def test_block_faults_name_their_row(tmp_path: Path, block: str, said: str) -> None:
    _standard(tmp_path, table=BLOCK_HEAD + block)
    faults = _faults(tmp_path)
    assert any(said in fault for fault in faults), faults


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (HEAD + SOURCE + "[[row]]\na = 1\n", "units: needed"),
        (HEAD + UNITS.replace('"m"', '""') + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "units: a: needed, a text"),
        (HEAD + UNITS + 'note = "m"\n' + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "units: note: is a word of its own"),
        (HEAD.replace('["a"]', '"a"') + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "keys: needed, a list"),
        (HEAD.replace('["a"]', '["a", "b"]') + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "keys: b: has no unit"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = { above = 3, to = 3 }\nvalue = 2\n", "the range holds nothing"),
        (HEAD + UNITS + SOURCE + "[[row]]\na = { from = 4, to = 3 }\nvalue = 2\n", "the range holds nothing"),
        (
            HEAD + UNITS + SOURCE + "[[row]]\na = { to = 3 }\nvalue = 2\n[[row]]\na = 3\nvalue = 2\n",
            "3 stands alone and",
        ),
        (HEAD + UNITS + SOURCE + "[[row]]\na = 1\nvalue = { to = 3 }\n", "value: expected a number"),
        (HEAD + UNITS.replace('"m"', '"text"') + SOURCE + "[[row]]\na = { to = 3 }\nvalue = 2\n", "a: expected a text"),
        (
            HEAD + UNITS.replace('"m"', '"date"') + SOURCE + "[[row]]\na = 2026-01-01\nvalue = 2\n",
            "a date cannot be a key",
        ),
        (HEAD + UNITS.replace('"Ω"', '"date"') + SOURCE + "[[row]]\na = 1\nvalue = 2\n", "value: expected a date"),
        (
            HEAD + UNITS.replace('"Ω"', '"date"') + SOURCE + "[[row]]\na = 1\nvalue = 2026-01-01T10:00:00\n",
            "value: expected a date",
        ),
        (
            HEAD + UNITS.replace('"Ω"', '"true or false"') + SOURCE + "[[row]]\na = 1\nvalue = 1\n",
            "value: expected true or false",
        ),
    ],
)
def test_more_table_faults(tmp_path: Path, table: str, said: str) -> None:
    _standard(tmp_path, table=table)
    faults = _faults(tmp_path)
    assert any(said in fault for fault in faults), faults


def test_columns_of_every_kind(tmp_path: Path) -> None:
    units = '[units]\nn = "m"\nt = "text"\nf = "true or false"\nd = "date"\n'
    head = HEAD.replace('["a"]', "[]") + units + SOURCE
    row = _table(tmp_path, head + '[[row]]\nn = 1.0\nt = "w"\nf = true\nd = 2026-01-02\n').look()
    assert (row.number("n"), row.text("t"), row.flag("f"), row.date("d")) == (
        Decimal("1.0"),
        "w",
        True,
        dt.date(2026, 1, 2),
    )
    for ask, column in ((row.number, "t"), (row.number, "f"), (row.flag, "n"), (row.date, "t")):
        with pytest.raises(TypeError, match=f"column {column} holds"):
            ask(column)


def test_ranges_say_their_edges() -> None:
    table = RuleBook.load().edition_for("BS 7671", dt.date(2026, 11, 20)).table("bond.main.pme")
    assert [str(k) for k in table.keys_of("neutral_mm2")] == [
        "above 0 to 35",
        "above 35 to 50",
        "above 50 to 95",
        "above 95 to 150",
        "above 150",
    ]
    other = RuleBook.load().edition_for("BS 7671", dt.date(2026, 11, 20)).table("continuity.guidance")
    assert [str(k) for k in other.keys_of("expected_ohm")] == ["from 0 to 0.1"]


# ---- editions ----


@pytest.mark.parametrize(
    ("edition", "said"),
    [
        (EDITION.replace('"S"', '"T"') + SOURCE, "standard: 'T' does not belong in the folder 's'"),
        (EDITION.replace('edition = "1"', 'edition = "2"') + SOURCE, "edition: '2' does not belong in the folder '1'"),
        (
            EDITION.replace("in_force = 2020-01-01", "in_force = 2019-12-31") + SOURCE,
            "in_force: before may_be_used_from",
        ),
        (EDITION.replace('"open"', "2020-01-01") + SOURCE, "withdrawn: not after in_force"),
        (EDITION + SOURCE + '[[share]]\nfrom = "1"\nmore = 1\n', "share: more: unknown key"),
        (EDITION + SOURCE + '[[differs]]\nwhat = "w"\n', "differs 1: before: needed, a text"),
        (
            EDITION + SOURCE + '[[differs]]\nwhat = "w"\nbefore = "b"\nnow = "n"\nclause = "c"\nconfidence = "sure"\n',
            "differs 1: confidence: 'read' or 'memory'",
        ),
        (
            EDITION
            + SOURCE
            + '[[differs]]\nwhat = "w"\nbefore = "b"\nnow = "n"\nclause = "c"\nconfidence = "read"\nx = 1\n',
            "differs 1: x: unknown key",
        ),
    ],
)
def test_more_edition_faults(tmp_path: Path, edition: str, said: str) -> None:
    _standard(tmp_path, edition=edition)
    faults = _faults(tmp_path)
    assert any(said in fault for fault in faults), faults


TABLE = HEAD + UNITS + SOURCE + "[[row]]\na = 1\nvalue = 2\n"


def _second(root: Path, share: str, own: str = "") -> None:
    """A standard with table t in edition 1 and an edition 2 that shares."""
    _standard(root, table=TABLE)
    (root / "s" / "1" / "u.toml").write_text(TABLE.replace('id = "t"', 'id = "u"'))
    folder = root / "s" / "2"
    folder.mkdir()
    later = EDITION.replace('edition = "1"', 'edition = "2"').replace("in_force = 2020-01-01", "in_force = 2021-01-01")
    (folder / "edition.toml").write_text(later + SOURCE + share)
    if own:
        (folder / f"{own}.toml").write_text(
            TABLE.replace('id = "t"', f'id = "{own}"').replace("value = 2\n", "value = 9\n")
        )


def test_everything_may_be_shared_but_for_what_differs(tmp_path: Path) -> None:
    _second(tmp_path, '[[share]]\nfrom = "1"\ntables = "all"\nexcept = ["t"]\n', own="t")
    first, second = RuleBook.load(tmp_path).editions
    assert (second.tables, dict(second.shared)) == (("t", "u"), {"u": "1"})
    assert (first.table("t").look(a=1).value, second.table("t").look(a=1).value) == (2, 9)
    assert second.table("u").look(a=1).origin == "1"
    assert (second.has("u"), second.has("v")) == (True, False)
    RuleBook.load(tmp_path).check()


@pytest.mark.parametrize(
    ("share", "own", "said"),
    [
        ('[[share]]\nfrom = "1"\ntables = "all"\n', "t", "share: t: stands twice, shared from 1 and held by 2"),
        ('[[share]]\nfrom = "1"\ntables = ["t"]\n[[share]]\nfrom = "1"\ntables = ["t"]\n', "", "t: stands twice"),
        ('[[share]]\nfrom = "1"\ntables = ["x"]\n', "", "1 has no table 'x'"),
        ('[[share]]\nfrom = "1"\ntables = "all"\nexcept = ["x"]\n', "", "1 has no table 'x'"),
        ('[[share]]\nfrom = "1"\ntables = "all"\nread = ["x"]\n', "", "1 has no table 'x'"),
        ('[[share]]\nfrom = "2"\ntables = ["t"]\n', "", "no other edition folder '2'"),
    ],
)
def test_share_faults(tmp_path: Path, share: str, own: str, said: str) -> None:
    _second(tmp_path, share, own)
    with pytest.raises(RuleDataError, match=r"s/2/edition\.toml: share") as caught:
        RuleBook.load(tmp_path).check()
    assert said in str(caught.value)


def test_check_tells_the_faults_of_every_file_at_once(tmp_path: Path) -> None:
    _second(tmp_path, '[[share]]\nfrom = "1"\ntables = "all"\n')
    (tmp_path / "s" / "1" / "u.toml").write_text("= broken")
    (tmp_path / "r" / "1").mkdir(parents=True)
    (tmp_path / "r" / "1" / "edition.toml").write_text("= broken")
    with pytest.raises(RuleDataError) as caught:
        RuleBook.load(tmp_path).check()
    faults = str(caught.value).splitlines()
    assert len(faults) == 2
    assert faults[0].startswith("r/1/edition.toml: not TOML")
    assert faults[1].startswith("S/1/u.toml: not TOML")


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    _standard(tmp_path)
    (tmp_path / "s" / "1" / "t.toml").write_bytes(b"\xff\xfe\x00")
    assert _faults(tmp_path) == [f for f in _faults(tmp_path) if f.startswith("S/1/t.toml: not TOML")]


def test_nothing_is_read_before_it_is_asked_for(tmp_path: Path) -> None:
    _second(tmp_path, "")
    (tmp_path / "r" / "1").mkdir(parents=True)
    (tmp_path / "r" / "1" / "edition.toml").write_text("= broken")
    (tmp_path / "s" / "1" / "u.toml").write_text("= broken")
    book = RuleBook.load(tmp_path)
    assert book.edition_for("S", dt.date(2020, 6, 1)).table("t").look(a=1).value == 2
    assert book.standards == ("r", "s")
    with pytest.raises(RuleDataError):
        book.of("R")


def test_the_data_are_read_from_inside_a_zip(tmp_path: Path) -> None:
    """As a wheel on the import path, or unpacked nowhere in a browser."""
    root = Path(earthwright.__file__).parent
    archive = tmp_path / "package.zip"
    with zipfile.ZipFile(archive, "w") as packed:
        for path in [
            root / "__init__.py",
            *(root / "base").glob("*.py"),
            *(root / "rules").rglob("*"),
        ]:
            if path.suffix in (".py", ".toml"):
                packed.write(path, str(Path("earthwright") / path.relative_to(root)))
    code = (
        "from earthwright.rules import RuleBook, load\n"
        "assert '.zip' in load.__file__\n"
        "book = RuleBook.load()\n"
        "book.check()\n"
        "assert RuleBook.load().editions == book.editions\n"
        "print(len(book.editions))"
    )
    paths = [str(archive), str(Path(attrs.__file__).parents[1])]
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", f"import sys; sys.path[:0] = {paths!r}\n{code}"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) == len(RuleBook.load().editions)


def test_editions_that_share_from_each_other_are_a_fault(tmp_path: Path) -> None:
    _second(tmp_path, '[[share]]\nfrom = "1"\ntables = ["t"]\n')
    first = tmp_path / "s" / "1" / "edition.toml"
    first.write_text(first.read_text() + '[[share]]\nfrom = "2"\ntables = ["u"]\n')
    with pytest.raises(RuleDataError, match=r"share: there is no other edition folder '1'"):
        RuleBook.load(tmp_path).check()


def test_what_is_shared_may_be_from_memory_renumbered_or_not_there_yet(tmp_path: Path) -> None:
    memory = 'memory = "taken from 1"\nrenumbered = { "1" = "9.9" }\nwithout = ["x"]\n'
    _second(tmp_path, f'[[share]]\nfrom = "1"\ntables = "all"\nread = ["u"]\n{memory}')
    texts = HEAD.replace('id = "t"', 'id = "v"') + '[units]\na = "text"\nvalue = "Ω"\n' + SOURCE
    rows = '[[row]]\na = "x"\nvalue = 2\nclause = "1.2; 11"\n[[row]]\na = "y"\nvalue = 3\nclause = "1.2; 11"\n'
    (tmp_path / "s" / "1" / "v.toml").write_text((texts + rows).replace('document = "d"', 'document = "S 1"'))
    first, second = RuleBook.load(tmp_path).editions
    assert len(first.table("v").rows) == 2
    (row,) = second.table("v").all()
    assert (row.keys["a"], row.confidence, row.clause, row.place) == ("y", "memory", "9.9.2; 11", "p; taken from 1")
    assert second.table("t").look(a=1).confidence == "read", "no document of the standard itself"
    assert (second.table("u").clause, second.table("u").edition, first.table("u").edition) == ("9.9", "2", "1")
