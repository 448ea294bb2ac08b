"""Headroom follows from what a song really sends: held to literal sums over moments and the travel of pedals."""

import math
from functools import cache
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.curves.laws import to_number
from showrunner.curves.shapes import value_at
from showrunner.levels.gain import trims
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.song_levels import cut_off, moved
from showrunner.planning.trims import show_levels
from showrunner.state.moments import prepare

LEVEL = {"port": "host", "channel": 1, "unit": "dB", "level": True}
PEDAL = {"kind": "pedal", "limb": "right foot", "port": "floor", "channel": 1}
TARGETS = {
    "output": {**LEVEL, "cc": 7, "range": [-60, 6], "rest": -12},
    "drive": {**LEVEL, "cc": 70, "range": [-12, 12], "rest": 3},
    "swell level": {**LEVEL, "cc": 71, "range": [-60, 0], "rest": 0},
    "pad": {**LEVEL, "cc": 72, "channel": 2, "range": [-48, 0], "rest": -48},
    "second amp": {**LEVEL, "cc": 73, "range": [-60, 0], "rest": -60},
    "reverb": {"port": "host", "channel": 1, "cc": 74, "range": [0, 100], "rest": 0},
}


def rig_with(**targets: Any) -> Rig:
    return Rig.model_validate(
        {
            "format": 1,
            "title": "Bench rig",
            "ports": {"host": {"output": "Host*"}, "floor": {"input": "Floor*"}},
            "controls": {"left": {**PEDAL, "cc": 4}, "right": {**PEDAL, "cc": 11}},
            "targets": {**TARGETS, **targets},
            "gain": [
                {"stage": "interface input", "range_db": [0, 60]},
                {"stage": "software", "range_db": [0, 0]},
                {"stage": "interface output", "range_db": [-60, 6]},
            ],
            "trims": {"input_gain_db": 32, "interface_volume_db": -12, "volume_target": "output"},
        }
    )


def song_with(**changes: Any) -> Song:
    level = {"true_peak_dbtp": -1}
    return Song.model_validate({"format": 1, "title": "Tide", "duration": "4:00", "level": level, **changes})


def show_with(**targets: float) -> Show:
    sets = [{"songs": [{"song": "tide"}]}]
    return Show.model_validate({"format": 1, "title": "Friday", "sets": sets, "trims": {"targets": targets}})


def headroom(song: Song, rig: Rig | None = None, **offsets: float) -> list[float]:
    rig = rig or rig_with()
    found = show_levels(Book(songs={"tide": song}, rigs={"bench": rig}), show_with(**offsets), rig)
    return [stage.headroom_db for stage in found.songs[0].stages]


def test_an_offset_that_reaches_the_guitar_moves_the_headroom_by_itself() -> None:
    assert headroom(song_with(), drive=1.5) == pytest.approx([12, -0.5, -0.5], abs=0.001)


@pytest.mark.parametrize("offset", [6, -30])
def test_an_offset_on_a_target_at_the_end_of_its_range_changes_nothing(offset: float) -> None:
    end = 12 if offset > 0 else -12
    song = song_with(start={"targets": {"drive": end}})
    assert headroom(song, drive=offset) == headroom(song)


def test_a_clipping_song_goes_on_clipping_where_a_silent_path_is_turned_down() -> None:
    """The error that went away: the song is 0.5 dB over, and the room takes 20 dB off a path that is silent anyway."""
    song = song_with(level={"true_peak_dbtp": 0.5})
    for silent in ("pad", "second amp"):
        assert headroom(song, **{silent: -20}) == [12, -0.5, -0.5]


@pytest.mark.parametrize("silent", ["pad", "second amp"])
def test_a_silent_path_that_opens_a_little_is_still_not_heard(silent: str) -> None:
    assert headroom(song_with(), **{silent: 6}) == pytest.approx([12, 1, 1], abs=0.001)


def test_a_path_beside_that_sounds_adds_its_power() -> None:
    """By hand: the guitar at +3 dB, the pad at -3 and then at 0: 10·log10((1.995 + 1)/(1.995 + 0.501)) = 0.791."""
    song = song_with(start={"targets": {"pad": -3}})
    assert headroom(song, pad=3)[1] == pytest.approx(1 - 0.791, abs=0.001)


def test_what_a_trim_does_to_the_loudest_place_counts() -> None:
    """The solo stands at the top of the range; the verse gets louder and stays below it."""
    song = song_with(start={"targets": {"drive": 3}}, cues=[{"name": "Solo", "targets": {"drive": 12}}])
    assert headroom(song, drive=6) == headroom(song)
    assert headroom(song, drive=-6)[1] == pytest.approx(headroom(song)[1] + 6, abs=0.001)


def test_a_song_that_turns_the_interface_up_is_louder_at_the_output() -> None:
    song = song_with(cues=[{"name": "Solo", "targets": {"output": -8}}])
    assert headroom(song) == [12, 1, -3]


def test_a_number_that_stays_the_same_changes_nothing() -> None:
    """One step of `drive` is 24/127 dB, and 3 dB is nearer to its number than half a step of that."""
    assert to_number(rig_with().targets["drive"], 3.02) == to_number(rig_with().targets["drive"], 3)
    assert headroom(song_with(), drive=0.02) == headroom(song_with())


def test_what_is_cut_off_is_said_for_the_song_with_the_target_and_how_much() -> None:
    song, rig = song_with(cues=[{"name": "Church", "targets": {"reverb": 97}}]), rig_with()
    book = Book(songs={"tide": song}, rigs={"bench": rig})
    (one,) = show_levels(book, show_with(reverb=5, drive=2), rig).songs
    assert [tuple(lost) for lost in one.cut_off] == [("reverb", 5, 2, "%")]
    assert any("reverb gets +5 %, and 2 % of it is lost" in remark.what for remark in one.remarks)


columns = st.lists(st.integers(0, 100), min_size=1, max_size=3, unique=True).map(sorted)
named = st.fixed_dictionaries(
    {}, optional={"drive": st.integers(-12, 12), "pad": st.integers(-48, 0), "swell level": st.integers(-59, 0)}
)


@st.composite
def songs(draw: st.DrawFn) -> dict[str, Any]:
    sets: dict[str, Any] = {}
    for of_set in ("verse", "lead"):
        curves = {}
        for control, targets in (("left", ["drive", "pad"]), ("right", ["swell level"])):
            if draw(st.booleans()):
                at = draw(columns)
                rows = st.lists(st.integers(-59, 12), min_size=len(at), max_size=len(at))
                shapes = st.sampled_from(["straight", "smooth", "step"])
                moves = {name: {"values": draw(rows), "shape": draw(shapes)} for name in targets}
                curves[control] = {"travel": at, "moves": moves}
        sets[of_set] = curves
    cues = [{"name": f"cue {n}", "curves": draw(st.sampled_from(["verse", "lead"]))} for n in range(2)]
    for cue in cues:
        cue["targets"] = draw(named)
    places = {"left": draw(st.integers(0, 100)), "right": draw(st.integers(0, 100))}
    return {"start": {"targets": draw(named), "controls": places}, "curves": sets, "cues": cues}


def literal(song: Song, offsets: dict[str, float]) -> float:
    """The loudest sum, written out: every moment, every reading of both pedals, every target that stands or follows."""
    ranges = {name: (min(t["range"]), max(t["range"])) for name, t in TARGETS.items()}
    rig, loudest, second_amp = rig_with(), -math.inf, 10 ** (-60 / 10)

    @cache
    def sent(name: str, value: float) -> float:
        low, high = ranges[name]
        trimmed = value + offsets.get(name, 0)
        target = rig.targets[name]
        same = to_number(target, trimmed) == to_number(target, value)
        return min(max(value if same else trimmed, low), high)

    targets = {"drive": 3.0, "swell level": 0.0, "pad": -48.0}
    since, of_set, curves_since = dict.fromkeys(targets, -1), "verse", 0
    moments = [(song.start.targets, None), *((cue.targets, cue.curves) for cue in song.cues)]
    for number, (said, comes_in) in enumerate(moments):
        targets, since = {**targets, **said}, {**since, **dict.fromkeys(said, number)}
        of_set, curves_since = (of_set, curves_since) if comes_in is None else (comes_in, number)
        curves = song.curves[of_set]
        readings = [range(128) if control in curves else range(1) for control in ("left", "right")]
        paths: dict[str, list[tuple[float, float]]] = {"left": [], "right": []}
        for at, control in enumerate(("left", "right")):
            mine = ["drive", "pad"] if control == "left" else ["swell level"]
            for raw, moved_on in product(readings[at], (False, True)):
                value = dict(targets)
                for name in mine if control in curves else []:
                    if moved_on or since[name] < curves_since:
                        move = curves[control].moves[name]
                        value[name] = value_at(curves[control].travel, move.values, move.shape, raw / 127 * 100)
                main = math.fsum(sent(name, value[name]) for name in mine if name != "pad")
                paths[control].append((main, sent("pad", value["pad"]) if control == "left" else 0.0))
        right = max(main for main, _ in paths["right"])
        for main, pad in set(paths["left"]):
            loudest = max(loudest, 10 * math.log10(10 ** ((main + right) / 10) + 10 ** (pad / 10) + second_amp))
    return loudest


@settings(max_examples=25, deadline=None)
@given(made=songs(), drive=st.integers(-30, 30), pad=st.integers(-30, 30), swell=st.integers(-30, 30))
def test_the_loudest_moment_moves_as_a_literal_sum_says(made: Any, drive: int, pad: int, swell: int) -> None:
    song, rig = song_with(**made), rig_with()
    offsets = {"drive": float(drive), "pad": float(pad), "swell level": float(swell)}
    found = moved(prepare("tide", song, rig), trims(rig, song, None, show_with(**offsets)))
    assert found.host_db == pytest.approx(
        literal(song, offsets) - literal(song, {}), abs=1e-4
    )  # the second amp, at -60 dB


@settings(max_examples=25, deadline=None)
@given(made=songs(), by=st.integers(-30, 30))
def test_what_is_lost_is_the_most_that_any_place_loses(made: Any, by: int) -> None:
    song, rig = song_with(**made), rig_with()
    piece = prepare("tide", song, rig)
    found = list(cut_off(piece, trims(rig, song, None, show_with(drive=by))))
    values = set()
    for moment in piece.moments:
        curve = song.curves[moment.curves or ""].get("left")
        if curve is None or moment.targets_since["drive"] >= moment.curves_since:
            values.add(moment.targets["drive"])
        if curve is not None:
            move = curve.moves["drive"]
            values |= {value_at(curve.travel, move.values, move.shape, raw / 127 * 100) for raw in range(128)}
    lost = max(abs(x - min(max(x, -12), 12)) for x in (min(max(value, -12), 12) + by for value in values))
    assert (found[0].lost if found else 0.0) == pytest.approx(lost, abs=1e-6)
