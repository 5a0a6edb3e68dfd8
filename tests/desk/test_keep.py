"""``earthwright keep`` as a person types it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from earthwright.cli import main
from earthwright.desk import Desk

VISITS = Path(__file__).parents[1] / "visits"


class Keeper:
    """Runs the commands at one journal."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.journal = folder, folder / "journal.sqlite"

    def __call__(self, *arguments: str | Path, journal: Path | None = None, code: int = 0) -> Result:
        done = CliRunner().invoke(
            main, ["keep", *map(str, arguments)], env={"EARTHWRIGHT_JOURNAL": str(journal or self.journal)}
        )
        assert done.exit_code == code, done.output + repr(done.exception)
        return done


@pytest.fixture
def keep(tmp_path: Path) -> Keeper:
    made = Keeper(tmp_path)
    made("in", VISITS / "03-paint.toml", "--by", "J. Example")
    return made


def state(done: Result) -> str:
    """The last hash in an output."""
    return re.findall(r"\b[0-9a-f]{64}\b", done.output)[-1]


def test_in_list_show_history(keep: Keeper) -> None:
    listed = keep("list").output
    assert re.match(r"[0-9a-f]{8}  2026-\d\d-\d\d  bonding ", listed)
    name = listed[:8]
    shown = keep("show", name).output
    assert shown == keep("show", "last").output
    assert re.search(r"read together, shown 0\.\d\d|shown 0\.\d\d", shown)
    assert "Kept until 2032-" in shown
    assert "visit book as taken in" in shown
    desk = Desk(keep.journal)
    one = next(e for e in desk.read(desk.visits()[0].id).entries if e.kind == "step" and "read" in e.body)
    change = desk.correct(one.id, {**one.body, "shown": "0.07"}, "misread", "A. Other")
    desk.strike(one.id, "entered twice", "A. Other")
    desk.close()
    shown = keep("show", name).output
    assert f"{one.event.seq:>5} struck    step" in shown
    assert "struck by A. Other: entered twice" in shown
    history = keep("history", name, str(one.event.seq)).output
    assert history == keep("history", name, str(change.seq)).output
    assert [w in history for w in ("entered step", "corrected to", "misread", "struck", "entered twice")] == [True] * 5
    assert history.count("J. Example") == 1


def test_nothing_yet_and_names_that_fit_nothing(tmp_path: Path, keep: Keeper) -> None:
    none = tmp_path / "none.sqlite"
    assert "There is no journal" in keep("list", journal=none, code=5).output
    assert not none.exists()
    for name in ("zzz", "", "x\x1b[2J"):
        said = keep("show", name, code=2).output
        assert "See: earthwright keep list" in said
        assert "\x1b" not in said
    keep("in", VISITS / "01-masked.toml", VISITS / "02-flattered.toml")
    assert "has events 1 to" in keep("history", "last", "999", code=2).output
    assert "has events 1 to" in keep("history", "last", "0", code=2).output


def test_the_check_says_whole_or_not(keep: Keeper) -> None:
    head = state(keep("check"))
    assert "Whole: " in keep("check", head, head[:12]).output
    assert "was given out" in keep("check", "0" * 64, code=1).output
    raw = keep.journal.read_bytes()
    place = raw.index(b'"kind":"steel"') if b'"kind":"steel"' in raw else raw.index(b'"shown"')
    keep.journal.write_bytes(raw[:place] + b'"Kind"'[:6] + raw[place + 6 :])
    assert "Not whole: " in keep("check", code=1).output


def test_backup_restore_out_and_in_again_give_the_same_chain(keep: Keeper, tmp_path: Path) -> None:
    head = state(keep("check"))
    assert state(keep("backup", tmp_path / "saved.sqlite")) == head
    assert "not overwritten" in keep("backup", tmp_path / "saved.sqlite", code=5).output
    assert state(keep("restore", tmp_path / "saved.sqlite", journal=tmp_path / "r.sqlite")) == head
    for target in ("out", "out.zip"):
        assert state(keep("out", tmp_path / target)) == head
        assert state(keep("in", tmp_path / target, journal=tmp_path / f"{target}.sqlite")) == head
    assert state(keep("check", head, journal=tmp_path / "out.zip.sqlite")) == head
    keep("out", tmp_path / "one.toml", "--visit", "last")
    assert CliRunner().invoke(main, ["judge", str(tmp_path / "one.toml")]).exit_code == 1  # disproved, as before
    assert "not overwritten" in keep("out", tmp_path / "one.toml", "--visit", "last", code=2).output


def test_papers_go_out_with_the_rest(keep: Keeper, tmp_path: Path) -> None:
    keep("out", tmp_path / "out", "--papers")
    assert (tmp_path / "out" / "papers" / "0001.pdf").read_bytes().startswith(b"%PDF")


def test_what_cannot_be_taken_in_says_why(keep: Keeper, tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("[visit")
    assert "cannot be read as a visit book" in keep("in", tmp_path / "bad.toml", code=4).output
    assert "cannot be read" in keep("in", tmp_path / "none.toml", code=4).output
    assert "imported before" in keep("in", VISITS / "03-paint.toml", code=5).output
    keep("in", VISITS / "03-paint.toml", "--again")
    (tmp_path / "odd.toml").write_text(
        '[visit]\nplace = "x"\ndate = 2026-11-20\n[[step]]\nread = "together"\nshown = "0,1"\n'
    )
    assert "error: " in keep("in", tmp_path / "odd.toml").output


def test_next_and_compare(keep: Keeper) -> None:
    old = keep("list").output[:8]
    said = keep("next", old, "--date", "2031-11-20", "--by", "A. Other").output
    assert "taken over" in said
    assert "2031-11-20" in keep("list").output
    assert "measured at one visit only" in keep("compare", old, "last").output


def test_erase_asks_first_and_wants_a_name(keep: Keeper) -> None:
    asked = CliRunner().invoke(
        main,
        ["keep", "erase", "last", "--by", "J. Example", "--reason", "asked for", "--journal", str(keep.journal)],
        input="n\n",
    )
    assert asked.exit_code == 1
    keep("erase", "last", "--yes", "--reason", "asked for", code=2)
    done = keep("erase", "last", "--yes", "--reason", "asked for", "--by", "J. Example")
    assert "erased by J. Example" in done.output
    assert "[erased]" in keep("list").output
    assert "Whole" in keep("check").output


def test_erase_names_later_visits_that_hold_the_same_person_and_erases_there_when_told(keep: Keeper) -> None:
    first = keep("list").output[:8]
    keep("next", first, "--date", "2031-11-20", "--by", "A. Other")
    later = keep("list").output[:8]
    assert later != first
    desk = Desk(keep.journal)
    place = desk.read(next(v.id for v in desk.visits() if v.id.startswith(later))).entries[0].body["place"]
    desk.close()
    signed = ("--yes", "--reason", "asked for", "--by", "J. Example")
    said = keep("erase", first, *signed).output
    assert f"Visit {later} holds the same" in said
    assert f"earthwright keep erase {later}" in said
    assert place in keep("list").output
    said = keep("erase", later, *signed).output
    assert "holds the same" not in said
    assert place not in keep("list").output
    keep("next", first, "--date", "2031-11-21", "--by", "A. Other")


def test_erase_everywhere(keep: Keeper) -> None:
    keep("next", "last", "--date", "2031-11-20", "--by", "A. Other")
    done = keep("erase", "last", "--everywhere", "--yes", "--reason", "asked for", "--by", "J. Example")
    assert done.output.count("erased by J. Example") == 2
    assert keep("list").output.count("[erased]") == 2
    assert "Whole" in keep("check").output


def test_nothing_typed_can_move_the_cursor(keep: Keeper) -> None:
    desk = Desk(keep.journal)
    visit = desk.start("\x1b[2J\u202eevil\x07", by="\x1b]0;x\x07", date="2026-11-20")
    desk.add(visit, "part", {"id": "water", "name": "\x1b[31m\rHALF"}, "\x9b2J")
    desk.close()
    for done in (
        keep("list"),
        keep("show", "last"),
        keep("history", "last", "2"),
        keep("next", "last"),
        keep("compare", visit, "last"),
    ):
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", done.output)


def test_one_bad_book_stops_none_of_the_others_and_is_named(keep: Keeper, tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("[visit")
    books = [VISITS / "03-paint.toml", tmp_path / "bad.toml", tmp_path / "none.toml", VISITS / "01-masked.toml"]
    done = keep("in", *books, code=4)
    assert f"{tmp_path / 'bad.toml'}: this cannot be read as a visit book" in done.output
    assert f"{tmp_path / 'none.toml'}: cannot be read" in done.output
    assert f"{VISITS / '03-paint.toml'}: This text was imported before" in done.output
    assert "1 taken in, 3 not, 1 of them because they are there already." in done.output
    assert len(keep("list").output.splitlines()) == 2
    assert "is a folder of visit books and no export" in keep("in", VISITS, code=2).output


@pytest.mark.parametrize("day", ["2026-13-01", "２０２６-11-20", "20.11.2026", "tomorrow", "1999-01-01"])
def test_the_next_visit_has_a_day_that_can_be(keep: Keeper, day: str) -> None:
    assert "--date: " in keep("next", "last", "--date", day, code=2).output
    assert len(keep("list").output.splitlines()) == 1


def test_a_comparison_says_what_it_compares(keep: Keeper) -> None:
    first = keep("list").output[:8]
    assert "one visit and not two" in keep("compare", first, "last", code=2).output
    keep("next", first, "--date", "2031-11-20")
    keep("next", "last", "--date", "2032-11-20")
    second = keep("list").output.splitlines()[1][:8]
    said = keep("compare", second, "last").output
    assert "2031-11-20 → " in said
    assert "Nothing is entered otherwise, and nothing was measured at either visit." in said
    keep("in", VISITS / "01-masked.toml")
    assert "The places differ." in keep("compare", first, "last").output


def test_many_books_are_taken_in_by_several_processes_and_a_second_run_goes_on(keep: Keeper, tmp_path: Path) -> None:
    text = (VISITS / "03-paint.toml").read_text(encoding="utf-8")
    books = [tmp_path / f"{n}.toml" for n in range(10)]
    for n, book in enumerate(books):
        book.write_text(f"# {n % 9}\n{text}", encoding="utf-8")  # the last is the first once more
    (tmp_path / "bad.toml").write_text("[visit")
    before = len(keep("list").output.splitlines())
    done = keep("in", *books, tmp_path / "bad.toml", "--processes", "2", code=4)
    assert "9 taken in, 2 not, 1 of them because they are there already." in done.output
    said = [line for line in done.stdout.splitlines() if "kept as visit" in line]
    assert [line.split(":")[0] for line in said] == [str(b) for b in books[:9]]
    assert len(keep("list").output.splitlines()) == before + 9
    assert "Whole" in keep("check").output
    again = keep("in", *books, "--processes", "2", code=5)
    assert "0 taken in, 10 not, 10 of them because they are there already." in again.output
    assert len(keep("list").output.splitlines()) == before + 9
