"""Values, digits, units and errors: what everything else is written with."""
