"""What a run's log says of the night."""

import pytest

from showrunner.planning.night import ChangePlayed, Gone, Line, Outage, SongPlayed, night_of, performances

CUES = {"low": ("start", "Theme", "Solo"), "steps": ("start",), "marram": ("start",)}


def played(*rows: tuple[float, str, str | None, str | None]) -> list[Line]:
    return [Line(at_s, kind, song, cue) for at_s, kind, song, cue in rows]


EVENING = played(
    (100, "began", None, None),
    (101, "changeover", "low", "start"),
    (200, "song", "low", "start"),
    (260, "cue", "low", "Theme"),
    (320, "cue", "low", "Solo"),
    (440, "changeover", "steps", "start"),
    (475, "song", "steps", "start"),
    (700, "over", "steps", "start"),
    (760, "ended", None, None),
)


def test_songs_have_their_start_from_the_first_note_and_their_length():
    night = night_of(EVENING, CUES)
    assert night is not None
    assert night.songs == (SongPlayed("low", 0, 240), SongPlayed("steps", 275, 225))
    assert night.lasted_s == 500


def test_a_changeover_is_from_the_end_of_one_song_to_the_first_note_of_the_next():
    night = night_of(EVENING, CUES)
    assert night is not None
    assert night.changes == (ChangePlayed("low", "steps", 35),)


def test_straight_into_the_next_song_takes_no_time():
    night = night_of(
        played((0, "song", "low", "start"), (60, "song", "steps", "start"), (90, "over", "steps", "start")), CUES
    )
    assert night is not None
    assert night.changes == (ChangePlayed("low", "steps", 0),)
    assert night.songs == (SongPlayed("low", 0, 60), SongPlayed("steps", 60, 30))


def test_cues_gone_back_on_are_named_with_both_ends():
    back = played(
        (0, "song", "low", "start"),
        (60, "cue", "low", "Theme"),
        (61, "cue", "low", "start"),
        (62, "cue", "low", "Theme"),
    )
    night = night_of(back, CUES)
    assert night is not None
    assert night.backs == (Gone(61, "low", "start", "low", "Theme"),)


def test_a_song_gone_back_into_is_named_with_where_that_was_from():
    lines = played(
        (0, "song", "low", "start"),
        (60, "cue", "low", "Theme"),
        (90, "changeover", "steps", "start"),
        (92, "cue", "low", "Theme"),
        (120, "song", "steps", "start"),
        (121, "cue", "low", "Theme"),
        (150, "song", "steps", "start"),
        (200, "over", "steps", "start"),
        (201, "cue", "steps", "start"),
    )
    night = night_of(lines, CUES)
    assert night is not None
    assert night.backs == (
        Gone(92, "low", "Theme", "steps", None),
        Gone(121, "low", "Theme", "steps", "start"),
        Gone(201, "steps", "start", None, None),
    )


def test_a_song_left_too_soon_and_gone_back_to_lasts_until_it_is_left_for_good():
    rows = played(
        (0, "song", "low", "start"),
        (50, "changeover", "steps", "start"),
        (52, "cue", "low", "Solo"),
        (240, "changeover", "steps", "start"),
        (270, "song", "steps", "start"),
    )
    night = night_of(rows, CUES)
    assert night is not None
    assert night.songs == (SongPlayed("low", 0, 240), SongPlayed("steps", 270, None))
    assert night.changes == (ChangePlayed("low", "steps", 30),)


def test_a_song_begun_twice_counts_from_its_last_beginning():
    rows = played(
        (0, "song", "low", "start"),
        (5, "changeover", "low", "start"),
        (9, "song", "low", "start"),
        (99, "over", "low", None),
    )
    night = night_of(rows, CUES)
    assert night is not None
    assert night.songs == (SongPlayed("low", 9, 90),)
    assert night.changes == ()


def test_ports_that_were_gone_have_how_long_and_one_that_stayed_away_has_not():
    rows = [
        Line(0, "song", "low", "start"),
        Line(10, "port lost", say="host"),
        Line(12.5, "port found", say="host"),
        Line(30, "port lost", say="floor"),
    ]
    night = night_of(rows, CUES)
    assert night is not None
    assert night.outages == (Outage(10, "host", 2.5), Outage(30, "floor", None))


def test_presses_too_soon_songs_taken_and_engine_restarts_are_counted():
    rows = [Line(0, "song", "low"), Line(1, "too soon"), Line(2, "too soon"), Line(3, "restarted"), Line(4, "taken")]
    night = night_of(rows, CUES)
    assert night is not None
    assert night.others == {"too soon": 2, "taken": 1, "restarted": 1}


def test_a_log_in_which_no_song_was_begun_is_no_night():
    assert night_of(EVENING[:2], CUES) is None
    assert night_of([], CUES) is None


@pytest.mark.parametrize("first", [0, 1])
def test_each_time_the_run_began_is_a_performance_of_its_own(first: int):
    assert [len(part) for part in performances([*EVENING[first:], *EVENING])] == [9 - first, 9]
