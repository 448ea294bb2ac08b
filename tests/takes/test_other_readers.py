"""Takes as another program's reader has them: music21's own, which shares no code with mido or with ours."""

from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21.midi import MidiFile

from showrunner.model.units import Meter
from showrunner.places import demo_book
from showrunner.takes.encode import bytes_of
from showrunner.takes.take import Take, TakeCue, TakeEvent, TempoMark

Rows = dict[str, list[tuple[int, bytes]]]

channel_messages = st.builds(
    lambda status, data: bytes((status, *data[: 1 if status & 0xE0 == 0xC0 else 2])),
    st.integers(0x80, 0xEF),
    st.tuples(st.integers(0, 119), st.integers(0, 127)),
)
"""Without controllers 120 to 127, whose values this reader does not give back: it writes the controller twice."""
sysex = st.lists(st.integers(0, 127), min_size=1, max_size=20).map(lambda data: bytes((0xF0, *data, 0xF7)))
times = st.floats(0, 600)
events = st.builds(
    TakeEvent,
    times,
    st.sampled_from(["floor", "the host"]),
    st.sampled_from(["in", "out"]),
    st.one_of(channel_messages, sysex),
)
takes = st.builds(
    lambda events, cues: Take(
        tuple(sorted(events, key=lambda row: row.at_s)),
        tuple(sorted(cues, key=lambda row: row.at_s)),
        rig="full",
        song="marram",
        tempos=(TempoMark(0.0, 600_000, Meter(7, 8)), TempoMark(30.0, 450_000, None)),
    ),
    st.lists(events, max_size=30),
    st.lists(st.builds(TakeCue, times, st.just("marram"), st.sampled_from(["Theme", "Solo"])), max_size=4),
)


def other_reader(data: bytes) -> Rows:
    """Every event of every track by the track's name, with the tick at which it stands."""
    file = MidiFile()
    file.readstr(data)
    tracks: Rows = {}
    for track in file.tracks:
        tick, rows = 0, []
        for event in track.events:
            if event.isDeltaTime():
                tick += event.time
            else:
                rows.append((tick, bytes(event.getBytes())))
        name = next(row[3:].decode() for _, row in rows if row[:2] == b"\xff\x03")
        tracks[name] = rows
    return tracks


def mido_reader(path: Path) -> Rows:
    """The same by mido."""
    tracks: Rows = {}
    for track in mido.MidiFile(path).tracks:
        tick, rows = 0, []
        for message in track:
            tick += message.time
            rows.append((tick, bytes(message.bytes())))
        tracks[track.name] = rows
    return tracks


@settings(max_examples=40, deadline=None)
@given(takes)
def test_every_channel_message_stands_in_order_at_its_tick(take: Take) -> None:
    """The tempo is 100 a minute up to 30 s and 133 1/3 from there, at the ticks of SMF 1.0's tempo map."""
    division = int.from_bytes(bytes_of(take)[12:14], "big")
    tracks = other_reader(bytes_of(take))
    for port in ("floor", "the host"):
        for direction in ("in", "out"):
            meant = [e for e in take.events if (e.port, e.direction) == (port, direction) and e.data[0] < 0xF0]
            read = [row for row in tracks.get(f"{direction} {port}", []) if row[1][0] < 0xF0]
            assert [row for _, row in read] == [event.data for event in meant]
            for (tick, _), event in zip(read, meant, strict=True):
                quarters = min(event.at_s, 30.0) / 0.6 + max(0.0, event.at_s - 30.0) / 0.45
                assert tick == pytest.approx(quarters * division, abs=1.0)


@settings(max_examples=20, deadline=None)
@given(takes)
def test_cues_are_markers_that_it_reads_too(take: Take) -> None:
    markers = [row[3:].decode() for _, row in other_reader(bytes_of(take))["cues and tempo"] if row[:2] == b"\xff\x06"]
    assert markers == [f"{cue.song} / {cue.cue}" for cue in take.cues]


@pytest.mark.parametrize("path", sorted(demo_book().glob("takes/*/*.mid")), ids=lambda path: path.parent.name)
def test_both_readers_agree_on_the_demo_books_takes(path: Path) -> None:
    ours, theirs = mido_reader(path), other_reader(path.read_bytes())
    assert list(ours) == list(theirs)
    for name, rows in ours.items():
        channel = [row for row in rows if row[1][0] < 0xF0]
        assert channel == [row for row in theirs[name] if row[1][0] < 0xF0]
    assert any(row[1][0] < 0xF0 for rows in ours.values() for row in rows)
