"""An invented firm's server on either database, in PostgreSQL with roles and as the login of a server; and its phones."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

import httpx
import psycopg
from asked import NOON, Site, text_of
from attrs import evolve
from firm_made import CHEAP, AFirm

from earthwright.desk import Desk
from earthwright.firm import Firm
from earthwright.firm.tables import grant
from earthwright.records.roles import make_roles
from earthwright.sync.names import Held, held
from earthwright.web.settings import Settings


class Served(AFirm):
    """The firm as its server sees it: in PostgreSQL its login owns nothing. ``owner``: the address of who owns it."""

    def __init__(self, url: str, cluster: Any = None) -> None:
        super().__init__(url)
        self.owner = url
        if cluster is None:
            return
        schema = re.search(r"search_path%3D(\w+)", url)[1]  # type: ignore[index]
        names = make_roles(self.desk.store, schema)
        grant(self.desk.store, names)
        with psycopg.connect(f"host={cluster.folder} user=keeper dbname=postgres", autocommit=True) as c:
            c.execute(f"CREATE ROLE {schema}_web LOGIN IN ROLE {names['server']}")  # type: ignore[arg-type]
        self.desk.close()
        self.desk = Desk(url.replace("keeper@", f"{schema}_web@"), create=False)
        self.firm = Firm(self.desk, CHEAP)
        self.settings = evolve(self.settings, firm=self.firm)
        self.browser = {login: self.signed_in(person) for login, person in self.people.items()}
        self.nobody = Site(self.desk, self.settings)

    def by_owner(self, said: str, **values: str) -> None:
        """What only whoever owns the tables may do."""
        from sqlalchemy import text

        desk = self.desk if "://" not in self.owner else Desk(self.owner, create=False)
        with desk.store.engine.begin() as connection:
            connection.execute(text(said), values)
        if desk is not self.desk:
            desk.close()

    def planned(self, login: str, place: str, *along: str) -> str:
        """A visit that the office planned for somebody, with others sent along."""
        olga = self.browser["olga"]
        sent = {"place": place, "date": "2026-11-20", "kind": "periodic", "person": self.people[login].id}
        assert olga.send(olga.get("/plan"), "/plan", **sent).status_code == 303
        visit = next(v.id for v in self.desk.visits() if v.place == place)
        for other in along:
            assert olga.post(f"/v/{visit}/give", {"do": "along", "person": self.people[other].id}).status_code == 303
        return visit


class Phone:
    """Somebody's phone, with a clock of its own; its pages ask the firm's server through a line that can be cut."""

    def __init__(self, made: Served, login: str, folder: Path, ahead: dt.timedelta = dt.timedelta()) -> None:
        self.made, self.login = made, login
        self.desk = Desk(folder / f"{login}.sqlite")
        self.now, self.cut = NOON + ahead, False
        self.pages = Site(self.desk, Settings(framed=True, line=self.line, now=lambda: self.now))
        self.new_token()

    def new_token(self) -> None:
        """Let in anew, by its owner on the firm's pages; the token is typed on the phone."""
        browser = self.made.browser[self.login]
        page = text_of(browser.post("/me", {"do": "device", "device_name": f"phone of {self.login}"}))
        self.token = re.search(r"\b[0-9a-f]{8}(?:-[0-9a-f]{8}){3}\b", page)[0]  # type: ignore[index]

    async def line(self, url: str, headers: dict[str, str], body: bytes) -> tuple[int, bytes]:
        if self.cut:
            return 503, b""
        async with httpx.AsyncClient(transport=httpx.ASGITransport(self.made.nobody.app)) as client:
            found = await client.post(url, content=body, headers=headers)
        return found.status_code, found.content

    def begin(self, *visits: str) -> None:
        """Go together with the server for the first time, and fetch visits."""
        form = {"do": "begin", "address": "https://visits.example", "token": self.token}
        assert self.pages.post("/together", form).status_code == 303
        for visit in visits:
            assert self.pages.post("/together", {"do": "fetch", "visit": visit}).status_code == 303

    def go(self) -> str:
        """Send and fetch; what the page says afterwards."""
        answer = self.pages.post("/together", {"do": "go"})
        return text_of(self.pages.follow(answer) if answer.status_code == 303 else answer)

    def back(self) -> list[Held]:
        with self.desk.store.reading() as connection:
            return held(connection)
