"""Beats, clocks and count-ins against exact arithmetic."""

from fractions import Fraction
from itertools import islice, pairwise, takewhile
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.model.song import Song
from showrunner.model.tempo import Beat, bar_starts_s, beat_at, beat_pulses, beats, count_in, stretch_at, stretches

TEN_MINUTES_S = 600.0


def song(tempo_bpm: float | None, meter: str = "4/4", changes: list[dict[str, Any]] | None = None) -> Song:
    return Song.model_validate(
        {"format": 1, "title": "Tidewrack", "duration": "10:00", "meter": meter, "tempo_changes": changes or []}
        | ({} if tempo_bpm is None else {"tempo_bpm": tempo_bpm})
    )


CHANGES = [{"bar": 9, "tempo_bpm": 77.7}, {"bar": 31, "meter": "7/8"}, {"bar": 60, "tempo_bpm": 143.3, "meter": "5/4"}]


def exact_beats(a_song: Song, until_s: float) -> list[Fraction]:
    """Every beat by summing exact lengths, one after another."""
    tempo, meter = Fraction(a_song.tempo_bpm or 0), a_song.meter
    changes = {change.bar: change for change in a_song.tempo_changes}
    at, bar, found = Fraction(0), 1, []
    while at < until_s:
        change = changes.get(bar)
        if change is not None:
            tempo = Fraction(change.tempo_bpm) if change.tempo_bpm is not None else tempo
            meter = change.meter or meter
        for _ in range(meter.beats):
            found.append(at)
            at += Fraction(4, meter.unit) * 60 / tempo
        bar += 1
    return found


@pytest.mark.parametrize("a_song", [song(91.3), song(133.7, "7/8"), song(61.1, "3/4", CHANGES)])
def test_over_ten_minutes_no_beat_is_a_microsecond_from_where_exact_arithmetic_puts_it(a_song: Song):
    exact = exact_beats(a_song, TEN_MINUTES_S)
    clock = [beat.at_s for beat in islice(beats(a_song), len(exact))]
    assert len(clock) > 500
    assert max(abs(Fraction(at_s) - right) for at_s, right in zip(clock, exact, strict=True)) < Fraction(1, 1_000_000)


@pytest.mark.parametrize("a_song", [song(91.3), song(133.7, "7/8"), song(61.1, "3/4", CHANGES), song(90, "5/64")])
def test_over_ten_minutes_clocks_are_24_a_quarter_and_none_is_a_microsecond_off(a_song: Song):
    # MIDI 1.0 Detailed Specification, p. 30: 24 timing clocks a quarter note.
    played = list(takewhile(lambda beat: beat.at_s < TEN_MINUTES_S, beats(a_song)))
    clock = [b.at_s + after_s for b in played for after_s in beat_pulses(a_song, b.bar, b.beat)]
    exact, at, tempo = [], Fraction(0), Fraction(a_song.tempo_bpm or 0)
    bars = {change.bar: change for change in a_song.tempo_changes}
    quarters, meter, part = Fraction(0), a_song.meter, 0
    for bar in range(1, played[-1].bar + 1):
        if bar in bars:
            tempo = Fraction(bars[bar].tempo_bpm) if bars[bar].tempo_bpm is not None else tempo
            meter = bars[bar].meter or meter
        ends = quarters + meter.beats * Fraction(4, meter.unit)
        while Fraction(part, 24) < ends:
            exact.append(at + (Fraction(part, 24) - quarters) * 60 / tempo)
            part += 1
        at, quarters = at + (ends - quarters) * 60 / tempo, ends
    assert len(clock) > 10_000
    assert max(abs(Fraction(at_s) - right) for at_s, right in zip(clock, exact, strict=False)) < Fraction(1, 1_000_000)


@settings(max_examples=40)
@given(st.floats(10, 400), st.sampled_from(["4/4", "7/8", "3/4", "6/8"]), st.integers(2, 40), st.floats(10, 400))
def test_the_first_beat_of_every_bar_is_where_the_bar_starts(tempo: float, meter: str, bar: int, after: float):
    a_song = song(tempo, meter, [{"bar": bar, "tempo_bpm": after}])
    for beat in islice(beats(a_song), 400):
        if beat.beat == 1:
            assert beat.at_s == pytest.approx(bar_starts_s(a_song, beat.bar), abs=1e-9)


def test_beats_are_counted_in_the_meters_own_note():
    assert list(islice(beats(song(60, "3/8")), 4)) == [Beat(0, 1, 1), Beat(0.5, 1, 2), Beat(1, 1, 3), Beat(1.5, 2, 1)]


@pytest.mark.parametrize("a_song", [song(91.3), song(133.7, "7/8"), song(61.1, "3/4", CHANGES)])
def test_the_beat_at_a_time_is_the_last_that_fell(a_song: Song):
    there = list(islice(beats(a_song), 600))
    for beat, after in pairwise(there):
        assert beat_at(a_song, beat.at_s) == pytest.approx(beat)
        assert beat_at(a_song, (beat.at_s + after.at_s) / 2) == pytest.approx(beat)


def test_a_song_without_a_tempo_has_neither_beats_nor_clocks():
    assert list(beats(song(None))) == []
    assert beat_pulses(song(None), 1, 1) == []
    assert stretch_at(song(None), 0) is None
    assert beat_at(song(None), 0) is None


def test_the_stretch_at_a_time_is_the_one_that_has_begun():
    changed = song(60, "4/4", [{"bar": 3, "tempo_bpm": 120}])
    found = [stretch_at(changed, at_s) for at_s in (-1.0, 0.0, 7.9, 8.0, 100.0)]
    assert [stretch.tempo_bpm for stretch in found if stretch is not None] == [60, 60, 60, 120, 120]


def test_a_count_in_of_two_bars_counts_each_beat_of_both():
    assert [(b.at_s, b.bar, b.beat) for b in count_in(stretches(song(120, "3/4"))[0], 2)] == [
        (0.0, 2, 1), (0.5, 2, 2), (1.0, 2, 3), (1.5, 1, 1), (2.0, 1, 2), (2.5, 1, 3)
    ]  # fmt: skip
