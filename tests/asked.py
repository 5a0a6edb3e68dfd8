"""A site served in memory, asked as a browser would ask it, without a network."""

from __future__ import annotations

import asyncio
import datetime as dt
import html
import re
from urllib.parse import urljoin

import httpx

from earthwright.cli.sums import single_sums
from earthwright.desk import Desk
from earthwright.web import make_app
from earthwright.web.settings import Settings

NOON = dt.datetime(2026, 11, 20, 12, 0)


class Site:
    """A browser without script: it follows 303 and can fill in the forms of a page."""

    def __init__(self, desk: Desk, settings: Settings | None = None, **headers: str) -> None:
        self.desk = desk
        self.app = make_app(desk, settings or Settings(now=lambda: NOON, sums=single_sums()))
        self.headers = headers

    def ask(self, method: str, path: str, **more: object) -> httpx.Response:
        async def go() -> httpx.Response:
            transport = httpx.ASGITransport(self.app, raise_app_exceptions=True)
            async with httpx.AsyncClient(transport=transport, base_url="http://here", headers=self.headers) as client:
                return await client.request(method, path, **more)  # type: ignore[arg-type]

        return asyncio.run(go())

    def get(self, path: str, **more: object) -> httpx.Response:
        return self.ask("GET", path, **more)

    def post(self, path: str, data: dict[str, object] | None = None, **more: object) -> httpx.Response:
        return self.ask("POST", path, data=data or {}, **more)

    def follow(self, answer: httpx.Response) -> httpx.Response:
        assert answer.status_code == 303, text_of(answer)
        return self.get(urljoin(str(answer.url), answer.headers["location"]))

    def send(self, page: httpx.Response, to: str, **typed: object) -> httpx.Response:
        """Fill in the form of a page that goes to an address (the one that has all the fields) and send it."""
        for form in forms_of(page.text):
            if (
                form["action"] == to
                and form["method"] == "post"
                and all(k in form["fields"] or k in ("key", "do") or k.startswith("settle.") for k in typed)
            ):
                if "do" in typed and form["fields"].get("do") not in (None, typed["do"]):
                    continue
                return self.post(to, {**form["fields"], **typed})
        raise AssertionError(f"no form to {to} with {sorted(typed)} on the page")

    def events(self, visit: str) -> int:
        return len(self.desk.read(visit).events)


def forms_of(page: str) -> list[dict[str, object]]:
    found = []
    for match in re.finditer(r"<form\b([^>]*)>(.*?)</form>", page, re.S):
        head, body = match[1], match[2]
        fields: dict[str, object] = {}
        for tag in re.finditer(r"<input\b([^>]*)>", body):
            name, kind = attr(tag[1], "name"), attr(tag[1], "type")
            if kind == "radio":
                fields.setdefault(name, [])  # none chosen: the form says nothing of it
                if re.search(r"\bchecked\b", tag[1]):
                    fields[name] = attr(tag[1], "value")
            elif name in fields and kind == "hidden":
                was = fields[name]
                fields[name] = [*(was if isinstance(was, list) else [was]), attr(tag[1], "value")]
            elif name and kind not in ("checkbox", "file", "submit"):
                fields[name] = attr(tag[1], "value")
            elif name:
                fields.setdefault(name, [])
        for area in re.finditer(r"<textarea\b([^>]*)>(.*?)</textarea>", body, re.S):
            fields[attr(area[1], "name")] = html.unescape(area[2])
        for select in re.finditer(r"<select\b([^>]*)>(.*?)</select>", body, re.S):
            options = re.findall(r"<option\b([^>]*)>", select[2])
            chosen = next((o for o in options if "selected" in o), options[0] if options else "")
            fields[attr(select[1], "name")] = attr(chosen, "value")
        found.append({"action": attr(head, "action"), "method": attr(head, "method"), "fields": fields})
    return found


def attr(text: str, name: str) -> str:
    match = re.search(rf'(?<![\w-]){name}="([^"]*)"', text)
    return html.unescape(match[1]) if match else ""


def text_of(answer: httpx.Response) -> str:
    page = re.sub(r"<(script|style)\b.*?</\1>", " ", answer.text, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page))).strip()
