"""`log`: a night's log against its plan."""

import csv
import io
import json
from pathlib import Path

import pytest


def test_songs_and_changeovers_stand_beside_their_plan(night: Path, run_json):
    data = run_json("log", "friday", "--book", night)
    assert (data["show"], data["run"], data["lasted_s"]) == ("friday", "2026-11-20", 650.0)
    assert [(s["song"], s["starts_s"], s["lasted_s"], s["planned_s"]) for s in data["songs"]] == [
        ("low-lantern", 0.0, 250.0, 240.0),
        ("harbour", 310.0, 340.0, 330.0),
    ]
    (change,) = data["changeovers"]
    assert (change["from"], change["to"], change["took_s"], change["planned_s"]) == ("low-lantern", "harbour", 60, 45)
    assert data["gone_back"] == [
        {"at_s": 61.0, "song": "low-lantern", "to_cue": "Verse", "from_song": "low-lantern", "from_cue": "Ring"}
    ]
    assert data["ports_lost"] == [{"at_s": 100.0, "port": "host", "gone_s": 2.5}]
    assert data["others"] == {"too soon": 1}


def test_text_says_it_in_a_table_and_in_words(night: Path, run):
    lines = [" ".join(line.split()) for line in run("log", "friday", "--book", night).stdout.splitlines()]
    assert "0:00 4:00 4:10 +0:10 Low Lantern" in lines
    assert "0:45 1:00 +0:15 to Harbour Steps" in lines
    assert "from the first note to the last 10:50, 0:35 longer than planned" in lines
    assert "1:01 gone back from Ring to Verse in Low Lantern" in lines
    assert "1:40 the port host was gone for 2.5 s" in lines


@pytest.mark.parametrize(
    ("zone", "offset", "said"),
    [
        ("", None, ""),
        ("+01:00", "+01:00", " (UTC+01:00)"),
        ("-03:30", "-03:30", " (UTC-03:30)"),
        ("Z", "+00:00", " (UTC+00:00)"),
    ],
)
def test_times_of_day_say_how_far_they_are_from_utc_where_the_log_does(night: Path, run, run_json, zone, offset, said):
    file = night / "runs/friday/2026-11-20.jsonl"
    file.write_text(file.read_text().replace("T20:45:00", f"T20:45:00{zone}"))
    data = run_json("log", "friday", "--book", night)
    assert (data["finish"], data["utc_offset"]) == ("20:56", offset)
    assert f"the last note at 20:56{said}, " in run("log", "friday", "--book", night).stdout
    rows = list(csv.reader(io.StringIO(run("log", "friday", "--csv", "--book", night).stdout)))
    assert {row[0] for row in rows[1:]} == {f"2026-11-20T20:45:00{zone}"}


def test_csv_has_every_line_of_the_log(night: Path, run):
    rows = list(csv.reader(io.StringIO(run("log", "friday", "--csv", "--book", night).stdout)))
    assert rows[0] == ["time", "seconds", "what", "song", "title", "cue", "words"]
    assert len(rows) == 1 + 14
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


def test_a_line_that_can_not_be_read_is_said_with_its_place_and_the_rest_is_read(night: Path, run):
    result = run("log", "friday", "--book", night)
    assert "runs/friday/2026-11-20.jsonl:15: the line was cut short or is no JSON object" in result.stderr
    assert "Low Lantern" in result.stdout


@pytest.mark.parametrize(
    "line", ["[1]", "\x00", '{"unix_s": NaN, "kind": "song"}', '{"unix_s": true, "kind": "song"}', "[" * 5000]
)
def test_any_line_that_is_no_entry_is_passed_over(night: Path, run_json, line: str):
    file = night / "runs/friday/2026-11-20.jsonl"
    file.write_text(line + "\n" + file.read_text())
    data = run_json("log", "friday", "--book", night)
    assert data["lasted_s"] == 650
    assert [one["line"] for one in data["left_out"]] == [1, 16]


def test_a_run_that_a_crash_cut_short_is_told_as_far_as_it_goes(night: Path, run, run_json):
    file = night / "runs/friday/2026-11-20.jsonl"
    lines = file.read_text().splitlines()
    file.write_text("\n".join(lines[:11]) + '\n{"time": "2026-11-20T21:0')
    songs = run_json("log", "friday", "--book", night)["songs"]
    assert [(song["song"], song["lasted_s"]) for song in songs] == [("low-lantern", 250), ("harbour", None)]
    assert "5:10 5:30 - Harbour Steps" in " ".join(run("log", "friday", "--book", night).stdout.split())


def test_a_run_of_songs_that_the_book_has_no_longer_is_told_by_their_slugs(night: Path, run):
    (night / "songs/low-lantern.toml").unlink()
    show = night / "shows/friday.toml"
    show.write_text(show.read_text().replace('{ song = "low-lantern", then = "talk 0:45" }, ', ""))
    result = run("log", "friday", "--book", night)
    assert "0:00 - 4:10 low-lantern" in " ".join(result.stdout.split())
    assert run("log", "friday", "--close", "--book", night).exit_code == 0


def test_a_show_that_names_a_song_that_is_gone_is_still_told(night: Path, run):
    (night / "songs/low-lantern.toml").unlink()
    assert "low-lantern" in run("log", "friday", "--book", night).stdout


def test_an_empty_log_says_that_nothing_was_played(night: Path, run):
    (night / "runs/friday/2026-11-20.jsonl").write_text("")
    result = run("log", "friday", "--book", night)
    assert (result.exit_code, "no song was begun" in result.stderr) == (2, True)
    assert run("log", "friday", "--csv", "--book", night).stdout.startswith("time,seconds")


def test_one_of_several_performances_is_chosen_by_its_number(night: Path, run, run_json):
    file = night / "runs/friday/2026-11-20.jsonl"
    late = '{"unix_s": 9000, "kind": "began"}\n{"unix_s": 9001, "kind": "song", "song": "harbour"}\n'
    file.write_text(file.read_text() + late)
    assert len(run_json("log", "friday", "--performance", 1, "--book", night)["songs"]) == 2
    assert len(run_json("log", "friday", "--book", night)["songs"]) == 1
    result = run("log", "friday", "--performance", 3, "--book", night)
    assert (result.exit_code, "there were 2" in result.stderr) == (2, True)
    assert run("log", "friday", "--book", night).stdout.startswith(
        "Friday at the Harbour, 2026-11-20, performance 2 of 2\n"
    )
    data = run_json("log", "friday", "--performance", 2, "--book", night)
    assert (data["performance"], data["performances"]) == (2, 2)


def test_trims_moved_in_another_performance_that_night_are_neither_told_nor_filed(night: Path, run_json):
    """A soundcheck moved the volume and did not keep it, so that the show began with what its file says."""
    file = night / "runs/friday/2026-11-20.jsonl"
    began, moved = (
        json.dumps({"time": "2026-11-20T18:00:00", "unix_s": at_s, "kind": kind, **of})
        for at_s, kind, of in (
            (100, "began", {}),
            (130, "trimmed", {"target": "interface volume", "from": 0.5, "to": -3.0, "unit": "dB", "say": "x"}),
        )
    )
    song = json.dumps({"unix_s": 110, "kind": "song", "song": "harbour", "cue": "start"})
    file.write_text("\n".join([began, song, moved, file.read_text()]))
    show = night / "shows/friday.toml"
    show.write_text(show.read_text() + "[trims]\ninterface_volume_db = 0.5\n")
    told = run_json("log", "friday", "--book", night)["trims_as_ended"]
    assert told["interface_volume_db"] == 0.5
    assert run_json("log", "friday", "--close", "--book", night)["visit"]["trims"] == told


def test_a_night_that_began_after_midnight_is_the_one_before(night: Path, run_json):
    file = night / "runs/friday/2026-11-20.jsonl"
    file.write_text(file.read_text().replace("2026-11-20T20:45:00", "2026-11-21T00:30:00"))
    data = run_json("log", "friday", "--close", "--book", night)
    assert (data["no_visit"], data["visit"]["date"]) == (None, "2026-11-20")


def test_the_last_note_stands_against_the_curfew(night: Path, run, run_json):
    data = run_json("log", "friday", "--book", night)
    assert (data["finish"], data["curfew"]) == ("20:56", "23:00")
    assert "the last note at 20:56, 2:04:10 before the curfew at 23:00" in run("log", "friday", "--book", night).stdout


def test_trims_moved_in_the_show_are_told_and_filed_as_they_ended(night: Path, run, run_json):
    file = night / "runs/friday/2026-11-20.jsonl"
    rows = [("interface volume", 0.5, 0.0), ("interface volume", 0.0, -1.0), ("echo mix", 0.0, 2.0)]
    lines = [
        {"unix_s": 1300, "kind": "trimmed", "target": name, "from": was, "to": now, "unit": unit, "say": "x"}
        for (name, was, now), unit in zip(rows, ("dB", "dB", "%"), strict=True)
    ]
    text = file.read_text().splitlines()
    file.write_text("\n".join([*text[:9], *map(json.dumps, lines), *text[9:]]) + "\n")
    show = night / "shows/friday.toml"
    show.write_text(show.read_text() + "[trims]\ninterface_volume_db = 0.5\n")
    data = run_json("log", "friday", "--book", night)
    assert [(one["trim"], one["before"], one["after"], one["moves"]) for one in data["trims_moved"]] == [
        ("interface volume", 0.5, -1.0, 2),
        ("echo mix", 0.0, 2.0, 1),
    ]
    assert data["trims_as_ended"]["interface_volume_db"] == -1
    told = " ".join(run("log", "friday", "--book", night).stdout.split())
    assert "trims as they ended (the room and tonight): input gain 0 dB, interface volume -1 dB, echo mix +2 %" in told
    assert "interface volume was moved 2 times, from +0.5 to -1 dB" in told
    assert run("log", "friday", "--csv", "--book", night).stdout.count("trimmed") == 3
    visit = run_json("log", "friday", "--close", "--book", night)["visit"]
    assert (visit["trims"]["interface_volume_db"], visit["trims"]["targets"]) == (-1, {"echo mix": 2})


def test_what_a_changeover_needed_is_reckoned_on_the_rig_that_was_played_on(night: Path, run_json):
    """On the small rig the string driver takes 20 s, on the show's own one."""
    small = night / "rigs/small.toml"
    small.write_text(small.read_text().replace('rest = "off"\n', 'rest = "off"\nseconds = 20\n'))
    song = night / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('driver = "off"', 'driver = "on"'))
    own = run_json("log", "friday", "--book", night)["changeovers"][0]["needs_s"]
    file = night / "runs/friday/2026-11-20.jsonl"
    file.write_text(file.read_text().replace('"kind": "began"', '"kind": "began", "rig": "small"'))
    assert (own, run_json("log", "friday", "--book", night)["changeovers"][0]["needs_s"]) == (1, 20)


def tried(book: Path, date: str, began_s: float) -> None:
    """The show played without hardware, at the end of a date's log."""
    file = book / f"runs/friday/{date}.jsonl"
    rows = [
        {"kind": "began", "show": "friday", "rig": "big", "simulated": True, "say": "SIMULATED"},
        {"kind": "song", "song": "harbour", "cue": "start"},
        {"kind": "over"},
        {"kind": "ended"},
    ]
    lines = [json.dumps({"unix_s": began_s + at_s, **row}) for at_s, row in enumerate(rows)]
    before = file.read_text() if file.exists() else ""
    file.write_text(before + "".join(f"{line}\n" for line in lines))


def test_a_simulated_run_is_no_night_and_that_it_was_left_out_is_said(night: Path, run, run_json):
    told, filed = (run_json("log", "friday", *words, "--book", night) for words in ((), ("--close",)))
    csv = run("log", "friday", "--csv", "--book", night).stdout
    tried(night, "2026-11-20", 9000)
    tried(night, "2026-11-21", 99000)
    assert run_json("log", "friday", "--book", night) == told | {"simulated_left_out": 2}
    assert run_json("log", "friday", "--close", "--book", night) == filed
    assert run("log", "friday", "--csv", "--book", night).stdout == csv
    text = run("log", "friday", "--book", night).stdout
    assert text.startswith("Friday at the Harbour, 2026-11-20\n")
    assert text.splitlines()[-1] == "2 simulated runs left out"
    for words in ((), ("--close",), ("--csv",)):
        result = run("log", "friday", "--run", "2026-11-21", *words, "--book", night)
        assert (result.exit_code, "1 simulated run left out" in result.stderr) == (2, True)


def test_a_date_with_two_performances_wants_to_be_told_which_is_written(night: Path, run):
    file = night / "runs/friday/2026-11-20.jsonl"
    late = '{"unix_s": 9000, "kind": "began"}\n{"unix_s": 9001, "kind": "song", "song": "harbour"}\n'
    file.write_text(file.read_text() + late)
    for words in (("--close",), ("--reopen",)):
        result = run("log", "friday", *words, "--write", "--book", night)
        assert (result.exit_code, "say which performance of 2026-11-20" in result.stderr) == (2, True)
    assert run("log", "friday", "--close", "--performance", 1, "--write", "--book", night).exit_code == 0
