"""What lets the same pages run inside a phone's browser: async handlers only, no threads, no cookies, no state held."""

from __future__ import annotations

import ast
import inspect
import subprocess
import sys
import threading
from pathlib import Path

import httpx
import pytest
from asked import Site
from starlette.routing import Route

import earthwright.web
from earthwright.web.app import routes

WEB = Path(earthwright.web.__file__).parent
# The pages of a phone and of one person; a firm's server alone knows who somebody is (gate.py and the pages of its office).
CODE = sorted(p for p in WEB.rglob("*.py") if p.name != "gate.py" and p.parent.name != "office")


def test_every_address_is_answered_by_a_coroutine() -> None:
    found = routes()
    assert len(found) > 40
    for route in found:
        assert isinstance(route, Route)
        assert inspect.iscoroutinefunction(route.endpoint), route.path


def test_every_address_that_writes_is_a_post_and_the_others_are_read_only() -> None:
    for route in routes():
        assert route.methods in ({"GET", "HEAD"}, {"POST"}), route.path


@pytest.mark.parametrize("path", CODE, ids=lambda p: p.name)
def test_nothing_that_needs_a_thread_a_cookie_or_a_session_is_used(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = {n.id for n in ast.walk(tree) if isinstance(n, ast.Name)} | {
        n.attr for n in ast.walk(tree) if isinstance(n, ast.Attribute)
    }
    imported = {a.name for n in ast.walk(tree) if isinstance(n, (ast.Import, ast.ImportFrom)) for a in n.names}
    forbidden = {
        "StaticFiles", "FileResponse", "run_in_threadpool", "BackgroundTask", "BackgroundTasks", "GZipMiddleware",
        "SessionMiddleware", "set_cookie", "cookies", "to_thread", "run_sync", "ThreadPoolExecutor", "session",
    }  # fmt: skip
    assert not (names | imported) & forbidden
    modules = {n.module for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)} | imported
    assert not modules & {"threading", "concurrent", "concurrent.futures", "multiprocessing"}


def test_no_page_starts_a_thread_or_sets_a_cookie(walked: dict[str, httpx.Response]) -> None:
    assert len(walked) > 60
    for path, answer in walked.items():
        assert "set-cookie" not in answer.headers, path


def test_an_upload_stays_in_memory(site: Site, demo: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A large upload is spooled to a file in a thread by default; there are no threads in a browser."""

    def refuse(self: threading.Thread) -> None:
        raise AssertionError("a thread was started")

    monkeypatch.setattr(threading.Thread, "start", refuse)
    picture = b"\x89PNG\r\n\x1a\n" + bytes(3_000_000)  # large, and no picture: it is read whole and then refused
    answer = site.post(
        f"{demo}/photos", {"caption": "clamp", "uid": "p" * 20}, files={"photo": ("a.png", picture, "image/png")}
    )
    assert answer.status_code == 422
    assert "set-cookie" not in answer.headers


def test_the_pages_answer_the_same_from_another_process(site: Site, demo: str) -> None:
    """Nothing is remembered between requests but what the journal holds."""
    other = Site(site.desk)
    assert other.get(f"{demo}/").text.split("uid")[0] == site.get(f"{demo}/").text.split("uid")[0]
    assert site.send(site.get(f"{demo}/bond/gas/joint"), f"{demo}/bond/gas/joint", shown="0.00").status_code == 303
    assert "0.00" in other.get(f"{demo}/bond/gas").text


def test_the_pages_need_no_more_than_is_listed() -> None:
    code = (
        "import sys; before = set(sys.modules)\n"
        "import earthwright.web\n"
        "new = {m.split('.')[0] for m in set(sys.modules) - before}\n"
        "print(sorted(new - set(sys.stdlib_module_names) - {'earthwright'}))"
    )
    root = Path(earthwright.web.__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-I", "-c", f"import sys; sys.path.insert(0, {str(root)!r})\n{code}"],
        capture_output=True,
        text=True,
        check=True,
    )
    found = set(ast.literal_eval(done.stdout))
    pure = {
        "anyio",
        "attr",
        "attrs",
        "jinja2",
        "markupsafe",
        "starlette",
        "python_multipart",
        "multipart",
        "idna",
        "sniffio",
        "typing_extensions",
    }
    store = {"sqlalchemy", "alembic", "mako", "greenlet"}
    assert {m for m in found if not m.startswith("_") and m != "cython_runtime"} <= pure | store
