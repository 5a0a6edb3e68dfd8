"""Sites for the tests of pages."""

from __future__ import annotations

import html
import re
import threading
from collections.abc import Iterator
from urllib.parse import urljoin

import httpx
import pytest
from asked import Site

from earthwright.desk import Desk


@pytest.fixture
def desk() -> Iterator[Desk]:
    made = Desk(":memory:")
    yield made
    made.close()


@pytest.fixture
def site(desk: Desk) -> Site:
    return Site(desk)


@pytest.fixture
def demo(site: Site) -> str:
    """Address of the demo visit."""
    return site.post("/demo").headers["location"].rstrip("/")


@pytest.fixture(scope="session")
def shared() -> Iterator[Site]:
    """The demo visit for tests that leave it as it is, or do not mind what another one wrote."""
    desk = Desk(":memory:")
    site = Site(desk)
    site.post("/demo")
    yield site
    desk.close()


@pytest.fixture(scope="session")
def walked() -> Iterator[dict[str, httpx.Response]]:
    """Every page there is, found by walking the links from the list of visits; no thread may be started on the way."""
    desk = Desk(":memory:")
    site = Site(desk)
    site.post("/demo")

    def refuse(self: threading.Thread) -> None:
        raise AssertionError("a thread was started")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(threading.Thread, "start", refuse)
        found = walk(site)
    yield found
    desk.close()


def walk(site: Site) -> dict[str, httpx.Response]:
    seen: dict[str, httpx.Response] = {}
    todo = ["/", "/static/htmx.min.js", "/static/htmx.LICENSE.txt"]
    while todo:
        path = todo.pop(0)
        if path in seen:
            continue
        answer = site.get(path)
        assert answer.status_code == 200, (path, answer.status_code)
        seen[path] = answer
        if "text/html" in answer.headers["content-type"]:
            for link in re.findall(r'(?:href|src)="([^"#]*)', answer.text):
                target = urljoin(path, html.unescape(link))
                if target.startswith("/") and target not in seen and target not in todo:
                    todo.append(target)
    return seen
