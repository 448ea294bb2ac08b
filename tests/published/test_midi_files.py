"""Takes against Standard MIDI Files 1.0 (MIDI Manufacturers Association), values as quoted by others."""

import pytest

from showrunner.takes.decode import take_of
from showrunner.takes.encode import bytes_of
from showrunner.takes.take import DIVISION, Take, TakeEvent, TempoMark


def test_a_tempo_of_half_a_second_is_written_as_the_standard_prints_it() -> None:
    """FF 51 03 07 A1 20 is 500,000 µs a quarter note."""
    assert bytes.fromhex("FF 51 03 07 A1 20") in bytes_of(Take(tempos=(TempoMark(0.0, 500_000),)))


def test_the_printed_tempo_reads_as_half_a_second() -> None:
    assert take_of(bytes_of(Take(tempos=(TempoMark(0.0, 500_000),)))).tempos == (TempoMark(0.0, 500_000),)


@pytest.mark.parametrize(
    ("ticks", "written"),
    [
        (0x7F, "7F"),
        (0x80, "81 00"),
        (0x2000, "C0 00"),
        (0x4000, "81 80 00"),
        (0xFFFFFF, "87 FF FF 7F"),
    ],
)
def test_variable_length_quantities_are_written_as_the_table_has_them(ticks: int, written: str) -> None:
    """Table of variable-length quantities; 00FFFFFF worked out by the standard's rule."""
    take = Take(events=(TakeEvent(ticks * 0.5 / DIVISION, "floor", "in", bytes((0xB0, 11, 1))),))
    assert bytes.fromhex(written + "B0 0B 01") in bytes_of(take)


def test_the_largest_quantity_of_the_table_is_read() -> None:
    """FF FF FF 7F is 0FFFFFFF, the largest allowed."""
    body = b"\x00\xff\x03\x08in floor" + bytes.fromhex("FF FF FF 7F B0 0B 01 00 FF 2F 00")
    data = bytes.fromhex("4D 54 68 64 00 00 00 06 00 01 00 01 7F FF 4D 54 72 6B") + len(body).to_bytes(4, "big") + body
    assert take_of(data).events[0].at_s == pytest.approx(0x0FFFFFFF * 0.5 / 0x7FFF, rel=1e-12)


def test_the_header_says_type_1_and_ticks_a_quarter_note() -> None:
    """MThd, six bytes: format, number of tracks, division."""
    data = bytes_of(Take(events=(TakeEvent(0.0, "floor", "in", bytes((0xB0, 11, 1))),)))
    assert data[:14] == b"MThd" + bytes((0, 0, 0, 6, 0, 1, 0, 2)) + DIVISION.to_bytes(2, "big")
