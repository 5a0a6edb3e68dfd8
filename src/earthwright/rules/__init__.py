"""Rules as dated data: one folder per standard and edition, each figure with its source."""

from .load import RuleBook
from .model import Edition, RuleValue, Table

__all__ = ["Edition", "RuleBook", "RuleValue", "Table"]
