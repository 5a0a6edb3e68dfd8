"""What a fault means to somebody who lives there: one catalogue by kind of fault, in words that need no trade.

The wording is ours and rests on no published source: what can follow from a fault is common knowledge of the trade.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from ..site.inspection import lines_of
from .coding import Proposed
from .observations import Thread, urgency
from .stops import PLAIN

ELECTRICIAN = "a trained electrician. Do not try it yourself."
NETWORK_FIRM = "the firm that runs the electricity network. Phone 105, it is free. Do not touch it yourself."


@frozen
class Kind:
    """One kind of fault.

    found  what was found;  means  what can follow;  until  what to do or leave until it is put right;  who  may deal with it
    """

    found: str
    means: str
    until: str = ""
    who: str = ELECTRICIAN


_EARTH_TO_PIPES = "If something else goes wrong, pipes and taps could give you a shock."
_METAL_CASES = "Until then, unplug things with a metal case there."
_OUTDOORS = "Until then, do not use plug-in tools outside."
_HOT = "If it feels hot, buzzes or smells, turn off the main switch and call an electrician."

KINDS: dict[str, Kind] = {
    "bond broken": Kind("An earth wire to a metal pipe is broken or loose.", _EARTH_TO_PIPES),
    "bond in doubt": Kind(
        "We could not tell if an earth wire to a metal pipe is whole.", f"It may be broken. {_EARTH_TO_PIPES}"
    ),
    "bond joint": Kind(
        "An earth wire is not held well where it joins a pipe.",
        "A loose joint gets worse. One day the pipe could give you a shock.",
    ),
    "bond thin": Kind(
        "An earth wire to a metal pipe is thinner than it should be.",
        "In a bad fault it could get too hot, or fail to keep you from a shock.",
    ),
    "bond place": Kind(
        "An earth clamp sits in the wrong place on a pipe.",
        "Work on the pipe could cut off the earth, and nobody would know.",
    ),
    "bond missing": Kind("A metal pipe has no earth wire, and it needs one.", _EARTH_TO_PIPES),
    "bond asked": Kind(
        "We could not tell if a metal pipe needs an earth wire.", f"If it needs one, it has none. {_EARTH_TO_PIPES}"
    ),
    "earth label": Kind(
        "A warning label on an earth clamp is missing.",
        "Somebody could take off the clamp and not know that lives depend on it.",
    ),
    "earth at the supply": Kind(
        "The main earth of this home does not work as it should.",
        "In a fault, all metal parts in the home could give you a shock. The power might not cut off.",
        "Until then, if any metal tingles, keep away from it and turn off the main switch.",
    ),
    "earth high": Kind(
        "The earth that comes with the supply reads higher than it should.",
        "It may be getting worse. In a fault the power might cut off too late.",
        who="the electricity network looks into it. Your electrician tells them.",
    ),
    "earth rod": Kind(
        "The earth rod in the ground does not hold well enough.",
        "In a fault, metal parts may stay live and could give you a shock.",
        "Until then, press the test button on the board. If the power stays on, call an electrician.",
    ),
    "earth wire": Kind(
        "The main earth wire is thinner than it should be, or not held well.",
        "In a bad fault it could get too hot or come off.",
    ),
    "no earth": Kind(
        "A circuit has no earth wire.",
        "If a thing with a metal case goes wrong there, its case could give you a shock.",
        _METAL_CASES,
    ),
    "earth broken": Kind(
        "The earth wire of a circuit is broken or poor.",
        "If a thing with a metal case goes wrong there, its case could give you a shock.",
        _METAL_CASES,
    ),
    "earth in doubt": Kind(
        "We could not tell if the earth wire of a circuit is whole.",
        "It may be broken. Then the case of a faulty thing could give you a shock.",
        _METAL_CASES,
    ),
    "slow cut-off": Kind(
        "In a fault, the power to a circuit would cut off too late.",
        "Metal parts could stay live long enough to kill.",
        _METAL_CASES,
    ),
    "thin earth": Kind(
        "The earth wire of a circuit is too thin for its fuse.",
        "In a bad fault it could melt before the power cuts off, and start a fire.",
    ),
    "ring broken": Kind(
        "The wires of a socket circuit do not form the full loop they should.",
        "Cables could get too hot, or sockets could lose their earth, and all would still seem to work.",
        "Until then, do not plug in many heaters at once.",
    ),
    "ring in doubt": Kind(
        "We could not tell if the loop of a socket circuit is whole.",
        "If it is not, a cable could get too hot.",
        "Until then, do not plug in many heaters at once.",
    ),
    "insulation": Kind(
        "The cover around some wires has worn, or is wet or hurt.",
        "Power can leak from there. That can give you a shock or start a fire.",
    ),
    "polarity": Kind(
        "Two wires are joined the wrong way round.",
        "A lamp or plug may still be live when it is turned off.",
        "Until then, do not use that part, and do not change lamps there.",
    ),
    "phase order": Kind("The phases are joined in the wrong order.", "A machine could turn the wrong way."),
    "function": Kind(
        "A switch or safety device did not work when we tried it.",
        "It may not do its job on the day you need it.",
    ),
    "too strong a fault": Kind(
        "The fuses may not stand the worst fault that can happen here.",
        "In such a fault a fuse or switch could burst or burn.",
    ),
    "overload": Kind(
        "A fuse or switch is too large for its cable.",
        "The cable could get hot in the wall, with no sign, and start a fire.",
        "Until then, do not use many strong things there at once.",
    ),
    "tails": Kind(
        "The cables by the meter may be too thin for the main fuse.",
        "When a lot of power is used they could get too hot.",
        _HOT,
    ),
    "no rcd": Kind(
        "There is no device that cuts the power fast if you get a shock.",
        "If you touch something live, the power would stay on.",
        _OUTDOORS,
    ),
    "outdoors no rcd": Kind(
        "Power used outside has no device that cuts it off fast.",
        "A cut cable or a wet tool outside could kill.",
        _OUTDOORS,
    ),
    "rcd kind": Kind(
        "A safety device is not the right kind for what it guards.",
        "It may not see some faults, and the power would stay on.",
    ),
    "rcd dead": Kind(
        "A safety device did not cut the power as fast as it should.",
        "If you get a shock, the power may stay on too long.",
        _OUTDOORS,
    ),
    "volt drop": Kind("A long cable loses more power than it should.", "Lights may dim, and motors may run hot."),
    "supplementary": Kind(
        "Metal parts that you can touch at once are not joined as they should be.",
        "In a fault you could get a shock from one part to the other.",
    ),
    "bathroom": Kind(
        "The wiring of a bathroom or other wet place lacks a guard that it should have.",
        "Wet skin makes a shock far worse.",
        "Until then, do not use plug-in things there.",
    ),
    "special place": Kind(
        "A place with its own rules, such as a bathroom, a garden or a car charger, lacks a guard that it should have.",
        "In such a place a shock is more likely, and it is worse.",
        "Until then, do not use that part.",
    ),
    "put right": Kind("A fault was found and put right while we were there.", "It was tested again after that."),
    "put right not shown": Kind(
        "Work was done on a fault, and no test yet shows that it is gone.",
        "The fault may still be there. Ask for it to be tested again.",
    ),
    "heat": Kind("There are signs of heat in the fuse board.", "A loose or overloaded part can start a fire.", _HOT),
    "open board": Kind(
        "The fuse board or an electric fitting has a gap, a break or a loose cover.",
        "Fingers could reach live parts, and fire could get out.",
        "Until then, keep children away from it.",
    ),
    "board reach": Kind(
        "The fuse board is hard to reach or not fixed well.",
        "In an emergency you might not turn off the power in time.",
    ),
    "main switch": Kind(
        "The main switch is missing, not marked, or does not work well.",
        "In an emergency you might not turn off the power in time.",
    ),
    "device wrong": Kind(
        "A fuse or switch in the board is not the right one, or is damaged.",
        "It may cut off too late, and a cable could get too hot.",
        _HOT,
    ),
    "loose wire": Kind("A wire is loose or bare at its end.", "It can spark and get hot, or give you a shock.", _HOT),
    "surge": Kind(
        "The guard against power surges is missing or worn out.",
        "Lightning or a surge could break things that are plugged in.",
    ),
    "arc": Kind("There is no device that spots sparks in the wiring.", "A hidden spark could start a fire."),
    "unmarked": Kind(
        "Labels, marks or notices are missing or wrong.",
        "Somebody could turn off the wrong switch and work on a live wire.",
    ),
    "cable harm": Kind(
        "A cable or its cover is damaged, not held, or lies where it can be damaged.",
        "A nail, a tread or a fall could lay the wires bare. That can give a shock or start a fire.",
        "Until then, do not drill or nail near it.",
    ),
    "cable falls": Kind(
        "Cables could fall down early in a fire.", "They could trap you or the fire crew on the way out."
    ),
    "fire seal": Kind("A hole around a cable is not sealed.", "Fire and smoke could spread through it."),
    "hot thing": Kind(
        "A lamp or other hot thing sits too close to something that burns.",
        "It could start a fire.",
        "Until then, leave it turned off.",
    ),
    "kept apart": Kind(
        "Power cables run too close to other pipes or wires.", "A fault in one could make the other live or hot."
    ),
    "joint": Kind("A cable joint is open or cannot be reached.", "It can get hot or be touched.", _HOT),
    "worn fitting": Kind(
        "A socket, switch or light is worn, cracked or loose.",
        "You could touch a live part, or it could get hot.",
        "Until then, leave it alone.",
    ),
    "wrong place": Kind(
        "Something electric is not made for the place it is in, such as rain or steam.",
        "Water or dust can get in and give you a shock.",
        "Until then, leave it turned off.",
    ),
    "no off switch": Kind(
        "A switch to turn off some part for work or in an emergency is missing or does not work.",
        "Nobody could turn it off in time, or it could start while somebody works on it.",
    ),
    "intake": Kind(
        "Something is wrong where the supply comes into the home.",
        "The main cable has no small fuse before it. A fault there can burn.",
        _HOT,
        NETWORK_FIRM,
    ),
    "two supplies": Kind(
        "A second source of power, such as solar panels, a battery or a generator, is not set up as it should be.",
        "Wires could stay live when the main switch is off.",
    ),
}
_OTHER = {
    "C1": "Somebody could be hurt by it at any time.",
    "C2": "If one more thing goes wrong, somebody could be hurt or a fire could start.",
    "FI": "Until it is looked into, nobody knows if it can hurt somebody.",
    "C3": "It does not meet what is done in new work today.",
}

# Name of a proposal → kind of fault. A test holds it against everything that can be proposed.
OF_PROPOSAL = {
    "bond.disproved": "bond broken",
    "bond.not-shown": "bond in doubt",
    "bond.joint": "bond joint",
    "bond.size": "bond thin",
    "bond.place": "bond place",
    "bond.label": "earth label",
    "bond.put-right": "put right",
    "bond.put-right-not-shown": "put right not shown",
    "part.unbonded": "bond missing",
    "part.unsettled": "bond asked",
    "looped.size": "bond thin",
    "looped.high": "bond in doubt",
    "looped.open": "bond broken",
    "looped.unread": "bond in doubt",
    "cpc.disproved": "earth broken",
    "cpc.not-shown": "earth in doubt",
    "ring": "ring broken",
    "circuit.put-right": "put right",
    "circuit.put-right-not-shown": "put right not shown",
    "test.r1r2": "earth broken",
    "test.r2": "earth broken",
    "test.ring r1": "ring broken",
    "test.ring rn": "ring broken",
    "test.ring r2": "ring broken",
    "test.insulation": "insulation",
    "test.polarity": "polarity",
    "test.phase sequence": "phase order",
    "test.functional": "function",
    "test.ze": "earth at the supply",
    "test.zdb": "slow cut-off",
    "test.zs": "slow cut-off",
    "test.disconnection": "slow cut-off",
    "test.fault current": "too strong a fault",
    "test.adiabatic": "thin earth",
    "test.overload": "overload",
    "test.additional protection": "no rcd",
    "test.rcd type": "rcd kind",
    "test.rcd": "rcd dead",
    "test.rcd button": "rcd dead",
    "test.voltage drop": "volt drop",
    "test.supplementary": "supplementary",
    "test.special location": "special place",
    "test.protective conductor": "no earth",
    "test.earthing conductor": "earth wire",
    "test.electrode": "earth rod",
}
# The same name for two things: by code or by what it is about.
_BY_CODE = {("ring", "FI"): "ring in doubt", ("test.ze", "C3"): "earth high"}
# Item of the schedule of inspections → kind of fault.
OF_ITEM = {
    item: kind
    for kind, items in {
        "intake": ("intake-cable", "intake-cutout", "intake-meter"),
        "tails": ("intake-tails",),
        "main switch": ("intake-isolator", "board-switch-there", "board-switch-works"),
        "two supplies": ("sources-apart", "sources-isolation", "place-prosumer"),
        "unmarked": ("sources-notices", "board-chart", "board-named", "board-notices", "circuit-identity"),
        "earth at the supply": ("earthing-supply",),
        "earth rod": ("earthing-electrode",),
        "earth label": ("earthing-label",),
        "earth wire": ("earthing-size", "earthing-met"),
        "bond missing": ("bonding-parts",),
        "bond thin": ("bonding-size",),
        "bond joint": ("bonding-joints",),
        "supplementary": ("bonding-other", "bath-bonding"),
        "board reach": ("board-reach", "board-firm"),
        "open board": ("board-enclosure", "board-material", "board-edges"),
        "heat": ("board-heat", "board-eddy"),
        "device wrong": ("board-kinds", "board-maker", "board-tried"),
        "too strong a fault": ("board-breaking",),
        "polarity": ("board-poles", "circuit-poles"),
        "loose wire": ("board-terminals", "circuit-terminals"),
        "no rcd": ("board-rcd-there", "circuit-outlets", "circuit-lighting"),
        "rcd kind": ("board-rcd-kind",),
        "rcd dead": ("board-rcd-works",),
        "surge": ("board-surge-there", "board-surge-state"),
        "cable harm": (
            *("circuit-held", "circuit-containment", "circuit-floors", "circuit-walls"),
            "circuit-partitions",
        ),
        "cable falls": ("circuit-collapse",),
        "insulation": ("circuit-insulation",),
        "overload": ("circuit-size",),
        "no earth": ("circuit-cpc",),
        "outdoors no rcd": ("circuit-outdoors",),
        "arc": ("circuit-arc",),
        "fire seal": ("circuit-seals",),
        "hot thing": ("circuit-heat",),
        "kept apart": ("circuit-services", "circuit-bands"),
        "joint": ("circuit-joints-reach", "circuit-joints-enclosed"),
        "worn fitting": ("circuit-points", "circuit-equipment"),
        "wrong place": ("circuit-place",),
        "no off switch": ("isolation-there", "isolation-machines", "isolation-emergency", "isolation-control"),
        "bathroom": ("bath-rcd", "bath-equipment", "bath-sockets"),
        "special place": ("place-special",),
    }.items()
    for item in items
}


def told(t: Thread) -> Kind:
    """What an observation means to somebody who lives there: by what it answers, else by the item it is about, else by its code.

    An observation that the catalogue has no kind for is told in the inspector's own words.
    """
    proposed = _of_proposals(t.named, t.observation.code)
    if proposed is not None:
        return proposed
    about = t.observation.about
    item = next((OF_ITEM[i] for i in lines_of(about) if i in OF_ITEM), "") if about else ""
    if item:
        return KINDS[item]
    return Kind("", _OTHER.get(t.observation.code, ""))


def of_proposal(p: Proposed) -> Kind:
    """The same of a code that is proposed and not answered yet."""
    if p.name == "alarm":
        return Kind(PLAIN.get(p.about, ""), "", "", ELECTRICIAN)
    kind = _BY_CODE.get((p.name, p.code)) or OF_PROPOSAL.get(p.name, "")
    if p.name == "look":
        kind = "bond joint" if p.code == "C2" else ""
    return KINDS[kind] if kind else Kind("", _OTHER.get(p.code, ""))


def _of_proposals(proposals: Iterable[Proposed], code: str) -> Kind | None:
    """Of several the one that has the code of the observation, else the most urgent."""
    every = sorted(proposals, key=lambda p: (p.code != code, urgency(p.code)))
    return of_proposal(every[0]) if every else None
