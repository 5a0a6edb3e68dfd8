"""Draws of the whole network, given all readings, with the standard library only and a fixed seed.

Networks are drawn by importance sampling; some of them, as often as their weights say, then go a few rounds over bonds
and links, so that what the proposal missed is found. What is averaged is not the draws but the exact weights of the
hypotheses at each bond with the rest of the network held still: a hypothesis of one in a million is seen without being
drawn once, and where no link joins the parts every round gives the same exact answer. All of it is done in separate
batches; how far they lie apart is the stated error.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

from attrs import frozen

from .chain import Chain, Tally
from .moves import bond_and_link, move_links
from .network import Net
from .proposal import Outlook, propose
from .tables import as_stated


@frozen
class Batch:
    """One batch: its mean weight (ln), the share of its draws that counted, and what was added up over its rounds."""

    ln_weight: float
    useful: float
    tally: Tally


# Whoever makes the draws in place of this process: a list of batches, or Elsewhere is raised until they are there.
made_by: Callable[[Net], list[Batch]] | None = None


def run(net: Net) -> list[Batch]:
    """All batches. Each has a seed of its own, so that they may be made one by one, anywhere, with the same digits."""
    if made_by is not None:
        return made_by(net)
    outlook = Outlook(net)
    return [batch(net, outlook, number) for number in range(net.model.batches)]


def batch(net: Net, outlook: Outlook, number: int) -> Batch:
    """One batch by its number, from 0."""
    model = net.model
    draw = random.Random(f"{model.seed}.{number}")
    count, followed = model.effort(len(net.at))
    chain, tally = Chain(net, draw), Tally(net)
    drawn = []
    for _ in range(count):
        weight = propose(chain, outlook)
        drawn.append((weight, list(chain.c), list(chain.y)))
    top = max(w for w, _, _ in drawn)
    weights = [math.exp(w - top) for w, _, _ in drawn]
    total = math.fsum(weights)
    upto, place = weights[0], 0
    foot = draw.random()
    for k in range(followed):
        while upto < (k + foot) / followed * total and place < len(weights) - 1:
            place += 1
            upto += weights[place]
        chain.c, chain.y = list(drawn[place][1]), list(drawn[place][2])
        for _ in range(model.rounds):
            one_round(chain, tally)
    useful = total * total / math.fsum(w * w for w in weights) / len(weights)
    return Batch(top + math.log(total / len(weights)), useful, tally)


def one_round(chain: Chain, tally: Tally) -> None:
    """Every bond, every link, some exchanges; added to the tally."""
    net = chain.net
    chain.refresh()
    for i in range(len(net.at)):
        chain.pair(i, tally)
        if near := [e for e in chain.joined if net.at[i] in (net.strays[e].a, net.strays[e].b)]:
            bond_and_link(chain, i, chain.draw.choice(near))
    move_links(chain)
    for kept, y in zip(tally.links, chain.y, strict=True):
        kept.append(1.0 / y if y else math.inf)
    for shares, (i, state), reading in zip(tally.stated, net.read_at, net.data.readings, strict=True):
        c = net.copper[i].ohm[chain.c[i]]
        shares.append(as_stated(reading.observed, c, chain.path(i, state), net.model.bond))
