"""What crosses the pipes and the link arrives as it was, and anything else is refused."""

import json
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book.read import read_book
from showrunner.live.frames import FrameError, Frames, pack
from showrunner.live.freeze import from_json, to_json
from showrunner.live.local import LocalShow
from showrunner.live.night import Night, freeze, night_of, thaw
from showrunner.live.picture import Picture
from showrunner.live.player import resumed
from showrunner.live.runlog import append, entries
from showrunner.places import demo_book
from showrunner.state.hands import Hands
from showrunner.state.values import State


@pytest.fixture(scope="module")
def night() -> Night:
    return night_of(read_book(demo_book()).book, "pellmarsh-hall", "full")


def test_a_night_comes_back_as_the_same_script(night: Night) -> None:
    back = thaw(json.loads(json.dumps(freeze(night))))
    assert back.script() == night.script()
    assert back.the_show == night.the_show


def test_a_night_holds_only_what_its_show_rests_on(night: Night) -> None:
    assert set(night.book.songs) == set(night.the_show.songs)
    assert set(night.book.rigs) == {"full"}


@settings(max_examples=30, deadline=None)
@given(st.lists(st.one_of(st.sampled_from(["next", "back", "choose", "mute"]), st.integers(0, 127)), max_size=12))
def test_any_picture_comes_back_equal(playing: list[str | int]) -> None:
    now = [0.0]
    show = LocalShow(night_of(read_book(demo_book()).book, "pellmarsh-hall", "full").script(), lambda: now[0])
    for what in playing:
        now[0] += 0.7
        show.move("swell", what) if isinstance(what, int) else show.ask(what)  # type: ignore[arg-type]
    picture = show.picture()
    assert from_json(Picture, json.loads(json.dumps(to_json(picture)))) == picture


def test_what_is_no_state_is_refused() -> None:
    for data in (None, [], [1, 2], {"a": 1}, to_json(State())[:-1], [*to_json(State())[:-1], "soon"]):
        with pytest.raises(ValueError, match=r"."):
            from_json(State, data)


@settings(max_examples=50)
@given(st.lists(st.dictionaries(st.text(), st.integers()), max_size=5), st.integers(1, 7))
def test_frames_come_out_whole_however_the_stream_is_cut(messages: list[dict[str, int]], size: int) -> None:
    stream, frames = b"".join(map(pack, messages)), Frames()
    pieces = [stream[at : at + size] for at in range(0, len(stream), size)]
    assert [message for piece in pieces for message in frames.feed(piece)] == messages


@settings(max_examples=100)
@given(st.binary(max_size=60))
def test_any_bytes_are_frames_or_an_error_of_ours(data: bytes) -> None:
    found = []
    with suppress(FrameError):
        found = list(Frames().feed(data))
    assert all(isinstance(message, dict) for message in found)


def test_resuming_forgets_what_pedals_set_and_keeps_programs(night: Night) -> None:
    now = [0.0]
    show = LocalShow(night.script(), lambda: now[0])
    for _ in range(3):
        now[0] += 2.0
        show.picture()
    show.ask("next")
    for raw in range(40):
        show.move("swell", raw)
    state = show.picture().state
    followed = {name for name, aim in state.aims.items() if aim.how == "follows"}
    assert followed & state.known.keys()
    after = resumed(state, night.book.rigs[night.rig], now[0])
    assert not followed & after.known.keys()
    assert after.programs == state.programs
    assert (after.place, after.moment, after.phase) == (state.place, state.moment, state.phase)


def test_a_log_line_cut_short_costs_only_itself(tmp_path: Path) -> None:
    log = tmp_path / "runs" / "night.jsonl"
    append(log, {"kind": "song"})
    with log.open("ab") as file:
        file.write(b'{"kind": "cu')
    append(log, {"kind": "cue"})
    assert [entry["kind"] for entry in entries(log)] == ["song", "cue"]


def test_a_full_house_is_in_the_frozen_night_and_in_what_it_sends() -> None:
    book = read_book(demo_book()).book
    full = thaw(freeze(night_of(book, "pellmarsh-hall", "full", full_house=True)))
    empty = night_of(book, "pellmarsh-hall", "full")
    song = full.the_show.set_songs[0]
    by = book.venues["pellmarsh-hall"].trims.full_house_db
    output = [night.script().pieces[song].moments[0].targets["output"] for night in (full, empty)]
    assert by != 0
    assert output[0] - output[1] == pytest.approx(by)


def test_what_hands_have_done_comes_back_with_the_state_and_a_state_from_before_is_refused() -> None:
    hands = Hands("six", "E", {"six": None, "baritone": 2}, {("", "fuzz"): "a", ("six", "driver"): "on"})
    state = State(order=("a",), hands=hands, ready=True)
    written = json.loads(json.dumps(to_json(state)))
    assert from_json(State, written) == state
    with pytest.raises(ValueError, match="shorter"):
        from_json(State, written[:-2])
