"""``./run phone --out FOLDER``: the folder of files that a phone opens once and then has for ever."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from ..base.build import build_mark
from . import parts
from .parts import NotBuilt

HERE = Path(__file__).parent
STATIC = HERE / "static"
WEB = HERE.parent / "web" / "static"
SMALL = 60_000  # bytes; what the first visit shows before anything can be unpacked is smaller
ON_DEMAND = {"/phone/press.zip"}


def build(target: Path, cache: Path, requirements: Path, effort: int = 19, office: str = "") -> dict[str, int]:
    """Make the folder whole or not at all; gives the size of each file in bytes. Raises NotBuilt.

    cache  where the runtime and the PDF writer are kept between builds;  requirements  the folder of the hashed lists
    effort  how hard large files are packed, 1 to 22;  office  address of one elsewhere that its phones may go with
    """
    runtime = parts.runtime(cache, requirements)
    unpacker = parts.unpacker(cache, requirements)
    wheel = parts.press(cache, requirements)
    with tempfile.TemporaryDirectory(prefix="earthwright-phone-") as folder:
        work = Path(folder)
        made = work / "out"
        (made / "phone").mkdir(parents=True)
        pieces(work, runtime, made / "phone")
        for name in ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm"):
            shutil.copyfile(runtime / name, made / "phone" / name)
        shutil.copyfile(unpacker, made / "phone" / "unpack.js")
        _press(work, wheel, made / "phone" / "press.zip")
        _faces(made, runtime, effort, office)
        shutil.rmtree(target, ignore_errors=True)
        shutil.copytree(made, target)
    return {str(p.relative_to(target)): p.stat().st_size for p in sorted(target.rglob("*")) if p.is_file()}


def pieces(work: Path, runtime: Path, target: Path) -> None:
    """The snapshot, and three archives beside it: the standard library, and compiled the libraries and our own package.

    The archives lack the code that the snapshot holds already: a phone loads neither without the other.
    """
    folders = {name: work / name for name in ("stdlib", "libraries", "site")}
    shutil.unpack_archive(runtime / "python_stdlib.zip", folders["stdlib"])
    parts.program(work / "all")
    folders["site"].mkdir()
    shutil.move(work / "all" / "earthwright", folders["site"] / "earthwright")
    shutil.move(work / "all", folders["libraries"])
    make("compile", str(runtime), *(str(folders[name]) for name in ("site", "libraries")))
    for name, folder in folders.items():
        parts.pack(folder, work / f"{name}.zip")
    held = make("snapshot", str(runtime), str(work), str(target / "snapshot.bin")).splitlines()
    for name, folder in folders.items():
        spare = {path.removeprefix(f"{name}/") for path in held if path.startswith(f"{name}/")}
        assert spare, name  # of each it holds some
        parts.pack(folder, target / f"{name}.zip", spare)


def _press(work: Path, wheel: Path, target: Path) -> None:
    """The PDF writer with the fonts of our papers."""
    shutil.unpack_archive(wheel, work / "press", format="zip")
    shutil.copytree(HERE.parent / "paper" / "fonts", work / "press" / "fonts")
    parts.pack(work / "press", target)


def make(*arguments: str) -> str:
    """Run a step of make.mjs; what it printed. Raises NotBuilt with what it complained of."""
    kept = {**os.environ, "KEPT_AS_TEXT": parts.KEPT_AS_TEXT}
    done = subprocess.run([parts.node(), str(HERE / "make.mjs"), *arguments], capture_output=True, text=True, env=kept)
    if done.returncode:
        raise NotBuilt(f"{arguments[0]}: {done.stderr.strip()[-3000:]}")
    return done.stdout


def shell() -> str:
    """The page that is there before anything is awake, with its style inside: it waits for no other file to be painted."""
    first, told, _ = (WEB / "earth.css").read_text(encoding="utf-8").partition("/* so far a phone has it before")
    assert told
    style = first + (STATIC / "shell.css").read_text(encoding="utf-8")
    named = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    page = (STATIC / "index.html").read_text(encoding="utf-8")
    page = page.replace("style-src 'self'", f"style-src 'sha256-{named}'")
    return page.replace("<style></style>", f"<style>{style}</style>")


def icon(size: int, share: float) -> bytes:
    """The mark on paper as PNG. size: its sides [pixel];  share: of them that the mark takes. Method: drawn as SVG."""
    import typst

    with tempfile.TemporaryDirectory() as folder:
        shutil.copyfile(WEB / "mark.svg", Path(folder) / "mark.svg")
        page = f'#set page(width: {size}pt, height: {size}pt, margin: 0pt, fill: rgb("#f6f4ef"))\n'
        page += f'#align(center + horizon, image("mark.svg", width: {size * share}pt))\n'
        (Path(folder) / "icon.typ").write_text(page, encoding="utf-8")
        made = typst.compile(str(Path(folder) / "icon.typ"), format="png", ppi=72.0)
    assert isinstance(made, bytes)  # one page
    return made


def _faces(made: Path, runtime: Path, effort: int, office: str) -> None:
    """The shell, the workers and the pages' own files, with the list that the service worker goes by."""
    for file in STATIC.iterdir():
        if file.name not in ("index.html", "shell.css"):
            shutil.copyfile(file, made / file.name if file.name == "sw.js" else made / "phone" / file.name)
    (made / "index.html").write_text(shell(), encoding="utf-8")
    shutil.copytree(WEB, made / "static")
    for name, size, share in (("icon-192", 192, 0.7), ("icon-512", 512, 0.7), ("icon-maskable-512", 512, 0.5)):
        (made / "phone" / f"{name}.png").write_bytes(icon(size, share))
    info = json.loads((runtime / "pyodide-lock.json").read_text(encoding="utf-8"))["info"]
    (made / "phone" / "runtime.json").write_text(json.dumps(info), encoding="utf-8")
    names = sorted(p.relative_to(made).as_posix() for p in made.rglob("*") if p.is_file() and p.name != "sw.js")
    large = [name for name in names if (made / name).stat().st_size > SMALL and not name.endswith(".png")]
    make("pack", str(runtime), str(effort), *(str(made / name) for name in large))
    listed = {f"/{name}": _at_rest(made / name) for name in names}
    told: dict[str, object] = {
        "VERSION": hashlib.sha256(json.dumps([build_mark(), listed, office]).encode()).hexdigest()[:12],
        "FILES": {k: v for k, v in listed.items() if k not in ON_DEMAND},
        "LATER": {k: v for k, v in listed.items() if k in ON_DEMAND},
        "OFFICE": office,
    }
    text = (made / "sw.js").read_text(encoding="utf-8")
    for name, value in told.items():
        empty = next(line for line in text.splitlines() if line.startswith(f"const {name} = "))
        text = text.replace(empty, f"const {name} = {json.dumps(value)};")
    (made / "sw.js").write_text(text, encoding="utf-8")


def _at_rest(file: Path) -> list[object]:
    """The hash of a file as it is handed out, and whether it is packed: large ones are, so that no host has to know how."""
    packed = file.with_name(f"{file.name}.packed")  # a name that no host takes for a sign to unpack it on the way
    if packed.is_file():
        file.unlink()
    there = packed if packed.is_file() else file
    return [hashlib.sha256(there.read_bytes()).hexdigest(), packed.is_file()]
