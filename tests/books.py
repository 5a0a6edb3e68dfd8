"""Pieces of visit books that many tests begin with."""

from __future__ import annotations

ISOLATED = """[[step]]
isolated = "locked"
[[step]]
isolated = "tester proved"
[[step]]
isolated = "dead"
[[step]]
isolated = "tester proved again"
"""
# Water and gas bonded side by side; what stands at LINK ties them together.
WATER_AND_GAS = """[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.21
[[part]]
id = "water"
kind = "water"
name = "Water service"
[[part]]
id = "gas"
kind = "gas"
name = "Gas installation pipe"
OWNER
[[bond]]
part = "water"
csa_mm2 = 10
length_m = 16
length_tol_m = 1
[[bond]]
part = "gas"
csa_mm2 = 10
length_m = 24
length_tol_m = 2
LINK
"""
BOILER = """
[[link]]
id = "boiler"
between = ["water", "gas"]
low_ohm = 0.01
high_ohm = 0.03
"""
CONNECTED = """[[step]]
check = "shorted"
shown = 0.00
[[step]]
read = "together"
bond = "water"
shown = 0.02
[[step]]
read = "together"
bond = "gas"
shown = 0.03
"""


def bonded(part: str, length_m: int, tol_m: int, null_ohm: float) -> str:
    """A nulled lead set, and a part with its 10 mm² bond."""
    return f"""[[leads]]
id = "long"
allowed = "nulled"
null_ohm = {null_ohm:g}
[[part]]
id = "{part}"
kind = "{part}"
[[bond]]
part = "{part}"
csa_mm2 = 10
length_m = {length_m}
length_tol_m = {tol_m}
"""


def site(kind: str, supply: str) -> str:
    """The heading of a visit, and its supply as lines of the visit book."""
    return f'[visit]\nplace = "x"\ndate = 2026-11-20\nkind = "{kind}"\n[supply]\n{supply}\n'


TN_S = 'system = "TN-S"\nearthing_mm2 = 16\nearthing_needed_mm2 = 16'
