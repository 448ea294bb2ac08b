"""The machine sends tonight's trims at the start of each song."""

from typing import Any

from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.model.venue import Venue
from showrunner.state.script import script_of_show

TRIMMED = {"input_gain_db": 32, "interface_volume_db": -10, "volume_target": "output"}


def player_of(make_rig: Any, make_song: Any, make_player: Any, song: dict[str, Any], full_house: bool = False) -> Any:
    venue = Venue.model_validate(
        {
            "format": 1,
            "title": "Barn",
            "trims": {"interface_volume_db": -3, "full_house_db": 1, "targets": {"width": -10, "mix": 5}},
        }
    )
    show = Show.model_validate(
        {
            "format": 1,
            "title": "Friday",
            "venue": "barn",
            "sets": [{"songs": [{"song": "one"}]}],
            "trims": {"interface_volume_db": -1},
        }
    )
    rig = make_rig(trims=TRIMMED)
    book = Book(songs={"one": make_song(trim_db=-2, **song)}, rigs={"r": rig}, venues={"barn": venue})
    player = make_player(script_of_show(book, show, rig, full_house=full_house))
    player.settle()
    player.press("next")
    return player


def test_the_interface_volume_is_rig_venue_show_and_song_together(
    make_rig: Any, make_song: Any, make_player: Any
) -> None:
    player = player_of(make_rig, make_song, make_player, {})
    assert player.state.aims["output"].value == -10 - 3 - 1 - 2
    assert player.state.known["output"] == round((90 - 16) / 90 * 127)


def test_a_full_house_adds_its_own(make_rig: Any, make_song: Any, make_player: Any) -> None:
    player = player_of(make_rig, make_song, make_player, {}, full_house=True)
    assert player.state.aims["output"].value == -15


def test_the_rooms_offsets_move_rests_named_values_and_curves(make_rig: Any, make_song: Any, make_player: Any) -> None:
    curves = {"verse": {"swell": {"travel": [0, 100], "moves": {"width": [5, 60]}}}}
    player = player_of(make_rig, make_song, make_player, {"curves": curves, "cues": []})
    assert player.state.aims["mix"].value == 10
    player.move(1, "swell", 127)
    assert player.state.known["width"] == round(50 * 1.27)
    player.move(1, "swell", 0)
    assert player.state.known["width"] == 0


def test_a_song_that_sets_the_interface_volume_itself_keeps_its_distance(
    make_rig: Any, make_song: Any, make_player: Any
) -> None:
    cues = [{"name": "Quiet", "targets": {"output": -20}}]
    player = player_of(make_rig, make_song, make_player, {"cues": cues})
    player.press("next")
    assert player.state.aims["output"].value == -26
