"""Rules as dated data: one folder per standard and edition, each figure with its source.

``RuleBook.load().wiring_for(day)`` gives the edition of the wiring rules; ``rules.lookup`` holds the questions one asks it.
"""

from .load import RuleBook
from .model import Difference, Edition, RuleValue, Table, Worked, cited, clause_of

__all__ = ["Difference", "Edition", "RuleBook", "RuleValue", "Table", "Worked", "cited", "clause_of"]
