"""The machine sends tonight's trims at the start of each song."""

from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.curves.laws import to_number
from showrunner.curves.shapes import value_at
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


shapes = st.sampled_from(["straight", "smooth", "step", "equal-power"])
rows = st.lists(st.tuples(st.integers(0, 100), st.floats(0, 100)), min_size=1, max_size=5, unique_by=lambda row: row[0])


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(row=rows.map(sorted), shape=shapes, by=st.floats(-120, 120), travel=st.floats(0, 100), raw=st.integers(0, 127))
def test_a_trimmed_row_is_the_written_value_with_the_offset_held_to_the_range(
    row: list[tuple[int, float]],
    shape: Any,
    by: float,
    travel: float,
    raw: int,
    make_rig: Any,
    make_song: Any,
) -> None:
    at, values = [column for column, _ in row], [value for _, value in row]
    moves = {"width": {"values": values, "shape": shape}}
    song = make_song(curves={"verse": {"swell": {"travel": at, "moves": moves}}}, cues=[])
    show = Show.model_validate(
        {"format": 1, "title": "Friday", "sets": [{"songs": [{"song": "one"}]}], "trims": {"targets": {"width": by}}}
    )
    rig = make_rig()
    table = script_of_show(Book(songs={"one": song}), show, rig).table("one", "verse", "swell")

    def wanted(at_travel: float) -> float:
        return min(max(value_at(at, values, shape, at_travel) + by, 0.0), 100.0)

    assert table is not None
    assert table.value(travel) == (wanted(travel),)
    assert table.row(raw) == (to_number(rig.targets["width"], wanted(raw / 127 * 100)),)


def test_a_row_that_an_offset_takes_past_its_range_is_not_bent(make_rig: Any, make_song: Any, make_player: Any) -> None:
    """Written 0 to 100 with 10 off: at half travel 40, not the 45 of a straight line from 0 to 90."""
    curves = {"verse": {"swell": {"travel": [0, 100], "moves": {"width": [0, 100]}}}}
    player = player_of(make_rig, make_song, make_player, {"curves": curves, "cues": []})
    player.move(1, "swell", 64)
    assert player.state.known["width"] == round((64 / 127 * 100 - 10) * 1.27)
