"""Sums on plain numbers: no site, no rule, no unit guessing; every argument carries its unit in its name."""
