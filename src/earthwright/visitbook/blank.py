"""The blank visit book that ``earthwright start`` writes: every line explained.

Only ``[visit]`` is live. What else may stand there is a comment: an example that was left in would be judged as if it were true.
"""

from __future__ import annotations

import re
import textwrap

from ..site.fields import ID, TABLE, WHOLE, WORD
from ..site.tables import BY_NAME
from ..site.tests import TESTS

_TEXT = """# Visit book. Write what you saw and did, in the order you did it; the tool works out the rest.
# Nothing is filled in: every line that begins with # and a letter or bracket ("#system = …") is an example of what may stand
# there. Take the # away, write what is true here, and leave out what you do not know. Lines with "# " are for people.
# Readings are typed as the display showed them: 0.02, 0.00, "over-range".
# Lengths in metres, cross-sections in mm², temperatures in °C.

[visit]
place = ""                  # where (needed)
date = {today}           # day of the inspection (needed); it decides which edition of the rules applies
kind = "bonding"            # bonding, periodic, initial or minor works
inspector = ""              # who signs
#temp_c = 15                # of the conductors, roughly
#edition = "2018+A4"        # only where two editions are open on that day: choose once
#designed = 2026-02-01      # new work only: day its design was finished; the edition of that day counts
#decision = "guarded"       # hold the whole 95 % interval against a limit instead of the value
#whole_site = true          # weigh all bonds as one network even where little connects them
#clamp_stop_a = 1.0         # amps in a bond above which you are never asked to disconnect it

#[assumptions]             # only with a reason that stands in the record; each has its bounds (docs/evidence.md)
#make_low = 0.90            # assumed where nothing is measured; every change is printed

#[supply]
#system = "TN-C-S"          # TN-S, TN-C-S, TT, TN-C or IT
#pme = true                 # does the distributor's PME apply?
#neutral_at_most_mm2 = 35   # supply neutral, copper-equivalent; or neutral_mm2 = 25 if it is known
#earthing_mm2 = 16          # earthing conductor as fitted
<also supply>

#[[instrument]]
#id = "tester"
#name = "continuity tester"
#serial = "0000"
#valid_until = 2027-03-01
#continuity = {{ pct = 3, digits = 2, step = 0.01, top = 99.99 }}   # limits of error from its manual

#[[leads]]
#id = "long"
#allowed = "nulled"         # nulled, subtracted or none
#null_ohm = 0.19            # what was nulled out

#[[part]]
#id = "water"
#kind = "water"             # water, gas, oil, heating, ducting, steel, lightning, tank or other
#name = "Water service"
# owner = "gas transporter" when it is not the client's to touch
<also part>

#[[bond]]
#part = "water"
#csa_mm2 = 10
#length_m = 12              # along the route, paced or measured
#length_tol_m = 1           # how far out that may be
#strands = "7/1.35"
#position = "on the consumer's side of the stop tap"
#label = true
<also bond>

# Now the steps, in order. Prove dead, lock off. Never open a bond that may carry current.
#[[step]]
#clamp = "water"            # clamp meter round the bond, before anything is touched
#shown = 0.05
#load = "main switch on"

#[[step]]
#isolated = "dead"          # locked, tester proved, dead, tester proved again, restored

#[[step]]
#check = "shorted"          # the leads, tips together: must show 0.00
#leads = "long"
#shown = 0.00

#[[step]]
#off = "water"              # the MET end of the bond was taken off …
#read = "conductor"         # … and read from its free end to bare pipe
#bond = "water"
#leads = "long"
#shown = 0.03

#[[step]]
#read = "path"              # still off: MET to the pipe
#bond = "water"
#leads = "long"
#shown = "over-range"

#[[step]]
#on = "water"               # put back
#read = "together"          # all connected: MET to the pipe
#bond = "water"
#leads = "long"
#shown = 0.03

#[[step]]
#read = "joint"             # conductor at the clamp to bare pipe beside it
#bond = "water"
#leads = "long"
#shown = 0.00

#[[step]]
#check = "shorted"          # again at the end; not 0.00 makes every reading since the last good check suspect
#leads = "long"
#shown = 0.00

# ---- Circuits ----
# What is usual is said once, here for the whole visit and under a board for its circuits; a circuit says only what differs.
# Many circuits are quicker in a spreadsheet: earthwright table VISIT -o circuits.csv, then earthwright fill.
#[usual]
#standard = "BS EN 60898"        # of the protective devices
#breaking_ka = 6
#cable = "70 °C thermoplastic, two-core"
#length_tol_pct = 10             # how far out the lengths may be
# also every other key of a circuit but id, board, points and length_tol_m

#[[board]]
#id = "db1"
#where = "hall cupboard"
#phases = 1                      # 1 or 3
#live = "L+N"                    # L+N, L+L, 2L+N, 3L, 3L+N; direct current: 2P, 2P+M; left out: as what feeds the board
#spd_type = "2"                  # 1, 2, 3, 1+2, 2+3, 1+2+3 or none; its indicator is a look: read = "functional", point = "SPD"
# fed_by = "c9"                  # id of the circuit that feeds it; leave it out at the origin
# where another voltage holds than the supply's: u0_v, u_v, frequency_hz; current = "DC"
#[board.switch]                  # main switch; or in words: main_switch = "…"
#kind = "switch"                 # switch, switch with fuses, circuit breaker, residual current device or other
#standard = "BS EN 60947-3"
#poles = 2
#rating_a = 100
#rated_v = 230                   # also: fuse_a, where
#[board.usual]
#standard = "BS EN 61009"
#rcd_type = "A"                  # AC, A, F, B or none
#rcd_ma = 30
#rcd_delay = "none"              # S, none or a set time: "150 ms"
# a residual current device for the whole board instead: [board.rcd] with standard, rating_a, rcd_type, rcd_ma, rcd_delay
# one that stands apart in front of a few circuits: rcd_standard and rcd_rating_a in each of them
<also board>

#[[circuit]]
#id = "c1"
#board = "db1"                   # may be left out while there is one board
#name = "Sockets, ground floor"
#kind = "ring"                   # radial or ring
#use = "sockets"                 # final, distribution, lighting, sockets, fixed, cooker, shower, heating, charging point
#device = "B32"                  # or "BS 3036 30", or {{ standard = …, type = …, rating_a = … }}
#line_mm2 = 2.5
#wiring = "A"                    # A sheathed cable, B, C in conduit of metal, plastic, D, E in trunking, F, G armoured, H mineral, O other
#reference = "C"                 # how the cable runs: A to G, 100 to 103; their meaning: docs/schedule-columns.md
#cpc_mm2 = 1.5                   # cpc = "core", "separate", "conduit", "trunking", "armour", "sheath" or "none"
#length_m = 84                   # to the furthest point; of a ring the whole ring
#points = {{ hall = 12, kitchen = 40, landing = 70 }}   # name = metres along the cable; or names only; or how many
<also circuit>

#[[circuit]]
#id = "c2"
#name = "Boiler"
#use = "heating"
#device = "B6"
#line_mm2 = 1.0
#cpc_mm2 = 1.0
#length_m = 31
#points = {{ boiler = 31 }}

# Known metal between two places helps a reading, or stands in for one; enter it as
#   [[link]]  id = "boiler frame"  between = ["water", "c2@boiler"]  low_ohm = 0.0  high_ohm = 0.01
# An end is the MET, a part, a board's earth bar, a circuit's furthest point or a named point of it. A supplementary bonding
# conductor has csa_mm2 and length_m in place of its resistance.

#[[electrode]]                   # only where there is one
#id = "rod"
#kind = "rod"                    # rod, tape, plate, foundation, mat or other
#where = "front garden"
#length_m = 2.4
<also electrode>

# Something was put right during the visit: readings before this step are what was found, readings after it what
# was left. A bond, a link, "earthing", an electrode, a circuit, or one end of a circuit or board: "c2:cpc".
#[[step]]
#repair = "water"
#remade = "joint"                # the joint, the conductor, part of it, in words

# Readings of circuits. One test: read, of, shown. Several of one circuit: tests. A ring profile: at_points.
<tests>
#[[step]]
#off = ["c1:neutral", "c1:cpc", "spd", "loads"]   # ends of a circuit: line, neutral, cpc, loads, device;
# of a board: spd, loads, switch, earth (db1:spd). "spd" and "loads" alone mean all of them. An electrode by its id.

#[[step]]
#of = "c1"
#tests = {{ "ring r1" = 0.62, "ring rn" = 0.62, "ring r2" = 1.03 }}

#[[step]]
#read = "ring ln"
#of = "c1"
#at_points = {{ hall = 0.31, kitchen = 0.31, landing = 0.31 }}   # or a list in the order of the circuit's points

#[[step]]
#of = "c2"
#test_v = 500
#point = "boiler"                # where the leads were, for R1+R2, R2 and Zs
#tests = {{ r1r2 = 1.12, "insulation LN-E" = ">299", polarity = "good" }}

# R2 says where the other end of the long lead was: between = "bar" (of the circuit's board, also when nothing is said), "MET", or
# "free end" with the cpc off at the board (off = "c2:cpc" before it, on = "c2" after it).

#[[step]]
#on = "all"                      # everything back; or one end, or a circuit with all its ends: on = "c1"

#[[step]]
#of = "c2"
#tests = {{ zs = 1.35, "rcd x1 0°" = 18.2, "rcd button" = "good" }}

#[[step]]
#read = "ze"                     # of = "origin" goes without saying
#method = "two-lead"             # two-lead, no-trip or calculated
#shown = 0.21

#[[step]]
#read = "zs"
#of = "c1"
#absent = "LIM"                  # LIM (could not be), N/A (does not apply), N/V (not verified) or not tested; LIM needs its reason
#note = "sockets behind fixed cupboards"

# ---- For the paper ---- (all of it: docs/documents.md)
#[report]
#number = "A-17"
#issued = {today}
#client_address = ""
#firm_address = ""              # the contractor: who answers for the work
#firm_phone = ""
#firm_body = ""                 # registered with; or none
#firm_number = ""
#supervisor = ""                # the qualified supervisor, who signs second
#purpose = ""                   # why there is a report
#general = ""                   # general condition in words
#concealed = ""                 # hidden, or for another reason not inspected; or "none"
#previous = 2021-11-03          # the last inspection, and its number
#previous_number = ""
#country = "England"            # England, Scotland, Wales or Northern Ireland: its duties are shown
#rented = true                  # then also: landlord = "private" or "social"; tenancy_from, the day it was granted; hmo
#notified_by = "registered installer"   # who tells building control: or "third-party certifier", "building control itself"
<also report>
"""


def _also(table: str) -> str:
    """The keys of a table that no line of it above shows, as lines of remarks: what is declared is never left out."""
    shown = _TEXT[: _TEXT.index(f"<also {table}>")].rpartition("[" + table + "]")[2]
    keys = [f for f in BY_NAME[table].fields if f.kind not in (ID, TABLE) and not re.search(rf"\b{f.key} =", shown)]
    said = ", ".join(f.key + (f" ({', '.join(f.choices)})" if f.kind in (WORD, WHOLE) else "") for f in keys)
    return _remark(f"also: {said}; what they are: docs/visit-book.md")


def _remark(text: str) -> str:
    return textwrap.fill(text, 126, initial_indent="# ", subsequent_indent="# ", break_on_hyphens=False)


BLANK = re.sub(r"<also (\w+)>", lambda found: _also(found[1]), _TEXT).replace(
    "<tests>", _remark(f"Tests: {', '.join(t.name for t in TESTS)}.")
)
