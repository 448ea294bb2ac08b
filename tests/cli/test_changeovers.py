"""`changeovers`, `batteries` and `time --day`: as data and as text."""

import json
from pathlib import Path

import pytest


def test_changeovers_have_the_shape_of_the_design(run_json, book: Path):
    data = run_json("changeovers", "friday", "--book", book)
    assert list(data) == ["show", "changeovers"]
    (change,) = data["changeovers"]
    assert list(change) == ["from", "to", "needs_s", "has_s", "steps", "jumps"]
    assert (change["from"], change["to"], change["needs_s"], change["has_s"]) == ("low-lantern", "harbour", 0, 45)
    assert change["steps"] == []


def test_a_step_names_what_from_what_to_what_by_which_limb(run_json, book: Path):
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('driver = "off" }', 'driver = "on" }'))
    harbour = book / "songs/harbour.toml"
    harbour.write_text(harbour.read_text().replace('instrument = "tenor"', 'instrument = "tenor"\ncapo = 2'))
    steps = run_json("changeovers", "friday", "--book", book)["changeovers"][0]["steps"]
    assert steps == [
        {"what": "string driver", "from": "high", "to": "off", "limb": "picking hand", "seconds": 1},
        {"what": "capo", "from": 0, "to": 2, "limb": "both hands", "seconds": 10},
    ]


def test_changeovers_say_in_words_where_time_is_short(run, book: Path):
    harbour = book / "songs/harbour.toml"
    harbour.write_text(harbour.read_text().replace('instrument = "tenor"', 'instrument = "tenor"\ncapo = 2'))
    show = book / "shows/friday.toml"
    show.write_text(show.read_text().replace("talk 0:45", "gap 0:04"))
    text = run("changeovers", "friday", "--book", book).stdout
    assert "Low Lantern → Harbour Steps: needs 0:10, gap 0:04, 0:06 SHORT" in text
    assert "capo  no capo → fret 2  both hands  10 s" in text
    assert "by itself: program 3 on host" in text
    assert "too little time for 1: 0:06 into Harbour Steps" in text


def test_a_show_that_is_played_on_no_rig_exits_2(run, book: Path):
    (book / "book.toml").write_text('format = 1\nname = "No usual rig"\n')
    result = run("changeovers", "friday", "--book", book)
    assert result.exit_code == 2
    assert "has no rig; write rig" in result.stderr


def test_batteries_have_the_shape_of_the_design(run_json, book: Path):
    data = run_json("batteries", "friday", "--book", book)
    (battery,) = data["batteries"]
    assert list(battery) == ["battery", "hours_left", "hours_needed", "enough"]
    assert battery["hours_left"] == pytest.approx(550 * 0.7 / 18)
    assert battery["enough"]


def run_of(book: Path, day: str, *marks: tuple[float, str, str]) -> None:
    """Writes a run's log: seconds, kind, song."""
    file = book / "runs/friday" / f"{day}.jsonl"
    file.parent.mkdir(parents=True, exist_ok=True)
    lines = [
        json.dumps({"time": f"{day}T21:00:00", "unix_s": at_s, "kind": kind, "song": song})
        for at_s, kind, song in marks
    ]
    file.write_text("\n".join([*lines, '{"cut sho']))


def test_hours_that_runs_have_logged_since_it_was_fitted_are_used(run_json, book: Path):
    run_of(book, "2026-11-07", (0, "song", "harbour"), (7200, "over", "harbour"))
    rig = book / "rigs/big.toml"
    text = rig.read_text()
    for fitted, used_h in (("2026-11-08", 0), ("2026-11-07", 2)):
        rig.write_text(f"{text}fitted = {fitted}\n")
        (battery,) = run_json("batteries", "friday", "--book", book)["batteries"]
        assert battery["hours_left"] == pytest.approx(550 * 0.7 / 18 - used_h)


def test_the_time_rests_on_what_runs_have_logged(run, run_json, book: Path):
    before = run_json("time", "friday", "--book", book)["expected_s"]
    run_of(book, "2026-11-07", (0, "song", "harbour"), (450, "over", "harbour"))
    assert run_json("time", "friday", "--book", book)["expected_s"] == pytest.approx(before + (450 - 330 * 1.04) / 3)
    assert "1 song of 2 as long as they were played: 1 time in all" in run("time", "friday", "--book", book).stdout


def test_the_day_is_counted_back_from_the_first_note(run, run_json, book: Path):
    day = run_json("time", "friday", "--day", "--book", book)["day"]
    assert day[0] == {"at": "17:30", "what": "load-in", "minutes": 30, "checklists": []}
    assert [part["at"] for part in day] == sorted(part["at"] for part in day)
    assert "20:45  Only set" in run("time", "friday", "--day", "--book", book).stdout


def test_a_day_without_a_start_exits_2(run, book: Path):
    show = book / "shows/friday.toml"
    show.write_text(show.read_text().replace('start = "20:45"\n', ""))
    result = run("time", "friday", "--day", "--book", book)
    assert result.exit_code == 2
    assert "write start = … into the show" in result.stderr
