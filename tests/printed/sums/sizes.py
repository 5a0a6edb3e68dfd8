"""Cross-sections of protective conductors, earthing conductors and bonds."""

from __future__ import annotations

from earthwright.rules.sizes import earthing_conductor_min, main_bond_min, supplementary_bond_min

from .common import Inputs, Route, Rules, looked_up


@looked_up
def _bond(i: Inputs, rules: Rules) -> float | None:
    return main_bond_min(
        rules.edition,
        system="TN-C-S" if i["pme"] else "TN-S",
        pme=i["pme"],
        earthing_needed_mm2=i.get("earthing_mm2"),
        line_csa_mm2=None,
        neutral_csa_mm2=i.get("neutral_mm2"),
        neutral_at_most=False,
    ).needed_mm2


@looked_up
def _buried(i: Inputs, rules: Rules) -> float:
    corrosion = "protected" if i["corrosion"] else "not protected"
    mechanical = "any" if not i["corrosion"] else "protected" if i["mechanical"] else "not protected"
    table = rules.edition.table("earthing.buried")
    return float(table.look(material="copper", corrosion=corrosion, mechanical=mechanical).value)


@looked_up
def _supplementary(i: Inputs, rules: Rules) -> float | None:
    protected = i["mechanical_protection"]
    return supplementary_bond_min(rules.edition, between="extraneous and extraneous", protected=protected).needed_mm2


CHECKS: dict[str, tuple[Route, ...]] = {
    "size-pe-": (looked_up(lambda i, rules: earthing_conductor_min(rules.edition, i["line_mm2"]).value_mm2),),
    "size-bond-": (_bond,),
    "size-pme-": (_bond,),
    "size-supp-": (_supplementary,),
    "size-buried-": (_buried,),
}
