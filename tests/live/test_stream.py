"""A port's bytes become whole messages."""

import itertools

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.live.stream import LONGEST_EXCLUSIVE, Stream


def parse(*chunks: bytes) -> list[bytes]:
    stream = Stream()
    return [message for chunk in chunks for message in stream.feed(chunk)]


def test_running_status_repeats_for_voice_messages() -> None:
    # MIDI 1.0 Detailed Specification v4.2.1, p. 5.
    assert parse(b"\xb0\x0b\x40\x0b\x41", b"\x0b\x42") == [b"\xb0\x0b\x40", b"\xb0\x0b\x41", b"\xb0\x0b\x42"]


def test_real_time_bytes_inside_a_message_come_out_at_once_and_disturb_nothing() -> None:
    # MIDI 1.0 Detailed Specification v4.2.1, p. 5.
    assert parse(b"\xb0\x0b\xf8\x40\xfe\x0b\x41") == [b"\xf8", b"\xb0\x0b\x40", b"\xfe", b"\xb0\x0b\x41"]


def test_system_exclusive_ends_running_status() -> None:
    assert parse(b"\x90\x3c\x40\xf0\x7d\x01\xf8\x02\xf7\x3c\x00") == [
        b"\x90\x3c\x40",
        b"\xf8",
        b"\xf0\x7d\x01\x02\xf7",
    ]


def test_an_unfinished_exclusive_is_dropped_when_another_status_comes() -> None:
    assert parse(b"\xf0\x01\x02\xc0\x05\x06") == [b"\xc0\x05", b"\xc0\x06"]


def test_an_endless_exclusive_is_dropped() -> None:
    assert parse(b"\xf0" + bytes(LONGEST_EXCLUSIVE + 5), b"\xc0\x05") == [b"\xc0\x05"]


@pytest.mark.parametrize("stray", [b"\x10\x20", b"\xf4\x01", b"\xf5\x01", b"\xf7", b"\xf9", b"\xfd"])
def test_stray_and_undefined_bytes_are_dropped(stray: bytes) -> None:
    assert parse(stray, b"\xc0\x05") == [b"\xc0\x05"]


@given(st.binary(max_size=200), st.lists(st.integers(0, 200)))
def test_any_bytes_cut_anywhere_give_the_same_whole_messages(data: bytes, cuts: list[int]) -> None:
    places = sorted({0, len(data), *(cut for cut in cuts if cut < len(data))})
    chunks = [data[a:b] for a, b in itertools.pairwise(places)]
    messages = parse(*chunks)
    assert messages == parse(data)
    for message in messages:
        assert mido.Message.from_bytes(message).bin() == message
