"""`rehearse`: by the clock without hardware, and the take it keeps."""

import errno
import subprocess
import sys
from io import FileIO
from pathlib import Path
from typing import Any

import pytest

from showrunner.book.read import read_book
from showrunner.cli import rehearse as module
from showrunner.live.fake import FakeSystem
from showrunner.live.holding import holding, in_the_way, rehearsal_on, show_of
from showrunner.live.night import night_of
from showrunner.live.ports import PortError
from showrunner.model.rig import Rig
from showrunner.takes.smf import read_take


def test_a_song_is_led_through_its_cues_by_its_own_clock(run_json, book: Path):
    steps = run_json("rehearse", "low-lantern", "--fast", "--book", book)["steps"]
    times = [(step["kind"], step["cue"], step["at_s"]) for step in steps if step["kind"] in ("song", "cue")]
    # A bar of 4/4 at 120 is counted in: 2 s.
    assert [(kind, cue) for kind, cue, _ in times] == [("song", "Verse"), ("cue", "Ring"), ("cue", "End")]
    assert [at_s for _, _, at_s in times] == pytest.approx([2.0, 62.0, 182.0], abs=0.001)


def test_text_says_what_happens_and_how_it_went(run, book: Path):
    lines = run("rehearse", "low-lantern", "--fast", "--book", book).stdout.splitlines()
    assert "   0:00  count-in, 1 bar of 4/4 at 120" in lines
    assert "   1:02  Ring" in lines
    assert "   1:02    string driver: high" in lines
    assert lines[-1] == "the clock took every step and nobody was heard: over all takes it does not count"


def test_from_one_cue_to_another_so_many_times(run_json, run, book: Path):
    args = ("rehearse", "low-lantern", "--from", "Ring", "--to", "End", "--times", 3, "--fast", "--book", book)
    cues = [(step["cue"], round(step["at_s"])) for step in run_json(*args)["steps"] if step["kind"] == "cue"]
    assert cues == [("Ring", 0), ("End", 122), ("Ring", 122), ("End", 244), ("Ring", 244), ("End", 366)]
    text = run(*args).stdout
    assert "time 3 of 3" in text
    assert "changeover" not in text


def test_a_changeover_is_looped_and_held_to_its_pause(run_json, book: Path):
    data = run_json("rehearse", "friday", "--loop", "harbour", "--times", 5, "--fast", "--book", book)
    assert [(one["from"], one["to"], one["planned_s"]) for one in data["changeovers"]] == [
        ("low-lantern", "harbour", 45.0)
    ] * 5
    assert all(one["took_s"] == pytest.approx(45.0, abs=0.001) for one in data["changeovers"])


def test_a_changeover_is_named_by_both_its_songs_or_by_the_one_it_leads_to(run_json, book: Path):
    for word in ("low-lantern to harbour", "harbour"):
        data = run_json("rehearse", "friday", "--loop", word, "--fast", "--book", book)
        assert [(one["from"], one["to"]) for one in data["changeovers"]] == [("low-lantern", "harbour")]


def test_a_song_looped_from_its_start_is_played_each_time(run_json, book: Path):
    steps = run_json("rehearse", "low-lantern", "--times", 2, "--fast", "--book", book)["steps"]
    assert [step["cue"] for step in steps if step["kind"] == "cue"] == ["Verse", "Ring", "End"] * 2


def test_no_rehearsal_on_ports_that_a_show_is_being_played_on(run, book: Path, monkeypatch, tmp_path: Path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    with holding(show_of(night_of(read_book(book).book, "friday", "big"), tmp_path / "run", "engine")):
        result = run("rehearse", "low-lantern", "--book", book)
        assert result.exit_code == 2
        assert "Friday at the Harbour is being played on Big rig; end it with" in " ".join(result.stderr.split())
        assert run("rehearse", "low-lantern", "--fast", "--book", book).exit_code == 0


def test_no_second_rehearsal_on_the_same_ports(run, book: Path, monkeypatch, tmp_path: Path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    with holding(rehearsal_on(read_book(book).book.rigs["big"], "Harbour", book)):
        result = run("rehearse", "low-lantern", "--book", book)
        assert result.exit_code == 2
        assert "Harbour is being rehearsed on Big rig; end the rehearsal first" in " ".join(result.stderr.split())
        assert run("rehearse", "low-lantern", "--fast", "--book", book).exit_code == 0


def test_without_a_count_in_the_song_begins_at_once(run_json, book: Path):
    def rings(*more: object) -> list[float]:
        steps = run_json("rehearse", "low-lantern", "--times", 2, "--fast", *more, "--book", book)["steps"]
        return [step["at_s"] for step in steps if step["cue"] == "Ring"]

    counted, at_once = rings(), rings("--no-count")
    assert at_once[0] < counted[0]
    assert at_once[1] - at_once[0] < counted[1] - counted[0]


def test_a_whole_show_goes_from_song_to_song(run_json, book: Path):
    steps = run_json("rehearse", "friday", "--fast", "--book", book)["steps"]
    assert [step["song"] for step in steps if step["kind"] == "song"] == ["low-lantern", "harbour"]
    assert steps[-1]["kind"] == "over"


def test_fast_keeps_nothing_unless_asked(run, book: Path):
    run("rehearse", "low-lantern", "--fast", "--book", book)
    assert not (book / "takes").exists()
    run("rehearse", "low-lantern", "--fast", "--keep", "--book", book)
    (kept,) = (book / "takes/low-lantern").iterdir()
    assert read_take(kept).song == "low-lantern"


def test_two_takes_in_one_minute_are_both_kept_and_replay_as_then(run, run_json, book: Path):
    for _ in range(2):
        run("rehearse", "friday", "--loop", "harbour", "--fast", "--keep", "--book", book)
    names = sorted(path.stem for path in (book / "takes/harbour").iterdir())
    assert len(names) == 2
    assert [run_json("replay", f"harbour/{name}", "--book", book)["as_then"] for name in names] == [True, True]


def test_a_take_can_be_the_player(run, run_json, book: Path):
    run("rehearse", "low-lantern", "--fast", "--keep", "--book", book)
    (kept,) = (book / "takes/low-lantern").iterdir()
    data = run_json("rehearse", "low-lantern", "--take", kept, "--fast", "--book", book)
    assert [step["cue"] for step in data["steps"] if step["kind"] == "cue"] == ["Ring", "End"]
    assert data["take"] is None


def test_a_take_from_a_cue_is_as_early_and_late_as_the_player_was(run_json, book: Path):
    looped = ("--from", "Ring", "--times", 2, "--keep")
    then = run_json("rehearse", "low-lantern", *looped, "--fast", "--book", book)
    now = run_json("rehearse", "low-lantern", "--take", then["take"], "--fast", "--book", book)
    late_s = [[cue["late_s"] for cue in data["cues"]] for data in (then, now)]
    assert late_s[1] == [None if late is None else pytest.approx(late, abs=0.001) for late in late_s[0]]
    assert late_s[0].count(None) < len(late_s[0])


class NoPause:
    """A clock that jumps to whatever is waited for."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def perf_counter(self) -> float:
        self.now_s += 0.02
        return self.now_s


def told_of(rig: Rig) -> str | None:
    held = in_the_way(rehearsal_on(rig, "Harbour", Path()))
    return None if held is None else held.what.partition(", from the book")[0]


class Noting(FakeSystem):
    """A system that notes what others are told of the rehearsal that plays over it."""

    def __init__(self, rig: Rig) -> None:
        super().__init__(("Floor 1",), ("Host 1",))
        self.rig, self.told = rig, set[str | None]()

    def alive(self) -> bool:
        self.told.add(told_of(self.rig))
        return super().alive()


def test_a_rehearsal_over_ports_is_known_as_long_as_it_goes(run, book: Path, monkeypatch, tmp_path: Path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    system = Noting(read_book(book).book.rigs["big"])
    monkeypatch.setattr(module, "_system", lambda: system)
    monkeypatch.setattr("showrunner.live.room.time", NoPause())
    assert run("rehearse", "low-lantern", "--to", "Ring", "--book", book).exit_code == 0
    assert system.told == {"Low Lantern is being rehearsed on Big rig"}
    assert told_of(system.rig) is None


def test_over_ports_what_goes_out_is_what_the_take_keeps(run, book: Path, monkeypatch):
    system = FakeSystem(("Floor 1",), ("Host 1",))
    monkeypatch.setattr(module, "_system", lambda: system)
    monkeypatch.setattr("showrunner.live.room.time", NoPause())
    monkeypatch.setattr("showrunner.live.room.WAITS_S", 0.0)
    result = run("rehearse", "low-lantern", "--to", "Ring", "--clock", "host", "--book", book)
    assert result.exit_code == 0
    (kept,) = (book / "takes/low-lantern").iterdir()
    out = [(event.port, event.data) for event in read_take(kept).events if event.direction == "out"]
    clock = [data for _, data in system.sent if data[0] >= 0xF8]
    assert [("host", data) for _, data in system.sent] == out
    # 24 timing clocks a quarter (MIDI 1.0, p. 30), through 2 s of count-in and 60 s of song at 120.
    assert (clock.index(b"\xfa"), clock.count(b"\xf8"), clock[-1]) == (24 * 4, 24 * 124, b"\xfc")


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("low-lantern", "--from", "Rign"), 'did you mean "Ring"?'),
        (("low-lantern", "--from", "End", "--to", "Ring"), "does not come after"),
        (("low-lantern", "--loop", "harbour"), "--loop is for a show"),
        (("friday", "--loop", "low-lantern"), "no changeover of this show leads to"),
        (("friday", "--from", "Ring"), "--from and --to are for a song"),
        (("friday", "--times", 2), "--times is for a song"),
        (("low-lantern", "--times", 0), "--times 0 goes round and round"),
        (("friday", "--loop", "harbour to low-lantern"), 'no changeover of this show leads from "harbour"'),
        (("low-lantern", "--clock", "floor"), "sends nothing to a port"),
        (("low-lantern", "--take", "nowhere"), 'no take "nowhere"'),
    ],
)
def test_what_cannot_be_rehearsed_is_told(args: tuple[object, ...], said: str, run, book: Path):
    result = run("rehearse", *args, "--fast", "--book", book)
    assert result.exit_code == 2
    assert said in result.stderr


class Dead(FakeSystem):
    """A system that does not answer."""

    def inputs(self) -> tuple[str, ...]:
        raise PortError("the system's inputs", "no answer")


def test_a_system_that_does_not_answer_is_told(run, book: Path, monkeypatch):
    monkeypatch.setattr(module, "_system", Dead)
    result = run("rehearse", "low-lantern", "--book", book)
    assert result.exit_code == 2
    assert "the system's inputs: no answer; try --simulated without hardware" in result.stderr
    assert list(book.glob("takes/*/*")) == []


class Dies(FakeSystem):
    """A system that stops answering once it has been looked at."""

    looks = 0

    def outputs(self) -> tuple[str, ...]:
        self.looks += 1
        if self.looks > 1:
            raise PortError("the system's outputs", "no answer")
        return super().outputs()


def test_a_system_that_stops_answering_is_said_once_and_the_song_plays_on(run, book: Path, monkeypatch):
    monkeypatch.setattr(module, "_system", lambda: Dies(("Floor 1",), ("Host 1",)))
    monkeypatch.setattr("showrunner.live.room.time", NoPause())
    monkeypatch.setattr("showrunner.live.room.WAITS_S", 0.0)
    result = run("rehearse", "low-lantern", "--to", "Ring", "--book", book)
    assert result.stderr.count("playing goes on") == 1
    assert "Ring" in result.stdout


class Full(FileIO):
    """A file on a disk that has room for 400 bytes."""

    def write(self, data: Any) -> int:
        if self.tell() + len(data) > 400:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(data)


def test_on_a_full_disk_the_song_is_played_to_its_end_and_what_is_kept_is_said(run, run_json, book: Path, monkeypatch):
    monkeypatch.setattr("showrunner.takes.recorder.FileIO", Full)
    song = book / "songs/low-lantern.toml"
    names = "".join(f'[[cues]]\nname = "Mark {number}"\nat = "3:{number:02}"\n' for number in range(1, 40))
    song.write_text(song.read_text() + names)
    result = run("rehearse", "low-lantern", "--fast", "--keep", "--book", book)
    assert result.exit_code == 2
    assert "Mark 39" in result.stdout
    assert "the take can't be written on: No space left on device; what was played before is kept" in result.stderr
    assert "kept as low-lantern/" in result.stdout
    (kept,) = (book / "takes/low-lantern").iterdir()
    assert [cue.cue for cue in read_take(kept).cues][:2] == ["Verse", "Ring"]
    assert "can't be written on" in run_json("rehearse", "low-lantern", "--fast", "--book", book)["trouble"]


def test_a_reader_that_goes_away_ends_it_without_a_word(book: Path):
    command = [sys.executable, "-m", "showrunner.cli", "rehearse", "friday", "--fast", "--keep", "--book", str(book)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read()
    assert said == b""
    assert [read_take(kept).show for kept in (book / "takes/friday").iterdir()] in ([], ["friday"])


def test_a_take_of_another_song_is_named_as_such(run, book: Path):
    run("rehearse", "low-lantern", "--fast", "--keep", "--book", book)
    (kept,) = (book / "takes/low-lantern").iterdir()
    said = f"{kept} is of Low Lantern; what was pressed there need not fit Harbour Steps\n"
    assert run("rehearse", "harbour", "--take", kept, "--fast", "--book", book).stderr == said
    assert run("rehearse", "friday", "--take", kept, "--fast", "--book", book).stderr == ""


def test_what_a_song_leaves_otherwise_is_set_back_in_the_changeover(run, book: Path):
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('driver = "off"', 'driver = "on"'))
    lines = run("rehearse", "friday", "--fast", "--book", book).stdout.splitlines()
    at = next(number for number, line in enumerate(lines) if line.endswith("changeover to Harbour Steps"))
    assert lines[at + 2].endswith("string driver: off")
