"""Visit book: the text file a person can write from a notebook, and the frozen values it stands for."""

from .read import ReadBook, read_book, read_tables, read_text

__all__ = ["ReadBook", "read_book", "read_tables", "read_text"]
