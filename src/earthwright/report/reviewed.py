"""What leads every screen and paper of a visit on a day for which nobody has looked whether the rules still stand."""

from __future__ import annotations

from ..outcomes.assessment import Assessment


def notices(a: Assessment) -> tuple[str, ...]:
    """One sentence where the rules were not reviewed up to the day that counts; empty otherwise."""
    return tuple(
        f"Rules not reviewed since {e.not_reviewed_since}: everything is judged by {e.title}, the newest that is known here. "
        "A later edition may be in force; check which one counts."
        for e in a.editions
        if e.not_reviewed_since
    )
