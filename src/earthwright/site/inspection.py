"""The items of the schedules of inspections, in our own words, with the clauses they rest on (clauses from memory)."""

from __future__ import annotations

from attrs import frozen

ACCEPTABLE, NOT_VERIFIED, LIMITED, NOT_APPLICABLE = "acceptable", "not verified", "LIM", "N/A"
PERIODIC_OUTCOMES = (ACCEPTABLE, "C1", "C2", "C3", "FI", NOT_VERIFIED, LIMITED, NOT_APPLICABLE)
INITIAL_OUTCOMES = (ACCEPTABLE, NOT_APPLICABLE)
PERIODIC, INITIAL = "periodic", "initial"


@frozen
class Item:
    """One item: a short name to enter it by, its group, what is looked at, the clause, and its number as printed."""

    id: str
    group: str
    words: str
    clause: str
    kind: str
    number: str


def _items(kind: str, groups: dict[str, tuple[tuple[str, str, str], ...]]) -> tuple[Item, ...]:
    return tuple(
        Item(i, group, words, clause, kind, f"{major}.{minor}")
        for major, (group, rows) in enumerate(groups.items(), 1)
        for minor, (i, words, clause) in enumerate(rows, 1)
    )


PERIODIC_ITEMS = _items(
    PERIODIC,
    {
        "Intake, looked at and not opened": (
            ("intake-cable", "Service cable and its entry", "132.12"),
            ("intake-cutout", "Cut-out and seals", "132.12"),
            ("intake-meter", "Meter and what stands beside it: fixing, condition", "132.12"),
            ("intake-tails", "Meter tails: size, support, protection", "521.10.1; 522.8"),
            ("intake-isolator", "Isolator between meter and board, if there is one", "462.1"),
            ("sources-apart", "Other sources: change-over that cannot join them to the supply", "551.6; 551.7"),
            ("sources-isolation", "Other sources: isolation of each", "551; 462"),
            ("sources-notices", "Other sources: notices at intake, meter and boards", "514.15.1"),
        ),
        "Earthing and bonding": (
            ("earthing-supply", "Distributor's earthing arrangement: there, and its condition", "542.1.2.1; 542.1.2.2"),
            ("earthing-electrode", "Earth electrode and its connection", "542.1.2.3"),
            ("earthing-label", "Warning labels at earthing and bonding connections", "514.13.1"),
            ("earthing-size", "Size of the earthing conductor", "542.3; 543.1.1"),
            ("earthing-met", "Earthing conductor at the main earthing terminal: in reach, sound", "543.3.2"),
            ("bonding-parts", "Main bond to every part that needs one", "411.3.1.2"),
            ("bonding-size", "Sizes of the main bonding conductors", "544.1"),
            ("bonding-joints", "Connections of the main bonds: in reach, sound", "543.3.2; 544.1.2"),
            ("bonding-other", "Other bonding conductors and their connections", "543.3.1; 543.3.2"),
        ),
        "Boards": (
            ("board-reach", "Room to work, in reach, lit", "132.12; 513.1"),
            ("board-firm", "Fixed firmly", "134.1.1"),
            ("board-enclosure", "Enclosure whole: covers, blanks, barriers", "416.2"),
            ("board-heat", "No sign of heat", "421.1"),
            ("board-material", "Enclosure of the material asked for in a dwelling", "421.1.201"),
            ("board-switch-there", "Main switch: there, is named", "462.1; 537"),
            ("board-switch-works", "Main switch: works when it is tried", "643.10"),
            ("board-kinds", "Devices: kind and rating right for their circuits", "411.3.2; 432"),
            ("board-breaking", "Devices: fit for the fault current", "434.5"),
            ("board-maker", "Devices: such as the maker of the board allows, none damaged", "536.4.203"),
            ("board-tried", "Devices: switch when they are tried by hand", "643.10"),
            ("board-poles", "Single-pole devices in line conductors only", "132.14.1; 530.3.3"),
            ("board-terminals", "Conductors at terminals: tight, no bare ends", "526.1"),
            ("board-rcd-there", "Residual current devices: there where asked for", "411.3.3; 531.3"),
            ("board-rcd-kind", "Residual current devices: type right for the load", "531.3.3"),
            ("board-rcd-works", "Residual current devices: button tried, work", "643.10"),
            ("board-surge-there", "Surge protection: there where asked for", "443.4; 534"),
            ("board-surge-state", "Surge protection: indicator", "534; 643.10"),
            ("board-chart", "Circuit chart at the board", "514.9.1"),
            ("board-named", "Devices named so that each is matched to its circuit", "514.8"),
            (
                "board-notices",
                "Notices: next inspection, test buttons, voltages, mixed colours",
                "514.10; 514.12; 514.14",
            ),
            ("board-edges", "Cable entries: edges, tightness", "522.8.1"),
            ("board-eddy", "Cable entries: no heating by eddy currents", "521.5.1"),
        ),
        "Circuits": (
            ("circuit-identity", "Conductors identified", "514.3.1"),
            ("circuit-held", "Cables supported over their run", "522.8.5"),
            ("circuit-collapse", "Supports that do not let cables fall early in a fire", "521.10.202"),
            ("circuit-insulation", "Insulation of live parts: whole", "416.1"),
            ("circuit-containment", "Conduit, trunking, sheath: whole", "521.10.1"),
            ("circuit-size", "Cables large enough for load and device", "433.1; 523.1"),
            ("circuit-cpc", "Circuit protective conductors: there, large enough", "411.3.1.1; 543.1"),
            ("circuit-floors", "Cables under floors and above ceilings: depth, protection", "522.6.201; 522.6.204"),
            ("circuit-walls", "Cables hidden in walls: zones, depth, protection", "522.6.202; 522.6.204"),
            ("circuit-partitions", "Cables hidden in partitions with metal in them: protection", "522.6.203"),
            ("circuit-outlets", "Additional protection of socket-outlets", "411.3.3"),
            ("circuit-outdoors", "Additional protection of mobile equipment outdoors", "411.3.3"),
            ("circuit-lighting", "Additional protection of lighting in dwellings", "411.3.4"),
            ("circuit-arc", "Arc fault detection where asked for", "421.1.7"),
            ("circuit-seals", "Openings sealed against fire", "527.2"),
            ("circuit-heat", "Heat of luminaires and of what gets warm", "422"),
            ("circuit-services", "Apart from other services", "528.3"),
            ("circuit-bands", "Apart from other voltages", "528.1"),
            ("circuit-joints-reach", "Joints: in reach where needed", "526.3"),
            ("circuit-joints-enclosed", "Joints: enclosed", "526.5"),
            ("circuit-terminals", "Conductors at accessories: tight, no strain, sheath taken in", "526.6; 526.8"),
            ("circuit-poles", "Single-pole switches in line conductors only", "132.14.1"),
            ("circuit-points", "Accessories: condition, fixing", "134.1.1; 651.2"),
            ("circuit-equipment", "Fixed equipment: condition, fixing", "134.1.1; 651.2"),
            ("circuit-place", "Equipment fit for where it stands: water, dust, sun, damage", "512.2"),
        ),
        "Isolation and switching": (
            ("isolation-there", "Isolation: there, in its right place, named", "462; 537.2"),
            ("isolation-machines", "Switching off for work on machines", "464; 537.3.2"),
            ("isolation-emergency", "Emergency switching where asked for", "465; 537.3.3"),
            ("isolation-control", "Switches for control: rating, poles, work when tried", "463; 537.3.1"),
        ),
        "Rooms with a bath or shower": (
            ("bath-rcd", "Additional protection by residual current device", "701.411.3.3"),
            ("bath-bonding", "Supplementary bonding, or the conditions for leaving it out", "701.415.2"),
            ("bath-equipment", "Equipment right for its zone", "701.512.2; 701.55"),
            ("bath-sockets", "Distance of socket-outlets", "701.512.3"),
        ),
        "Other places": (
            ("place-special", "Other special locations, each by its section", "part 7"),
            ("place-prosumer", "Own generation and storage as part of the installation", "chapter 82"),
        ),
    },
)
# Items of earlier visit books that held what several lines hold now: an outcome entered there is that of each of them.
SPLIT = {
    "intake-sources": ("sources-apart", "sources-isolation", "sources-notices"),
    "board-fixed": ("board-firm", "board-enclosure", "board-heat"),
    "board-switch": ("board-switch-there", "board-switch-works"),
    "board-devices": ("board-kinds", "board-breaking"),
    "board-rcd": ("board-rcd-there", "board-rcd-works"),
    "board-surge": ("board-surge-there", "board-surge-state"),
    "board-labels": ("board-chart", "board-notices"),
    "board-entries": ("board-edges", "board-eddy"),
    "circuit-support": ("circuit-held", "circuit-collapse"),
    "circuit-buried": ("circuit-walls", "circuit-floors", "circuit-partitions"),
    "circuit-sockets": ("circuit-outlets", "circuit-outdoors"),
    "circuit-fire": ("circuit-seals", "circuit-heat"),
    "circuit-apart": ("circuit-services", "circuit-bands"),
    "circuit-joints": ("circuit-joints-enclosed", "circuit-joints-reach"),
    "circuit-accessories": ("circuit-points", "circuit-equipment"),
    "circuit-isolation": ("isolation-there", "isolation-machines"),
    "bath-zones": ("bath-equipment", "bath-sockets"),
}
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


def lines_of(name: str) -> tuple[str, ...]:
    """The items a name stands for: itself, or what an item of earlier visit books was split into."""
    return SPLIT.get(name, (name,))
