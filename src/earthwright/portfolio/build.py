"""Build a portfolio: judge what is new, keep what was judged, bring it into the tables."""

from __future__ import annotations

from collections.abc import Callable

from attrs import frozen

from ..base.errors import EarthwrightError
from .keys import Keys
from .running import LONGEST_S, Runner, run
from .sources import AsIf, Job, Part, failed, judge, source_of
from .store import BATCH, Store


@frozen
class Built:
    """What a build did. ``new``: visits judged now;  taken_up: judged by a build that was stopped;  gone: taken out

    failed  visits that gave no result, by name, with the reason and what was said
    """

    new: int
    taken_up: int
    gone: int
    failed: tuple[tuple[str, str, str], ...]


def build(
    where: str,
    store: Store,
    *,
    processes: int,
    as_if: AsIf | None = None,
    keys: Keys | None = None,
    longest_s: float = LONGEST_S,
    tell: Callable[[int, int], None] = lambda done, of: None,
    runner: Runner | None = None,
    anew: bool = False,
) -> Built:
    """Bring a store up to what a folder or journal holds. ``tell``: called with how many of how many are done.

    runner  does the jobs elsewhere, on a cluster; none: processes of this machine
    anew    judge what is known already as well, as after an upgrade of the program
    Raises EarthwrightError when the store was built under other rules, or from somewhere else: it would lose everything;
    or when somebody else is writing to it.
    """
    with store.alone():
        as_if = as_if or AsIf()
        about = {"judged": as_if.said}
        if store.there and (before := store.said()).get("judged") != about["judged"]:
            raise EarthwrightError(
                f"{store.folder} was judged {before.get('judged')}, not {about['judged']}. Name another folder."
            )
        keys = keys or store.keys(create=True)
        known = store.known()
        new, gone = source_of(where).new(known)
        if known and len(gone) == len(known):
            raise EarthwrightError(
                f"None of the {len(known):,} visits in {store.folder} is in {where}. Is it another folder? Nothing was changed."
            )
        new = source_of(where).new({})[0] if anew else new
        begun = store.begun()
        jobs = [Job(where, n, s, keys, as_if) for n, s in new.items() if begun.get(n) != s]
        batch: list[Part] = []
        lost: list[tuple[str, str, str]] = []
        tell(0, len(jobs))
        try:
            for count, done in enumerate(runner(judge, jobs) if runner else run(judge, jobs, processes, longest_s), 1):
                part = done.result if done.result is not None else failed(done.job, done.why, done.said)
                if not part.year:
                    lost.append((part.name, next(iter(part.words)), part.said))
                batch.append(part)
                if len(batch) >= BATCH:
                    store.keep_part(batch)
                    batch = []
                tell(count, len(jobs))
        finally:
            if batch:
                store.keep_part(batch)
        if jobs or begun or gone or not store.there:
            store.finish(new, gone, about)
        return Built(len(jobs), len(new) - len(jobs), len(gone), tuple(lost))
