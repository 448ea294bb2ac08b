"""`check`: findings by song, as text and as data, and its exit codes."""

import datetime
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from showrunner.book.journal import Entry, written
from showrunner.book.read import read_book
from showrunner.book.rename import renamed
from showrunner.checks.run import SystemPorts
from showrunner.live.ports import PortError
from showrunner.places import demo_book

KEYS = ["rule", "level", "file", "line", "key", "song", "cue", "what", "why", "mend", "silenced"]


def test_nothing_wrong_is_said_and_exits_0(run, book: Path):
    result = run("check", "friday", "--rule", "two-curves", "--book", book)
    assert result.exit_code == 0
    assert result.stdout == "Friday at the Harbour on Big rig: nothing found\n"


def test_an_error_exits_1_and_names_file_and_line(run, book: Path):
    result = run("check", "friday", "--rig", "small", "--book", book)
    assert result.exit_code == 1
    lines = result.stdout.splitlines()
    assert "Low Lantern" in lines
    assert any(line.startswith("  error  songs/low-lantern.toml:13") for line in lines)


def test_json_has_the_shape_of_the_design_with_lines_of_the_file(run_json, book: Path):
    data = run_json("check", "friday", "--rig", "small", "--book", book)
    assert list(data) == ["show", "rig", "ports", "findings"]
    assert (data["show"], data["rig"], data["ports"]) == ("friday", "small", "not looked at")
    assert data["findings"]
    assert all(list(finding) == KEYS for finding in data["findings"])
    control = next(f for f in data["findings"] if f["rule"] == "missing-control" and f["song"] == "low-lantern")
    text = (book / control["file"]).read_text().splitlines()
    assert "swell" in text[control["line"] - 1]


def test_findings_come_errors_first(run_json, book: Path):
    levels = [finding["level"] for finding in run_json("check", "--rig", "small", "--book", book)["findings"]]
    assert levels == sorted(levels, key=("error", "warning", "note").index)


@pytest.mark.parametrize(
    ("source", "said"),
    [
        (b'format = 1\nname = "Caf\xe9"\n', "book.toml:2: the byte 0xE9 is not UTF-8 text; save the file as UTF-8"),
        ('format = 1\nname = "B"\n'.encode("utf-16"), "book.toml:1: the file is UTF-16 text; save it as UTF-8"),
        (None, "book.toml: this is a folder where a file belongs; move it elsewhere"),
    ],
)
@pytest.mark.parametrize("words", [(), ("friday",)])
def test_a_book_file_that_is_no_text_is_an_error_with_file_and_line(run, book: Path, words, source, said):
    (book / "book.toml").unlink()
    if source is None:
        (book / "book.toml").mkdir()
    else:
        (book / "book.toml").write_bytes(source)
    for extra in ((), ("--json",)):
        result = run("check", *words, "--book", book, *extra)
        assert result.exit_code == 2
        assert said in result.stderr


def renaming(book: Path) -> bytes:
    """The journal of a song's other name, as a program leaves it that was ended."""
    return written(Entry("renaming songs/harbour.toml", renamed(read_book(book), "song", "harbour", "Pier").changes))


def test_a_change_that_was_stopped_half_way_is_finished_by_the_next_command_and_said(run, book: Path):
    (book / ".journal").write_bytes(renaming(book))
    result = run("check", "--book", book)
    assert "renaming songs/harbour.toml was stopped half way; it is finished now" in result.stderr
    assert "can't be read" not in result.stderr
    assert sorted(path.name for path in (book / "songs").iterdir()) == ["low-lantern.toml", "pier.toml"]
    assert "stopped half way" not in run("check", "--book", book).stderr


@pytest.mark.parametrize("words", [(), ("friday",)])
def test_one_that_can_not_be_finished_is_an_error_of_the_book(run, book: Path, words):
    (book / ".journal").write_bytes(renaming(book)[:-1])
    result = run("check", *words, "--rule", "two-curves", "--book", book)
    assert result.exit_code == 1
    assert ".journal, which says how a change goes on, is damaged" in result.stderr
    assert "is neither finished nor taken back" in result.stderr
    assert (book / "songs/harbour.toml").exists()


def test_every_command_that_changes_the_book_settles_first(run, book: Path):
    for words in (("new", "song", "Third"), ("list", "songs"), ("order", "friday"), ("unpack", book / "no.zip")):
        shutil.copytree(book, book / "copy")
        (book / "copy" / ".journal").write_bytes(renaming(book))
        assert "it is finished now" in run(*words, "--book", book / "copy").stderr
        assert (book / "copy/songs/pier.toml").exists()
        shutil.rmtree(book / "copy")


def test_a_closing_that_an_earlier_version_left_half_done_is_said(run, book: Path):
    (book / "runs/friday").mkdir(parents=True)
    record = {"format": 1, "state": "making", "files": []}
    (book / "runs/friday/2026-11-20.closed.json").write_text(json.dumps(record))
    result = run("check", "friday", "--rule", "two-curves", "--book", book)
    assert result.exit_code == 1
    assert "runs/friday/2026-11-20.closed.json: closing this was stopped half way" in result.stderr


def test_rule_keeps_only_that_rule(run_json, book: Path):
    data = run_json("check", "--rig", "small", "--rule", "missing-target", "--book", book)
    assert {finding["rule"] for finding in data["findings"]} == {"missing-target"}


def test_level_error_leaves_out_what_is_less(run_json, book: Path):
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('at = "3:00"', 'at = "1:01"'))
    assert "warning" in {f["level"] for f in run_json("check", "friday", "--book", book)["findings"]}
    assert run_json("check", "friday", "--level", "error", "--book", book)["findings"] == []


def test_a_silenced_error_is_reported_with_its_reason_and_exits_0(run, run_json, book: Path):
    song = book / "songs/low-lantern.toml"
    reason = "nobody has three feet"
    quiet = f'quiet = {{ "missing-control" = "{reason}", "missing-target" = "{reason}" }}\n'
    song.write_text(song.read_text().replace('duration = "4:00"\n', 'duration = "4:00"\n' + quiet))
    show = book / "shows/friday.toml"
    show.write_text(show.read_text().replace(', { song = "harbour" }', ""))
    result = run("check", "friday", "--rig", "small", "--book", book)
    assert result.exit_code == 0
    assert f"silenced in low-lantern: missing-control, because {reason}" in " ".join(result.stdout.split())
    silenced = [f["silenced"] for f in run_json("check", "friday", "--rig", "small", "--book", book)["findings"]]
    assert reason in silenced


def test_a_broken_song_of_the_show_exits_2_and_the_others_are_still_checked(run, run_json, book: Path):
    (book / "songs/harbour.toml").write_text("format = 1\n")
    result = run("check", "friday", "--rig", "small", "--book", book)
    assert result.exit_code == 2
    assert "songs/harbour.toml:1: " in result.stderr
    assert "Low Lantern" in result.stdout
    data = run_json("check", "friday", "--rig", "small", "--book", book)
    assert {error["file"] for error in data["errors"]} >= {"songs/harbour.toml"}
    assert data["findings"]


def test_a_broken_song_of_no_show_does_not_stop_a_show(run, book: Path):
    (book / "songs/other.toml").write_text("format = 1\n")
    assert run("check", "friday", "--book", book).exit_code == 0
    assert run("check", "--book", book).exit_code == 2


def test_a_song_that_is_not_there_exits_1(run, book: Path):
    (book / "songs/harbour.toml").unlink()
    result = run("check", "friday", "--book", book)
    assert result.exit_code == 1
    assert "shows/friday.toml:9: " in result.stderr
    assert "nothing found, beside 1 problem in the files themselves" in " ".join(result.stdout.split())


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("nobody",), 'no show "nobody"'),
        (("friday", "--rig", "bog"), 'did you mean "big"?'),
        (("song/harbour",), '"song/harbour" is no show'),
        (("--rule", "missing-contrl"), 'did you mean "missing-control"?'),
        (("--explain", "missing-contrl"), 'did you mean "missing-control"?'),
        (("--level", "loud"), "'loud'"),
    ],
)
def test_wrong_usage_exits_2_and_says_what_is_there(args, said, run, book: Path):
    result = run("check", *args, "--book", book)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""


def test_explain_says_what_a_rule_looks_for_without_a_book(run, run_json, tmp_path: Path):
    result = run("check", "--explain", "two-curves", "--book", tmp_path / "nowhere")
    assert result.exit_code == 0
    assert result.stdout.startswith("two-curves (")
    headings = re.findall(r"^  (\w.*?): ", result.stdout, re.MULTILINE)
    assert headings == ["Looked for", "Because", "Such as", "Fix"]
    (rule,) = run_json("check", "--explain", "two-curves")["rules"]
    assert list(rule) == ["name", "level", "looks_for", "because", "such_as", "fix"]
    assert rule["name"] == "two-curves"


def test_with_ports_what_is_not_plugged_in_is_an_error(run, run_json, book: Path, monkeypatch: pytest.MonkeyPatch):
    there = SystemPorts(("Floor board",), ())
    monkeypatch.setattr("showrunner.live.system.system_ports", lambda: there)
    assert run("check", "friday", "--ports", "--book", book).exit_code == 1
    data = run_json("check", "friday", "--ports", "--rule", "unplugged", "--book", book)
    assert data["ports"] == "looked at"
    assert [finding["key"] for finding in data["findings"]] == ["ports.host.output"]


def test_ports_that_cant_be_looked_at_are_told(run, book: Path, monkeypatch: pytest.MonkeyPatch):
    def fail() -> SystemPorts:
        raise PortError("the system's inputs", "no answer")

    monkeypatch.setattr("showrunner.live.system.system_ports", fail)
    result = run("check", "friday", "--ports", "--book", book)
    assert result.exit_code == 2
    assert "can't be looked at: the system's inputs: no answer; leave --ports out" in result.stderr


def test_check_loads_no_screen_and_no_midi(book: Path):
    code = (
        "import sys, json\nfrom showrunner.cli.main import program\n"
        "try:\n    program(sys.argv[1:])\nfinally:\n    print(json.dumps(sorted(sys.modules)), file=sys.stderr)\n"
    )
    command = [sys.executable, "-c", code, "--book", str(book), "check", "friday"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    top = {name.partition(".")[0] for name in json.loads(done.stderr)}
    assert not top & {"textual", "rich", "mido", "rtmidi", "supriya_midi", "rtmidi2", "tomlkit", "typst", "numpy"}


def test_on_the_shows_own_day_notes_are_folded_away_unless_asked_for(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    book = tmp_path / "book"
    shutil.copytree(demo_book(), book)
    show = book / "shows" / "brackwater-field.toml"
    told = run("check", "brackwater-field", "--book", book).stdout
    assert "[little-time-left]" in told
    date = re.search(r"^date = (\S+)", show.read_text(encoding="utf-8"), re.MULTILINE)
    assert date is not None
    monkeypatch.setattr("showrunner.cli.check.tonight", lambda: datetime.date.fromisoformat(date[1]))
    folded = run("check", "brackwater-field", "--book", book).stdout
    assert "[little-time-left]" not in folded
    assert "1 note folded away tonight" in folded
    asked = run("check", "brackwater-field", "--level", "note", "--book", book).stdout
    assert "[little-time-left]" in asked


def test_a_folder_that_is_no_book_is_an_error_and_not_a_book_without_findings(run, run_json, tmp_path: Path):
    (tmp_path / "notes.txt").write_text("no book")
    result = run("check", "--book", tmp_path)
    assert (result.exit_code, result.stdout) == (2, "")
    assert f"{tmp_path} is no book" in result.stderr
    assert run_json("check", "--book", tmp_path).keys() == {"errors"}


def test_a_book_that_lost_its_book_toml_is_still_checked(run, book: Path):
    (book / "book.toml").unlink()
    result = run("check", "--book", book)
    assert "the book has no book.toml" in result.stderr
    assert "beside 1 problem in the files themselves" in " ".join(result.stdout.split())
