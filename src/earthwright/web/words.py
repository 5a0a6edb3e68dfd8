"""The English of the pages, in files of their own (en.toml; together.toml, and office.toml for those of a firm), so that it can be translated."""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from importlib import resources

from ..site import tables
from ..site.tests import BY_NAME


@lru_cache(maxsize=1)
def catalogue() -> dict[str, str]:
    """Every sentence by its dotted name."""
    files = [resources.files(__package__) / name for name in ("en.toml", "together.toml", "office.toml")]
    texts = [file.read_text(encoding="utf-8") for file in files if file.is_file()]  # a phone has no firm
    return dict(pair for text in texts for pair in _flat("", tomllib.loads(text)))


def _flat(prefix: str, table: dict[str, object]) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for key, value in table.items():
        name = f"{prefix}.{key}" if prefix else key
        found += _flat(name, value) if isinstance(value, dict) else [(name, str(value))]
    return found


def say(name: str, **values: object) -> str:
    """The sentence of that name with its places filled. Raises KeyError for a name that is not there."""
    sentence = catalogue()[name]
    return sentence.format(**{k: _Count(v) if type(v) is int else v for k, v in values.items()}) if values else sentence


class _Count(int):
    """A number with the word that stands behind it: of ``{count} entr{count:y|ies}`` one of both endings is said."""

    def __format__(self, spec: str) -> str:
        if "|" not in spec:
            return super().__format__(spec)
        one, _, more = spec.partition("|")
        return one if self == 1 else more


def say_or(name: str, otherwise: str) -> str:
    """The sentence of that name, or the word itself where there is none."""
    return catalogue().get(name, otherwise)


def label_of(key: str, table: str = "") -> str:
    """What a key of the visit book is called: as declared, unless the catalogue says otherwise; else the key itself."""
    own = say_or(f"label.{table}.{key}", "") or tables.label_of(table, key)
    return own or say_or(f"label.{key}", "") or tables.label_of("", key) or key


def place_words(where: str) -> str:
    """Where in a visit, its key in the words of a page: ``step 13: Readings at points``."""
    title, _, keys = where.partition(": ")
    table = title.partition(" ")[0]
    return ": ".join([title, *(label_of(key, table) for key in keys.split(": ") if key)])


def first_sentence(text: str) -> str:
    """The first sentence of a few; an abbreviation ends none."""
    found = re.match(r".*?(?<!e\.g)(?<!i\.e)\.(?=\s|$)", text, re.DOTALL)
    return found[0] if found else text


def title_of(test: str) -> str:
    """What a test is called on a page."""
    return say_or("tests." + test.replace(" ", "_"), BY_NAME[test].titled if test in BY_NAME else test)


def connect_of(test: str) -> str:
    """How to connect for a test."""
    return say_or("connect." + test.replace(" ", "_"), BY_NAME[test].connect)
