"""The help lists every command by its job; a large building fits a few screens, the worst first."""

from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import earthwright.cli
from earthwright.cli import main
from earthwright.cli.jobs import JOBS, MODULES

VISITS = Path(__file__).parents[1] / "visits"
COMMANDS = Path(earthwright.cli.__file__).parent


def test_each_module_of_commands_is_named_and_only_that_of_the_command_asked_for_is_loaded() -> None:
    held = {
        p.stem
        for p in COMMANDS.glob("*.py")
        if re.search(r"^@(main|bench|keep|portfolio|rules)\.", p.read_text("utf-8"), re.M)
    }
    assert held == {module for modules in MODULES.values() for module in modules}
    code = "import sys; from earthwright.cli import main; main(['judge', '-h'], standalone_mode=False); print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert "earthwright.cli.visits" in loaded
    assert not {f"earthwright.cli.{m}" for m in held - {"visits"}} & set(loaded)
    heavy = {"sqlalchemy", "starlette", "typst", "jinja2", "pyhanko", "numpy", "pikepdf", "rich"}
    assert not heavy & set(loaded)


def test_every_command_belongs_to_one_job_and_has_a_whole_line_in_the_help() -> None:
    named = [name for names in JOBS.values() for name in names]
    assert sorted(named) == main.list_commands(click.Context(main))
    said = CliRunner().invoke(main, ["--help"]).output
    for job, names in JOBS.items():
        assert f"{job}:" in said
        for name in names:
            (line,) = [x for x in said.splitlines() if x.startswith(f"  {name} ")]
            assert len(line.split()) > 3
            assert not line.endswith("...")


@pytest.fixture
def works(tmp_path: Path) -> Path:
    spec = importlib.util.spec_from_file_location("many", VISITS / "many.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    text = module.many(3, 20)
    bad = text.replace('of = "db2.3"\ntests = { "zs" = 0.', 'of = "db2.3"\ntests = { "zs" = 9.', 1)
    assert bad != text
    (tmp_path / "works.toml").write_text(bad, encoding="utf-8")
    return tmp_path / "works.toml"


def test_sixty_circuits_fit_three_screens_the_worst_first_the_rest_by_name(works: Path) -> None:
    said = CliRunner().invoke(main, ["judge", str(works)]).output
    assert len(said.splitlines()) <= 120
    second = said[said.index("Board Board 2") :]
    assert second.index("db2.3") < second.index("All tests meet")
    for circuit in range(1, 21):
        assert f"db3.{circuit}" in said
    assert "disconnect\n" not in said
    full = CliRunner().invoke(main, ["judge", str(works), "--full"]).output
    assert len(full.splitlines()) > 600


def test_next_names_the_circuits_that_fail_and_the_conductors_that_are_not_proved(works: Path) -> None:
    said = " ".join(CliRunner().invoke(main, ["next", str(works)]).output.split())
    assert "Circuits that fail: 1 db2.3 (Zs" in said
    loose = said[said.index("Protective conductors not proved:") :]
    assert "db3.4," in loose
    assert "db3.1," not in loose  # a ring that was proved


INNER = re.compile(
    r"<[a-zA-Z_.]+ (object )?at 0x|<_io|BytesIO|\b(inf|nan) ?(A|Ω|mm|V|MΩ|ms)\b|Traceback|\{[^}]*\}|\bNone\b|frozenset"
)
BOOKS = sorted([*VISITS.glob("*.toml"), *(VISITS / "practice").glob("*.toml")])


@pytest.mark.parametrize("book", BOOKS, ids=lambda p: p.stem)
def test_no_screen_shows_inner_parts_of_the_program(book: Path) -> None:
    for command in (["judge", str(book), "--full"], ["next", str(book)]):
        found = INNER.search(CliRunner().invoke(main, command).output)
        assert found is None, found
