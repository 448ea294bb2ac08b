"""Rehearsing by the clock: what is due when, and what it asks of the show."""

from collections.abc import Callable
from itertools import pairwise

import pytest

from showrunner.model.song import Song
from showrunner.state.events import Asked, Jump
from showrunner.state.machine import fold, open_show
from showrunner.state.moments import Piece
from showrunner.state.rehearsal import (
    LEAD_S,
    OPEN_S,
    TAIL_S,
    Change,
    Due,
    ahead,
    anew,
    answer,
    places_s,
    play_change,
    play_show,
    play_song,
    with_pulses,
)
from showrunner.state.script import Script


@pytest.fixture
def lantern(make_script: Callable[..., Script], make_song: Callable[..., Song]) -> Piece:
    """Cues at 1:00 and 2:00 and an open one at no time; two bars of 4/4 at 120 counted in."""
    return make_script({"lantern": make_song(tempo_bpm=120, count_in={"bars": 2})}).pieces["lantern"]


def steps(dues: tuple[Due, ...]) -> list[tuple[float, str, int]]:
    return [(due.at_s, due.what, due.moment) for due in dues if due.what not in ("beat", "count", "pulse")]


def test_make_song_is_counted_in_begun_and_led_through_its_cues_to_its_end(lantern: Piece):
    part = play_song(lantern, 10.0)
    assert steps(part.dues) == [
        (14.0, "begin", 0),
        (74.0, "cue", 1),
        (134.0, "cue", 2),
        (194.0, "cue", 3),
        (254.0 + OPEN_S, "end", 3),
    ]
    assert [(due.at_s, due.bar, due.beat) for due in part.dues if due.what == "count"][:5] == [
        (10.0, 2, 1), (10.5, 2, 2), (11.0, 2, 3), (11.5, 2, 4), (12.0, 1, 1)
    ]  # fmt: skip
    assert part.ends_s == 254.0 + OPEN_S


def test_cues_at_no_time_are_spread_between_their_neighbours(make_script, make_song):
    cues = [{"name": name} for name in "ab"] + [{"name": "c", "at": "1:00"}, {"name": "d"}]
    piece = make_script({"s": make_song(cues=cues, duration="2:00")}).pieces["s"]
    assert places_s(piece) == pytest.approx((0, 20, 40, 60, 90))


def test_an_open_cue_holds_the_songs_beats_for_as_long_as_it_lasts(lantern: Piece):
    times = [due.at_s for due in play_song(lantern, 0.0).dues if due.what == "beat"]
    gaps = [round(after - before, 6) for before, after in pairwise(times)]
    assert gaps.count(0.5) == len(gaps) - 1
    assert gaps.count(0.5 + OPEN_S) == 1


def test_from_a_cue_it_jumps_there_first_and_counts_in_at_the_tempo_there(make_script, make_song):
    changed = make_song(tempo_bpm=120, tempo_changes=[{"bar": 11, "tempo_bpm": 60}], cues=[{"name": "late", "bar": 13}])
    piece = make_script({"s": changed}).pieces["s"]
    part = play_song(piece, 0.0, start=1)
    assert (part.dues[0].what, part.dues[0].moment) == ("jump", 1)
    assert [due.at_s for due in part.dues if due.what == "count"] == [0, 1, 2, 3]
    first = next(due for due in part.dues if due.what == "beat")
    assert (first.at_s, first.bar, first.beat) == (4.0, 13, 1)


def test_up_to_a_cue_it_ends_as_that_cue_is_taken(lantern: Piece):
    part = play_song(lantern, 0.0, start=1, stop=2)
    assert steps(part.dues) == [(0.0, "jump", 1), (4.0, "go", 1), (64.0, "cue", 2)]
    assert part.ends_s == 64.0


def test_make_song_without_a_tempo_has_cues_but_no_beats(make_script, make_song):
    part = play_song(make_script({"s": make_song()}).pieces["s"], 0.0)
    assert {due.what for due in part.dues} == {"begin", "cue", "end"}
    assert part.dues[0].at_s == 0.0


def two(make_script: Callable[..., Script], make_song: Callable[..., Song]) -> tuple[Piece, Piece]:
    script = make_script({"a": make_song(tempo_bpm=120), "b": make_song(tempo_bpm=60)})
    return script.pieces["a"], script.pieces["b"]


def test_a_changeover_has_the_end_of_one_song_the_pause_and_the_start_of_the_next(make_script, make_song):
    a, b = two(make_script, make_song)
    part = play_change(Change(a, b, 20.0), 0.0)
    assert steps(part.dues) == [(0.0, "jump", 3), (LEAD_S, "end", 3), (LEAD_S + 20, "begin", 0)]
    assert [due.at_s for due in part.dues if due.what == "count"] == [24.0, 25.0, 26.0, 27.0]
    assert part.ends_s == LEAD_S + 20 + TAIL_S


def test_the_end_of_the_song_before_is_counted_on_its_own_clock(make_script, make_song):
    a, b = two(make_script, make_song)
    lead = [due for due in play_change(Change(a, b, 20.0), 0.0).dues if due.what == "beat" and due.song == "a"]
    assert [due.at_s for due in lead] == [n / 2 for n in range(16)]
    assert (lead[0].bar, lead[0].beat) == (117, 1)


def test_straight_into_the_next_song_there_is_neither_pause_nor_count(make_script, make_song):
    a, b = two(make_script, make_song)
    part = play_change(Change(a, b, None), 0.0)
    assert [due.what for due in part.dues if due.what in ("count", "begin")] == []
    assert part.ends_s == LEAD_S + TAIL_S


def test_a_show_goes_from_song_to_song_with_its_pauses(make_script, make_song):
    a, b = two(make_script, make_song)
    part = play_show((a, b), (30.0,), 0.0)
    ends = [due.at_s for due in part.dues if due.what == "end"]
    begins = [due.at_s for due in part.dues if due.what == "begin"]
    assert begins == [2.0, ends[0] + 30.0]
    assert part.ends_s == ends[1]


def test_without_a_count_in_a_song_is_begun_at_once_and_a_pause_is_as_long(lantern: Piece, make_script, make_song):
    assert steps(play_song(lantern, 10.0, counted=False).dues)[0] == (10.0, "begin", 0)
    assert steps(play_song(lantern, 10.0, start=1, counted=False).dues)[:2] == [(10.0, "jump", 1), (10.0, "go", 1)]
    a, b = two(make_script, make_song)
    parts = (play_change(Change(a, b, 20.0), 0.0, counted=False), play_show((a, b), (20.0,), 0.0, counted=False))
    for part in parts:
        assert not [due for due in part.dues if due.what == "count"]
        end_s = next(due.at_s for due in part.dues if due.what == "end")
        assert [due.at_s for due in part.dues if due.what == "begin"][-1] == end_s + 20


def test_a_song_to_be_played_over_and_over_is_jumped_to_instead_of_begun(lantern: Piece):
    once = play_song(lantern, 0.0, stop=1)
    over = anew(once)
    assert steps(over.dues)[:2] == [(0.0, "jump", 0), (4.0, "go", 0)]
    assert steps(over.dues)[2:] == steps(once.dues)[1:]
    assert over.ends_s == once.ends_s


def test_a_part_that_begins_with_a_jump_is_left_as_it_is(lantern: Piece):
    part = play_song(lantern, 0.0, start=1, stop=2)
    assert anew(part) is part


def test_what_comes_next_is_said_with_the_bars_until_then(lantern: Piece, make_script, make_song):
    part = play_song(lantern, 0.0)
    script = make_script({"lantern": make_song(tempo_bpm=120, count_in={"bars": 2})})
    state, _ = fold(script, open_show(script, 0.0)[0], Asked(4.0, "next"))
    # A bar of 4/4 at 120 lasts 2 s; the cue at 1:00 is at the first beat of bar 31.
    left = [due for due in part.dues if due.at_s > 4.0 + 51.0]
    found = ahead(left, state, script.pieces)
    assert found is not None
    assert (found.due.what, found.due.moment, found.bars) == ("cue", 1, 5)


def test_nothing_comes_next_where_the_clock_is_past_it(lantern: Piece, make_script, make_song):
    part = play_song(lantern, 0.0)
    script = make_script({"lantern": make_song(tempo_bpm=120, count_in={"bars": 2})})
    state, _ = fold(script, open_show(script, 0.0)[0], Asked(4.0, "next"))
    assert ahead([due for due in part.dues if due.at_s > 70.0], state, script.pieces) is None


def test_in_the_last_beat_before_it_what_comes_next_is_a_bar_away(lantern: Piece, make_script, make_song):
    part = play_song(lantern, 0.0, stop=1)
    script = make_script({"lantern": make_song(tempo_bpm=120, count_in={"bars": 2})})
    state, _ = fold(script, open_show(script, 0.0)[0], Asked(4.0, "next"))
    last = part.dues[-2]
    found = ahead(part.dues[-1:], state, script.pieces, last)
    assert (last.what, last.beat) == ("beat", 4)
    assert found is not None
    assert found.bars == 1


def test_the_clock_asks_for_the_cue_that_is_next_and_for_no_other(make_script, make_song):
    script = make_script({"lantern": make_song(tempo_bpm=120)})
    piece = script.pieces["lantern"]
    state, _ = open_show(script, 0.0)
    assert answer(state, Due(1.0, "begin", "lantern"), piece) == Asked(1.0, "next")
    assert answer(state, Due(1.0, "cue", "lantern", 1), piece) is None
    assert answer(state, Due(1.0, "beat", "lantern"), piece) is None
    assert answer(state, Due(1.0, "jump", "lantern", 2), piece) == Jump(1.0, "lantern", 2)


def test_where_the_foot_was_there_before_it_the_clock_asks_nothing(make_player, make_script, make_song):
    script = make_script({"lantern": make_song(tempo_bpm=120)})
    played = make_player(script)
    played.ask("next")
    played.ask("next")
    piece = script.pieces["lantern"]
    assert answer(played.state, Due(60.0, "cue", "lantern", 1), piece) is None
    assert answer(played.state, Due(60.0, "begin", "lantern"), piece) is None
    assert answer(played.state, Due(120.0, "cue", "lantern", 2), piece) == Asked(120.0, "next")


def test_clocks_run_through_the_count_in_and_the_song(lantern: Piece):
    part = with_pulses(play_song(lantern, 0.0, stop=1), {"lantern": lantern})
    times = [due.at_s for due in part.dues if due.what == "pulse"]
    assert times == pytest.approx([n / 48 for n in range(len(times))])
    assert len(times) == 64 * 48
