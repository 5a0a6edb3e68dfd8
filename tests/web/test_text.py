"""All English of the pages stands in one file, every sentence is used, and none is asked for that is not there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import earthwright.web
from earthwright.web.words import catalogue, first_sentence, place_words, say

WEB = Path(earthwright.web.__file__).parent
TEMPLATES = sorted((WEB / "templates").rglob("*.html"))
CODE = [*sorted(WEB.rglob("*.py")), *sorted((WEB.parent / "cli").glob("*.py"))]
# Names put together while a page is made; what stands before the last dot is looked up here.
MADE = re.compile(
    r"^(label|field|choice|words|things|findings|connect|sums|remedy|sheet)\.|^(test|stage|leads|draw|tests)\.[a-z_0-9]+$|^(nav|map)\.|^bond\.remade_|^(clash|place|saved)\.|^firm\.role_|^office\.deed_|^tools\.kind_|^spoken\.|^passkey\.no_"
)


def asked() -> set[str]:
    found: set[str] = set()
    for path in (*TEMPLATES, *CODE):
        text = path.read_text(encoding="utf-8")
        found |= set(re.findall(r"\b(?:t|say|said)\(\s*[\"']([a-z_.0-9]+)[\"']\s*[,)]", text))
        found |= set(re.findall(r"\bt\([\"']([a-z_.0-9]+)[\"'] if", text))
        found |= set(re.findall(r"[\"']([a-z]+\.[a-z_0-9]+)[\"']", text)) & set(catalogue())
    return found


def test_every_sentence_that_is_asked_for_is_there() -> None:
    known = catalogue()
    missing = sorted(n for n in asked() if n not in known)
    assert missing == []


def test_every_sentence_is_asked_for() -> None:
    used = asked()
    unused = sorted(n for n in catalogue() if n not in used and not MADE.match(n))
    assert unused == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda p: p.name)
def test_no_template_holds_words_of_its_own(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    text = re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", " ", text, flags=re.S)
    text = re.sub(r"<[^>]*>", " ", text)
    text = re.sub(r'[a-z-]+="[^"]*"|\bnovalidate\b', " ", text)  # attributes that a macro writes
    words = [w for w in re.findall(r"[A-Za-z]{2,}", text) if w not in ("mm", "earthwright", "csv", "sha")]
    assert words == []


def test_nothing_of_a_person_is_put_into_a_sentence_as_a_template() -> None:
    assert say("now.not_judged", entry="{why} {0}", why="x").startswith("{why} {0}")


def test_one_of_a_thing_is_not_said_as_many() -> None:
    assert say("paper.lacks", count=1) == "1 entry missing"
    assert say("paper.lacks", count=2) == "2 entries missing"
    assert say("paper.refused", count=1) == "Not issued: 1 entry is missing."
    many = {n: s for n, s in catalogue().items() if re.search(r"\{(count|circuits)\} [a-z]+(s|\(s\))\b", s)}
    assert many == {}  # such a word has two endings: entr{count:y|ies}


def test_the_place_of_a_point_that_was_noticed_is_said_in_the_words_of_pages() -> None:
    assert place_words("step 13: at_points") == "step 13: Readings at points"
    assert place_words("circuit c1: length_m") == "circuit c1: Length"
    assert place_words("db1, insulation") == "db1, insulation"


def test_an_abbreviation_ends_no_sentence() -> None:
    assert first_sentence("Write its place, e.g. 12 m. Then save.") == "Write its place, e.g. 12 m."
    assert first_sentence("Write 0.47 there") == "Write 0.47 there"
