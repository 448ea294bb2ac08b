"""A trim moved while the show runs is heard at once, touches nothing else, and stays."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.curves.laws import to_number
from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue
from showrunner.state.events import Jump, Moved, Trim, Trimmed
from showrunner.state.lanes import absorb, lanes
from showrunner.state.machine import fold
from showrunner.state.script import Script, script_of_show

VOLUME = "interface volume"
RIG_TRIMS = {"input_gain_db": 32, "interface_volume_db": -10, "volume_target": "output"}
QUICK = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
OUTPUT, MIX, WIDTH = 7, 20, 22
ENTRIES = ["jump", "glide"]


@pytest.fixture
def make_night(make_rig: Any, make_song: Any) -> Any:
    """Two songs in a room, the first as given; the show's own trims as given."""

    def make(one: Song | None = None, **trims: Any) -> Script:
        venue = Venue.model_validate(
            {"format": 1, "title": "Barn", "trims": {"interface_volume_db": -3, "targets": {"width": -10}}}
        )
        songs = [{"song": "one"}, {"song": "two"}]
        show = Show.model_validate(
            {"format": 1, "title": "Friday", "venue": "barn", "sets": [{"songs": songs}], "trims": trims}
        )
        other = make_song(title="Two", program={"port": "host", "channel": 1, "number": 3})
        rig = make_rig(trims=RIG_TRIMS)
        book = Book(songs={"one": one or make_song(), "two": other}, rigs={"r": rig}, venues={"barn": venue})
        return script_of_show(book, show, rig)

    return make


@pytest.fixture
def playing(make_night: Any, make_player: Any) -> Any:
    """In the first song, the pedal half way, everything settled."""
    player = make_player(make_night(interface_volume_db=-1))
    player.press("next")
    player.move(1, "swell", 64)
    player.settle()
    return player


def trim(player: Any, name: str, value: float) -> list[tuple[int, int]]:
    """Controller numbers and values that a trim sends."""
    return [(send.message[1], send.message[2]) for send in player.do(Trimmed(player.at_s + 1, name, value))]


def number(player: Any, target: str, value: float) -> int:
    return to_number(player.script.rig.targets[target], value)


def test_a_trim_on_the_volume_sends_the_volume_alone(playing: Any) -> None:
    assert trim(playing, VOLUME, -1.9) == [(OUTPUT, number(playing, "output", -10 - 3 - 1.9))]


def test_an_offset_moves_what_is_named_and_what_follows_a_pedal(playing: Any) -> None:
    assert trim(playing, "mix", 10) == [(MIX, number(playing, "mix", 15))]
    playing.ask("next")
    playing.move(1, "swell", 100)
    share = playing.state.travels["swell"] / 100
    assert trim(playing, "width", 6) == [(WIDTH, number(playing, "width", max(0, share * 100 - 10 + 6)))]
    assert playing.move(1, "swell", 127)[-1].message[2] == number(playing, "width", 96)


def test_what_was_trimmed_is_told_with_from_and_to(playing: Any) -> None:
    trim(playing, VOLUME, -1.5)
    trim(playing, "input gain", 0.5)
    assert playing.notices[-2][4] == Trim("soundcheck", VOLUME, -1.0, -1.5, "dB", by_hand=False)
    assert playing.notices[-1][3] == "input gain 0 to +0.5 dB, by hand"


def test_the_input_gain_sends_nothing_since_no_computer_moves_it(playing: Any) -> None:
    assert trim(playing, "input gain", 1.0) == []


def test_a_trim_stays_through_a_recall_and_into_the_next_song(playing: Any) -> None:
    trim(playing, VOLUME, -2)
    playing.ask("next")
    playing.ask("back")
    assert playing.state.aims["output"].value == -15
    playing.do(Jump(playing.at_s + 1, "two", 0))
    playing.settle()
    assert playing.state.aims["output"].value == -15
    assert playing.state.known["output"] == number(playing, "output", -15)


def test_a_trim_while_muted_is_heard_when_the_mute_lifts(playing: Any) -> None:
    playing.press("tune")
    assert trim(playing, VOLUME, -4) == []
    assert playing.press("tune")[-1].message[2] == number(playing, "output", -17)


def test_a_trim_in_a_changeover_is_there_when_the_song_begins(make_night: Any, make_player: Any) -> None:
    player = make_player(make_night())
    player.settle()
    trim(player, "mix", 7)
    player.press("next")
    assert player.state.known["mix"] == number(player, "mix", 12)


def test_a_trim_put_back_leaves_no_trace(playing: Any) -> None:
    before = playing.state
    trim(playing, VOLUME, -1.5)
    trim(playing, "width", 3)
    trim(playing, "width", 0)
    trim(playing, VOLUME, -1)
    assert (playing.state.trims, playing.state.aims, playing.state.known) == (before.trims, before.aims, before.known)


@pytest.mark.parametrize(
    ("name", "value"), [("attic", 1.0), ("output", 1.0), (VOLUME, 500.0), (VOLUME, float("nan")), ("mix", 1e300)]
)
def test_what_is_no_trim_is_said_and_changes_nothing(playing: Any, name: str, value: float) -> None:
    assert trim(playing, name, value) == []
    assert playing.state.trims == ()
    assert playing.notices[-1][0] == "nothing"


def test_the_same_trim_asked_for_twice_counts_once(playing: Any) -> None:
    trim(playing, VOLUME, -3)
    told = len(playing.notices)
    assert trim(playing, VOLUME, -3) == []
    assert len(playing.notices) == told


def test_a_curve_that_a_trim_leaves_alone_keeps_its_table(make_night: Any) -> None:
    script = make_night()
    trims = ((VOLUME, -2.0),)
    assert script.table("one", "verse", "swell", trims) is script.table("one", "verse", "swell")
    assert script.table("one", "lead", "swell", (("width", 4.0),)) != script.table("one", "lead", "swell")


moves = st.lists(
    st.tuples(st.sampled_from([VOLUME, "input gain", "mix", "drive", "width"]), st.integers(-24, 24)), max_size=5
)


@QUICK
@given(moves=moves, raw=st.integers(0, 127), to=st.integers(0, 3))
def test_a_trim_sounds_as_if_the_show_had_been_written_so(
    moves: list[tuple[str, int]], raw: int, to: int, make_night: Any, make_player: Any
) -> None:
    last = dict(moves)
    keys = {VOLUME: "interface_volume_db", "input gain": "input_gain_db"}
    plain = {keys[name]: value for name, value in last.items() if name in keys}
    targets = {name: value for name, value in last.items() if name not in keys}
    found = []
    for script, trims in ((make_night(**plain, targets=targets), []), (make_night(), moves)):
        player = make_player(script)
        player.press("next")
        player.move(1, "swell", raw)
        player.do(Jump(player.at_s + 1, "one", to))
        player.settle()
        for name, value in trims:
            trim(player, name, value)
        aims = player.state.aims.items()
        found.append((player.state.known, {name: aim for name, aim in aims if aim.how != "follows"}))
    assert found[0] == found[1]


@QUICK
@given(moves=moves, raws=st.lists(st.integers(0, 127), min_size=1, max_size=10))
def test_the_fast_road_has_the_moved_trims_too(
    moves: list[tuple[str, int]], raws: list[int], make_night: Any, make_player: Any
) -> None:
    player = make_player(make_night())
    player.press("next")
    player.move(1, "swell", 3)
    player.settle()
    for name, value in moves:
        trim(player, name, value)
    for control, lane in lanes(player.script, player.state).items():
        state, slow, fast, at_s = player.state, [], [], player.at_s
        for raw in raws:
            at_s += 0.01
            state, out = fold(player.script, state, Moved(at_s, control, raw))
            slow += out.sends
            fast += lane.move(raw)
        assert fast == slow
        assert absorb(player.script, player.state, lane, at_s) == state


@QUICK
@given(raw=st.integers(0, 127), high=st.integers(-120, 120), low=st.integers(-120, 120), entry=st.sampled_from(ENTRIES))
def test_a_trim_past_the_end_of_a_range_leaves_no_trace_once_it_is_taken_back(
    raw: int, high: int, low: int, entry: str, make_night: Any, make_song: Any, make_player: Any
) -> None:
    """`lamp` rests nowhere: in the second curve set it stays where the first had it. `width` comes in by its entry.

    Whether `meet` has met is decided by what sounds as the pedal moves, so that it may differ.
    """
    curves = {
        "verse": {"swell": {"travel": [0, 100], "moves": {"lamp": [10, 90]}}},
        "lead": {"swell": {"travel": [0, 100], "entry": entry, "moves": {"width": [100, 0]}}},
    }
    found = []
    for trims in ([("lamp", high), ("width", high), ("lamp", low), ("width", low)], [("lamp", low), ("width", low)]):
        player = make_player(make_night(one=make_song(curves=curves)))
        player.press("next")
        player.move(1, "swell", raw)
        player.settle()
        for name, value in trims[:2]:
            trim(player, name, value)
        player.ask("next")
        for name, value in trims[2:]:
            trim(player, name, value)
        player.settle()
        found.append(player.state.known)
    assert found[0] == found[1]
