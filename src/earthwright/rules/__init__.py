"""Rules as dated data: one folder per standard and edition, each figure with its source.

``RuleBook.load().edition_for(WIRING, day)`` gives the edition; ``rules.lookup`` holds the questions one asks it.
"""

from .load import RuleBook
from .model import Difference, Edition, RuleValue, Table, Worked

__all__ = ["Difference", "Edition", "RuleBook", "RuleValue", "Table", "Worked"]
