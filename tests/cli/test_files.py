"""What a command writes is whole or not there, and nothing that is there is lost."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from earthwright.cli import main
from earthwright.cli.exits import Exit
from earthwright.cli.files import write_all

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "src" / "earthwright" / "desk" / "demo" / "visit.toml"
WHOLE = ROOT / "tests" / "paper" / "complete.toml"
MINE = b"mine, signed\n"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


# What writes a folder: a new one, or a store that another folder does not empty (tests/portfolio).
OF_THEIR_OWN = {"demo", "sign", "portfolio build", "portfolio export"}

Writer = Callable[[Path, Path], tuple[object, ...]]
WRITERS: dict[str, Writer] = {
    "start": lambda t, _: ("start", t),
    "map": lambda t, _: ("map", DEMO, "-o", t),
    "paper": lambda t, _: ("paper", DEMO, "-o", t),
    "paper, draft": lambda t, _: ("paper", DEMO, "--document", "condition report", "--draft", "-o", t),
    "many": lambda t, _: ("many", DEMO, "-o", t),
    "deadlines": lambda t, _: ("deadlines", DEMO, "--ics", t),
    "table": lambda t, _: ("table", WHOLE, "-o", t),
    "fill": lambda t, f: ("fill", WHOLE, f / "circuits.csv", "-o", t),
    "import": lambda t, f: ("import", WHOLE, f / "saved.csv", "--columns", f / "columns.toml", "-o", t),
    "portfolio ask": lambda t, f: ("portfolio", "ask", f / "store", "gas-bond", "-o", t),
    "portfolio report": lambda t, f: ("portfolio", "report", f / "store", "-o", t),
    "keep out": lambda t, f: ("keep", "out", t, "--visit", "last", "--journal", f / "j.sqlite"),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    assert run("keep", "in", DEMO, "--journal", folder / "j.sqlite").exit_code == 0
    assert run("table", WHOLE, "-o", folder / "circuits.csv").exit_code == 0
    (folder / "books").mkdir()
    shutil.copy(DEMO, folder / "books")
    built = run("portfolio", "build", folder / "books", "-o", folder / "store")
    assert built.exit_code == 0, built.output
    (folder / "saved.csv").write_text("Circuit,Zs\n1,0.61\n", encoding="utf-8")
    columns = '[columns]\nCircuit = "of"\nZs = "zs"\n[units]\nZs = "Ω"\n'
    (folder / "columns.toml").write_text(columns, encoding="utf-8")
    return folder


@pytest.mark.parametrize("name", WRITERS)
def test_what_is_there_stays_unless_it_is_to_be_replaced(name: str, folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "mine"
    target.write_bytes(MINE)
    kept = run(*WRITERS[name](target, folder))
    assert kept.exit_code == Exit.USAGE, kept.output
    assert f"{target} already exists and is not overwritten" in kept.output
    assert "--replace" in kept.output
    assert target.read_bytes() == MINE
    assert [p.name for p in tmp_path.iterdir()] == ["mine"]
    done = run(*WRITERS[name](target, folder), "--replace")
    assert done.exit_code in (Exit.DONE, Exit.FOUND), done.output
    assert target.read_bytes() != MINE
    assert [p.name for p in tmp_path.iterdir()] == ["mine"], "nothing half written is left"


def test_every_command_that_names_a_file_to_write_is_tried_here() -> None:
    """By its options: one that writes and cannot be told to replace would be missed here, and fails this."""

    def commands(group: click.Group, before: str = "") -> dict[str, click.Command]:
        found: dict[str, click.Command] = {}
        for name in group.list_commands(click.Context(group)):
            c = group.get_command(click.Context(group), name)
            assert c is not None
            found |= commands(c, f"{before}{name} ") if isinstance(c, click.Group) else {before + name: c}
        return found

    writing = {"-o", "--output", "--ics", "--replace"}
    found = {n for n, c in commands(main).items() for p in c.params if writing & set(p.opts)}  # type: ignore[arg-type]
    tried = {n.split(",")[0] for n in WRITERS}
    assert found == tried | OF_THEIR_OWN, "these have tests of their own"


def test_a_demo_that_was_changed_stays(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run("demo", "-o", out).exit_code == 0
    assert run("demo", "-o", out).exit_code == 0, "the same again is no change"
    book = out / "visit.toml"
    book.write_text(book.read_text(encoding="utf-8") + "# my change\n", encoding="utf-8")
    (out / "map.svg").unlink()
    again = run("demo", "-o", out)
    assert again.exit_code == Exit.USAGE
    assert "visit.toml already exists" in again.output
    assert "# my change" in book.read_text(encoding="utf-8")
    assert not (out / "map.svg").exists(), "all or none"
    assert run("demo", "-o", out, "--replace").exit_code == 0
    assert "# my change" not in book.read_text(encoding="utf-8")


def test_a_signed_document_goes_over_nothing_else(tmp_path: Path) -> None:
    paper, other = tmp_path / "r.pdf", tmp_path / "other.pdf"
    run("paper", DEMO, "-o", paper)
    other.write_bytes(MINE)
    kept = run("sign", paper, "--role", "designer", "--key", tmp_path / "k.p12", "-o", other)
    assert kept.exit_code == Exit.USAGE
    assert other.read_bytes() == MINE


def test_a_folder_a_link_and_a_place_that_is_not_there(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    assert run("map", DEMO, "-o", tmp_path / "folder", "--replace").exit_code == Exit.FILE
    assert run("map", DEMO, "-o", tmp_path / "none" / "m.svg").exit_code == Exit.FILE
    (tmp_path / "link").symlink_to(tmp_path / "later")
    assert run("map", DEMO, "-o", tmp_path / "link").exit_code == Exit.USAGE


def test_a_disk_that_is_full_half_way_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "mine"
    target.write_bytes(MINE)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("earthwright.cli.files.os.fsync", full)
    with pytest.raises(click.ClickException, match="No space left"):
        write_all({target: b"new"}, replace=True)
    assert target.read_bytes() == MINE
    assert [p.name for p in tmp_path.iterdir()] == ["mine"]


def test_a_file_that_happens_to_end_in_part_is_nobodys_to_take(folder: Path, tmp_path: Path) -> None:
    """Names beside the target were used on the way, and whatever had them was lost."""
    for name in ("a.part", "b.sqlite.part"):
        (tmp_path / name).write_bytes(MINE)
    (tmp_path / "c.part").mkdir()
    (tmp_path / "c.part" / "mine").write_bytes(MINE)
    shutil.copy(folder / "j.sqlite", tmp_path / "j.sqlite")
    journal = ("--journal", tmp_path / "j.sqlite")
    assert run("map", DEMO, "-o", tmp_path / "a").exit_code == 0
    assert run("keep", "backup", tmp_path / "b.sqlite", *journal).exit_code == 0
    assert run("keep", "out", tmp_path / "c", *journal).exit_code == 0
    for name in ("a.part", "b.sqlite.part", "c.part/mine"):
        assert (tmp_path / name).read_bytes() == MINE
