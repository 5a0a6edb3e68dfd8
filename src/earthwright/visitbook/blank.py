"""The blank visit book that ``earthwright start`` writes: every line explained, everything that must be filled marked."""

BLANK = """# Visit book. Write what you saw and did, in the order you did it; the tool works out the rest.
# Lines that begin with # are for people. Readings are typed as the display showed them: 0.02, 0.00, "over-range".
# Lengths in metres, cross-sections in mm², temperatures in °C.

[visit]
place = ""                  # where (needed)
date = {today}           # day of the inspection (needed); it decides which edition of the rules applies
kind = "bonding"            # bonding, periodic, initial or minor works
inspector = ""              # who signs
temp_c = 15                 # of the conductors, roughly
# edition = "2018+A4"       # only where two editions are open on that day: choose once
# decision = "guarded"      # hold the whole 95 % interval against a limit instead of the value
# clamp_stop_a = 1.0        # amperes in a bond above which it is never offered for disconnection

[supply]
system = "TN-C-S"           # TN-S, TN-C-S, TT, TN-C or IT; leave the line out if you do not know
pme = true                  # does the distributor's PME apply?
neutral_at_most_mm2 = 35    # supply neutral, copper-equivalent; or neutral_mm2 = 25 if it is known
earthing_mm2 = 16           # earthing conductor as fitted

[[instrument]]
id = "tester"
name = ""
serial = ""
# valid_until = 2027-03-01
continuity = {{ pct = 3, digits = 2, step = 0.01, top = 99.99 }}   # limits of error from its manual

[[leads]]
id = "long"
allowed = "nulled"          # nulled, subtracted or none
null_ohm = 0.19             # what was nulled out

[[part]]
id = "water"
kind = "water"              # water, gas, oil, heating, ducting, steel, lightning, tank or other
name = "Water service"
# owner = "gas transporter" # when it is not the client's to touch

[[bond]]
part = "water"
csa_mm2 = 10
length_m = 12               # along the route, paced or measured
length_tol_m = 1            # how far out that may be
# strands = "7/1.35"
# position = "on the consumer's side of the stop tap"
# label = true

# Now the steps, in order. Prove dead, lock off. Never open a bond that may carry current.
[[step]]
clamp = "water"             # clamp meter round the bond, before anything is touched
shown = 0.05
load = "main switch on"

[[step]]
isolated = "dead"           # locked, tester proved, dead, tester proved again, restored

[[step]]
check = "shorted"           # the leads, tips together: must show 0.00
leads = "long"
shown = 0.00

[[step]]
off = "water"               # the MET end of the bond was taken off …
read = "conductor"          # … and read from its free end to bare pipe
bond = "water"
leads = "long"
shown = 0.03

[[step]]
read = "path"               # still off: MET to the pipe
bond = "water"
leads = "long"
shown = "over-range"

[[step]]
on = "water"                # put back
read = "together"           # all connected: MET to the pipe
bond = "water"
leads = "long"
shown = 0.03

[[step]]
read = "joint"              # conductor at the clamp to bare pipe beside it
bond = "water"
leads = "long"
shown = 0.00

[[step]]
check = "shorted"           # again at the end; not 0.00 makes every reading since the last good check suspect
leads = "long"
shown = 0.00
"""
