"""The script that sets up and runs: what it hands on to the command."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import os
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture
def script() -> ModuleType:
    loader = importlib.machinery.SourceFileLoader("runscript", str(ROOT / "run"))
    spec = importlib.util.spec_from_loader("runscript", loader)
    assert spec is not None
    module = importlib.util.module_from_spec(spec)
    loader.exec_module(module)
    return module


@pytest.mark.skipif(os.name == "nt", reason="descriptors are handed on otherwise there")
def test_a_pass_phrase_from_a_descriptor_reaches_the_command(
    script: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """``./run sign … --pass-fd 7 7<secret``: the descriptor was closed on the way."""
    import subprocess

    (tmp_path / "earthwright").mkdir()
    (tmp_path / "earthwright" / "__init__.py").touch()
    (tmp_path / "earthwright" / "__main__.py").write_text(
        "import os, sys; open('said', 'w').write(os.read(int(sys.argv[-1]), 99).decode())"
    )
    (tmp_path / "secret").write_text("correct horse")
    code = (
        "import importlib.machinery as m, importlib.util as u, sys\n"
        f"l = m.SourceFileLoader('runscript', {str(ROOT / 'run')!r}); s = u.module_from_spec(u.spec_from_loader('runscript', l)); l.exec_module(s)\n"
        "s.set_up = lambda level: None; s.PYTHON = sys.executable; sys.argv = ['run', 'sign', '--pass-fd', '7']\n"
        "sys.exit(s.main())"
    )
    done = subprocess.run(
        ["sh", "-c", 'exec "$0" -c "$1" 7<secret', sys.executable, code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "said").read_text() == "correct horse"


def test_commands_that_need_more_are_given_it(script: ModuleType) -> None:
    assert script.NEEDS["sign"] == script.NEEDS["verify"] == "sign"
