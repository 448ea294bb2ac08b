"""Where bars fall, against Standard MIDI File arithmetic (SMF 1.0, as quoted by others) with mido as the reference."""

import mido
import pytest

from showrunner.model.song import Song
from showrunner.model.tempo import bar_starts_s, cue_at_s

TICKS = 960

# Tempo and meter from each bar on: a song of our own.
PLANS = [
    [(1, 120, "4/4")],
    [(1, 92, "7/8"), (41, 104, "4/4")],
    [(1, 75, "6/8"), (5, 60, "3/4"), (9, 150, "5/8"), (30, 100, "12/8")],
]


def _song(plan):
    (_, tempo, meter), *changes = plan
    return Song.model_validate(
        {
            "format": 1,
            "title": "Tidewrack",
            "duration": "6:40",
            "tempo_bpm": tempo,
            "meter": meter,
            "tempo_changes": [{"bar": bar, "tempo_bpm": bpm, "meter": m} for bar, bpm, m in changes],
            "cues": [{"name": "late", "bar": 50}],
        }
    )


def _seconds_by_file(plan, bar):
    """Seconds to a bar by summing the ticks of a file's tempo map, each stretch at its own tempo."""
    seconds = 0.0
    for (start, bpm, meter), after in zip(plan, [*(bar for bar, _, _ in plan[1:]), None], strict=True):
        end = bar if after is None else min(bar, after)
        beats, unit = map(int, meter.split("/"))
        ticks = max(0, end - start) * beats * TICKS * 4 // unit
        seconds += mido.tick2second(ticks, TICKS, mido.bpm2tempo(bpm))
    return seconds


def test_a_tempo_event_of_500000_microseconds_is_120_quarter_notes_a_minute():
    # SMF 1.0: FF 51 03 07 A1 20 is 500,000 µs a quarter note; a bar of 4/4 then lasts 2 s.
    tempo = mido.MetaMessage.from_bytes([0xFF, 0x51, 0x03, 0x07, 0xA1, 0x20]).tempo
    assert tempo == 500_000
    assert bar_starts_s(_song([(1, mido.tempo2bpm(tempo), "4/4")]), 2) == 2.0


def test_a_meter_not_stated_is_four_four():
    # SMF 1.0: without a time signature a file is in 4/4.
    assert str(Song.model_validate({"format": 1, "title": "Tidewrack", "duration": "3:00"}).meter) == "4/4"


@pytest.mark.parametrize("plan", PLANS)
@pytest.mark.parametrize("bar", [1, 2, 5, 9, 29, 41, 42, 77])
def test_bars_fall_where_a_files_ticks_put_them(plan, bar):
    # A file's tempo is in whole microseconds a quarter note, so tempos like 92 are off by less than a part in 10⁶.
    assert bar_starts_s(_song(plan), bar) == pytest.approx(_seconds_by_file(plan, bar), rel=1e-6)


def test_a_tempo_is_in_quarter_notes_whatever_the_meter():
    # SMF 1.0: the tempo is the length of a quarter note, so a bar of 6/8 has three of them.
    assert bar_starts_s(_song([(1, 60, "6/8")]), 2) == 3.0


def test_a_cue_at_a_bar_falls_where_a_played_file_puts_its_marker():
    # mido plays a file by its tempo map: a check that does not share our sum over stretches.
    plan = PLANS[1]
    ticks_to_41 = 40 * 7 * TICKS // 2
    track = mido.MidiTrack(
        [
            mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(92)),
            mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(104), time=ticks_to_41),
            mido.MetaMessage("marker", text="late", time=9 * 4 * TICKS),
        ]
    )
    played = mido.MidiFile(ticks_per_beat=TICKS, tracks=[track])
    song = _song(plan)
    assert cue_at_s(song, song.cues[0]) == pytest.approx(played.length, rel=1e-6)
