"""`log`: a night's log against its plan."""

import csv
import io
import json
from pathlib import Path

import pytest

ROWS = [
    (1000.0, "began", None, None, ""),
    (1001.0, "changeover", "low-lantern", "Verse", ""),
    (1100.0, "song", "low-lantern", "Verse", ""),
    (1160.0, "cue", "low-lantern", "Ring", ""),
    (1161.0, "cue", "low-lantern", "Verse", ""),
    (1162.0, "cue", "low-lantern", "Ring", ""),
    (1200.0, "port lost", "low-lantern", "Ring", "host"),
    (1202.5, "port found", "low-lantern", "Ring", "host"),
    (1210.0, "too soon", "low-lantern", "Ring", ""),
    (1350.0, "changeover", "harbour", "start", ""),
    (1410.0, "song", "harbour", "start", ""),
    (1750.0, "over", "harbour", "start", ""),
    (1800.0, "ended", None, None, ""),
]


@pytest.fixture
def night(book: Path) -> Path:
    """A night of two songs, the first 10 s over, and after it a run in which nothing was played."""
    lines = [
        json.dumps({"time": "2026-11-20T20:45:00", "unix_s": at_s, "kind": kind, "song": song, "cue": cue, "say": say})
        for at_s, kind, song, cue, say in [*ROWS, (2000.0, "began", None, None, "")]
    ]
    file = book / "runs/friday/2026-11-20.jsonl"
    file.parent.mkdir(parents=True)
    file.write_text("\n".join([*lines, '{"kind": "so']) + "\n", encoding="utf-8")
    return book


def test_songs_and_changeovers_stand_beside_their_plan(night: Path, run_json):
    data = run_json("log", "friday", "--book", night)
    assert (data["show"], data["run"], data["lasted_s"]) == ("friday", "2026-11-20", 650.0)
    assert [(s["song"], s["starts_s"], s["lasted_s"], s["planned_s"]) for s in data["songs"]] == [
        ("low-lantern", 0.0, 250.0, 240.0),
        ("harbour", 310.0, 340.0, 330.0),
    ]
    (change,) = data["changeovers"]
    assert (change["from"], change["to"], change["took_s"], change["planned_s"]) == ("low-lantern", "harbour", 60, 45)
    assert data["gone_back"] == [{"at_s": 61.0, "song": "low-lantern", "from_cue": "Ring", "to_cue": "Verse"}]
    assert data["ports_lost"] == [{"at_s": 100.0, "port": "host", "gone_s": 2.5}]
    assert data["others"] == {"too soon": 1}


def test_text_says_it_in_a_table_and_in_words(night: Path, run):
    lines = [" ".join(line.split()) for line in run("log", "friday", "--book", night).stdout.splitlines()]
    assert "0:00 4:00 4:10 +0:10 Low Lantern" in lines
    assert "0:45 1:00 +0:15 to Harbour Steps" in lines
    assert "from the first note to the last 10:50, 0:35 longer than planned" in lines
    assert "1:01 gone back from Ring to Verse in Low Lantern" in lines
    assert "1:40 the port host was gone for 2.5 s" in lines


def test_csv_has_every_line_of_the_log(night: Path, run):
    rows = list(csv.reader(io.StringIO(run("log", "friday", "--csv", "--book", night).stdout)))
    assert rows[0] == ["time", "seconds", "what", "song", "title", "cue", "words"]
    assert len(rows) == 1 + len(ROWS) + 1
    assert rows[7][1:] == ["100.000", "port lost", "low-lantern", "Low Lantern", "Ring", "host"]


def test_csv_gives_a_spreadsheet_nothing_to_run(night: Path, run):
    song = night / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('title = "Low Lantern"', 'title = "=1+1"'))
    text = run("log", "friday", "--csv", "--book", night).stdout
    assert "'=1+1" in text
    assert ",=1+1" not in text


def test_a_song_that_was_left_out_is_named(night: Path, run):
    file = night / "runs/friday/2026-11-20.jsonl"
    kept = [line for line in file.read_text().splitlines() if '"song": "harbour"' not in line]
    file.write_text("\n".join(kept))
    assert "not played: Harbour Steps" in run("log", "friday", "--book", night).stdout


def test_another_night_is_chosen_by_its_date(night: Path, run, run_json):
    (night / "runs/friday/2026-11-21.jsonl").write_text('{"unix_s": 1, "kind": "song", "song": "harbour"}\n')
    assert run_json("log", "friday", "--book", night)["run"] == "2026-11-21"
    assert run_json("log", "friday", "--run", "2026-11-20", "--book", night)["run"] == "2026-11-20"
    result = run("log", "friday", "--run", "2026-11-22", "--book", night)
    assert (result.exit_code, "there are 2026-11-20, 2026-11-21" in result.stderr) == (2, True)


def test_a_show_that_was_never_played_says_how(book: Path, run):
    result = run("log", "friday", "--book", book)
    assert result.exit_code == 2
    assert "friday has no run; showrunner play makes one" in result.stderr


def test_a_log_without_a_song_says_so(book: Path, run):
    file = book / "runs/friday/2026-11-20.jsonl"
    file.parent.mkdir(parents=True)
    file.write_text('{"unix_s": 1, "kind": "began"}\nnoise\n')
    result = run("log", "friday", "--book", book)
    assert result.exit_code == 2
    assert "no song was begun" in result.stderr
