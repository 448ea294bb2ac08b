"""The soundcheck from the command line."""

from pathlib import Path

import pytest


def test_json_holds_the_moments_what_they_cover_and_the_time(run_json, book: Path):
    data = run_json("soundcheck", "friday", "--book", book)
    assert list(data) == ["show", "moments", "total_s", "uncovered"]
    assert data["uncovered"] == []
    assert data["total_s"] == sum(moment["seconds"] + moment["getting_s"] for moment in data["moments"])
    last = data["moments"][-1]
    assert (last["song"], last["from"], last["to"]) == ("low-lantern", "Verse", "Ring")
    covers = {name for moment in data["moments"] for name in moment["covers"]}
    assert {"control swell", "target echo mix", "string driver at high", "curves main of harbour"} <= covers


def test_text_says_when_what_and_by_which_hands(run, book: Path):
    text = run("soundcheck", "friday", "--book", book).stdout
    assert "take the tenor" in text
    assert "Low Lantern: Verse → Ring, 15 s" in text
    assert "it ends as the first song begins" in text
    assert "hearing protection" in text


def test_few_minutes_leave_something_unheard_and_say_what(run, run_json, book: Path):
    assert run_json("soundcheck", "friday", "--minutes", "0.3", "--book", book)["uncovered"] != []
    assert "Not heard: " in run("soundcheck", "friday", "--minutes", "0.3", "--book", book).stdout


@pytest.mark.parametrize("minutes", ["-1", "nan", "many"])
def test_what_is_no_number_of_minutes_is_wrong_usage(run, book: Path, minutes: str):
    assert run("soundcheck", "friday", "--minutes", minutes, "--book", book).exit_code == 2


def test_a_show_that_is_not_there_exits_2(run, book: Path):
    assert run("soundcheck", "saturday", "--book", book).exit_code == 2
