"""What an owner of many homes looks at, section by section: said once, for the pages and for the printed report."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from attrs import field, frozen

from ..base.counted import counted
from ..outcomes.verdict import NO_RULE
from .answers import Answer, answer
from .chance import by_luck, sample_size
from .engines import Frames, rows_of
from .questions import QUESTIONS, Asked, latest
from .store import Store
from .tables import code

MOST_LUCK = 0.01  # who stands out by luck less often than this is shown
SHARES = (0.01, 0.02, 0.05, 0.10)
MONTHS = 12  # of deadlines shown by month


@frozen
class Section:
    """One section: its short name, what it is called and says, its figures, and the question behind it for all rows.

    head, rows  a table in words;  bars  label and number of a drawing, none: no drawing;  bars_of  what the numbers count
    """

    name: str
    title: str
    says: tuple[str, ...]
    head: tuple[str, ...] = ()
    rows: Sequence[tuple[str, ...]] = ()
    bars: tuple[tuple[str, int], ...] = ()
    bars_of: str = ""
    question: str = ""
    more: tuple[str, ...] = field(default=())


@frozen
class Looking:
    """A store looked at on a day. ``again``: the other rules that are compared with, empty for none."""

    store: Store
    asked: Asked
    again: str = ""

    def ask(self, name: str) -> Answer:
        """The answer to one question."""
        return answer(self.store, QUESTIONS[name], self.asked, again=self.again)

    def can_ask(self, name: str) -> bool:
        """Whether the register of homes is there, where the question needs it."""
        return QUESTIONS[name].needs != "home" or bool(self.store.files("home"))

    @property
    def frames(self) -> Frames:
        """The tables."""
        return Frames(self.store)


def sections(look: Looking) -> list[Section]:
    """Every section that the tables can fill, in the order in which somebody acts on them."""
    return [made for one in ALL if (made := one(look)) is not None]


def section(look: Looking, name: str) -> Section | None:
    """One section by its name; None where there is none, or the tables cannot fill it."""
    one = NAMED.get(name)
    return None if one is None else one(look)


def _overview(look: Looking) -> Section:
    t = look.frames
    visits = rows_of(t["visit"].select("home", "visit", "year", "edition"))
    homes = {v[0] for v in visits}
    unruled = sum(v[3] == code(NO_RULE) for v in visits)
    lost = [r for r in rows_of(t["not_judged"].select("visit", "why", "in_tables")) if not r[2]]
    says = [f"{counted(len(homes), 'home')} in {counted(len(visits), 'visit')}."]
    if "home" in set(t):
        known = {r[0] for r in rows_of(t["home"].select("home"))}
        says.append(
            f"The register holds {counted(len(known), 'home')}; {len(known - homes):,} of them were never inspected."
        )
        if strange := homes - known:
            says.append(
                f"{counted(len(strange), 'home')} with a visit {'is' if len(strange) == 1 else 'are'} not in the register: compare how the places are written."
            )
    if lost:
        says.append(f"{counted(len(lost), 'visit')} gave no result; why stands in the table not_judged.")
    if unruled:
        says.append(
            f"{counted(unruled, 'visit')} on a day for which no edition of the rules is known: judged by physics alone."
        )
    years = Counter(v[2] for v in visits)
    bars = tuple((str(y), years[y]) for y in sorted(years))
    return Section("overview", "What there is", tuple(says), bars=bars, bars_of="visits by year")


def _edition(look: Looking) -> Section | None:
    if not look.store.judged_again:
        return None
    name = look.again or look.store.judged_again[0]
    found, newly = look.ask("moved"), look.ask("newly-fails")
    homes = {r[0] for r in newly.raw}
    judged = look.store.again(name).said().get("judged", name)
    says = (
        f"Every visit judged again {judged}.",
        f"At the last visit to {counted(len(homes), 'home')} something fails then that did not before.",
        QUESTIONS["newly-fails"].about,
    )
    return Section(
        "edition", "What another edition changes", says, found.head, found.rows, question="moved", more=("newly-fails",)
    )


def _homes(name: str, title: str, question: str, what: str, *more: str) -> Callable[[Looking], Section]:
    def made(look: Looking) -> Section:
        found = look.ask(question)
        says = (
            f"{counted(len({r[0] for r in found.raw}), 'home')} {what}.",
            *((found.question.about,) if found.question.about else ()),
        )
        return Section(name, title, says, found.head, found.rows, question=question, more=more)

    return made


def _age(look: Looking) -> Section:
    today = look.asked.today
    days = [r[1] for r in rows_of(latest(look.frames).select("home", "day"))]
    years = Counter(max(0, (today - d).days * 4 // 1461) for d in days)
    bars = tuple((f"{y} to {y + 1} years", years[y]) for y in range(max(years, default=0) + 1))
    found = look.ask("old-evidence")
    says = (
        f"{counted(len(found.rows), 'home')} {'was' if len(found.rows) == 1 else 'were'} last inspected before {look.asked.since}.",
    )
    return Section(
        "age",
        "Age of the evidence",
        says,
        found.head,
        found.rows,
        bars,
        "homes by years since the last visit",
        "old-evidence",
        ("never",),
    )


def _deadlines(look: Looking) -> Section:
    today = look.asked.today
    end = Asked(today, _months_on(today, MONTHS), look.asked.since)
    found = answer(look.store, QUESTIONS["due"], end)
    at = found.head.index("last_day")
    late = [r for r in found.raw if r[at] < today]
    months = Counter(r[at].strftime("%Y-%m") for r in found.raw if r[at] >= today)
    bars = [("overdue", len(late))] if late else []
    bars += [(m, months[m]) for m in (_months_on(today.replace(day=1), n).strftime("%Y-%m") for n in range(MONTHS + 1))]
    says = (
        f"{counted(len(late), 'thing')} overdue, {len(found.raw) - len(late):,} more within {MONTHS} months, by the last visit to each home.",
    )
    return Section(
        "deadlines", "What falls due", says, found.head, found.rows, tuple(bars), "things due by month", "due"
    )


def _months_on(day: dt.date, months: int) -> dt.date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return day.replace(year=year, month=month + 1, day=min(day.day, 28))


def _codes(look: Looking) -> Section:
    found, today = look.ask("open-codes"), look.asked.today
    names = ("under a month", "1 to 3 months", "3 to 12 months", "over a year")
    ages: Counter[str] = Counter()
    for row in found.raw:
        age = (today - row[3]).days
        ages[names[(age > 30) + (age > 91) + (age > 365)]] += row[4]
    c1 = sum(r[4] for r in found.raw if r[2] == code("C1"))
    says = (f"{c1:,} C1 and {sum(r[4] for r in found.raw) - c1:,} C2 are open at the last visit to each home.",)
    return Section(
        "codes",
        "Open C1 and C2",
        says,
        found.head,
        found.rows,
        tuple((n, ages[n]) for n in names),
        "C1 and C2 by age",
        "open-codes",
    )


def _unlike(look: Looking) -> Section:
    rows: list[tuple[str, ...]] = []
    for who in ("inspector", "firm", "instrument"):
        found = look.ask(f"alike-{who}")
        tried = max(1, tries(look, who))
        for raw, said in zip(found.raw, found.rows, strict=True):
            luck = by_luck(raw[3], raw[4], raw[5], raw[6], tried)
            if luck < MOST_LUCK:
                share, others = 100 * raw[3] / raw[4], 100 * raw[5] / raw[6]
                rows.append(
                    (
                        who,
                        said[0],
                        said[1],
                        said[2],
                        f"{said[3]} of {said[4]} ({share:.0f} %)",
                        f"{others:.1f} %",
                        _luck(luck),
                    )
                )
    rows.sort(key=lambda r: (r[6] != "under 1 in a million", r))
    says = (
        "Digits that one inspector, firm or instrument shows far more often than the others do. The chance of that by luck counts everybody and every value that was compared.",
        "This asks and accuses nobody. Homes of one kind, one instrument's resolution or one street can do it too. Look at some of the visits, and hear the person, before anything is said of them.",
    )
    head = ("who", "name", "test", "digits", "how often", "the others", "by luck")
    return Section(
        "unlike",
        "Readings unlike the others",
        says,
        head,
        rows,
        question="alike-inspector",
        more=("alike-firm", "alike-instrument"),
    )


def tries(look: Looking, who: str) -> int:
    """How many pairs of one of them and a value that came up were compared."""
    t = look.frames
    read = t["reading"].select("visit", "test", "value", "instrument")
    if who != "instrument":
        read = read.join(t["visit"].select("visit", who), on="visit")
    return len(rows_of(read.select(who, "test", "value").unique()))


def _luck(chance: float) -> str:
    return "under 1 in a million" if chance < 1e-6 else f"1 in {round(1 / chance):,}"


def _defects(look: Looking) -> Section | None:
    if "home" not in set(look.frames):
        return None
    found = look.ask("defects")
    by_decade: Counter[str] = Counter()
    for row in found.raw:
        by_decade[f"{row[1]}s" if row[1] else "not known"] += row[4]
    says = (
        f"{sum(r[4] for r in found.raw):,} of {counted(sum(r[3] for r in found.raw), 'home')} of the register have a defect at the last visit: a row that fails, a conductor disproved, or a C1 or C2 that is open.",
        "A share of few homes says little: 0 of 5 and 2 of 5 may well be the same.",
    )
    return Section(
        "defects",
        "Defects by area, decade and kind",
        says,
        found.head,
        found.rows,
        tuple(sorted(by_decade.items())),
        "homes with a defect by decade",
        "defects",
    )


def _survey(look: Looking) -> Section:
    homes = {r[0] for r in rows_of(look.frames["home" if "home" in set(look.frames) else "visit"].select("home"))}
    rows = [row for share in SHARES if (row := _sizes(len(homes), share))]
    says = (
        f"How many of {counted(len(homes), 'home')}, drawn at random, show with 95 % that at most a share has a defect, when none, one or two are found among them.",
        "Drawn at random means by lot from the whole list; homes that are easy to get into are no sample.",
    )
    return Section(
        "survey", "How many homes a survey needs", says, ("at most", "none found", "one found", "two found"), rows
    )


def _sizes(homes: int, share: float) -> tuple[str, ...] | None:
    if not homes:
        return None
    found = []
    for allowed in range(3):
        try:
            found.append(f"{sample_size(homes, share, 0.95, allowed):,}")
        except ValueError:
            found.append("all")
    return (f"{100 * share:g} %", *found)


ALL: tuple[Callable[[Looking], Section | None], ...] = (
    _overview,
    _codes,
    _deadlines,
    _homes(
        "bonds",
        "Bonds that no reading proves",
        "bond",
        "have a bond that no reading of the last visit proves",
        "gas-bond",
    ),
    _homes(
        "cpcs",
        "Protective conductors that no reading proves",
        "cpc",
        "have a circuit whose protective conductor no reading of the last visit proves",
    ),
    _homes(
        "flattered",
        "Satisfactory by a flattered Zs",
        "flattered",
        "were called satisfactory where only other metal brings Zs under its limit",
    ),
    _edition,
    _age,
    _unlike,
    _homes(
        "lapsed",
        "Instruments past their check",
        "lapsed",
        "were read with an instrument whose check had lapsed on the day",
    ),
    _defects,
    _survey,
)
_ORDER = (
    "overview",
    "codes",
    "deadlines",
    "bonds",
    "cpcs",
    "flattered",
    "edition",
    "age",
    "unlike",
    "lapsed",
    "defects",
    "survey",
)
NAMED = dict(zip(_ORDER, ALL, strict=True))


def first_rows(rows: Iterable[tuple[str, ...]], most: int) -> tuple[list[tuple[Any, ...]], int]:
    """The first rows, and how many more there are."""
    listed = list(rows)
    return listed[:most], max(0, len(listed) - most)
