"""Ticks and seconds through a tempo map."""

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.takes.take import DIVISION, TempoMap


def test_without_a_tempo_a_quarter_note_lasts_half_a_second() -> None:
    """120 bpm where none is stated: Standard MIDI Files 1.0."""
    assert TempoMap(DIVISION).seconds(DIVISION) == 0.5


def test_a_tick_is_never_longer_than_a_millisecond() -> None:
    slowest_us = 60_000_000 // 10
    assert slowest_us / DIVISION <= 1000


def test_time_runs_on_through_a_tempo_change() -> None:
    tempo = TempoMap(480, [(960, 1_000_000)])
    assert tempo.seconds(960) == 1.0
    assert tempo.seconds(1440) == 2.0
    assert tempo.tick(1.5) == 1200


def test_of_two_tempos_at_one_tick_the_later_holds() -> None:
    tempo = TempoMap(480, [(0, 250_000), (0, 1_000_000)])
    assert tempo.seconds(480) == 1.0


changes = st.lists(
    st.tuples(st.integers(1, 10**6), st.integers(150_000, 6_000_000)), max_size=6, unique_by=lambda change: change[0]
).map(sorted)


@settings(max_examples=100)
@given(changes, st.integers(0, 10**8))
def test_every_tick_comes_back_from_its_time(changes: list[tuple[int, int]], tick: int) -> None:
    tempo = TempoMap(DIVISION, changes)
    assert tempo.tick(tempo.seconds(tick)) == tick


@settings(max_examples=100)
@given(changes, st.integers(0, 3 * 10**6))
def test_seconds_are_the_sum_of_all_ticks_before(changes: list[tuple[int, int]], tick: int) -> None:
    lengths = {0: 500_000, **dict(changes)}
    starts = sorted(lengths)
    total = Fraction(0)
    for start, end in zip(starts, [*starts[1:], tick], strict=True):
        total += max(0, min(end, tick) - start) * Fraction(lengths[start], DIVISION * 1_000_000)
    if tick > starts[-1]:
        assert TempoMap(DIVISION, changes).seconds(tick) == float(total)
    else:
        assert TempoMap(DIVISION, changes).seconds(tick) <= float(total) + 1e-9
