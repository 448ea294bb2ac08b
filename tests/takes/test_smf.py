"""Takes in files: what is written, what comes back, and what is refused."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.model.units import Meter
from showrunner.takes.decode import take_of
from showrunner.takes.encode import bytes_of, message_of
from showrunner.takes.smf import TakeError, read_take, write_take
from showrunner.takes.take import DIVISION, Take, TakeCue, TakeEvent, TempoMark

PlainReader = Callable[[bytes], tuple[int, dict[str, list[tuple[int, bytes]]]]]

SMALL = Take(
    events=(
        TakeEvent(0.5, "floor", "in", bytes((0xB0, 80, 127))),
        TakeEvent(0.501, "host", "out", bytes((0xB0, 70, 64))),
        TakeEvent(0.501, "host", "out", bytes((0xB0, 102, 3))),
        TakeEvent(0.75, "floor", "in", bytes((0xB0, 80, 0))),
    ),
    cues=(TakeCue(0.5, "low-lantern", "Drone"),),
    show="pellmarsh-hall",
    rig="full",
    song="low-lantern",
    tempos=(TempoMark(0.0, 882_353, Meter(7, 8)),),
)

port_names = st.sampled_from(["floor", "guitar", "the host", "Brücke 1"])
channel_messages = st.builds(
    lambda status, data: bytes((status, *data[: 1 if status & 0xE0 == 0xC0 else 2])),
    st.integers(0x80, 0xEF),
    st.tuples(st.integers(0, 127), st.integers(0, 127)),
)
sysex = st.lists(st.integers(0, 127), max_size=20).map(lambda data: bytes((0xF0, *data, 0xF7)))
wire_bytes = st.one_of(channel_messages, sysex, st.sampled_from([b"\xf8", b"\xfe", b"\xf2\x01\x02"]), st.binary())
times = st.floats(0, 3600)
events = st.builds(TakeEvent, times, port_names, st.sampled_from(["in", "out"]), wire_bytes)
names = st.text(st.characters(exclude_categories=["C"]), min_size=1, max_size=12)
cues = st.builds(TakeCue, times, st.sampled_from(["low-lantern", "marram"]), names)
tempos = st.builds(
    TempoMark, times, st.integers(150_000, 6_000_000), st.none() | st.sampled_from([Meter(4, 4), Meter(7, 8)])
)
takes = st.builds(
    lambda events, cues, tempos, show: Take(tuple(events), tuple(cues), show, "full", "marram", tuple(tempos)),
    st.lists(events, max_size=20).map(lambda rows: sorted(rows, key=lambda row: row.at_s)),
    st.lists(cues, max_size=5).map(lambda rows: sorted(rows, key=lambda row: row.at_s)),
    st.lists(tempos, max_size=4).map(lambda rows: sorted(rows, key=lambda row: row.at_s)),
    st.none() | st.just("pellmarsh-hall"),
)


def track(*events: bytes) -> bytes:
    body = b"".join(events)
    return b"MTrk" + len(body).to_bytes(4, "big") + body


def midi_file(*tracks: bytes, kind: int = 1, division: int = 480) -> bytes:
    numbers = b"".join(number.to_bytes(2, "big") for number in (kind, len(tracks), division))
    return b"MThd\x00\x00\x00\x06" + numbers + b"".join(tracks)


IN_FLOOR = b"\x00\xff\x03\x08in floor"
END = b"\x00\xff\x2f\x00"


def test_a_take_comes_back_from_its_file(tmp_path: Path) -> None:
    path = tmp_path / "low-lantern" / "2026-11-14.mid"
    write_take(path, SMALL)
    back = read_take(path)
    assert back._replace(events=(), cues=(), tempos=()) == Take(show="pellmarsh-hall", rig="full", song="low-lantern")
    assert [event[1:] for event in back.events] == [event[1:] for event in SMALL.events]
    assert [event.at_s for event in back.events] == pytest.approx([0.5, 0.501, 0.501, 0.75], abs=0.0005)
    assert back.cues[0][1:] == ("low-lantern", "Drone")
    assert back.tempos == SMALL.tempos


def test_the_file_has_a_named_track_for_each_port_and_direction(plain_reader: PlainReader) -> None:
    division, tracks = plain_reader(bytes_of(SMALL))
    assert division == DIVISION
    assert list(tracks) == ["cues and tempo", "in floor", "out host"]


def test_messages_stand_at_their_exact_ticks(plain_reader: PlainReader) -> None:
    _, tracks = plain_reader(bytes_of(SMALL))
    ticks = [tick for tick, event in tracks["in floor"] if event[0] == 0xB0]
    assert ticks == [round(at_s * 1_000_000 * DIVISION / 882_353) for at_s in (0.5, 0.75)]
    assert [event for _, event in tracks["out host"] if event[0] == 0xB0] == [b"\xb0\x46\x40", b"\xb0\x66\x03"]


def test_cues_are_markers_with_song_and_name(plain_reader: PlainReader) -> None:
    _, tracks = plain_reader(bytes_of(SMALL))
    assert [event[2:].decode() for _, event in tracks["cues and tempo"] if event[:2] == b"\xff\x06"] == [
        "low-lantern / Drone"
    ]


@settings(max_examples=80)
@given(takes)
def test_every_message_comes_back_in_order_within_a_tick(take: Take) -> None:
    back = take_of(bytes_of(take))
    for port, direction in {(event.port, event.direction) for event in take.events}:
        sent = [e for e in take.events if (e.port, e.direction) == (port, direction)]
        got = [e for e in back.events if (e.port, e.direction) == (port, direction)]
        assert [e.data for e in got] == [e.data for e in sent]
        assert [e.at_s for e in got] == pytest.approx([e.at_s for e in sent], abs=0.001, rel=0)
    assert len(back.events) == len(take.events)
    assert sorted(cue[1:] for cue in back.cues) == sorted(cue[1:] for cue in take.cues)


@settings(max_examples=50)
@given(takes)
def test_a_take_written_again_is_the_same_file(take: Take) -> None:
    once = bytes_of(take_of(bytes_of(take)))
    assert bytes_of(take_of(once)) == once


@settings(max_examples=30)
@given(takes)
def test_mido_finds_every_plain_message_and_every_cue(take: Take) -> None:
    file = mido.MidiFile(file=BytesIO(bytes_of(take)), charset="utf-8")
    for track in file.tracks[1:]:
        direction, _, port = track.name.partition(" ")
        found = [bytes(message.bytes()) for message in track if not message.is_meta]
        sent = [e.data for e in take.events if (e.direction, e.port) == (direction, port)]
        assert found == [data for data in sent if not message_of(data).is_meta]
    markers = [message.text for message in file.tracks[0] if message.type == "marker"]
    assert sorted(markers) == sorted(f"{cue.song} / {cue.cue}" for cue in take.cues)


def test_running_status_is_read() -> None:
    data = midi_file(track(IN_FLOOR, b"\x00\xb0\x0b\x10", b"\x10\x0b\x20", b"\x10\x0b\x30", END))
    assert [event.data for event in take_of(data).events] == [b"\xb0\x0b\x10", b"\xb0\x0b\x20", b"\xb0\x0b\x30"]


def test_an_unknown_meta_event_costs_no_time() -> None:
    data = midi_file(track(IN_FLOOR, b"\x83\x60\xff\x60\x02\x01\x02", b"\x83\x60\xb0\x0b\x10", END))
    assert take_of(data).events[0].at_s == 1.0


def test_system_exclusive_in_two_parts_keeps_all_its_bytes() -> None:
    data = midi_file(track(IN_FLOOR, b"\x00\xf0\x03\x43\x12\x00", b"\x00\xf7\x02\x01\xf7", END))
    assert b"".join(event.data for event in take_of(data).events) == b"\xf0\x43\x12\x00\x01\xf7"


def test_an_escaped_real_time_byte_is_read() -> None:
    data = midi_file(track(IN_FLOOR, b"\x00\xf7\x01\xf8", END))
    assert take_of(data).events[0].data == b"\xf8"


def test_a_chunk_of_another_kind_is_passed_over() -> None:
    notes = b"XFIH\x00\x00\x00\x02ab"
    header = midi_file(track(IN_FLOOR, b"\x00\xb0\x0b\x10", END))
    assert len(take_of(header[:14] + notes + header[14:]).events) == 1


def test_latin_1_texts_of_older_programs_are_read() -> None:
    data = midi_file(track(b"\x00\xff\x06\x05Refr\xe9", END))
    assert take_of(data).cues[0].cue == "Refré"


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "does not start as a MIDI file"),
        (b"RIFF....", "does not start as a MIDI file"),
        (midi_file(track(END), kind=2), "type 2"),
        (midi_file(track(END), division=0xE728), "parts of a quarter note"),
        (midi_file(track(IN_FLOOR, b"\x00\xb0\x0b\x10", END))[:-5], "cut off"),
        (midi_file(track(IN_FLOOR, b"\x00\x0b\x10", END)), "without a status byte"),
        (midi_file(track(IN_FLOOR, b"\x00\xb0\x0b\x90", END)), "cut short"),
        (midi_file(track(IN_FLOOR, b"\xff\xff\xff\xff\x00\xb0\x0b\x10", END)), "more than four bytes"),
        (midi_file(track(b"\x00\xff\x51\x03\x00\x00\x00", END)), "tempo"),
        (midi_file(track(b"\x00\xff\x58\x04\x00\x02\x18\x08", END)), "time signature"),
        (midi_file(track(b"\x00\xb0\x0b\x10", END)), 'named "in PORT"'),
    ],
)
def test_a_damaged_file_is_refused_by_name_and_reason(tmp_path: Path, data: bytes, what: str) -> None:
    path = tmp_path / "2026-11-14.mid"
    path.write_bytes(data)
    with pytest.raises(TakeError, match=what) as refused:
        read_take(path)
    assert "2026-11-14.mid" in str(refused.value)


def test_a_file_that_is_not_there_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(TakeError, match=r"none\.mid"):
        read_take(tmp_path / "none.mid")


whole = bytes_of(SMALL)
damaged = st.one_of(
    st.binary(max_size=300),
    st.binary(max_size=200).map(lambda body: midi_file(track(body))),
    st.tuples(st.integers(0, len(whole)), st.integers(0, len(whole)), st.binary(max_size=6)).map(
        lambda cut: whole[: cut[0]] + cut[2] + whole[cut[1] :]
    ),
)


@settings(max_examples=300)
@given(damaged)
def test_any_bytes_are_a_take_or_refused_by_name(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any.mid"
    path.write_bytes(data)
    assert "any.mid" in _refusal(path) or data.startswith(b"MThd")


def _refusal(path: Path) -> str:
    try:
        read_take(path)
    except TakeError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("at_s", [-0.1, float("nan"), float("inf")])
def test_a_time_that_no_file_can_hold_is_refused_and_the_old_file_stays(tmp_path: Path, at_s: float) -> None:
    path = tmp_path / "take.mid"
    write_take(path, SMALL)
    before = path.read_bytes()
    with pytest.raises(ValueError, match="a take runs from"):
        write_take(path, Take(events=(TakeEvent(at_s, "floor", "in", b"\xb0\x0b\x10"),)))
    assert path.read_bytes() == before


def test_a_write_that_fails_leaves_the_old_file_and_nothing_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "take.mid"
    write_take(path, SMALL)
    before = path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_take(path, Take())
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
