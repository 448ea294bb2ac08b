"""The spread of the finish against a simulation by numpy of 100,000 shows."""

import numpy as np
import pytest

from showrunner.planning.timing import PAUSE_SPREAD, running_time, song_length

SHOWS = 100_000
SONGS = {f"song {n}": {"duration": f"{3 + n % 4}:{7 * n % 60:02}"} for n in range(14)}
PLAYED = {"song 3": [395.0, 402.0, 380.0, 411.0], "song 9": [250.0, 300.0, 262.0]}


@pytest.fixture
def simulated(make_book, make_show):
    """A show's running time, and the finishes in seconds of a hundred thousand of it."""
    names = list(SONGS)
    show = make_show(
        [*names[:5], {"song": names[5], "then": "talk 2:00"}],
        [{"song": names[6], "then": "segue"}, *names[7:]],
        encore=[],
    )
    book = make_book(SONGS)
    time = running_time(book, show, played=PLAYED)
    chance, finish_s = np.random.default_rng(20261101), np.zeros(SHOWS)
    for song in (song for part in time.sets for song in part.songs):
        length = song_length(book, show, song.song, PLAYED.get(song.song, ()))
        finish_s += chance.normal(length.expected_s, length.spread_s, SHOWS)
        if song.pause_s:
            shape = PAUSE_SPREAD**-2
            finish_s += chance.gamma(shape, song.pause_s / shape, SHOWS)
    return time, finish_s


def test_the_spread_agrees_with_a_simulation_within_its_sampling_error(simulated):
    time, finish_s = simulated
    assert time.spread_s == pytest.approx(finish_s.std(), abs=4 * time.spread_s / (2 * SHOWS) ** 0.5)


def test_the_finish_agrees_with_a_simulation_within_its_sampling_error(simulated):
    time, finish_s = simulated
    assert time.expected_s == pytest.approx(finish_s.mean(), abs=4 * time.spread_s / SHOWS**0.5)


def test_two_nights_in_three_end_within_the_spread(simulated):
    time, finish_s = simulated
    inside = np.mean(np.abs(finish_s - time.expected_s) <= time.spread_s)
    assert inside == pytest.approx(0.6827, abs=0.01)
