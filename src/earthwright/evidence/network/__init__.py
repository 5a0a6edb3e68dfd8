"""Evidence for a whole site: several bonds, the metal between them, and all readings in their states together."""

from __future__ import annotations

from collections.abc import Sequence

from .model import Option, SiteBond, SiteData, SiteEvidence, SiteLink, SiteModel, SiteReading


def weigh(data: SiteData, options: Sequence[Option] | None = None) -> SiteEvidence:
    """Weigh all readings of a site together: see :func:`earthwright.evidence.network.weighing.weigh`.

    Loaded when it is first asked for, because most visits never do.
    """
    from .weighing import weigh as work

    return work(data, options)


__all__ = ["Option", "SiteBond", "SiteData", "SiteEvidence", "SiteLink", "SiteModel", "SiteReading", "weigh"]
