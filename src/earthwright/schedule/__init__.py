"""The schedule of circuits as a table (CSV): written from a visit, read back cell by cell, filled into a visit book."""

from .columns import COLUMNS, Column, Reads, header_of
from .fill import Filled, fill
from .read import Sheet, SheetRow, read_sheet
from .write import as_csv

__all__ = ["COLUMNS", "Column", "Filled", "Reads", "Sheet", "SheetRow", "as_csv", "fill", "header_of", "read_sheet"]
