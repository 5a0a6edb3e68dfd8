"""Evidence for a whole site: several bonds, the metal between them, and all readings in their states together."""

from .model import Option, SiteBond, SiteData, SiteEvidence, SiteLink, SiteModel, SiteReading
from .weigh import weigh

__all__ = ["Option", "SiteBond", "SiteData", "SiteEvidence", "SiteLink", "SiteModel", "SiteReading", "weigh"]
