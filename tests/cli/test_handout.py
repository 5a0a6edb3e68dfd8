"""The folder for phones is handed out with what a browser needs to install it, and nothing beside it."""

from __future__ import annotations

from pathlib import Path

import anyio
import httpx
import pytest
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.cli.handout import handed_out


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
