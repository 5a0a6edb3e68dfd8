"""Judge every visit again under another edition, on another day or by another decision rule, and say what moved and why."""

from __future__ import annotations

from collections.abc import Callable

import narwhals.stable.v2 as nw

from ..base.errors import EarthwrightError
from ..outcomes.verdict import NO_RULE
from ..rules import RuleBook
from ..rules.lookup import WIRING
from .build import Built, build
from .engines import Frame, Frames
from .running import LONGEST_S, Runner
from .sources import AsIf
from .store import Store
from .tables import CHANGE, code

NEW_RULE, NO_RULE_NOW, OTHER_LIMIT, OTHER_REASON, NO_ROW = (
    "there is a rule now where there was none", "there is no rule any more", "the limit is another", "the limit is the same",
    "no row",
)  # fmt: skip
ROW_NEW, ROW_GONE = "it was not asked for before", "it is not asked for any more"
WAIT_S = 600.0  # for a build that is going on, before hours of judging come to nothing
_ROW = ("visit", "thing", "test", "point")


def judge_again(
    where: str,
    store: Store,
    as_if: AsIf,
    *,
    processes: int,
    longest_s: float = LONGEST_S,
    tell: Callable[[int, int], None] = lambda done, of: None,
    runner: Runner | None = None,
) -> tuple[Store, Built]:
    """Judge what ``store`` was built from under other rules, into a store inside it, and write the table of changes.

    Raises EarthwrightError for an edition that the data do not know, or a store without tables.
    """
    known = [e.edition for e in RuleBook.load().of(WIRING)]
    if as_if.edition and as_if.edition not in known:
        raise EarthwrightError(
            f"There is no edition '{as_if.edition}' of {WIRING} in the data; there are: {', '.join(known)}."
        )
    if as_if == AsIf():
        raise EarthwrightError("Say under what: an edition, a day or a decision rule.")
    store.said()
    other = store.again(as_if.name)
    made = build(
        where, other, processes=processes, as_if=as_if, keys=store.keys(), longest_s=longest_s, tell=tell, runner=runner
    )
    with other.alone(WAIT_S), store.alone(WAIT_S):  # else a build changes one table while the next is read
        words = {NEW_RULE, NO_RULE_NOW, OTHER_LIMIT, OTHER_REASON, NO_ROW, ROW_NEW, ROW_GONE}
        other.put("change", nw.to_native(changes(Frames(store), Frames(other))).collect(), words)
    return other, made


def changes(old: Frames, new: Frames) -> Frame:
    """Every row and verdict that is another, with what made the difference."""
    rows = _moved(_rows(old), _rows(new))
    verdicts = _moved(_verdicts(old), _verdicts(new))
    homes = old["visit"].select("visit", "year", "home")
    both = nw.concat([rows, verdicts], how="vertical")
    return both.join(homes, on="visit").select(*CHANGE.names).sort("visit", "thing", "test", "point")


def _rows(t: Frames) -> Frame:
    rows = t["row"].filter(nw.col("slot") == 0)
    return rows.select(*_ROW, nw.col("whole").alias("outcome"), "limit", "unit")


def _verdicts(t: Frames) -> Frame:
    none = nw.lit(None)
    point, limit, unit = (none.cast(nw.Int32).alias(n) for n in ("point", "limit", "unit"))
    verdicts = t["verdict"].select("visit", "thing", nw.col("of").alias("test"), nw.col("verdict").alias("outcome"))
    return verdicts.with_columns(point.fill_null(0), limit, unit).select(*_ROW, "outcome", "limit", "unit")


def _moved(old: Frame, new: Frame) -> Frame:
    """Old beside new where the outcome is another. A thing without a number (the visit as a whole) stands as -1 meanwhile."""
    old, new = (f.with_columns(nw.col("thing").fill_null(-1)) for f in (old, new))
    before = old.rename({"outcome": "old", "limit": "old_limit", "unit": "old_unit"})
    after = new.rename({"outcome": "new", "limit": "new_limit"})
    both = before.join(after, on=list(_ROW))
    no_rule = code(NO_RULE)
    same = (nw.col("old_limit") == nw.col("new_limit")).fill_null(False)
    why = (
        nw.when(nw.col("old") == no_rule).then(nw.lit(code(NEW_RULE), nw.Int32))
        .otherwise(nw.when(nw.col("new") == no_rule).then(nw.lit(code(NO_RULE_NOW), nw.Int32))
        .otherwise(nw.when(same).then(nw.lit(code(OTHER_REASON), nw.Int32)).otherwise(nw.lit(code(OTHER_LIMIT), nw.Int32))))
    )  # fmt: skip
    changed = both.filter(nw.col("old") != nw.col("new")).with_columns(
        why.alias("why"), nw.coalesce("unit", "old_unit").alias("unit")
    )
    absent = nw.lit(code(NO_ROW), nw.Int32)
    gone = before.join(after, on=list(_ROW), how="anti").with_columns(
        absent.alias("new"), nw.lit(None).cast(nw.Int32).alias("new_limit"), nw.col("old_unit").alias("unit"),
        nw.lit(code(ROW_GONE), nw.Int32).alias("why"),
    )  # fmt: skip
    came = after.join(before, on=list(_ROW), how="anti").with_columns(
        absent.alias("old"),
        nw.lit(None).cast(nw.Int32).alias("old_limit"),
        nw.lit(code(ROW_NEW), nw.Int32).alias("why"),
    )
    columns = (*_ROW, "old", "new", "why", "old_limit", "new_limit", "unit")
    return nw.concat([f.select(*columns) for f in (changed, gone, came)], how="vertical")
