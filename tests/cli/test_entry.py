"""Which command lines open a screen the short way; every other one is a command's."""

import pytest

from showrunner.cli.entry import Wish, wish


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ([], Wish(None)),
        (["--book", "tour"], Wish("tour")),
        (["--book=tour"], Wish("tour")),
        (["play", "hall"], Wish(None, "hall")),
        (["--book", "tour", "play", "hall"], Wish("tour", "hall")),
        (["play", "hall", "--book", "tour"], Wish("tour", "hall")),
        (["play", "show/hall"], Wish(None, "show/hall")),
        (["play", "hall", "--simulated"], Wish(None, "hall", simulated=True)),
        (["--book=tour", "play", "--simulated", "hall"], Wish("tour", "hall", simulated=True)),
    ],
)
def test_a_screen_is_asked_for(words: list[str], wanted: Wish) -> None:
    assert wish(words) == wanted


@pytest.mark.parametrize(
    "words",
    [
        ["play"],
        ["play", "--help"],
        ["play", "hall", "--status"],
        ["play", "hall", "--simulated", "--simulated"],
        ["--simulated", "hall"],
        ["play", "hall", "other"],
        ["check"],
        ["--book"],
        ["--book", "tour", "--book", "other"],
        ["--book", "--help"],
        ["--version"],
        ["--json"],
        ["play", "a\0b"],
        ["--book", "a\0b"],
    ],
)
def test_anything_more_goes_to_the_commands(words: list[str]) -> None:
    assert wish(words) is None
