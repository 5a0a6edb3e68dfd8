"""Exit codes: one table, printed in the docs, and each code reached by the commands it is told of."""

from __future__ import annotations

import ast
import os
import runpy
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import earthwright.cli as cli
from earthwright.cli import main
from earthwright.cli.exits import MEANS, Exit, table

ROOT = Path(__file__).parents[2]
VISITS = ROOT / "tests" / "visits"
WHOLE = ROOT / "tests" / "paper" / "complete.toml"
DEMO = ROOT / "src" / "earthwright" / "desk" / "demo" / "visit.toml"
SOURCES = sorted(Path(str(cli.__file__)).parent.glob("*.py"))


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def test_the_docs_print_the_table_of_the_code() -> None:
    assert set(MEANS) == set(Exit)
    assert table() in (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("source", SOURCES, ids=lambda p: p.stem)
def test_no_command_has_a_code_of_its_own(source: Path) -> None:
    """Every way out is by a name of the table: no digits, no bare error of the library with its code 1."""
    loose = []
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = ast.unparse(node.func)
        if name in ("sys.exit", "exit") and any(isinstance(a, ast.Constant) for a in node.args):
            loose.append(ast.unparse(node))
        if name == "click.ClickException":
            loose.append(ast.unparse(node))
    assert loose == []


def test_what_was_asked_for_and_done_is_no_error_whatever_it_says(tmp_path: Path) -> None:
    """The demo has two bonds disproved; its papers, map, list and next step are no failure of the command."""
    assert run("judge", DEMO).exit_code == Exit.FOUND
    for n, arguments in enumerate((
        ("paper", DEMO, "-o", tmp_path / "r.pdf"),
        ("paper", DEMO, "--document", "condition report", "--draft", "-o", tmp_path / "c.pdf"),
        ("map", DEMO, "-o", tmp_path / "m.svg"),
        ("next", DEMO),
        ("observe", DEMO),
        ("deadlines", DEMO, "--ics", tmp_path / "d.ics"),
        ("between", DEMO, "MET", "gas"),
    )):  # fmt: skip
        done = run(*arguments)
        assert done.exit_code == Exit.DONE, (n, done.output)


def test_an_unsatisfactory_report_that_is_issued_is_no_error(tmp_path: Path) -> None:
    text = WHOLE.read_text(encoding="utf-8").replace('code = "C3"\nclause', 'code = "C2"\nclause')
    visit = tmp_path / "v.toml"
    visit.write_text(text.replace('overall = "satisfactory"', 'overall = "unsatisfactory"'), encoding="utf-8")
    for role in ("inspected and tested by", "authorised for issue"):
        assert run("sign", visit, "--role", role, "--name", "J. Example").exit_code == Exit.DONE
    done = run("paper", visit, "--document", "condition report", "-o", tmp_path / "r.pdf")
    assert done.exit_code == Exit.DONE, done.output
    assert "UNSATISFACTORY" in text_of(tmp_path / "r.pdf")


def text_of(pdf: Path) -> str:
    done = subprocess.run(["pdftotext", "-raw", str(pdf), "-"], capture_output=True, text=True, check=True)
    return done.stdout


def test_each_code_is_reached(tmp_path: Path) -> None:
    broken, none, blank = tmp_path / "broken.toml", tmp_path / "none.toml", tmp_path / "blank.toml"
    broken.write_text(DEMO.read_text(encoding="utf-8").replace("fuse_a = 80", "fuse_a = true"), encoding="utf-8")
    blank.write_text('[visit]\nplace = "x"\ndate = 2026-11-20\n', encoding="utf-8")
    journal = tmp_path / "j.sqlite"
    assert run("keep", "in", DEMO, "--journal", journal).exit_code == Exit.DONE
    for arguments, code in (
        (("judge", VISITS / "00-control.toml"), Exit.DONE),
        (("judge", DEMO), Exit.FOUND),
        (("many", DEMO), Exit.FOUND),
        (("paper", DEMO), Exit.USAGE),
        (("map", DEMO, "-o", DEMO), Exit.USAGE),
        (("judge", broken), Exit.UNREAD),
        (("map", broken, "-o", tmp_path / "broken.svg"), Exit.UNREAD),
        (("next", broken), Exit.UNREAD),
        (("judge", none), Exit.NOT_OURS),
        (("verify", DEMO), Exit.NOT_OURS),
        (("keep", "in", DEMO, "--journal", journal), Exit.JOURNAL),
        (("paper", blank, "--document", "condition report", "-o", tmp_path / "x.pdf"), Exit.REFUSED),
        (("map", DEMO, "-o", tmp_path / "no" / "m.svg"), Exit.FILE),
        (("verify", tmp_path / "none.pdf"), Exit.FILE),
        (("demo", "-o", broken), Exit.FILE),
    ):  # fmt: skip
        done = run(*arguments)
        assert done.exit_code == code, (arguments, done.output)


def test_the_entry_point_ends_with_the_same_codes(tmp_path: Path) -> None:
    """As a shell sees it: help, a wrong command, a file that cannot be written, a stop at the keyboard."""

    def ends(*arguments: object, stdin: str | None = None) -> int:
        command = [sys.executable, "-m", "earthwright", *map(str, arguments)]
        return subprocess.run(
            command, capture_output=True, input=stdin, text=True, check=False, env=dict(os.environ)
        ).returncode

    assert ends("--help") == 0
    assert ends("nothing") == Exit.USAGE
    assert ends("map", DEMO, "-o", tmp_path / "no" / "m.svg") == Exit.FILE
    assert ends("judge", DEMO) == Exit.FOUND
    shutil.copy(DEMO, tmp_path / "v.toml")
    journal = tmp_path / "j.sqlite"
    assert ends("keep", "in", tmp_path / "v.toml", "--journal", journal) == 0
    gone = ends("keep", "erase", "last", "--by", "x", "--reason", "y", "--journal", journal, stdin="n\n")
    assert gone == Exit.STOPPED


def test_the_entry_file_can_be_loaded_by_its_path() -> None:
    """The processes that answer for ``serve`` load it so; a relative import there ended every one of them."""
    runpy.run_path(str(ROOT / "src" / "earthwright" / "__main__.py"), run_name="__mp_main__")
