"""The items of the schedules of inspections, in our own words, with the clauses they rest on (clauses from memory)."""

from __future__ import annotations

from attrs import frozen

ACCEPTABLE, NOT_VERIFIED, LIMITED, NOT_APPLICABLE = "acceptable", "not verified", "LIM", "N/A"
PERIODIC_OUTCOMES = (ACCEPTABLE, "C1", "C2", "C3", "FI", NOT_VERIFIED, LIMITED, NOT_APPLICABLE)
INITIAL_OUTCOMES = (ACCEPTABLE, NOT_APPLICABLE)
PERIODIC, INITIAL = "periodic", "initial"


@frozen
class Item:
    """One item: a short name to enter it by, the group it is printed in, what is looked at, and the clause."""

    id: str
    group: str
    words: str
    clause: str
    kind: str


def _items(kind: str, groups: dict[str, tuple[tuple[str, str, str], ...]]) -> tuple[Item, ...]:
    return tuple(Item(i, group, words, clause, kind) for group, rows in groups.items() for i, words, clause in rows)


PERIODIC_ITEMS = _items(
    PERIODIC,
    {
        "Intake, looked at and not opened": (
            ("intake-cable", "Service cable and its entry", "132.12"),
            ("intake-cutout", "Cut-out and seals", "132.12"),
            ("intake-tails", "Meter tails: size, support, protection", "521.10.1; 522.8"),
            ("intake-isolator", "Isolator between meter and board, if there is one", "462.1"),
            ("intake-sources", "Other sources: change-over, isolation, notices", "551; 514.15.1"),
        ),
        "Earthing and bonding": (
            ("earthing-supply", "Distributor's earthing arrangement: there, and its condition", "542.1.2.1; 542.1.2.2"),
            ("earthing-electrode", "Earth electrode and its connection", "542.1.2.3"),
            ("earthing-label", "Warning labels at earthing and bonding connections", "514.13.1"),
            ("earthing-size", "Size of the earthing conductor", "542.3; 543.1.1"),
            ("earthing-met", "Earthing conductor at the main earthing terminal: in reach, sound", "543.3.2"),
            ("bonding-size", "Sizes of the main bonding conductors", "544.1"),
            ("bonding-joints", "Connections of the main bonds: in reach, sound", "543.3.2; 544.1.2"),
            ("bonding-other", "Other bonding conductors and their connections", "543.3.1; 543.3.2"),
        ),
        "Boards": (
            ("board-reach", "Room to work, in reach, lit", "132.12; 513.1"),
            ("board-fixed", "Fixed firmly, enclosure whole, no sign of heat", "134.1.1; 416.2; 421.1"),
            ("board-switch", "Main switch: there, works, is named", "462.1; 537"),
            ("board-devices", "Devices: kind, rating, fit for the fault current", "411.3.2; 432; 434.5"),
            ("board-poles", "Single-pole devices in line conductors only", "132.14.1; 530.3.3"),
            ("board-terminals", "Conductors at terminals: tight, no bare ends", "526.1"),
            ("board-rcd", "Residual current devices: there where asked for, button tried", "411.3.3; 531.3; 643.10"),
            ("board-surge", "Surge protection: there where asked for, indicator", "443.4; 534"),
            ("board-labels", "Circuit chart and notices", "514.8; 514.9.1"),
            ("board-entries", "Cable entries: edges, tightness, no heating by eddy currents", "521.5.1; 522.8.1"),
        ),
        "Circuits": (
            ("circuit-identity", "Conductors identified", "514.3.1"),
            (
                "circuit-support",
                "Cables supported over their run, also against early collapse in fire",
                "521.10.202; 522.8.5",
            ),
            ("circuit-insulation", "Insulation of live parts: whole", "416.1"),
            ("circuit-containment", "Conduit, trunking, sheath: whole", "521.10.1"),
            ("circuit-size", "Cables large enough for load and device", "433.1; 523.1"),
            ("circuit-cpc", "Circuit protective conductors: there, large enough", "411.3.1.1; 543.1"),
            ("circuit-buried", "Cables hidden in walls and floors: zones, depth, protection", "522.6.201 to 522.6.204"),
            ("circuit-sockets", "Additional protection of socket-outlets and of mobile equipment outdoors", "411.3.3"),
            ("circuit-lighting", "Additional protection of lighting in dwellings", "411.3.4"),
            ("circuit-arc", "Arc fault detection where asked for", "421.1.7"),
            ("circuit-fire", "Openings sealed against fire; heat of luminaires", "527.2; 422"),
            ("circuit-apart", "Apart from other services and other voltages", "528"),
            ("circuit-joints", "Joints: in reach where needed, enclosed", "526.3; 526.5"),
            ("circuit-accessories", "Accessories and fixed equipment: condition, fixing", "134.1.1; 651.2"),
            ("circuit-isolation", "Isolation and switching off for work on machines", "462; 464; 537"),
        ),
        "Rooms with a bath or shower": (
            ("bath-rcd", "Additional protection by residual current device", "701.411.3.3"),
            ("bath-bonding", "Supplementary bonding, or the conditions for leaving it out", "701.415.2"),
            ("bath-zones", "Equipment right for its zone; distance of socket-outlets", "701.512"),
        ),
        "Other places": (
            ("place-special", "Other special locations, each by its section", "part 7"),
            ("place-prosumer", "Own generation and storage as part of the installation", "chapter 82"),
        ),
    },
)
INITIAL_ITEMS = _items(
    INITIAL,
    {
        "Protection against shock": (
            ("new-live-parts", "Live parts behind insulation, barriers or enclosures", "416"),
            ("new-earthing", "Earthing conductor: there, size, connection", "542.3"),
            ("new-cpc", "Circuit protective conductors: there, size", "543.1"),
            ("new-bonding", "Main bonding: every part concerned, size, connection", "411.3.1.2; 544.1"),
            ("new-supplementary", "Supplementary bonding where asked for", "415.2; 544.2"),
            ("new-additional", "Additional protection by residual current device where asked for", "411.3.3; 415.1"),
            ("new-other-means", "Double insulation, separation, extra-low voltage where used", "412; 413; 414"),
        ),
        "Conductors and cables": (
            ("new-sizes", "Sizes for current and voltage drop as designed", "523; 525"),
            ("new-routes", "Routes, support, protection against damage", "521; 522"),
            ("new-identified", "Conductors identified", "514.3"),
            ("new-joints", "Connections sound, enclosed, in reach where needed", "526"),
            ("new-fire", "Fire barriers and seals", "527"),
            ("new-apart", "Apart from other services", "528"),
        ),
        "Devices and equipment": (
            ("new-devices", "Devices chosen and set as designed; fault current within their rating", "432; 434; 536"),
            ("new-poles", "Single-pole devices in line conductors only", "132.14.1"),
            ("new-isolation", "Isolation and switching, rightly placed", "462; 537"),
            ("new-surge", "Surge protection where asked for", "443.4; 534"),
            ("new-arc", "Arc fault detection where asked for", "421.1.7"),
            ("new-equipment", "Equipment to its standard, undamaged, fit for where it is", "133; 511; 512"),
        ),
        "Information and places": (
            ("new-labels", "Labels, notices, circuit charts, diagrams", "514"),
            ("new-reach", "Room and access for work", "132.12; 513"),
            ("new-special", "Special locations, each by its section", "part 7"),
        ),
    },
)
ITEMS = (*PERIODIC_ITEMS, *INITIAL_ITEMS)
