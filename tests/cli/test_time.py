"""`time`: the running time as data and as text."""

from pathlib import Path

import pytest

from showrunner.places import demo_book
from showrunner.planning.handwork import SWAP_S
from showrunner.planning.lineup import APPLAUSE_S
from showrunner.takes.smf import write_take
from showrunner.takes.take import Take, TakeCue, TakeEvent


def test_json_has_the_shape_of_the_design(run_json, book: Path):
    data = run_json("time", "friday", "--book", book)
    keys = ["show", "planned_s", "expected_s", "spread_s", "slot_s", "finish", "curfew", "over_s", "sets"]
    assert list(data) == keys
    assert data["planned_s"] == 4 * 60 + 45 + 5 * 60 + 30
    assert (data["slot_s"], data["curfew"]) == (1200, "23:00")
    assert data["sets"][0]["title"] == "Only set"
    assert data["sets"][0]["songs"][0] == {"song": "low-lantern", "starts": "20:45", "duration_s": 240}


def test_without_a_start_clock_times_are_null(run_json, book: Path):
    show = book / "shows/friday.toml"
    show.write_text(show.read_text().replace('start = "20:45"\n', ""))
    data = run_json("time", "friday", "--book", book)
    assert data["finish"] is None
    assert data["sets"][0]["songs"][0]["starts"] is None


def test_text_says_when_each_song_starts_and_whether_it_fits(run, book: Path):
    text = run("time", "friday", "--book", book).stdout
    assert "20:45  Low Lantern    4:00  talk 0:45" in text
    assert "slot 20:00 and curfew 23:00: " in text
    assert "common practice" in text


def test_too_long_a_show_is_said_in_words(run, book: Path):
    show = book / "shows/friday.toml"
    show.write_text(show.read_text().replace('slot = "20:00"', 'slot = "9:00"'))
    assert " over; no optional song to drop" in run("time", "friday", "--book", book).stdout


def test_what_to_drop_is_said_by_its_title(run, book: Path):
    show = book / "shows/friday.toml"
    text = show.read_text().replace('slot = "20:00"', 'slot = "9:00"')
    show.write_text(text.replace('song = "harbour"', 'song = "harbour", optional = true'))
    assert "2:38 over: drop Harbour Steps" in " ".join(run("time", "friday", "--book", book).stdout.split())


def friday(book: Path, slot: str, optional: bool, **more: str) -> None:
    """Friday's show with another slot: 4:00, 0:45 of talk and 5:30, live 10:37.8, and a minute to walk off."""
    show = book / "shows/friday.toml"
    text = (
        show.read_text()
        .replace('slot = "20:00"', f'slot = "{slot}"')
        .replace('"20:45"', f'"{more.get("start", "20:45")}"')
    )
    show.write_text(text.replace('song = "harbour"', 'song = "harbour", optional = true') if optional else text)


@pytest.mark.parametrize(
    ("slot", "optional", "said"),
    [
        ("13:00", True, "1:22 to spare, which is tight: drop Harbour Steps to end 3 minutes early Named to drop are"),
        ("8:00", True, "over: drop Harbour Steps to end in time; the optional songs are not enough to end 3 minutes"),
        ("5:00", True, "over: drop Harbour Steps and more, since the optional songs are not enough to end in time"),
        ("11:00", False, "over; no optional song to drop"),
        ("20:00", True, "to spare"),
    ],
)
def test_what_dropping_comes_to_is_said(run, book: Path, slot: str, optional: bool, said: str):
    friday(book, slot, optional)
    text = " ".join(run("time", "friday", "--book", book).stdout.split())
    assert said in text
    assert ("the fewest optional songs that are enough" in text) is ("drop Harbour Steps to end" in text)


def test_a_finish_seconds_after_the_curfew_has_its_seconds(run, book: Path):
    venue = next((book / "venues").glob("*.toml"))
    friday(book, "1:00:00", False, start="22:50")
    plain = run("time", "friday", "--book", book).stdout
    assert "ending at 23:01" in plain
    venue.write_text(venue.read_text().replace('curfew = "23:00"', 'curfew = "23:01"'))
    text = " ".join(run("time", "friday", "--book", book).stdout.split())
    assert "ending at 23:00:38" in text
    assert "curfew 23:01:00" in text
    day = run("time", "friday", "--day", "--book", book).stdout
    assert "23:00:38  walk off" in day
    assert "23:01:00  curfew" in day


def test_a_song_that_cant_be_read_exits_2_rather_than_time_without_it(run, run_json, book: Path):
    (book / "songs/harbour.toml").write_text("format = 1\n")
    result = run("time", "friday", "--book", book)
    assert result.exit_code == 2
    assert "songs/harbour.toml can't be used before that is mended" in result.stderr
    errors = run_json("time", "friday", "--book", book)["errors"]
    assert {error["file"] for error in errors} == {"songs/harbour.toml"}


def test_a_song_that_is_not_there_exits_2(run, book: Path):
    (book / "songs/harbour.toml").unlink()
    assert run("time", "friday", "--book", book).exit_code == 2


def test_takes_tell_how_long_a_song_lasts_only_where_a_foot_led_it(run, run_json, book: Path):
    """By the clock it always lasts as written, whatever the player would take."""
    plain = run_json("time", "friday", "--book", book)
    for _ in range(2):
        run("rehearse", "low-lantern", "--fast", "--keep", "--book", book)
    assert run_json("time", "friday", "--book", book) == plain
    pressed = [(at_s + after_s, value) for at_s in (1, 61, 181, 251) for after_s, value in ((0, 127), (0.1, 0))]
    events = tuple(TakeEvent(at_s, "floor", "in", bytes((0xB0, 80, value))) for at_s, value in pressed)
    cues = tuple(TakeCue(at_s, "low-lantern", cue) for at_s, cue in ((1, "Verse"), (61, "Ring"), (181, "End")))
    write_take(book / "takes/low-lantern/foot.mid", Take(events, cues, rig="big", song="low-lantern"))
    by_foot = run_json("time", "friday", "--book", book)
    # One of 250.1 s beside 249.6 s, 4 % over the written 4:00, which counts as two: 249.8 s.
    assert by_foot["expected_s"] - plain["expected_s"] == pytest.approx((250.1 - 249.6) / 3)


@pytest.mark.parametrize("command", ["time", "changeovers", "order", "trims", "batteries"])
def test_a_command_says_which_figures_are_common_practice(command: str, run):
    text = " ".join(run(command, "pellmarsh-hall", "--book", demo_book()).stdout.split())
    assert "Allowances (common practice): " in text


def test_the_figures_are_those_that_are_reckoned_with(run):
    text = " ".join(run("changeovers", "pellmarsh-hall", "--book", demo_book()).stdout.split())
    assert f"another guitar {SWAP_S:g} s" in text
    assert f"applause {APPLAUSE_S:g} s" in text
