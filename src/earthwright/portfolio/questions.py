"""Questions to a portfolio, each an expression written once over lazy frames; whatever engine there is works it out.

Everything compared is a whole number or a day. What comes out are numbers, codes and days; who asks turns them to words.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping

import narwhals.stable.v2 as nw
from attrs import frozen

from ..evidence.bond import PROVED
from ..outcomes.verdict import FAILS, NO_RULE
from ..site.particulars import SATISFACTORY
from .engines import Frame
from .tables import CODE, COUNT, DAY, KEY, MILLI, code

Tables = Mapping[str, Frame]
HOME = {"home": KEY, "visit": KEY, "day": DAY}
INT = nw.Int64
ALIKE = 5  # times that the same digits must come up before it is asked whether that is luck


@frozen
class Asked:
    """What a question may need beside the tables.

    today  the day of asking;  by  the last day that counts for what is due;  since  evidence from before it is old
    """

    today: dt.date
    by: dt.date
    since: dt.date


@frozen
class Question:
    """One question: its short name, the sentence, the kind of each column of the answer, and the expression.

    needs  a table that not every store has: ``home`` (a register was given) or ``change`` (judged again)
    about  what has to be said beside the answer;  first  what the answer is sorted by, ``-`` before it: largest first
    """

    name: str
    sentence: str
    columns: Mapping[str, str]
    ask: Callable[[Tables, Asked], Frame]
    needs: str = ""
    about: str = ""
    first: tuple[str, ...] = ()


def latest(t: Tables) -> Frame:
    """The last visit to each home: ``home, day, visit``. Of two on one day the one with the larger number."""
    every = t["visit"].select("home", "visit", "day")
    days = every.group_by("home").agg(nw.col("day").max())
    return every.join(days, on=["home", "day"]).group_by("home", "day").agg(nw.col("visit").max())


def _counted(frame: Frame, *by: str, name: str = "conductors") -> Frame:
    counted = frame.group_by(*by).agg(nw.len().alias(name))  # Dask casts only after it
    return counted.with_columns(nw.col(name).cast(INT))


def unproved(t: Tables, of: str, use: str = "") -> Frame:
    """Homes whose last visit does not prove a conductor of a kind, with how many of them."""
    open_ones = (
        t["verdict"].filter(nw.col("of") == code(of), nw.col("verdict") != code(PROVED)).select("visit", "thing")
    )
    if use:
        these = t["thing"].filter(nw.col("use") == code(use)).select("visit", "thing")
        open_ones = open_ones.join(these, on=["visit", "thing"])
    return _counted(latest(t).join(open_ones, on="visit"), "home", "visit", "day")


def flattered(t: Tables, asked: Asked) -> Frame:
    """Reports called satisfactory where a Zs meets its limit as read, while Ze and R1+R2 together exceed it."""
    zs = t["row"].filter(nw.col("test") == code("zs"), nw.col("slot") == 0, nw.col("value") <= nw.col("limit"))
    over = _counted(zs.filter(nw.col("ze") + nw.col("r1r2") > nw.col("limit")), "visit", name="circuits")
    called = t["visit"].filter(nw.col("said") == code(SATISFACTORY)).select("home", "visit", "day")
    return called.join(over, on="visit")


def due(t: Tables, asked: Asked) -> Frame:
    """What falls due by a day after the last visit to each home: the first day of each thing that is due."""
    listed = (
        t["duty"]
        .filter(nw.col("last_day") <= asked.by, nw.col("what") != code(KEEP))
        .select("visit", "what", "last_day")
    )
    return latest(t).select("home", "visit").join(listed, on="visit")


KEEP = "Keep the records of the work at least until then"


def newly_fails(t: Tables, asked: Asked) -> Frame:
    """Homes whose last visit has a row that fails when judged again, and did not fail before."""
    failing = (
        t["change"].filter(nw.col("new") == code(FAILS), nw.col("old") != code(FAILS)).select("visit", "test", "why")
    )
    return _counted(latest(t).join(failing, on="visit"), "home", "visit", "day", "test", "why", name="rows")


def open_codes(t: Tables, asked: Asked) -> Frame:
    """C1 and C2 that were found and neither remedied nor made harmless, from the last visit to each home."""
    o = t["observation"].filter(
        nw.col("open"), nw.col("code").is_in([code("C1"), code("C2")]), nw.col("found") <= asked.today
    )
    o = o.filter(~nw.col("stage").is_in([code("remedied"), code("made safe")]))
    return _counted(
        latest(t).select("home", "visit").join(o.select("visit", "code", "found"), on="visit"),
        "home",
        "visit",
        "code",
        "found",
        name="items",
    )


def lapsed(t: Tables, asked: Asked) -> Frame:
    """Visits with readings by an instrument whose check had lapsed on the day."""
    read = _counted(t["reading"].filter(nw.col("lapsed")), "visit", "instrument", name="readings")
    return t["visit"].select("home", "visit", "day").join(read, on="visit")


def old_evidence(t: Tables, asked: Asked) -> Frame:
    """Homes that were last looked at before a day."""
    return latest(t).filter(nw.col("day") < asked.since)


def never(t: Tables, asked: Asked) -> Frame:
    """Homes of the register without any visit."""
    return t["home"].select("home", "area", "built", "kind").join(t["visit"].select("home"), on="home", how="anti")


def no_rule(t: Tables, asked: Asked) -> Frame:
    """Visits that no edition of the rules judged."""
    return t["visit"].filter(nw.col("edition") == code(NO_RULE)).select("home", "visit", "day", "said")


def defects(t: Tables, asked: Asked) -> Frame:
    """Homes by area, decade and kind of building: how many were visited, and how many have a defect at the last visit.

    A defect: a row that fails, a conductor disproved, or a C1 or C2 that is open.
    """
    worst = [
        t["row"].filter(nw.col("whole") == code(FAILS)).select("visit"),
        t["verdict"].filter(nw.col("verdict") == code("disproved")).select("visit"),
        t["observation"].filter(nw.col("open"), nw.col("code").is_in([code("C1"), code("C2")])).select("visit"),
    ]
    bad = nw.concat(worst, how="vertical").unique().with_columns(nw.lit(1).cast(INT).alias("bad"))
    homes = (
        latest(t).join(t["home"], on="home").join(bad, on="visit", how="left").with_columns(nw.col("bad").fill_null(0))
    )
    found = homes.group_by("area", "built", "kind").agg(
        nw.len().alias("homes"), nw.col("bad").sum().alias("with_defect")
    )
    return found.with_columns(nw.col("homes").cast(INT), nw.col("with_defect").cast(INT))


def alike(who: str) -> Callable[[Tables, Asked], Frame]:
    """Digits that one inspector, firm or instrument reads again and again, beside how often the others read them."""

    def ask(t: Tables, asked: Asked) -> Frame:
        read = t["reading"].filter(nw.col("display") == code("value"), ~nw.col("refused"), ~nw.col("value").is_null())
        read = read.filter(nw.col("value") > 0)
        if who == "instrument":
            read = read.select("visit", "instrument", "test", "value")
        else:
            read = read.select("visit", "test", "value").join(t["visit"].select("visit", who), on="visit")
        read = read.filter(~nw.col(who).is_null())
        mine = _counted(read, who, "test", "value", name="times").filter(nw.col("times") >= ALIKE)
        mine = mine.join(_counted(read, who, "test", name="of"), on=[who, "test"])
        every = _counted(read, "test", "value", name="every_times")
        every = every.join(_counted(read, "test", name="every"), on="test")
        both = mine.join(every, on=["test", "value"])
        both = both.with_columns(
            (nw.col("every_times") - nw.col("times")).alias("others_times"),
            (nw.col("every") - nw.col("of")).alias("others_of"),
        )
        # Twice as often as the others at least: times / of > 2 × others_times / others_of, in whole numbers.
        often = nw.col("times") * nw.col("others_of") > 2 * nw.col("others_times") * nw.col("of")
        return both.filter(often, nw.col("others_of") > 0)

    return ask


def moved(t: Tables, asked: Asked) -> Frame:
    """What changes when judged again: how many rows and homes go from which outcome to which, by test, and why."""
    by = ("test", "old", "new", "why")
    rows = _counted(t["change"], *by, name="rows")
    homes = _counted(t["change"].select("home", *by).unique(), *by, name="homes")
    return rows.join(homes, on=list(by))


def _alike(who: str, whose: str) -> Question:
    return Question(
        f"alike-{who}",
        f"Which {whose} readings come up with the same digits far more often than the others'?",
        {
            who: KEY,
            "test": CODE,
            "value": MILLI,
            "times": COUNT,
            "of": COUNT,
            "others_times": COUNT,
            "others_of": COUNT,
        },
        alike(who),
        first=("-times",),
        about="It asks, it accuses nobody: alike homes give alike digits, and among many who are compared some stand out by luck alone.",
    )


QUESTIONS = {
    q.name: q
    for q in (
        Question("gas-bond", "Which homes have a gas bond that no reading proves?", {**HOME, "conductors": COUNT}, lambda t, _: unproved(t, "bond", "gas")),
        Question("bond", "Which homes have any bond that no reading proves?", {**HOME, "conductors": COUNT}, lambda t, _: unproved(t, "bond")),
        Question("cpc", "Which homes have a circuit whose protective conductor no reading proves?", {**HOME, "conductors": COUNT}, lambda t, _: unproved(t, "cpc")),
        Question(
            "flattered",
            "Which reports were satisfactory only because Zs was read with the bonds on?",
            {**HOME, "circuits": COUNT},
            flattered,
            about="Zs meets its limit as read, Ze and R1+R2 together do not: other metal carried part of the test current.",
        ),
        Question("due", "What falls due by then?", {"home": KEY, "visit": KEY, "last_day": DAY, "what": CODE}, due, first=("last_day",)),
        Question(
            "newly-fails",
            "Which would fail under the other edition and were fine before?",
            {**HOME, "test": CODE, "why": CODE, "rows": COUNT},
            newly_fails,
            "change",
            "Rules that change ask nothing of work that met those of its day by that alone; the inspector decides what follows.",
        ),
        Question("moved", "What changes under the other edition, in rows and homes?", {"test": CODE, "old": CODE, "new": CODE, "why": CODE, "rows": COUNT, "homes": COUNT}, moved, "change", first=("-homes", "-rows")),
        Question("open-codes", "Which C1 and C2 are open, and since when?", {"home": KEY, "visit": KEY, "code": CODE, "found": DAY, "items": COUNT}, open_codes, first=("found",)),
        Question("lapsed", "Which visits rest on an instrument whose check had lapsed?", {**HOME, "instrument": KEY, "readings": COUNT}, lapsed, first=("day",)),
        Question("old-evidence", "Which homes were last looked at before then?", HOME, old_evidence, first=("day",)),
        Question("never", "Which homes of the register were never inspected?", {"home": KEY, "area": CODE, "built": COUNT, "kind": CODE}, never, "home"),
        Question("no-rule", "Which reports are judged by no edition of the rules?", {**HOME, "said": CODE}, no_rule, first=("day",)),
        Question("defects", "How do defects lie by area, decade and kind of building?", {"area": CODE, "built": COUNT, "kind": CODE, "homes": COUNT, "with_defect": COUNT}, defects, "home", first=("area", "built")),
        _alike("inspector", "inspector's"),
        _alike("firm", "firm's"),
        _alike("instrument", "instrument's"),
    )
}  # fmt: skip
