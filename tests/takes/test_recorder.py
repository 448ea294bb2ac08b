"""Takes written as they are played: whole at every moment, in order when they are over."""

import errno
import subprocess
import sys
from io import FileIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import mido
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.model.units import Meter
from showrunner.takes.recorder import KEEPS_EVERY_S, Recorder
from showrunner.takes.smf import read_take
from showrunner.takes.take import DIVISION, TakeAsk, TakeCue, TakeEvent, TakePort, TempoMark

SWELL = bytes((0xB0, 11, 64))
EXCLUSIVE = bytes((0xF0, 0x7D, 1, 2, 0xF7))
ODD = bytes((0xB0, 11))


def recorded(path: Path) -> Recorder:
    """Five events of all kinds in the file, which is left as a crash would leave it."""
    recorder = Recorder(path, show="friday", rig="big", song="low-lantern")
    recorder.tempo(TempoMark(0.0, 500_000, Meter(7, 8)))
    recorder.event(TakeEvent(0.5, "floor", "in", SWELL))
    recorder.cue(TakeCue(1.0, "low-lantern", "Verse"))
    recorder.event(TakeEvent(1.0, "host", "out", EXCLUSIVE))
    recorder.ask(TakeAsk(1.5, "next"))
    recorder.port(TakePort(1.75, "out in floor", there=False))
    recorder.port(TakePort(2.0, "out in floor", there=True))
    recorder.port(TakePort(2.0, "input floor", there=False, side="output"))
    recorder.event(TakeEvent(2.0, "floor", "in", ODD))
    recorder.keep_all()
    recorder.stop()
    return recorder


def test_what_was_kept_is_read_back_while_the_take_goes_on(tmp_path: Path):
    recorded(tmp_path / "a.mid")
    take = read_take(tmp_path / "a.mid")
    assert [(e.at_s, e.port, e.direction, e.data) for e in take.events] == [
        (0.5, "floor", "in", SWELL),
        (1.0, "host", "out", EXCLUSIVE),
        (2.0, "floor", "in", ODD),
    ]
    assert take.cues == (TakeCue(1.0, "low-lantern", "Verse"),)
    assert take.asks == (TakeAsk(1.5, "next"),)
    assert take.ports == (
        TakePort(1.75, "out in floor", False),
        TakePort(2.0, "out in floor", True),
        TakePort(2.0, "input floor", False, "output"),
    )
    assert (take.show, take.rig, take.song) == ("friday", "big", "low-lantern")
    assert take.tempos == (TempoMark(0.0, 500_000, Meter(7, 8)),)


def test_closing_gives_each_port_and_way_its_track_and_changes_nothing_else(tmp_path: Path, plain_reader: Any):
    recorder = recorded(tmp_path / "a.mid")
    before = read_take(tmp_path / "a.mid")
    recorder.close()
    assert read_take(tmp_path / "a.mid") == before
    assert list(plain_reader((tmp_path / "a.mid").read_bytes())[1]) == ["cues and tempo", "in floor", "out host"]


def test_a_growing_take_opens_in_mido_with_every_message_at_its_tick(tmp_path: Path):
    recorded(tmp_path / "a.mid")
    (track,) = mido.MidiFile(tmp_path / "a.mid").tracks
    tick, found = 0, []
    for message in track:
        tick += message.time
        if not message.is_meta:
            found.append((tick, bytes(message.bytes())))
    # 500,000 µs a quarter note: half a second is a quarter (SMF 1.0).
    assert found == [(DIVISION, SWELL), (2 * DIVISION, EXCLUSIVE)]


def test_a_growing_take_opens_in_a_reader_that_shares_no_code(tmp_path: Path, plain_reader: Any):
    recorded(tmp_path / "a.mid")
    division, tracks = plain_reader((tmp_path / "a.mid").read_bytes())
    assert division == DIVISION
    assert (DIVISION, SWELL) in tracks["as it came"]


class EndedError(Exception):
    """The program was ended here."""


class Ends(FileIO):
    """A file that ends the program after so many writes."""

    writes = 0

    def write(self, data: Any) -> int:
        if self.writes == 0:
            raise EndedError
        self.writes -= 1
        return super().write(data)


class Full(FileIO):
    """A file on a disk that has room for so many bytes."""

    room = 0

    def write(self, data: Any) -> int:
        if self.tell() >= self.room:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(bytes(data)[: self.room - self.tell()])


def test_on_a_full_disk_playing_goes_on_and_the_take_ends_where_it_was_full(tmp_path: Path, plain_reader: Any):
    path = tmp_path / "a.mid"
    recorder = recorded(path)
    before = read_take(path)
    recorder._file = Full(str(path), "rb+")
    recorder._file.room = path.stat().st_size + 5
    for at_s in (3.0, 4.0):
        recorder.event(TakeEvent(at_s, "floor", "in", SWELL))
        recorder.keep_all()
    assert recorder.trouble == "can't be written on: No space left on device; what was played before is kept"
    recorder.close()
    assert read_take(path) == before
    assert "in floor" in plain_reader(path.read_bytes())[1]


def test_a_take_that_can_not_be_put_in_order_stays_whole_as_it_came(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    recorder = Recorder(tmp_path / "a.mid")
    recorder.event(TakeEvent(0.5, "floor", "in", SWELL))

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("showrunner.takes.recorder.write_take", full)
    assert recorder.close() == tmp_path / "a.mid"
    assert "in one track as it came: No space left" in recorder.trouble
    assert [event.at_s for event in read_take(tmp_path / "a.mid").events] == [0.5]


def test_a_take_that_can_not_be_begun_leaves_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("showrunner.takes.recorder.FileIO", Full)
    with pytest.raises(OSError, match="No space left"):
        Recorder(tmp_path / "a.mid")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("writes", range(6))
def test_ended_between_any_two_writes_the_file_holds_what_was_kept_before(writes: int, tmp_path: Path):
    path = tmp_path / "a.mid"
    recorder = Recorder(path)
    recorder.event(TakeEvent(0.5, "floor", "in", SWELL))
    recorder.keep_all()
    recorder.stop()
    recorder._file = Ends(str(path), "rb+")
    recorder._file.writes = writes
    with pytest.raises(EndedError):  # noqa: PT012
        for at_s in (1.0, 1.5, 2.0):
            recorder.event(TakeEvent(at_s, "host", "out", SWELL))
            recorder.keep_all()
    recorder.stop()
    times = [event.at_s for event in read_take(path).events]
    assert times == [0.5, 1.0, 1.5][: 1 + writes // 3]
    in_mido = [message for message in mido.MidiFile(path).tracks[0] if not message.is_meta]
    assert {message.type for message in in_mido} == {"control_change"}
    assert len(in_mido) >= len(times)


PLAYS = """
import sys, time
from pathlib import Path
from showrunner.takes.recorder import Recorder
from showrunner.takes.take import TakeEvent
recorder = Recorder(Path(sys.argv[1]))
began, number = time.monotonic(), 0
while True:
    now = time.monotonic() - began
    recorder.event(TakeEvent(now, "floor", "in", bytes((0xB0, number >> 7 & 0x7F, number & 0x7F))))
    number += 1
    recorder.keep(now)
    print(f"{now:.6f}", flush=True)
    time.sleep(0.001)
"""


@pytest.mark.parametrize("lines", [150, 333])
def test_a_killed_program_leaves_all_but_the_last_tenth_of_a_second(lines: int, tmp_path: Path, plain_reader: Any):
    path = tmp_path / "a.mid"
    with subprocess.Popen([sys.executable, "-c", PLAYS, str(path)], stdout=subprocess.PIPE, text=True) as played:
        assert played.stdout is not None
        said = [played.stdout.readline() for _ in range(lines)]
        played.kill()
        last_s = float([*said, *played.stdout.readlines()][-1])
    events = read_take(path).events
    assert [event.data[1] << 7 | event.data[2] for event in events] == list(range(len(events)))
    assert last_s - events[-1].at_s < 0.1
    assert len([message for message in mido.MidiFile(path).tracks[0] if not message.is_meta]) == len(events)
    assert len([e for _, e in plain_reader(path.read_bytes())[1]["as it came"] if e[0] == 0xB0]) == len(events)


def test_nothing_younger_than_the_interval_is_written(tmp_path: Path):
    recorder = Recorder(tmp_path / "a.mid")
    recorder.keep(10.0)
    recorder.event(TakeEvent(10.0, "floor", "in", SWELL))
    recorder.keep(10.0)
    size = len(read_take(tmp_path / "a.mid").events)
    recorder.event(TakeEvent(10.01, "floor", "in", SWELL))
    recorder.keep(10.01)
    assert len(read_take(tmp_path / "a.mid").events) == size
    recorder.keep(10.0 + KEEPS_EVERY_S)
    recorder.stop()
    assert len(read_take(tmp_path / "a.mid").events) == size + 1


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(times=st.lists(st.floats(0, 3600), max_size=20), tempo=st.integers(150_000, 6_000_000))
def test_a_stamped_time_is_read_back_to_the_last_bit_and_stamps_always_rise(
    times: list[float], tempo: int, tmp_path_factory: pytest.TempPathFactory
):
    path = tmp_path_factory.mktemp("stamps") / "a.mid"
    recorder = Recorder(path)
    recorder.tempo(TempoMark(0.0, tempo))
    stamps = [recorder.stamp(at_s) for at_s in sorted(times)]
    for at_s in stamps:
        recorder.event(TakeEvent(at_s, "floor", "in", SWELL))
    recorder.close()
    assert [event.at_s for event in read_take(path).events] == stamps
    assert all(b > a for a, b in pairwise(stamps))


def test_a_silence_longer_than_a_delta_time_can_be_is_kept(tmp_path: Path):
    # SMF 1.0: a delta time has four bytes of seven bits, 268,435,455 ticks at most.
    recorder = Recorder(tmp_path / "a.mid")
    recorder.tempo(TempoMark(0.0, 150_000))
    recorder.event(TakeEvent(3 * 3600.0, "floor", "in", SWELL))
    recorder.close()
    assert [event.at_s for event in read_take(tmp_path / "a.mid").events] == [3 * 3600.0]


def test_a_take_is_never_written_over_another(tmp_path: Path):
    (tmp_path / "a.mid").write_bytes(b"here already")
    with pytest.raises(FileExistsError):
        Recorder(tmp_path / "a.mid")
    assert (tmp_path / "a.mid").read_bytes() == b"here already"


def test_a_discarded_take_leaves_nothing(tmp_path: Path):
    recorded(tmp_path / "a.mid").discard()
    assert list(tmp_path.iterdir()) == []
