"""The folder for phones is handed out with what a browser needs to install it, and nothing beside it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import anyio
import httpx
import pytest
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.cli.handout import handed_out
from earthwright.desk import Desk
from earthwright.sync.names import let_in
from earthwright.web import make_app


@pytest.mark.parametrize(
    ("path", "kind", "policy"),
    [
        ("/", "text/html", "frame-ancestors 'none'"),
        ("/sw.js", "text/javascript", "script-src 'self';"),
        ("/phone/engine.mjs", "text/javascript", "'wasm-unsafe-eval'"),
        ("/phone/site.zip.packed", "application/octet-stream", "frame-ancestors 'none'"),
        ("/phone/manifest.webmanifest", "application/manifest+json", "frame-ancestors 'none'"),
        ("/phone/../../secret", "", ""),
        ("/journal.sqlite", "", ""),
    ],
)
def test_each_file_has_the_headers_it_needs(tmp_path: Path, path: str, kind: str, policy: str) -> None:
    folder = tmp_path / "out"
    for name in ("index.html", "sw.js", "phone/engine.mjs", "phone/site.zip.packed", "phone/manifest.webmanifest"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("x")
    (tmp_path / "secret").write_text("x")

    async def go() -> httpx.Response:
        transport = httpx.ASGITransport(handed_out(folder))
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            return await client.get(path)

    answer = anyio.run(go)
    assert (answer.status_code == 200) == bool(kind), answer.text
    if kind:
        assert answer.headers["content-type"].startswith(kind)
        assert policy in answer.headers["content-security-policy"]
        assert ("wasm" in answer.headers["content-security-policy"]) == path.endswith(".mjs")
        assert answer.headers["cache-control"] == "no-cache"  # a newer version is seen the next time
        assert "content-encoding" not in answer.headers  # the phone unpacks it, so the hash is that of what came


def test_another_folder_is_refused_with_words(tmp_path: Path) -> None:
    said = CliRunner().invoke(main, ["serve", "--phone", str(tmp_path)])
    assert said.exit_code == 2
    assert "was not made by ./run phone" in said.output


@pytest.mark.parametrize("made_for", ["", "https://visits.example"])
def test_the_worker_may_ask_the_office_that_the_folder_was_made_for_and_nobody_else(
    tmp_path: Path, made_for: str
) -> None:
    (tmp_path / "phone").mkdir()
    (tmp_path / "sw.js").write_text(f'const VERSION = "1";\nconst OFFICE = "{made_for}";\n')
    for name in ("index.html", "phone/engine.mjs"):
        (tmp_path / name).write_text("x")
    policy = asked(handed_out(tmp_path), "GET", "/phone/engine.mjs").headers["content-security-policy"]
    assert f"connect-src 'self'{made_for and ' ' + made_for};" in policy
    assert (
        made_for not in asked(handed_out(tmp_path), "GET", "/sw.js").headers["content-security-policy"] or not made_for
    )


def test_beside_the_folder_an_office_answers_devices_and_shows_no_page(tmp_path: Path) -> None:
    for name, said in (("index.html", "the program"), ("sw.js", "")):
        (tmp_path / name).write_text(said)
    desk = Desk(tmp_path / "office.sqlite")
    app = handed_out(tmp_path, make_app(desk))
    assert asked(app, "GET", "/").text == "the program"
    assert asked(app, "GET", "/together").status_code == 404
    assert asked(app, "POST", "/sync/hello").status_code == 401
    token = let_in(desk.store, "phone", dt.datetime.now(dt.UTC))
    hello = {"device": "d" * 32, "clock": "2026-11-28T12:00:00+00:00", "protocol": 1}
    found = asked(app, "POST", "/sync/hello", json=hello, headers={"authorization": f"Bearer {token}"})
    assert found.json()["upto"] == 0
    desk.close()


def asked(app: Any, method: str, path: str, **more: Any) -> httpx.Response:
    async def go() -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            return await client.request(method, path, **more)

    return anyio.run(go)
