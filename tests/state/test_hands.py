"""What hands have to set follows from what they have really done, wherever the show went."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.live.freeze import from_json, to_json
from showrunner.live.player import resumed
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.state.events import Asked, Jump
from showrunner.state.hands import FLOOR, guitar_for, rested, to_set, tuning_of
from showrunner.state.moments import prepare
from showrunner.state.script import Script
from showrunner.state.values import State

POSITIONS = {
    "driver": ["off", "on"],
    "octave": ["fundamental", "octave"],
    "pickup": ["neck", "bridge"],
    "fuzz": ["a", "b"],
}
CARRIES = {"baritone": ("driver", "octave"), "six": ("driver", "pickup")}
"""Both guitars have a driver of their own; the fuzz stands on the floor."""
TUNINGS = {"baritone": {"B": ["B1"], "A": ["A1"]}, "six": {"E": ["E2"], "D": ["D2"]}}


def rig_of(make_rig: Any) -> Rig:
    controls = make_rig().model_dump()["controls"]
    del controls["octave switch"]
    for name, positions in POSITIONS.items():
        controls[name] = {"kind": "selector", "positions": positions, "rest": positions[0]}
    guitars = {name: {"tunings": TUNINGS[name], "carries": CARRIES[name]} for name in CARRIES}
    return make_rig(controls=controls, instruments=guitars)


def song(**of: Any) -> Song:
    return Song.model_validate({"format": 1, "title": "Made", "duration": "3:00", **of})


@pytest.fixture
def driven(make_rig: Any, make_player: Any) -> Any:
    """A song whose middle cue has the driver on and the octave up, and two songs that want neither."""
    rig = rig_of(make_rig)
    cues = [
        {"name": "Ring", "by_hand": {"driver": "on", "octave": "octave"}},
        {"name": "Stop", "by_hand": {"driver": "off", "octave": "fundamental"}},
    ]
    songs = {
        "ringing": song(instrument="baritone", cues=cues),
        "same": song(instrument="baritone"),
        "other": song(instrument="six"),
    }
    return make_player(Script(rig, {slug: prepare(slug, of, rig) for slug, of in songs.items()}, tuple(songs)))


def left(player: Any) -> dict[tuple[str, str], str]:
    state = player.state
    return to_set(state.hands, player.script.pieces[state.song], state.moment)


DOWN = {("baritone", "driver"): "off", ("baritone", "octave"): "fundamental"}


@pytest.mark.parametrize("browse", [0, 1])
def test_a_song_chosen_while_the_driver_is_on_says_driver_off_and_octave_fundamental(driven: Any, browse: int) -> None:
    for step in ("next", "next", "choose", *["next"] * browse, "take"):
        driven.ask(step)
    assert driven.state.song == ("same", "other")[browse]
    assert left(driven) == DOWN


def test_a_song_left_as_written_says_nothing_of_what_its_last_cue_has_set_already(driven: Any) -> None:
    for step in ("next", "next", "next", "next"):
        driven.ask(step)
    assert driven.state.song == "same"
    assert left(driven) == {}


def test_a_jump_away_from_a_driver_that_is_on_says_so(driven: Any) -> None:
    driven.ask("next")
    driven.ask("next")
    driven.do(Jump(driven.at_s + 1, "other", 0))
    assert left(driven) == DOWN


def test_back_into_an_earlier_songs_last_cue_says_what_that_wants(driven: Any) -> None:
    for step in ("next", "next", "next", "next", "back"):
        driven.ask(step)
    assert (driven.state.song, driven.state.moment) == ("ringing", 2)
    assert left(driven) == {}
    driven.ask("back")
    assert left(driven) == {("baritone", "driver"): "on", ("baritone", "octave"): "octave"}


def test_back_to_the_first_moment_says_what_the_cue_before_has_changed(driven: Any) -> None:
    driven.ask("next")
    driven.ask("next")
    driven.ask("back")
    assert driven.state.moment == 0
    assert not driven.state.ready
    assert left(driven) == DOWN


def test_a_song_begun_from_its_changeover_is_ready_and_back_there_says_the_list_again(driven: Any) -> None:
    for step in ("next", "next", "choose", "take"):
        driven.ask(step)
    driven.ask("next")
    assert driven.state.ready
    driven.ask("back")
    assert (driven.state.phase, driven.state.ready) == ("changeover", False)
    assert left(driven) == DOWN


def test_nobody_knows_how_much_of_a_changeover_was_done_that_is_left_for_another_song(driven: Any) -> None:
    for step in ("next", "next", "choose", "take", "choose", "take"):
        driven.ask(step)
    assert driven.state.order == ("ringing", "other", "same")
    assert left(driven) == DOWN


def moment(driver: list[str]) -> Any:
    return st.fixed_dictionaries(
        {}, optional={name: st.sampled_from(POSITIONS[name]) for name in ("driver", *driver, "fuzz")}
    )


@st.composite
def songs(draw: st.DrawFn) -> Any:
    guitar = draw(st.sampled_from(sorted(CARRIES)))
    mine = [name for name in CARRIES[guitar] if name != "driver"]
    by_hand = moment(mine)
    cues = [{"name": f"cue {n}", "by_hand": draw(by_hand)} for n in range(draw(st.integers(0, 3)))]
    tuning = draw(st.sampled_from([None, *TUNINGS[guitar]]))
    capo = draw(st.sampled_from([0, 2]))
    return song(instrument=guitar, tuning=tuning, capo=capo, cues=cues, start={"by_hand": draw(by_hand)})


class Person:
    """Somebody with two guitars who does what the screen says, and remembers nothing else."""

    def __init__(self) -> None:
        self.guitar: str | None = None
        self.tunings: dict[str | None, str | None] = {}
        self.capos: dict[str | None, int] = {"baritone": 0, "six": 0}
        self.stands = {(guitar, name): POSITIONS[name][0] for guitar in CARRIES for name in CARRIES[guitar]}
        self.stands[FLOOR, "fuzz"] = POSITIONS["fuzz"][0]

    def obeys(self, player: Any, much: float = 1.0) -> None:
        """Do what is asked, or the first part of it."""
        state = player.state
        piece = player.script.pieces[state.song]
        guitar, capo = guitar_for(state.hands, piece), piece.song.capo
        asked: list[Any] = [] if state.ready else list(to_set(state.hands, piece, state.moment).items())
        changes = guitar != state.hands.guitar
        retunes = changes or tuning_of(piece, guitar) != state.hands.tuning
        asked += [("guitar", guitar)] * (changes and not state.ready)
        asked += [("tuning", tuning_of(piece, guitar))] * (retunes and not state.ready)
        asked += [("capo", capo)] * (capo != state.hands.capo_on(guitar) and not state.ready)
        for what, to in asked[: round(len(asked) * much)]:
            if what == "guitar":
                self.guitar = to
            elif what == "tuning":
                self.tunings[guitar] = to
            elif what == "capo":
                self.capos[guitar] = to
            else:
                self.stands[what] = to

    def is_right_for(self, player: Any) -> bool:
        """Whether everything stands as the moment that is played wants it, and guitars laid down are at rest."""
        piece = player.script.pieces[player.state.song]
        guitar = piece.song.instrument
        wanted = {(other, name): POSITIONS[name][0] for other in CARRIES if other != guitar for name in CARRIES[other]}
        for name, to in piece.moments[player.state.moment].by_hand.items():
            if name in CARRIES[guitar] or name == "fuzz":
                wanted[guitar if name in CARRIES[guitar] else FLOOR, name] = to
        stands = all(self.stands[place] == to for place, to in wanted.items())
        tuned = self.tunings.get(guitar) == (piece.song.tuning or next(iter(TUNINGS[guitar])))
        return stands and tuned and self.guitar == guitar and self.capos[guitar] == piece.song.capo


moves = st.lists(
    st.one_of(
        st.sampled_from(["next", "next", "next", "back", "choose", "take", "cancel", "mute", "engine ends"]),
        st.tuples(st.integers(0, 2), st.integers(0, 3)),
    ),
    max_size=25,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(made=st.tuples(songs(), songs(), songs()), playing=moves, much=st.lists(st.floats(0, 1), min_size=1))
def test_whoever_does_what_the_screen_says_has_everything_right_wherever_the_show_goes(
    made: Any, playing: Any, much: list[float], make_rig: Any, make_player: Any
) -> None:
    rig = rig_of(make_rig)
    pieces = {f"song {n}": prepare(f"song {n}", of, rig) for n, of in enumerate(made)}
    player = make_player(Script(rig, pieces, tuple(pieces)))
    person = Person()
    for number, move in enumerate(playing):
        before = player.state
        if before.phase == "changeover" and move == "next" and before.choice is None:
            person.obeys(player)  # who begins a song has done all that its changeover asked
        elif before.phase == "changeover" and number:
            person.obeys(player, much[number % len(much)])
        if isinstance(move, tuple):
            slug = f"song {move[0]}"
            player.do(Jump(player.at_s + 2, slug, min(move[1], len(pieces[slug].moments) - 1)))
        elif move == "engine ends":
            kept = json.loads(json.dumps(to_json(player.state)))
            player.state = resumed(from_json(State, kept), rig, player.at_s)
        else:
            player.do(Asked(player.at_s + 2, move))
        if player.state.phase == "song":
            person.obeys(player)
            assert person.is_right_for(player)


def test_before_a_show_everything_is_at_rest_and_no_guitar_in_hand(make_rig: Any) -> None:
    hands = rested(rig_of(make_rig), {"gain": 3.0})
    assert (hands.guitar, hands.levels) == (None, {"gain": 3.0})
    assert hands.by_hand["six", "driver"] == hands.by_hand["baritone", "driver"] == "off"
    assert hands.by_hand[FLOOR, "fuzz"] == "a"
