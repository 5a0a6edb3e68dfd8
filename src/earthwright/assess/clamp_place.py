"""Where the clamp of a main bond sits and of which class it is (544.1.2): only what is entered is judged."""

from __future__ import annotations

import re
from collections.abc import Iterator

from attrs import frozen

from ..base.errors import Finding, NoRule
from ..base.quantity import exact
from ..outcomes.assessment import SIDE
from ..outcomes.verdict import FAILS, MEETS, Judged, judge
from ..rules import Edition, RuleValue, cited
from ..site.installation import SIDES, Bond, Part

CONSUMER, SUPPLIER = SIDES
_SIDE = r" side of (the |a |its )?(\w+ ){0,2}(meter|insert|insulating|plastic)"
_SUPPLIER = re.compile(
    rf"\b(street|supply|suppliers?'?s?|incoming|network|transporter'?s?){_SIDE}"
    r"|\b(before|upstream of) (the |a |its )?(\w+ ){0,2}(meter|insert)\b",
    re.IGNORECASE,
)
_CONSUMER = re.compile(
    rf"\bconsumer'?s? side\b|\b(house|customer'?s?|outlet){_SIDE}|\b(after|past|downstream of) (the |a |its )?(\w+ ){{0,2}}(meter|insert)\b|\bmeter outlet\b",
    re.IGNORECASE,
)
_AFTER = re.compile(r"\b(after|past|beyond|downstream of) (the |a |any |its )?(first )?(branch|tee)\b", re.IGNORECASE)
_BEFORE = re.compile(r"\bbefore (the |a |any |its )?(first )?(branch|tee)\b", re.IGNORECASE)
_DISTANCE = re.compile(
    r"\b(\d+(?:\.\d+)?) ?(mm|m)\b (from|after|past|of|downstream of) (the |its )?(\w+ )?meter", re.IGNORECASE
)
_DAMP = re.compile(r"\b(wet|damp|pit|outdoors?|outside|buried|soil|corrosi\w+|garden)\b", re.IGNORECASE)

_MOVE = "Move it, or note why it is not practicable; nothing is clamped to another's pipe without the owner."


@frozen
class Place:
    """Where a clamp sits as far as it is known: side of the meter or insert, before the first branch, metres from the meter."""

    side: str
    before_branch: bool | None
    from_meter_m: float | None


def place_of(bond: Bond) -> Place:
    """As entered in its fields, else as its position says it in words."""
    said = bond.position
    side = bond.side or (SUPPLIER if _SUPPLIER.search(said) else CONSUMER if _CONSUMER.search(said) else "")
    before = bond.before_branch
    if before is None and (_AFTER.search(said) or _BEFORE.search(said)):
        before = not _AFTER.search(said)
    metres, found = bond.from_meter_m, _DISTANCE.search(said)
    if metres is None and found:
        metres = float(found.group(1)) / (1000.0 if found.group(2).lower() == "mm" else 1.0)
    return Place(side, before, metres)


def place_judged(wiring: Edition | None, bond: Bond, part: Part) -> tuple[Judged, ...]:
    """What is known of the place and the clamp of a main bond against the rules; nothing where nothing is known."""
    if wiring is None or bond.supplementary:
        return ()
    return tuple(
        j for rule in (_side, _branch, _distance, _clamp) if (j := _held(rule, wiring, bond, part)) is not None
    )


def _held(rule: object, wiring: Edition, bond: Bond, part: Part) -> Judged | None:
    try:
        return rule(wiring, bond, part)  # type: ignore[operator,no-any-return]
    except NoRule:
        return None  # an edition without that rule asks nothing


def _row(wiring: Edition) -> RuleValue:
    return wiring.table("bond.position").look()


def _said(wiring: Edition, what: str, good: bool, why: str) -> Judged:
    limit = _row(wiring).as_limit("max", what)
    word = MEETS if good else FAILS
    return Judged(word, limit, simple=word, guarded=word, why=why)


def _side(wiring: Edition, bond: Bond, part: Part) -> Judged | None:
    side = place_of(bond).side
    if not side:
        return None
    why = "The clamp is on the consumer's side"
    if side == SUPPLIER:
        whose = f", on pipe of the {part.owner}" if part.owner else ""
        insert = ", so the insert parts the pipework of the house from it" if part.plastic_section_m else ""
        why = f"The clamp is not on the consumer's side of the meter or insert{whose}{insert}"
    return _said(wiring, SIDE, side == CONSUMER, why)


def _branch(wiring: Edition, bond: Bond, _part: Part) -> Judged | None:
    before = place_of(bond).before_branch
    if before is None:
        return None
    return _said(
        wiring, "clamp before the first branch", before, f"The clamp is {'before' if before else 'after'} a branch"
    )


def _distance(wiring: Edition, bond: Bond, _part: Part) -> Judged | None:
    metres = place_of(bond).from_meter_m
    if metres is None:
        return None
    return judge(
        exact(metres, "m"), _row(wiring).as_limit("max", "distance of the clamp from the meter, where practicable")
    )


def _clamp(wiring: Edition, bond: Bond, _part: Part) -> Judged | None:
    if not _DAMP.search(bond.position):
        return None
    said = bond.clamp.lower()
    row = next((r for r in wiring.table("bond.clamp").all() if re.search(rf"\b{r.keys['class']}\b", said)), None)
    if row is None:
        return None
    good = row.flag("suits_damp")
    word = MEETS if good else FAILS
    why = f"A clamp of class {row.keys['class']} ({row.note}) in a damp place ({bond.position}) [{row.clause}]"
    return Judged(word, None, simple=word, guarded=word, why=why)


def place_findings(bond: Bond, part: Part, judged: tuple[Judged, ...], wiring: Edition | None) -> Iterator[Finding]:
    """A warning for what does not keep the place; a note where a part of somebody else's is clamped nobody says on which side."""
    for j in judged:
        if j.outcome == FAILS:
            yield Finding.of(
                "bond.place",
                f"bond {bond.id}, clamp",
                f"{j.why or (j.limit.what if j.limit else 'Its place')}.",
                bond.id,
                f"{j.limit.value:g} m of the meter, before any branch, on the consumer's hard metal pipe [{j.limit.clause}]"
                if j.limit
                else "a clamp that suits its place",
                bond.position or "as entered",
                _MOVE if j.limit else "Fit a clamp made for damp or corrosive places (blue or green label).",
            )
    if part.owner and not place_of(bond).side and not bond.supplementary:
        yield Finding.of(
            "bond.owner",
            f"bond {bond.id}, clamp",
            f"The {part.title} belongs to the {part.owner}, and on which side of the meter the clamp sits is not entered.",
            bond.id,
            f"on the consumer's side{cited(wiring, 'bond.place')}",
            bond.position or "nothing",
            'Look, and enter side = "consumer" or "supplier".',
        )
