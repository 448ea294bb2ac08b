"""What is said of the night's clock where minutes or whole seconds alone would look the same."""

from collections.abc import Callable
from typing import Any

import pytest

from showrunner.checks.run import SystemPorts, check
from showrunner.model.library import Book

BookOf = Callable[..., Book]
EXPECTED_S = (240 + 210 + 300) * 1.04 + 180
"""The healthy book's three songs, 4 % long on the night, and 1:30 of talk twice: 16:00."""


@pytest.fixture
def said(healthy: dict[str, Any], book_of: BookOf, ports: SystemPorts) -> Callable[..., str]:
    """What a rule says, and how to mend it, of the healthy book with some edits."""

    def find(rule: str, edits: dict[str, Any]) -> str:
        found = [one for one in check(book_of(healthy, edits), ports=ports) if one.rule == rule]
        return f"{found[0].what}. {found[0].mend}"

    return find


def test_a_last_note_seconds_after_the_curfew_has_its_seconds(said) -> None:
    """By hand: 22:44 and 16:00 are 23:00; a duration of 4:05 adds 5.2 s."""
    assert pytest.approx(16 * 60) == EXPECTED_S
    edits = {"shows/friday/start": "22:44", "songs/lantern/duration": "4:05", "shows/friday/slot": "2:00:00"}
    text = said("after-curfew", edits)
    assert "the last note is expected at 23:00:05; the curfew is 23:00:00" in text
    assert "Start 0:05 earlier" in text


def test_a_slot_too_short_by_less_than_a_second_says_by_how_much(said) -> None:
    """By hand: 4:05 make it 16:05.2, and 17:05.2 with a minute to walk off, in 17:05."""
    text = said("over-slot", {"songs/lantern/duration": "4:05", "shows/friday/slot": "17:05"})
    assert "take 16:05.2 and 1:00 to walk off (common practice); the slot is 17:05, 0:00.2 too short" in text


def test_a_set_too_long_by_less_than_a_second_says_by_how_much(said) -> None:
    edits = {"songs/lantern/duration": "4:05", "shows/friday/sets/0/slot": "16:05"}
    assert "take 16:05.2 from first note to last; its slot is 16:05.0, 0:00.2 too short" in said("set-over-slot", edits)


def test_a_changeover_too_long_by_a_little_says_by_how_much_and_is_mended_by_a_whole_second(said) -> None:
    edits = {"rigs/full/instruments/six/swap_s": 15.04, "shows/friday/sets/0/songs/0/then": "gap 0:15"}
    text = said("changeover-too-short", edits)
    assert "the hands need 15.04 s" in text
    assert "there are 15 s (gap)" in text
    assert 'Write then = "talk 0:16"' in text
