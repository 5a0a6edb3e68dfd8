"""What the phone's program is made of: a Python for browsers, our own package, and the libraries it rests on.

Everything is pinned and checked: the runtime by ``requirements/phone.txt``, the libraries by ``requirements/run.txt``, from which the
environment that builds was made; the PDF writer's wheel by the hashes of the same list.
"""

from __future__ import annotations

import base64
import hashlib
import re
import shutil
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Collection
from importlib import metadata
from pathlib import Path

from ..base.build import build_mark
from ..base.errors import EarthwrightError

RUNTIME_FILES = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", "pyodide-lock.json", "python_stdlib.zip")
UNPACKER = "umd/index.js"
WHEEL_TAG, WHEEL_PYTHON = "pyemscripten_2026_0_wasm32", "3.14"
# Pure Python, or with a pure part; SQLite and the rest of the standard library come with the runtime.
LIBRARIES = (
    "attrs", "click", "starlette", "jinja2", "markupsafe", "anyio", "idna", "python-multipart", "sqlalchemy", "alembic",
    "mako", "typing-extensions",
)  # fmt: skip
# What no page ever asks for.
LEFT_OUT = re.compile(
    r"(^|/)(tests?|testing|__pycache__)/|sqlalchemy/dialects/(oracle|mssql|mysql)/|alembic/(templates|testing)/"
    r"|sqlalchemy/(orm/|ext/(?!__init__|compiler))|anyio/_backends/_trio|(click|starlette)/test|earthwright/phone/(static|build|parts|make)|earthwright/firm/|earthwright/web/(gate\.py|office\.toml)|earthwright/web/(views|templates)/office/|earthwright/paper/fonts/(?!characters)"
)
KEPT_AS_TEXT = "earthwright/records/migrations/"  # read as files by what takes a journal from one form to the next


class NotBuilt(EarthwrightError):
    """The folder could not be made; nothing half made is left in it."""


class NotToHand(NotBuilt):
    """What it is made with or from is not here and cannot be fetched."""


def runtime(folder: Path, requirements: Path) -> Path:
    """The runtime's files in a folder of their own, from the package registry that npm is set up for. Raises NotBuilt."""
    return _package("pyodide", RUNTIME_FILES, folder, requirements)


def unpacker(folder: Path, requirements: Path) -> Path:
    """The script that unpacks what is handed out, from the same registry. Raises NotBuilt."""
    return _package("fzstd", (UNPACKER,), folder, requirements) / Path(UNPACKER).name


def _package(name: str, wanted: tuple[str, ...], folder: Path, requirements: Path) -> Path:
    """Files of a pinned package in a folder of their own."""
    pinned = re.search(
        rf"^({name}@\S+) --integrity=(\S+)$", (requirements / "phone.txt").read_text(encoding="utf-8"), re.M
    )
    assert pinned is not None  # the file is ours
    name, integrity = pinned.groups()
    there = folder / name.replace("@", "-")
    if all((there / Path(one).name).is_file() for one in wanted):
        return there
    folder.mkdir(parents=True, exist_ok=True)
    packed = folder / f"{there.name}.tgz"
    if not packed.is_file():
        _ask([_tool("npm"), "pack", "--silent", name], folder, f"{name} cannot be had")
    found = "sha512-" + base64.b64encode(hashlib.sha512(packed.read_bytes()).digest()).decode()
    if found != integrity:
        packed.unlink()
        raise NotBuilt(f"{name}: expected the hash {integrity[:20]}…, found {found[:20]}…. It was thrown away.")
    made = folder / f"{there.name}.part"
    shutil.rmtree(made, ignore_errors=True)
    made.mkdir()
    with tarfile.open(packed) as archive:
        for one in wanted:
            inside = archive.extractfile(f"package/{one}")
            assert inside is not None, one  # its hash was right
            (made / Path(one).name).write_bytes(inside.read())
    made.rename(there)
    return there


def press(folder: Path, requirements: Path) -> Path:
    """The PDF writer's wheel for the runtime, by the hashes of the hashed list. Raises NotBuilt."""
    listed = requirements / "run.txt"
    found = re.search(r"^typst==(\S+) \\\n(?:    --hash=\S+(?: \\)?\n?)+", listed.read_text(encoding="utf-8"), re.M)
    if found is None:
        raise NotBuilt(f"{listed}: the PDF writer (typst) is not listed.")
    folder.mkdir(parents=True, exist_ok=True)
    if not (ready := sorted(folder.glob(f"typst-{found[1]}-*{WHEEL_TAG}*.whl"))):
        (wanted := folder / "press.txt").write_text(found[0], encoding="utf-8")
        _ask(
            [
                sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--require-hashes", "--only-binary=:all:",
                "--platform", WHEEL_TAG, "--python-version", WHEEL_PYTHON, "--dest", str(folder), "-r", str(wanted),
            ],
            folder,
            "the PDF writer cannot be had",
        )  # fmt: skip
        ready = sorted(folder.glob(f"typst-{found[1]}-*.whl"))
    return ready[-1]


def node() -> str:
    """Where node is. Raises NotBuilt."""
    return _tool("node")


def _tool(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        raise NotToHand(f"{name} is not installed: it makes the phone's files (Debian: apt install nodejs npm).")
    return found


def _ask(command: list[str], folder: Path, what: str) -> None:
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True)
    if done.returncode:
        raise NotToHand(f"{what}: {(done.stderr.strip().splitlines() or ['no reason given'])[-1]}")


def program(folder: Path) -> None:
    """Our own package and the libraries, as files below a folder, without what no page asks for."""
    package = Path(__file__).parents[1]
    for file in sorted(package.rglob("*")):
        _take(file, f"earthwright/{file.relative_to(package).as_posix()}", folder)
    # Compiled files tell no build; the mark of the files they were made from goes with them.
    (folder / "earthwright/base/build.txt").write_text(build_mark(), encoding="utf-8")
    for name in LIBRARIES:
        there = metadata.distribution(name)
        for entry in there.files or ():
            _take(Path(str(entry.locate())), entry.as_posix(), folder)


def _take(file: Path, name: str, folder: Path) -> None:
    wanted = file.suffix in (".py", ".toml", ".typ", ".html", ".css", ".js", ".svg", ".txt") or name.endswith(
        "METADATA"
    )
    if not wanted or not file.is_file() or name.startswith("..") or LEFT_OUT.search(name):
        return
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(file, folder / name)


def pack(folder: Path, target: Path, spare: Collection[str] = ()) -> None:
    """Everything below a folder, without what is to spare, as an archive: the same bytes for the same files, not compressed inside."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for file in sorted(
            p for p in folder.rglob("*") if p.is_file() and p.relative_to(folder).as_posix() not in spare
        ):
            entry = zipfile.ZipInfo(file.relative_to(folder).as_posix(), (2020, 1, 1, 0, 0, 0))
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, file.read_bytes())
