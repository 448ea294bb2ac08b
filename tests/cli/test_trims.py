"""Trims from the command line."""

from pathlib import Path

import pytest


def test_json_holds_each_songs_trims_number_and_headroom(run_json, with_chain: Path):
    data = run_json("trims", "friday", "--book", with_chain)
    assert data["show"] == "friday"
    song = data["songs"][0]
    assert (song["song"], song["input_gain_db"], song["interface_volume_db"]) == ("low-lantern", 32, -9)
    assert song["interface_volume_number"] == 98  # 127·(−9 + 60)/66, rounded
    assert song["headroom_db"] == {"interface input": 12, "software": 3, "interface output": 0}
    assert song["targets"] == {}


def test_an_offset_that_a_songs_range_cuts_off_is_said_for_that_song(run, run_json, with_chain: Path):
    """`drive` ends at 12 dB: Low Lantern's pedal takes it there, so that all of 2 dB is lost; Harbour's stops at 6."""
    venue = with_chain / "venues/harbour.toml"
    venue.write_text(venue.read_text() + "targets = { drive = 2 }\n")
    data = run_json("trims", "friday", "--book", with_chain)
    lost = {"target": "drive", "by": 2, "lost": 2, "unit": "dB"}
    assert [song["cut_off"] for song in data["songs"]] == [[lost], []]
    text = " ".join(run("trims", "friday", "--book", with_chain).stdout.split())
    assert "Low Lantern: drive gets +2 dB, and all of it is lost where that goes past its range" in text


def test_full_house_adds_the_rooms_offset(run_json, with_chain: Path):
    data = run_json("trims", "friday", "--full-house", "--book", with_chain)
    assert data["songs"][0]["interface_volume_db"] == -7


def test_text_explains_the_sum_and_says_what_clips_first(run, with_chain: Path):
    text = run("trims", "friday", "--book", with_chain).stdout
    assert "rig -12 venue +3: all songs" in text
    assert "First to clip: interface output" in text
    assert "turn the interface volume down 3.0 dB" in " ".join(text.split())
    assert "~ not measured" in text


def test_the_way_to_the_back_wall_is_in_the_text(run, with_chain: Path):
    assert "Sound takes 58 ms to the back wall, 20 m, at 20 °C (assumed)" in run(
        "trims", "friday", "--book", with_chain
    ).stdout.replace("\n", " ")


def test_a_new_room_gets_starting_trims_from_rooms_like_it_said_in_words(run, run_json, with_chain: Path):
    (with_chain / "venues/shed.toml").write_text('format = 1\ntitle = "The Shed"\nkind = "club"\n')
    show = with_chain / "shows/friday.toml"
    show.write_text(show.read_text().replace('venue = "harbour"', 'venue = "shed"'))
    text = " ".join(run("trims", "friday", "--book", with_chain).stdout.split())
    assert "The Shed was never played, and nothing is added for it" in text
    assert "of the same kind: harbour" in text
    assert "interface volume +3 dB (+3 to +3)" in text
    data = run_json("trims", "friday", "--book", with_chain)
    assert data["start"]["interface_volume_db"] == {"middle_db": 3, "low_db": 3, "high_db": 3}
    assert data["songs"][0]["interface_volume_db"] == -12


def test_a_rig_without_a_chain_still_has_its_sums(run, run_json, book: Path):
    assert "input gain" in run("trims", "friday", "--book", book).stdout
    assert run_json("trims", "friday", "--book", book)["songs"][0]["interface_volume_number"] is None


def test_a_show_that_is_not_there_exits_2(run, book: Path):
    assert run("trims", "saturday", "--book", book).exit_code == 2


def test_a_trim_set_goes_into_the_show_and_leaves_the_rest(run_json, with_chain: Path):
    show = with_chain / "shows/friday.toml"
    before = show.read_text().splitlines()
    words = ("--set", "interface volume=-1.5", "--set", "echo mix=4", "--write", "--book", with_chain)
    data = run_json("trims", "friday", *words)
    assert (data["files"], data["written"]) == (["shows/friday.toml"], True)
    assert data["songs"][0]["interface_volume_db"] == -10.5
    assert data["songs"][0]["targets"] == {"echo mix": 4}
    assert set(before) <= set(show.read_text().splitlines())
    assert run_json("trims", "friday", "--book", with_chain)["songs"] == data["songs"]


def test_without_write_a_trim_is_only_tried(run, run_json, with_chain: Path):
    show = with_chain / "shows/friday.toml"
    before = show.read_bytes()
    words = ("trims", "friday", "--set", "interface volume=-1.5", "--book", with_chain)
    assert run_json(*words)["songs"][0]["interface_volume_db"] == -10.5
    text = run(*words).stdout
    assert any(line.startswith("+") and "interface_volume_db = -1.5" in line for line in text.splitlines())
    assert text.splitlines()[-1] == "nothing is written yet; say --write to write shows/friday.toml"
    assert show.read_bytes() == before
    closing = run("trims", "friday", "--close", "--book", with_chain).stdout
    assert "+date = 2026-11-20" in closing
    assert "visits" not in (with_chain / "venues/harbour.toml").read_text()


def test_what_is_set_and_the_visit_with_it_are_written_together(run, run_json, with_chain: Path):
    words = ("--set", "interface volume=-1", "--close", "--write", "--book", with_chain)
    assert run("trims", "friday", *words).stdout.endswith("\nwrote shows/friday.toml and venues/harbour.toml\n")
    visit = run_json("read", "venue/harbour", "--book", with_chain)["document"]["visits"][0]
    assert visit["trims"]["interface_volume_db"] == 2


def test_a_trim_set_twice_stands_as_set_last(run, run_json, with_chain: Path):
    run("trims", "friday", "--set", "input gain=2", "--write", "--book", with_chain)
    data = run_json("trims", "friday", "--set", "input gain=-1", "--write", "--book", with_chain)
    assert data["songs"][0]["input_gain_db"] == 31


def test_closing_files_a_visit_with_the_trims_as_they_ended(run, run_json, with_chain: Path):
    run("trims", "friday", "--set", "interface volume=-1", "--write", "--book", with_chain)
    words = ("--close", "--temperature", 21.5, "--note", "Boomy.", "--write", "--book", with_chain)
    assert run_json("trims", "friday", *words)["files"] == ["venues/harbour.toml"]
    venue = run_json("read", "venue/harbour", "--book", with_chain)["document"]
    visit = venue["visits"][0]
    assert (visit["date"], visit["show"], visit["temperature_c"], visit["note"]) == (
        "2026-11-20",
        "friday",
        21.5,
        "Boomy.",
    )
    assert (visit["trims"]["interface_volume_db"], visit["trims"]["full_house_db"]) == (2, 2)
    assert venue["trims"]["interface_volume_db"] == 3


def test_the_last_visit_is_shown_with_the_next_trims_and_in_the_venues_history(run, with_chain: Path):
    run("trims", "friday", "--close", "--temperature", 21.5, "--note", "Boomy.", "--write", "--book", with_chain)
    text = " ".join(run("trims", "friday", "--book", with_chain).stdout.split())
    assert "Last here 2026-11-20: input gain +0 dB, volume +3 dB, full house +2 dB, 21.5 °C. Boomy." in text
    assert "21.5 °C: Boomy." in " ".join(run("read", "venue/harbour", "--book", with_chain).stdout.split())


def test_a_show_is_closed_once(run, with_chain: Path):
    assert run("trims", "friday", "--close", "--write", "--book", with_chain).exit_code == 0
    venue = (with_chain / "venues/harbour.toml").read_bytes()
    again = run("trims", "friday", "--close", "--book", with_chain)
    assert again.exit_code == 2
    assert "filed already" in again.stderr
    assert (with_chain / "venues/harbour.toml").read_bytes() == venue


@pytest.mark.parametrize("lacks", ["date = 2026-11-20\n", 'venue = "harbour"\n'])
def test_a_show_without_date_or_venue_cant_be_filed(run, with_chain: Path, lacks: str):
    show = with_chain / "shows/friday.toml"
    show.write_text(show.read_text().replace(lacks, ""))
    result = run("trims", "friday", "--close", "--book", with_chain)
    assert result.exit_code == 2
    assert "write" in result.stderr


@pytest.mark.parametrize(
    ("setting", "said"),
    [("interface volum=1", 'did you mean "interface volume"'), ("input gain=900", "at most 200")],
)
def test_a_trim_that_cant_be_is_told_and_changes_nothing(run, with_chain: Path, setting: str, said: str):
    before = (with_chain / "shows/friday.toml").read_bytes()
    result = run("trims", "friday", "--set", setting, "--book", with_chain)
    assert result.exit_code == 2
    assert said in result.stderr
    assert (with_chain / "shows/friday.toml").read_bytes() == before


@pytest.mark.parametrize(
    "words", [["--set", "input gain"], ["--set", "=3"], ["--set", "input gain=nan"], ["--note", "x"], ["--write"]]
)
def test_what_sets_or_closes_nothing_is_wrong_usage(run, with_chain: Path, words: list[str]):
    assert run("trims", "friday", *words, "--book", with_chain).exit_code == 2
