"""Guessing the pass phrase gets slower, for one address and for all; the right one still gets in."""

from __future__ import annotations

import base64

import pytest
from asked import NOON, Site
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.cli.serve import PHRASE
from earthwright.desk import Desk
from earthwright.web.phrase import FREE, FREE_IN_ALL, LONGEST_WAIT_S, Keeper, unfit
from earthwright.web.settings import Settings

RIGHT = "correct horse battery"


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def keeper(clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Keeper:
    return Keeper(RIGHT, clock)


def guess(keeper: Keeper, address: str, given: str) -> bool | None:
    """None where it was not looked at."""
    return None if keeper.wait_s(address) else keeper.right(address, given)


def test_after_some_wrong_ones_an_address_waits_twice_as_long_each_time(keeper: Keeper, clock: Clock) -> None:
    assert [guess(keeper, "a", f"wrong {n}") for n in range(FREE)] == [False] * FREE
    waits = []
    for n in range(12):
        waits.append(keeper.wait_s("a"))
        assert guess(keeper, "a", RIGHT) is None, "the right one must not be told while it waits"
        clock.now += waits[-1]
        assert guess(keeper, "a", f"more {n}") is False
    assert waits == [min(LONGEST_WAIT_S, 2.0**n) for n in range(12)]
    assert guess(keeper, "b", RIGHT) is True  # others are not held up
    clock.now += keeper.wait_s("a")
    assert guess(keeper, "a", RIGHT) is True
    assert keeper.wait_s("a") == 0


def test_guesses_from_many_addresses_slow_down_all_that_were_never_right(keeper: Keeper, clock: Clock) -> None:
    assert guess(keeper, "office", RIGHT) is True
    for n in range(FREE_IN_ALL):
        assert guess(keeper, f"10.0.0.{n}", "wrong") is False
    assert keeper.wait_s("10.9.9.9") > 0
    assert guess(keeper, "office", RIGHT) is True
    looked_at = 0
    for n in range(2000):  # one new address every tenth of a second
        clock.now += 0.1
        looked_at += guess(keeper, f"10.1.{n // 250}.{n % 250}", "wrong") is not None
    assert looked_at < 25
    clock.now += 2 * 3600
    assert keeper.wait_s("10.9.9.9") == 0


def test_a_request_without_any_phrase_is_no_wrong_one(keeper: Keeper) -> None:
    assert [guess(keeper, "a", "") for _ in range(50)] == [False] * 50


def test_the_phrase_itself_is_not_kept(keeper: Keeper) -> None:
    assert RIGHT not in repr(keeper)
    assert keeper.phrase == ""


@pytest.mark.parametrize(
    ("phrase", "fit"),
    [("", False), ("            ", False), ("aaaaaaaaaaaaaaa", False), ("abababababababab", False), ("   short 1    ", False), (RIGHT, True), ("größere Wörter", True)],
)  # fmt: skip
def test_blank_short_and_single_letter_phrases_are_refused(
    phrase: str, fit: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert (unfit(phrase) == "") == fit
    if not fit:
        monkeypatch.setenv(PHRASE, phrase)
        done = CliRunner().invoke(main, ["serve", "--host", "0.0.0.0"])
        assert done.exit_code == 2
        assert PHRASE in done.output


def test_the_pages_say_how_long_to_wait(desk: Desk) -> None:
    def site(phrase: str) -> Site:
        token = base64.b64encode(f"M. Other:{phrase}".encode()).decode()
        made.headers = {"authorization": f"Basic {token}"}
        return made

    made = Site(desk, Settings(pass_phrase=RIGHT, now=lambda: NOON))
    assert [site(f"wrong {n}").get("/").status_code for n in range(FREE)] == [401] * FREE
    answer = site(RIGHT).get("/")
    assert answer.status_code == 429
    assert answer.headers["retry-after"] == "1"
    assert "Wait 1 s" in answer.text


def test_an_address_beyond_its_bound_is_refused(desk: Desk) -> None:
    assert Site(desk).get("/?find=" + "x" * 9000).status_code == 414
