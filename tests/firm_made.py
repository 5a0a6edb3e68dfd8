"""An invented firm at a journal in memory: its people, each with a browser that is signed in."""

from __future__ import annotations

import datetime as dt

from argon2 import PasswordHasher
from asked import NOON, Site

from earthwright.cli.sums import single_sums
from earthwright.desk import Desk
from earthwright.firm import Firm, Person
from earthwright.firm.rights import CLIENT, ERASER, INSPECTOR, OFFICE, SUPERVISOR
from earthwright.firm.tables import make
from earthwright.web.settings import Settings

PHRASE = "four grey clamps hum"
PEOPLE = {
    "ines": ("Ines Quarry", INSPECTOR), "ivan": ("Ivan Brook", INSPECTOR), "sara": ("Sara Holt", SUPERVISOR),
    "olga": ("Olga Penn", OFFICE), "carl": ("Carl Elder", CLIENT), "eric": ("Eric Moss", ERASER),
}  # fmt: skip
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)


class AFirm:
    """``browser[login]``: a Site signed in as that person; ``visit[login]``: a visit that is theirs."""

    def __init__(self, url: str = ":memory:", now: dt.datetime = NOON) -> None:
        self.desk = Desk(url)
        make(self.desk.store)
        self.firm = Firm(self.desk, CHEAP)
        self.settings = Settings(now=lambda: now, sums=single_sums(), firm=self.firm)
        self.people: dict[str, Person] = {}
        self.browser: dict[str, Site] = {}
        for login, (name, role) in PEOPLE.items():
            self.people[login] = self.firm.people.join(self.firm.people.invite(name, role, "test"), login, PHRASE)
            self.browser[login] = self.signed_in(self.people[login])
        self.nobody = Site(self.desk, self.settings)
        self.visit = {who: self.begun(who, f"{n} Alder Row") for n, who in enumerate(("ines", "ivan", "sara"), 1)}

    def signed_in(self, person: Person) -> Site:
        return Site(self.desk, self.settings, cookie=f"earthwright={self.firm.people.begin(person)}")

    def events_of(self, visit: str) -> int:
        return len(self.desk.read(visit).events)

    def begun(self, who: str, place: str) -> str:
        page = self.browser[who].get("/new")
        answer = self.browser[who].send(
            page, "/new", place=place, date="2026-11-20", kind="periodic", inspector="Not Me"
        )
        assert answer.status_code == 303, answer.text
        return str(answer.headers["location"]).split("/")[2]
