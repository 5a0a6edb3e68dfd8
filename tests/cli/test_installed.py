"""What is installed from a wheel, in clean environments: the bare package and everything.

Building and installing takes a minute or two and asks the package index, so it is done only when asked for:
``EARTHWRIGHT_INSTALL=1 ./run test tests/cli/test_installed.py``. What can be asked without it is asked below.
"""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.cli.main import lacking

ROOT = Path(__file__).parents[2]
VISITS = ROOT / "tests" / "visits"
asked = pytest.mark.skipif(not os.environ.get("EARTHWRIGHT_INSTALL"), reason="asked for by EARTHWRIGHT_INSTALL=1")


def run(*command: str | Path, **more: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=900, **more)  # type: ignore[call-overload,no-any-return]


def environment(folder: Path, wheel: Path, extras: str = "") -> Path:
    """A clean environment with the wheel; its program."""
    made = run(sys.executable, "-m", "venv", folder)
    assert made.returncode == 0, made.stderr
    done = run(folder / "bin" / "pip", "install", "-q", "--disable-pip-version-check", f"{wheel}{extras}")
    assert done.returncode == 0, done.stderr
    return folder / "bin" / "earthwright"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    done = run(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", folder, ROOT)
    assert done.returncode == 0, done.stderr
    return next(folder.glob("*.whl"))


@asked
def test_the_wheel_holds_every_file_of_the_package(wheel: Path) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    for path in (ROOT / "src" / "earthwright").rglob("*"):
        if path.is_file() and "__pycache__" not in path.parts:
            assert path.relative_to(ROOT / "src").as_posix() in inside


@asked
def test_the_bare_package_judges_and_names_the_extra_that_anything_else_needs(wheel: Path, tmp_path: Path) -> None:
    program = environment(tmp_path / "bare", wheel)
    circuits = run(program, "judge", VISITS / "30-one-graph.toml")
    assert circuits.returncode in (0, 1), circuits.stderr
    assert "Zs" in circuits.stdout
    for command in (["next"], ["between", "MET", "gas"], ["table", "-o", tmp_path / "t.csv"], ["many"]):
        done = run(program, command[0], VISITS / "30-one-graph.toml", *command[1:])
        assert done.returncode in (0, 1), (command, done.stderr)
    visit = VISITS / "20-plain.toml"
    needing = {
        "pdf": ["paper", visit, "--document", "bonding record", "-o", tmp_path / "p.pdf"],
        "store": ["keep", "list"],
        "web": ["serve"],
    }
    for extra, arguments in needing.items():
        done = run(program, *arguments, cwd=tmp_path)
        assert "Traceback" not in done.stderr, done.stderr
        assert f"'earthwright[{extra}]'" in done.stderr, done.stderr
        assert done.returncode == 7


@asked
def test_the_wheel_with_everything_does_what_the_project_does(wheel: Path, tmp_path: Path) -> None:
    program = environment(tmp_path / "whole", wheel, "[all]")
    steps = [
        ["demo", "-o", "out"],
        ["judge", "out/visit.toml", "--full"],
        ["paper", VISITS / "20-plain.toml", "--document", "bonding record", "-o", "p.pdf"],
        ["verify", "out/record.pdf"],
        ["keep", "in", "out/visit.toml"],
        ["keep", "check"],
        ["keep", "out", "export.zip", "--papers"],
        ["bench", "resistance", "--csa", "10", "--length", "16"],
        ["serve", "--help"],
    ]
    for step in steps:
        done = run(program, *step, cwd=tmp_path)
        assert "Traceback" not in done.stderr, (step, done.stderr)
        assert done.returncode in (0, 1), (step, done.stdout, done.stderr)
    own = run(tmp_path / "whole" / "bin" / "python", "-c", "import earthwright.cli.workers, psycopg, pyhanko")
    assert own.returncode == 0, own.stderr


def test_what_a_command_lacks_is_named_with_its_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    from importlib import metadata

    declared = [
        "attrs>=26.1",
        'python-multipart>=0.0.34; extra == "web"',
        "typst==0.15.*; extra == 'pdf'",
        'earthwright[pdf]; extra == "all"',
        'typst==0.15.*; extra == "dev"',
    ]
    monkeypatch.setattr(metadata, "requires", lambda _: declared)
    assert "'earthwright[pdf]'" in lacking("typst", "paper")
    assert "'earthwright[web]'" in lacking("python_multipart.multipart", "serve")
    assert "'earthwright[all]'" in lacking("something", "paper")


def test_a_missing_package_is_one_line_and_a_missing_file_of_ours_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    done = CliRunner().invoke(main, ["demo"])
    assert done.exit_code == 7
    assert "typst" in done.output
    assert "'demo' needs a package" in done.output
    monkeypatch.setitem(sys.modules, "earthwright.desk.demo", None)
    assert isinstance(CliRunner().invoke(main, ["demo"]).exception, ModuleNotFoundError)


def test_without_the_extra_for_tables_nothing_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """``pip install .`` alone judged a visit with circuits into a traceback."""
    monkeypatch.setenv("COLUMNS", "300")
    drawn = CliRunner().invoke(main, ["judge", str(VISITS / "30-one-graph.toml"), "--full"])
    for name in ("rich", "rich.console", "rich.table", "rich.markup", "rich.padding", "rich.box"):
        monkeypatch.setitem(sys.modules, name, None)
    plain = CliRunner().invoke(main, ["judge", str(VISITS / "30-one-graph.toml"), "--full"])
    assert plain.exit_code == drawn.exit_code
    assert plain.exception is None or isinstance(plain.exception, SystemExit)
    words = {w for w in drawn.output.replace("…", " ").split() if w.isalnum()}
    headings = {"Circuit", "Test", "Entered", "Expected", "Limit", "Verdict"}
    missing = words - set(plain.output.replace(";", " ").replace(",", " ").split()) - headings
    assert not {w for w in missing if w not in plain.output}, missing
    assert not {"[/green]", "[/bold]", "[/yellow]"} & set(plain.output.split())
    assert "[/green]" not in plain.output
