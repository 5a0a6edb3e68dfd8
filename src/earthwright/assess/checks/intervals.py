"""The date of the next inspection on the paper against the longest interval that the law sets whoever lets the home."""

from __future__ import annotations

from ...base.errors import Finding
from ...report.landlord import too_long
from .series import Series


def next_inspection(series: Series) -> list[Finding]:
    """A next inspection later than the law asks for; nothing where the home is not let, or no date is entered."""
    return [
        Finding.of(
            "report.interval",
            "report: next_by",
            f"{said}.",
            "",
            f"{last.last_day} or earlier",
            str(series.visit.paperwork.report.next_by),
            "Give an earlier date; yours may be shorter than the law's, never longer.",
        )
        for said, last in too_long(series.visit)
    ]
