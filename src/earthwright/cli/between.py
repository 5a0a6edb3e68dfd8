"""What a test between two places of the earth network should show, and which breaks it could show, before it is made."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from ..assess.earth import Earth
from ..assess.parallels import paths_read, reach_as_read
from ..assess.rulings import Rulings
from ..base.display import Display
from ..evidence.graph import EarthNetworkError, Reach
from ..evidence.graph.words import losses_words, reach_words, shown_words, then_words
from ..report.words import CAUTION_LINE
from ..site.ledger import state_now
from ..site.visit import Visit
from .main import main
from .screen import paragraph
from .visits import VISIT, done, needed


@main.command()
@VISIT
@click.argument("a")
@click.argument("b")
@click.option("--off", multiple=True, help="An end that is off: gas, c3:cpc, db2:earth … Again for each.")
@click.option("--now", is_flag=True, help="With what is off at the end of the visit book.")
@click.option("--step", default=0.01, show_default=True, help="One digit of the display [Ω].")
@click.option("--json", "as_json", is_flag=True, help="The same as JSON.")
def between(visit: Path, a: str, b: str, off: tuple[str, ...], now: bool, step: float, as_json: bool) -> None:
    """What a continuity test from A to B should show, and which breaks it could show.

    A and B are the MET, a part, a board, a circuit (its furthest point) or a point of it: c5@boiler.
    """
    assessment = needed(visit)
    judged = assessment.visit
    if not 0.0001 <= step <= 1.0:
        raise click.UsageError(f"--step: expected 0.0001 to 1 Ω, found {step:g}.")
    display = Display(step=step, top=max(step * 9999.0, 9.999))
    earth = Earth.of(judged, Rulings(judged))
    gone = frozenset(off) | (state_now(judged.events).off if now else frozenset())
    unknown = sorted(set(off) - earth.network.ends)
    if unknown:
        known = ", ".join(sorted(earth.network.ends))
        raise click.UsageError(
            f"--off: no conductor of the earth network is called {' or '.join(map(repr, unknown))}. Known: {known}"
        )
    try:
        reach = reach_as_read(earth, gone, a, b, display, paths_read(assessment, earth))
    except EarthNetworkError as error:
        raise click.UsageError(str(error)) from error
    if as_json:
        click.echo(json.dumps(_data(reach, display, judged), ensure_ascii=False, indent=1))
        sys.exit(done(assessment))
    for line in reach_words(reach, display):
        paragraph(line, indent="")
    taken = losses_words(earth.network, (), gone) if gone else ""
    if taken:
        click.echo()
        paragraph(f"{taken} Isolate and lock off all of it first.", indent="")
    click.echo()
    paragraph(CAUTION_LINE, indent="")
    sys.exit(done(assessment))


def _data(reach: Reach, display: Display, visit: Visit) -> dict[str, object]:
    def ends(band: object) -> object:
        low, high = getattr(band, "low", None), getattr(band, "high", None)
        return None if band is None else {"low_ohm": low, "high_ohm": None if high == float("inf") else high}

    return {
        "place": visit.site.place,
        "a": reach.a.id,
        "b": reach.b.id,
        "off": sorted(reach.off),
        "joined": reach.band is not None,
        "expected": ends(reach.band if reach.band is not None else reach.read),
        "display": shown_words(reach, display),
        "other_metal_may_lower_it": reach.lower,
        "breaks": [
            {
                "kind": x.kind,
                "of": x.of,
                "share": round(x.share, 6),
                "then": ends(x.band),
                "display": then_words(x, display),
                "shows": x.shows,
                "known": x.shows is not None,
                "readings": list(x.rests),
            }
            for x in reach.breaks
        ],
    }
