"""`log --close` and `--reopen`: what a night leaves in the book, once, and taken back."""

import json
from pathlib import Path

import pytest

from showrunner.book.read import read_book

DATE = 'date = 2026-11-20\nshow = "friday"'


@pytest.fixture
def home(night: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The night, with no show running."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return night


def files(book: Path) -> dict[str, bytes]:
    return {path.relative_to(book).as_posix(): path.read_bytes() for path in book.rglob("*") if path.is_file()}


def test_without_write_it_says_what_would_change_and_changes_nothing(home: Path, run, run_json):
    before = files(home)
    data = run_json("log", "friday", "--close", "--book", home)
    assert data["written"] is False
    assert [(s["song"], s["written_s"], s["played_s"], s["median_s"], s["taken"]) for s in data["songs"]] == [
        ("low-lantern", 240, 250, 250, False),
        ("harbour", 330, 340, 340, False),
    ]
    (battery,) = data["batteries"]
    assert battery["hours"] == pytest.approx(650 / 3600)
    assert data["files"] == ["venues/harbour.toml", "rigs/big.toml"]
    text = run("log", "friday", "--close", "--book", home).stdout
    assert "driver cell: used 0 h, and 0.18 h that night (tenor in hand): 0.18 h" in text
    assert "--write writes venues/harbour.toml, rigs/big.toml" in " ".join(text.split())
    assert files(home) == before


def test_with_write_hours_visit_and_the_songs_that_were_ticked_are_filed(home: Path, run):
    words = ("--duration", "low-lantern", "--temperature", 21.5, "--note", "Boomy.", "--write")
    assert run("log", "friday", "--close", *words, "--book", home).exit_code == 0
    book = read_book(home).book
    assert (book.songs["low-lantern"].duration, book.songs["harbour"].duration) == (250, 330)
    assert book.rigs["big"].batteries["driver cell"].used_h == 0.18
    (visit,) = book.venues["harbour"].visits
    assert (str(visit.date), visit.show, visit.temperature_c, visit.note) == ("2026-11-20", "friday", 21.5, "Boomy.")
    song = (home / "songs/low-lantern.toml").read_text()
    assert "# the pedal brings the echo in, and from half way on the drive" in song


def test_all_takes_every_song_that_is_offered(home: Path, run_json):
    data = run_json("log", "friday", "--close", "--duration", "all", "--book", home)
    assert data["files"][:2] == ["songs/low-lantern.toml", "songs/harbour.toml"]


def test_a_second_close_says_when_it_was_closed_and_changes_nothing(home: Path, run):
    run("log", "friday", "--close", "--write", "--book", home)
    after = files(home)
    again = run("log", "friday", "--close", "--duration", "all", "--write", "--book", home)
    assert again.exit_code == 2
    assert "friday, 2026-11-20, is closed already on" in again.stderr
    assert files(home) == after
    assert "2026-11-20, closed on" in run("log", "friday", "--book", home).stdout


def test_reopening_gives_every_file_back(home: Path, run, run_json):
    before = files(home)
    run("log", "friday", "--close", "--duration", "all", "--write", "--book", home)
    after = files(home)
    assert "--write would give back" in run("log", "friday", "--reopen", "--book", home).stdout
    assert files(home) == after
    data = run_json("log", "friday", "--reopen", "--write", "--book", home)
    assert data["files"] == ["songs/low-lantern.toml", "songs/harbour.toml", "venues/harbour.toml", "rigs/big.toml"]
    assert files(home) == before
    assert run("log", "friday", "--close", "--write", "--book", home).exit_code == 0


def test_what_is_open_can_not_be_reopened(home: Path, run):
    result = run("log", "friday", "--reopen", "--write", "--book", home)
    assert (result.exit_code, "is not closed" in result.stderr) == (2, True)


def test_where_one_file_was_changed_since_none_is_given_back(home: Path, run):
    run("log", "friday", "--close", "--duration", "low-lantern", "--write", "--book", home)
    song = home / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('"4:10"', '"4:20"'))
    after = files(home)
    result = run("log", "friday", "--reopen", "--write", "--book", home)
    assert result.exit_code == 2
    assert "duration in songs/low-lantern.toml is no longer what it was" in result.stderr
    assert files(home) == after


def test_a_closed_nights_hours_are_counted_once(home: Path, run, run_json):
    before = run_json("batteries", "friday", "--book", home)["batteries"][0]["hours_left"]
    run("log", "friday", "--close", "--write", "--book", home)
    after = run_json("batteries", "friday", "--book", home)["batteries"][0]["hours_left"]
    assert after == pytest.approx(before, abs=0.005)


def test_what_is_played_after_the_close_counts_on_top(home: Path, run, run_json):
    run("log", "friday", "--close", "--write", "--book", home)
    before = run_json("batteries", "friday", "--book", home)["batteries"][0]["hours_left"]
    log = home / "runs/friday/2026-11-20.jsonl"
    later = [
        {"time": "2026-11-20T23:00:00", "unix_s": at_s, "kind": kind, "song": "harbour"}
        for at_s, kind in ((9000, "began"), (9001, "song"), (9001 + 3600, "over"))
    ]
    log.write_text(log.read_text() + "".join(json.dumps(line) + "\n" for line in later))
    after = run_json("batteries", "friday", "--book", home)["batteries"][0]["hours_left"]
    assert before - after == pytest.approx(1, abs=0.01)


def test_closing_without_a_tick_leaves_the_time_as_it_was(home: Path, run, run_json):
    before = run_json("time", "friday", "--book", home)
    run("log", "friday", "--close", "--write", "--book", home)
    assert run_json("time", "friday", "--book", home) == before


def test_a_song_that_takes_its_played_time_is_planned_and_expected_as_it_was_played(home: Path, run, run_json):
    before = run_json("time", "friday", "--book", home)
    expected = 240 * (2 * 1.04 + 250 / 240) / 3 + 330 * (2 * 1.04 + 340 / 330) / 3
    assert before["expected_s"] == pytest.approx(expected + 45)
    run("log", "friday", "--close", "--duration", "all", "--write", "--book", home)
    after = run_json("time", "friday", "--book", home)
    assert after["planned_s"] == before["planned_s"] + 20
    assert after["expected_s"] == pytest.approx(250 + 340 + 45)


def test_a_closed_night_is_still_told_against_what_was_planned_then(home: Path, run, run_json):
    before = run_json("log", "friday", "--book", home)
    run("log", "friday", "--close", "--duration", "all", "--write", "--book", home)
    after = run_json("log", "friday", "--book", home)
    assert after.pop("closed") is not None
    before.pop("closed")
    before.pop("trims_as_ended"), after.pop("trims_as_ended")
    assert after == before


def test_a_visit_that_trims_filed_is_not_filed_again_and_the_other_way_round(home: Path, run, run_json):
    run("trims", "friday", "--close", "--write", "--book", home)
    data = run_json("log", "friday", "--close", "--write", "--book", home)
    assert (data["visit"], data["no_visit"]) == (None, "a visit on 2026-11-20 is filed already")
    run("log", "friday", "--reopen", "--write", "--book", home)
    (home / "venues/harbour.toml").write_text('format = 1\ntitle = "The Harbour Room"\n')
    run("log", "friday", "--close", "--write", "--book", home)
    assert "is filed already" in run("trims", "friday", "--close", "--write", "--book", home).stderr


@pytest.mark.parametrize(
    ("edit", "why"),
    [
        (('name = "Ring"', 'name = "Ring"\nopen = true'), "it is as long as it lasts"),
        (('duration = "4:00"', 'duration = "9:00"'), "it was broken off or far too long"),
        (('duration = "4:00"', 'duration = "4:10"'), "it was as long as written"),
    ],
)
def test_a_song_whose_played_time_says_nothing_is_not_offered(home: Path, run, run_json, edit, why: str):
    song = home / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace(*edit))
    first = run_json("log", "friday", "--close", "--book", home)["songs"][0]
    assert first["why_not"] == why
    result = run("log", "friday", "--close", "--duration", "low-lantern", "--write", "--book", home)
    assert (result.exit_code, why in result.stderr) == (2, True)
    assert (
        "songs/low-lantern.toml"
        not in run_json("log", "friday", "--close", "--duration", "all", "--book", home)["files"]
    )


def test_a_song_that_was_not_left_or_is_cut_tonight_is_not_offered(home: Path, run_json):
    show = home / "shows/friday.toml"
    show.write_text(show.read_text() + '[tonight.low-lantern]\nduration = "3:00"\n')
    log = home / "runs/friday/2026-11-20.jsonl"
    lines = [line for line in log.read_text().splitlines() if '"over"' not in line and '"ended"' not in line]
    log.write_text("\n".join(lines) + "\n")
    whys = [song["why_not"] for song in run_json("log", "friday", "--close", "--book", home)["songs"]]
    assert whys == ["it had a length of its own tonight", "it was not left"]


def test_a_run_on_another_day_than_the_show_leaves_no_visit(home: Path, run_json):
    show = home / "shows/friday.toml"
    show.write_text(show.read_text().replace("2026-11-20", "2026-11-27"))
    data = run_json("log", "friday", "--close", "--book", home)
    assert data["no_visit"] == "this run was on 2026-11-20, and the show is there on 2026-11-27"


def test_a_song_that_was_not_played_is_named_with_the_nearest(home: Path, run):
    result = run("log", "friday", "--close", "--duration", "harbor", "--book", home)
    assert (result.exit_code, 'did you mean "harbour"' in result.stderr) == (2, True)


def test_no_file_changes_while_a_show_runs(home: Path, run, monkeypatch: pytest.MonkeyPatch):
    before = files(home)
    monkeypatch.setattr("showrunner.live.closing.running", lambda _: True)
    for way in ("--close", "--reopen"):
        result = run("log", "friday", way, "--write", "--book", home)
        assert (result.exit_code, "is being played" in result.stderr) == (2, True)
    assert files(home) == before


@pytest.mark.parametrize(
    "words",
    [
        ("--write",),
        ("--duration", "harbour"),
        ("--note", "x"),
        ("--close", "--reopen"),
        ("--csv", "--json"),
        ("--csv", "--close"),
    ],
)
def test_options_that_do_not_go_together_are_wrong_usage(home: Path, run, words: tuple[str, ...]):
    assert run("log", "friday", *words, "--book", home).exit_code == 2


def test_a_closed_night_stays_closed_in_a_pack_with_its_runs(home: Path, run, run_json, tmp_path: Path):
    run("log", "friday", "--close", "--write", "--book", home)
    hours = run_json("batteries", "friday", "--book", home)["batteries"][0]["hours_left"]
    assert run("pack", "friday", "--with", "runs", "-o", tmp_path / "friday.zip", "--book", home).exit_code == 0
    run("unpack", tmp_path / "friday.zip", "--into", tmp_path / "other", "--write")
    assert run_json("log", "friday", "--book", tmp_path / "other")["closed"] is not None
    assert run_json("batteries", "friday", "--book", tmp_path / "other")["batteries"][0]["hours_left"] == hours
    run("log", "friday", "--reopen", "--write", "--book", tmp_path / "other")
    assert run_json("log", "friday", "--book", tmp_path / "other")["closed"] is None


@pytest.mark.parametrize(
    "text", ["{", '{"state": "made", "files": []}', '{"state": "made", "files": [], "on": 1, "songs": []}']
)
def test_a_record_that_can_not_be_read_is_said_and_the_night_is_told_all_the_same(home: Path, run, text: str):
    (home / "runs/friday/2026-11-20.closed.json").write_text(text)
    result = run("log", "friday", "--book", home)
    assert (result.exit_code, "can't be read as the record" in result.stderr) == (0, True)
    assert "Low Lantern" in result.stdout
    for way in ("--close", "--reopen"):
        assert run("log", "friday", way, "--write", "--book", home).exit_code == 2
    assert run("batteries", "friday", "--book", home).exit_code == 0
