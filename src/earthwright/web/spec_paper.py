"""The fields of the forms for what only the paper needs: report, origin, danger, observations."""

from __future__ import annotations

from ..site.codes import CURRENTS, LIVE, SWITCH_KINDS
from ..site.installation import RCD_TYPES
from ..site.particulars import CODES, COUNTRIES, DEPARTS, EXISTING, NO_CODE, SATISFACTORY, UNSATISFACTORY
from .spec import LIVE_SAID, Spec

REPORT = (
    Spec("number"),
    Spec("issued", "date"),
    Spec("purpose", "area"),
    Spec("client_address"),
    Spec("firm_address"),
    Spec("firm_phone"),
    Spec("firm_body"),
    Spec("firm_number"),
    Spec("supervisor"),
    Spec("occupier"),
    Spec("premises"),
    Spec("country", choices=COUNTRIES),
    Spec("rented", "flag"),
    Spec("agreed_with"),
    Spec("operational", "list"),
    Spec("sampling", "area"),
    Spec("concealed", "area"),
    Spec("general", "area"),
    Spec("age_years", unit="years"),
    Spec("alterations", "area"),
    Spec("alterations_years", unit="years"),
    Spec("records"),
    Spec("previous", "date"),
    Spec("previous_number"),
    Spec("work", "area"),
    Spec("work_kind", choices=("new installation", "addition", "alteration", "board replaced")),
    Spec("completed", "date"),
    Spec("departures", "area"),
    Spec("exceptions", "area"),
    Spec("existing", "area"),
    Spec("circuit"),
    Spec("not_recorded", "area"),
    Spec("overall", choices=(SATISFACTORY, UNSATISFACTORY)),
    Spec("overall_reason", "area"),
    Spec("next_by", "date"),
    Spec("next_reason", "area"),
    Spec("work_days", unit="days"),
    Spec("vulnerable", "area"),
    Spec("copies", "list"),
)
ORIGIN = (
    Spec("live", choices=tuple(LIVE), says=LIVE_SAID),
    Spec("current", choices=CURRENTS),
    Spec("polarity"),
    Spec("demand_a", unit="A"),
    Spec("earthing", choices=("distributor", "electrode", "none")),
    Spec("fuse_standard"),
    Spec("fuse_type"),
    Spec("not_present", "list"),
    Spec("earthing_checked", "flag"),
    Spec("switch_where", group="origin_switch"),
    Spec("switch_kind", choices=SWITCH_KINDS, group="origin_switch"),
    Spec("switch_standard", group="origin_switch"),
    Spec("switch_poles", group="origin_switch"),
    Spec("switch_a", unit="A", group="origin_switch"),
    Spec("switch_v", unit="V", group="origin_switch"),
    Spec("switch_fuse_a", unit="A", group="origin_switch"),
    Spec("switch_rcd", group="origin_switch"),
    Spec("switch_rcd_type", choices=RCD_TYPES, group="origin_switch"),
    Spec("switch_rcd_ma", unit="mA", group="origin_switch"),
    Spec("switch_rcd_delay", group="origin_switch"),
)
DANGER = (
    Spec("what", "area"),
    Spec("where"),
    Spec("at"),
    Spec("done", "area"),
    Spec("consent"),
    Spec("told"),
    Spec("left_with"),
    Spec("must_not", "area"),
)
DEPARTURE = (
    Spec("of"),
    Spec("test"),
    Spec("kind", choices=(DEPARTS, EXISTING), start=DEPARTS),
    Spec("reason", "area"),
)
OBSERVATION = (
    Spec("what", "area"),
    Spec("where"),
    Spec("code", choices=(*CODES, NO_CODE)),
    Spec("reason", "area"),
    Spec("clause"),
    Spec("about"),
    Spec("found", "date"),
)
