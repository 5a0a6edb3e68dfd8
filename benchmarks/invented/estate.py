"""An invented housing association: homes over ten years, with what is true of each planted and written down beside the books.

What a home is planted with follows from its number alone; the answers to the questions follow from the plan, never from what
the program says. Places, people and firms are invented. Every reading follows from lengths and sizes of the plan.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from attrs import define, field

from earthwright.records.booktext import as_toml

VILLAGES = ("Marlfield", "Oxlow Quay", "Nether Sallow", "Harrowby Marsh")
KINDS = ("house", "flat", "bungalow")
TODAY = dt.date(2026, 11, 28)
UNSATISFACTORY = frozenset({"C2 open", "gas open"})  # plants that the inspector saw
CHRISTMAS = dt.date(2026, 12, 25)
# mΩ/m at 20 °C (IEC 60228 class 2), a little better than the most it may be.
MOHM = {1.0: 17.6, 1.5: 11.8, 2.5: 7.2, 4.0: 4.5, 6.0: 3.0, 10.0: 1.78}


@define
class Home:
    """One home: its number and place, what is planted, and when it was inspected."""

    number: int
    place: str
    area: str
    decade: int
    kind: str
    plants: frozenset[str]
    days: tuple[dt.date, ...]


@define
class Estate:
    """The homes, the text of each visit book by name, and the answer to each question as places of homes (or counts)."""

    homes: list[Home] = field(factory=list)
    books: dict[str, str] = field(factory=dict)
    truth: dict[str, Any] = field(factory=dict)

    def register(self) -> str:
        """The association's own list of homes, as CSV."""
        lines = ["place,area,built,kind"]
        lines += [f'"{h.place}",{h.area},{h.decade},{h.kind}' for h in self.homes]
        return "\n".join(lines) + "\n"


def plants_of(i: int) -> frozenset[str]:
    """What is planted in a home, by its number: each with a period of its own, so that every combination comes up."""
    periods = {
        "gas together only": (7, 3), "gas open": (13, 5), "gas proved before": (14, 3), "no gas": (6, 1), "flattered": (9, 4), "cpc not read": (8, 2),
        "due": (10, 7), "overdue": (25, 11), "C2 open": (11, 6), "C1 made harmless": (33, 8), "C2 remedied": (12, 9), "lapsed": (10, 4),
        "old": (16, 12), "never": (20, 19), "broken": (40, 33), "before all rules": (17, 10),
    }  # fmt: skip
    return frozenset(name for name, (period, at) in periods.items() if i % period == at)


def estate(count: int) -> Estate:
    """So many homes with everything planted."""
    made = Estate()
    for i in range(count):
        plants = plants_of(i)
        area = VILLAGES[i % len(VILLAGES)]
        if "never" in plants:
            days: tuple[dt.date, ...] = ()
        elif "old" in plants:
            days = (dt.date(2017, 5, 1 + i % 28),)
        else:
            first = 2007 if "before all rules" in plants else 2019 + i % 3
            days = (dt.date(first, 3, 1 + i % 28), dt.date(2024 + i % 3, 1 + i % 10, 1 + i % 28))
        home = Home(i, f"{i + 1} Invented Row, {area}", area, 1900 + 10 * (i % 12), KINDS[i % 3], plants, days)
        made.homes.append(home)
        for n, day in enumerate(days):
            made.books[f"{i:05d}-{n}.toml"] = book(home, day, last=n == len(days) - 1)
    made.truth = _truth(made.homes)
    return made


def at_last(h: Home) -> frozenset[str]:
    """What shows at the last visit that can be read."""
    return at_first(h) if "broken" in h.plants else h.plants


def at_first(h: Home) -> frozenset[str]:
    """What shows at an earlier visit."""
    return frozenset() if "gas proved before" in h.plants else frozenset({"gas together only"})


def _truth(homes: list[Home]) -> dict[str, Any]:
    seen = [h for h in homes if h.days]

    def places(*plants: str, but: frozenset[str] = frozenset()) -> set[str]:
        return {h.place for h in seen if at_last(h) & set(plants) and not at_last(h) & but}

    last = {h.place: h.days[0 if "broken" in h.plants else -1] for h in seen}
    return {
        "gas-bond": places("gas together only", "gas open") - {h.place for h in seen if "no gas" in h.plants},
        "flattered": places("flattered", but=UNSATISFACTORY),
        "due": places("due", "overdue"),
        "newly-fails": places("old"),
        "cpc": places("cpc not read", "flattered"),
        "open-codes": places("C2 open"),
        "lapsed": places("lapsed"),
        "old-evidence": {place for place, day in last.items() if day < dt.date(2021, 11, 28)},
        "never": {h.place for h in homes if not h.days},
        "before all rules": {h.place for h in seen if h.days[0].year < 2008},
        "odd-inspector": "A. Habit",
    }


def book(h: Home, day: dt.date, *, last: bool) -> str:
    """The visit book of one visit to a home. What is planted shows at the last visit only, but for what says otherwise."""
    if last and "broken" in h.plants:
        return f'[visit]\nplace = "{h.place}"\ndate = "no day"\n'
    p = h.plants if last else at_first(h)
    inspector = "A. Habit" if h.number % 5 == 0 else ("B. Careful", "C. Steady", "D. Patient")[h.number % 3]
    valid = day - dt.timedelta(days=40) if "lapsed" in p else day + dt.timedelta(days=200)
    tables: dict[str, Any] = {
        "visit": {"place": h.place, "date": day, "kind": "periodic", "inspector": inspector, "firm": "Invented Electrical", "temp_c": 20},
        "supply": {"system": "TN-C-S", "pme": True, "neutral_at_most_mm2": 35, "earthing_mm2": 16, "line_mm2": 25, "fuse_a": 80},
        "report": _report(h, day, p),
        "instrument": [
            {"id": "tester", "name": "multifunction", "serial": f"00{h.number % 4}", "valid_until": valid}
        ],
        "leads": [{"id": "long", "allowed": "nulled", "null_ohm": 0.21}],
        "part": [{"id": "water", "kind": "water"}, *([] if "no gas" in h.plants else [{"id": "gas", "kind": "gas"}])],
        "bond": [
            {"part": name, "csa_mm2": 10, "length_m": metres, "length_tol_m": 1}
            for name, metres in _bonds(h)
        ],
        "board": [{"id": "db1"}],
        "circuit": [_circuit(*c, old="old" in h.plants) for c in CIRCUITS],
        "step": list(_steps(h, p)),
    }  # fmt: skip
    if seen := list(_observations(h, day, p)):
        tables["observation"] = seen
    return as_toml(_exact(tables), "Invented.")


def _exact(value: Any) -> Any:
    """The same with decimals in place of floats, as they are written down."""
    if isinstance(value, dict):
        return {k: _exact(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_exact(v) for v in value]
    return Decimal(str(value)) if isinstance(value, float) else value


def _bonds(h: Home) -> list[tuple[str, int]]:
    return [("water", 6 + h.number % 9), *([] if "no gas" in h.plants else [("gas", 18 + h.number % 7)])]


# id, use, device, line, cpc, metres
CIRCUITS = (
    ("c1", "sockets", "B32", 4.0, 2.5, 24),
    ("c2", "sockets", "B20", 2.5, 1.5, 22),
    ("c3", "lighting", "B6", 1.5, 1.0, 35),
)


def _circuit(name: str, use: str, device: str, line: float, cpc: float, metres: int, *, old: bool) -> dict[str, Any]:
    # A lighting circuit of a home without a residual current device is what later editions ask for and earlier ones did not.
    rcd = {} if old and use == "lighting" else {"rcd_type": "A", "rcd_ma": 30}
    standard = "BS EN 61009" if rcd else "BS EN 60898"
    return {
        "id": name, "board": "db1", "name": use, "use": use, "device": {"standard": standard, "type": device[0], "rating_a": int(device[1:])},
        "line_mm2": line, "cpc_mm2": cpc, "length_m": metres, "length_tol_m": 1, **rcd,
    }  # fmt: skip


def _report(h: Home, day: dt.date, p: frozenset[str]) -> dict[str, Any]:
    next_by = day.replace(year=day.year + 10) if day.year < 2024 else dt.date(2031, 1, 5)
    if "due" in p:
        next_by = dt.date(2026, 12, 3 + h.number % 20)
    if "overdue" in p:
        next_by = dt.date(2026, 9, 1)
    return {
        "premises": h.kind, "overall": "unsatisfactory" if p & UNSATISFACTORY else "satisfactory", "next_by": next_by,
        "next_reason": "as agreed", "rented": False,
    }  # fmt: skip


def _observations(h: Home, day: dt.date, p: frozenset[str]) -> Iterator[dict[str, Any]]:
    later = day + dt.timedelta(days=20)
    for plant, code, stages in (
        ("C2 open", "C2", []),
        (
            "C2 remedied",
            "C2",
            [{"stage": "remedied", "on": later}, {"stage": "confirmed", "on": later, "seen": "cover fitted"}],
        ),
        (
            "C1 made harmless",
            "C1",
            [
                {"stage": "made safe", "on": day},
                {"stage": "confirmed", "on": later, "seen": "cover fitted"},
            ],
        ),
    ):
        if plant in p:
            yield {
                "id": f"o-{plant[:2]}{len(stages)}",
                "what": "invented: a cover is broken",
                "where": "hall",
                "code": code,
                "then": stages,
            }


def _steps(h: Home, p: frozenset[str]) -> Iterator[dict[str, Any]]:
    for name, _ in _bonds(h):
        yield {"clamp": name, "shown": "0.02", "load": "main switch on"}
    for stage in ("locked", "tester proved", "dead", "tester proved again"):
        yield {"isolated": stage}
    for name, _ in _bonds(h):
        yield {"clamp": name, "shown": "0.00", "load": "main switch off"}
    yield {"check": "shorted", "leads": "long", "shown": "0.00", "instrument": "tester"}
    yield {"check": "open", "leads": "long", "shown": "over-range", "instrument": "tester"}
    with_ = {"leads": "long", "instrument": "tester"}
    for name, metres in _bonds(h):
        digits = f"{metres * MOHM[10.0] / 1000:.2f}"
        if name == "gas" and "gas together only" in p:
            yield {"read": "together", "bond": name, "shown": "0.02", **with_}
            continue
        whole = not (name == "gas" and "gas open" in p)
        yield {"off": name, "read": "conductor", "bond": name, "shown": digits if whole else "over-range", **with_}
        yield {"read": "path", "bond": name, "shown": "0.31", **with_}
        yield {"on": name, "read": "together", "bond": name, "shown": digits if whole else "0.31", **with_}
        yield {"read": "joint", "bond": name, "shown": "0.00", **with_}
    for name, _, _, line, cpc, metres in CIRCUITS:
        ends = _ends(name, line, cpc, metres, p)
        tests: dict[str, str] = {"insulation LN-E": ">299", "polarity": "good"}
        if not (name == "c2" and "cpc not read" in p):
            tests |= {"r1r2": f"{ends:.2f}"}
        yield {"of": name, "test_v": 500, **with_, "tests": tests}
    yield {"check": "shorted", "leads": "long", "shown": "0.00", "instrument": "tester"}
    yield {"isolated": "restored"}
    yield {"read": "ze", "method": "two-lead", "shown": "0.21", "instrument": "tester"}
    yield {"read": "fault current", "of": "origin", "between": "L-E", "shown": "1.1", "instrument": "tester"}
    for name, _, _, line, cpc, metres in CIRCUITS:
        loop = 0.21 + (0.5 if name == "c1" and "flattered" in p else _ends(name, line, cpc, metres, p))
        trip = (
            "19.0"
            if h.number % 5 == 0
            else f"{17 + (h.number * 7 + ord(name[1]) * 3) % 18}.{(h.number * 3 + ord(name[1])) % 10}"
        )
        tests = {"zs two-lead": f"{loop:.2f}"}
        if not ("old" in h.plants and name == "c3"):
            tests |= {"rcd x1": trip, "rcd button": "good"}
        yield {"of": name, "instrument": "tester", "tests": tests}


def _ends(name: str, line: float, cpc: float, metres: int, p: frozenset[str]) -> float:
    """R1+R2 of a circuit [Ω]; of the flattered one, whose cpc has a poor joint, 1.3 Ω more than its length gives."""
    return metres * (MOHM[line] + MOHM[cpc]) / 1000 + (1.3 if name == "c1" and "flattered" in p else 0.0)
