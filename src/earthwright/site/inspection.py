"""The items of the schedules of inspections, in our own words; what each rests on is the edition's (``clauses.toml``)."""

from __future__ import annotations

from attrs import frozen

ACCEPTABLE, NOT_VERIFIED, LIMITED, NOT_APPLICABLE = "acceptable", "not verified", "LIM", "N/A"
PERIODIC_OUTCOMES = (ACCEPTABLE, "C1", "C2", "C3", "FI", NOT_VERIFIED, LIMITED, NOT_APPLICABLE)
INITIAL_OUTCOMES = (ACCEPTABLE, NOT_APPLICABLE)
PERIODIC, INITIAL = "periodic", "initial"


@frozen
class Item:
    """One item: a short name to enter it by, its group, what is looked at, and its number as printed."""

    id: str
    group: str
    words: str
    kind: str
    number: str

    @property
    def rule(self) -> str:
        """The name of what it rests on in the data of an edition."""
        return f"item.{self.id}"


def _items(kind: str, groups: dict[str, tuple[tuple[str, str], ...]]) -> tuple[Item, ...]:
    return tuple(
        Item(i, group, words, kind, f"{major}.{minor}")
        for major, (group, rows) in enumerate(groups.items(), 1)
        for minor, (i, words) in enumerate(rows, 1)
    )


PERIODIC_ITEMS = _items(
    PERIODIC,
    {
        "Intake, looked at and not opened": (
            ("intake-cable", "Service cable and its entry"),
            ("intake-cutout", "Cut-out and seals"),
            ("intake-meter", "Meter and what stands beside it: fixing, condition"),
            ("intake-tails", "Meter tails: size, support, protection"),
            ("intake-isolator", "Isolator between meter and board, if there is one"),
            ("sources-apart", "Other sources: change-over that cannot join them to the supply"),
            ("sources-isolation", "Other sources: isolation of each"),
            ("sources-notices", "Other sources: notices at intake, meter and boards"),
        ),
        "Earthing and bonding": (
            ("earthing-supply", "Distributor's earthing arrangement: there, and its condition"),
            ("earthing-electrode", "Earth electrode and its connection"),
            ("earthing-label", "Warning labels at earthing and bonding connections"),
            ("earthing-size", "Size of the earthing conductor"),
            ("earthing-met", "Earthing conductor at the main earthing terminal: in reach, sound"),
            ("bonding-parts", "Main bond to every part that needs one"),
            ("bonding-size", "Sizes of the main bonding conductors"),
            ("bonding-joints", "Connections of the main bonds: in reach, sound"),
            ("bonding-other", "Other bonding conductors and their connections"),
        ),
        "Boards": (
            ("board-reach", "Room to work, in reach, lit"),
            ("board-firm", "Fixed firmly"),
            ("board-enclosure", "Enclosure whole: covers, blanks, barriers"),
            ("board-heat", "No sign of heat"),
            ("board-material", "Enclosure of the material asked for in a dwelling"),
            ("board-switch-there", "Main switch: there, is named"),
            ("board-switch-works", "Main switch: works when it is tried"),
            ("board-kinds", "Devices: kind and rating right for their circuits"),
            ("board-breaking", "Devices: fit for the fault current"),
            ("board-maker", "Devices: such as the maker of the board allows, none damaged"),
            ("board-tried", "Devices: switch when they are tried by hand"),
            ("board-poles", "Single-pole devices in line conductors only"),
            ("board-terminals", "Conductors at terminals: tight, no bare ends"),
            ("board-rcd-there", "Residual current devices: there where asked for"),
            ("board-rcd-kind", "Residual current devices: type right for the load"),
            ("board-rcd-works", "Residual current devices: button tried, work"),
            ("board-surge-there", "Surge protection: there where asked for"),
            ("board-surge-state", "Surge protection: indicator"),
            ("board-chart", "Circuit chart at the board"),
            ("board-named", "Devices named so that each is matched to its circuit"),
            ("board-notices", "Notices: next inspection, test buttons, voltages, mixed colours"),
            ("board-edges", "Cable entries: edges, tightness"),
            ("board-eddy", "Cable entries: no heating by eddy currents"),
        ),
        "Circuits": (
            ("circuit-identity", "Conductors identified"),
            ("circuit-held", "Cables supported over their run"),
            ("circuit-collapse", "Supports that do not let cables fall early in a fire"),
            ("circuit-insulation", "Insulation of live parts: whole"),
            ("circuit-containment", "Conduit, trunking, sheath: whole"),
            ("circuit-size", "Cables large enough for load and device"),
            ("circuit-cpc", "Circuit protective conductors: there, large enough"),
            ("circuit-floors", "Cables under floors and above ceilings: depth, protection"),
            ("circuit-walls", "Cables hidden in walls: zones, depth, protection"),
            ("circuit-partitions", "Cables hidden in partitions with metal in them: protection"),
            ("circuit-outlets", "Additional protection of socket-outlets"),
            ("circuit-outdoors", "Additional protection of mobile equipment outdoors"),
            ("circuit-lighting", "Additional protection of lighting in dwellings"),
            ("circuit-arc", "Arc fault detection where asked for"),
            ("circuit-seals", "Openings sealed against fire"),
            ("circuit-heat", "Heat of luminaires and of what gets warm"),
            ("circuit-services", "Apart from other services"),
            ("circuit-bands", "Apart from other voltages"),
            ("circuit-joints-reach", "Joints: in reach where needed"),
            ("circuit-joints-enclosed", "Joints: enclosed"),
            ("circuit-terminals", "Conductors at accessories: tight, no strain, sheath taken in"),
            ("circuit-poles", "Single-pole switches in line conductors only"),
            ("circuit-points", "Accessories: condition, fixing"),
            ("circuit-equipment", "Fixed equipment: condition, fixing"),
            ("circuit-place", "Equipment fit for where it stands: water, dust, sun, damage"),
        ),
        "Isolation and switching": (
            ("isolation-there", "Isolation: there, in its right place, named"),
            ("isolation-machines", "Switching off for work on machines"),
            ("isolation-emergency", "Emergency switching where asked for"),
            ("isolation-control", "Switches for control: rating, poles, work when tried"),
        ),
        "Rooms with a bath or shower": (
            ("bath-rcd", "Additional protection by residual current device"),
            ("bath-bonding", "Supplementary bonding, or the conditions for leaving it out"),
            ("bath-equipment", "Equipment right for its zone"),
            ("bath-sockets", "Distance of socket-outlets"),
        ),
        "Other places": (
            ("place-special", "Other special locations, each by its section"),
            ("place-prosumer", "Own generation and storage as part of the installation"),
        ),
    },
)
# Items of earlier visit books that held what several lines hold now: an outcome entered there is that of each of them.
SPLIT = {
    "intake-sources": ("sources-apart", "sources-isolation"),
    "board-fixed": ("board-firm", "board-enclosure"),
    "board-switch": ("board-switch-there", "board-switch-works"),
    "board-devices": ("board-kinds", "board-breaking"),
    "board-rcd": ("board-rcd-there", "board-rcd-works"),
    "board-surge": ("board-surge-there", "board-surge-state"),
    "board-labels": ("board-chart", "board-notices"),
    "board-entries": ("board-edges", "board-eddy"),
    "circuit-support": ("circuit-held", "circuit-collapse"),
    "circuit-buried": ("circuit-walls", "circuit-floors"),
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
            ("new-live-parts", "Live parts behind insulation, barriers or enclosures"),
            ("new-earthing", "Earthing conductor: there, size, connection"),
            ("new-cpc", "Circuit protective conductors: there, size"),
            ("new-bonding", "Main bonding: every part concerned, size, connection"),
            ("new-supplementary", "Supplementary bonding where asked for"),
            ("new-additional", "Additional protection by residual current device where asked for"),
            ("new-other-means", "Double insulation, separation, extra-low voltage where used"),
        ),
        "Conductors and cables": (
            ("new-sizes", "Sizes for current and voltage drop as designed"),
            ("new-routes", "Routes, support, protection against damage"),
            ("new-identified", "Conductors identified"),
            ("new-joints", "Connections sound, enclosed, in reach where needed"),
            ("new-fire", "Fire barriers and seals"),
            ("new-apart", "Apart from other services"),
        ),
        "Devices and equipment": (
            ("new-devices", "Devices chosen and set as designed; fault current within their rating"),
            ("new-poles", "Single-pole devices in line conductors only"),
            ("new-isolation", "Isolation and switching, rightly placed"),
            ("new-surge", "Surge protection where asked for"),
            ("new-arc", "Arc fault detection where asked for"),
            ("new-equipment", "Equipment to its standard, undamaged, fit for where it is"),
        ),
        "Information and places": (
            ("new-labels", "Labels, notices, circuit charts, diagrams"),
            ("new-reach", "Room and access for work"),
            ("new-special", "Special locations, each by its section"),
        ),
    },
)
ITEMS = (*PERIODIC_ITEMS, *INITIAL_ITEMS)


def lines_of(name: str) -> tuple[str, ...]:
    """The items a name stands for: itself, or what an item of earlier visit books was split into."""
    return SPLIT.get(name, (name,))
