"""The demo book's take is a plausible performance, and what its script makes."""

import itertools
import runpy
from pathlib import Path
from typing import Any

import pytest

from showrunner.model.library import Book
from showrunner.places import demo_book
from showrunner.state.events import Heard, Out
from showrunner.state.machine import open_show, run
from showrunner.state.script import script_of_show
from showrunner.takes.encode import bytes_of
from showrunner.takes.smf import read_take
from showrunner.takes.take import Take, TakeEvent


@pytest.fixture(scope="module")
def path(book: Book) -> Path:
    first = book.shows["pellmarsh-hall"].set_songs[0]
    (only,) = (demo_book() / "takes" / first).glob("*.mid")
    return only


@pytest.fixture(scope="module")
def take(path: Path) -> Take:
    return read_take(path)


@pytest.fixture(scope="module")
def came_in(take: Take) -> list[TakeEvent]:
    return [event for event in take.events if event.direction == "in"]


def readings(came_in: list[TakeEvent], port: str, cc: int) -> list[tuple[float, int]]:
    return [(e.at_s, e.data[2]) for e in came_in if e.port == port and e.data[:2] == bytes((0xB0, cc))]


def test_the_file_is_what_its_script_makes(path: Path) -> None:
    script: dict[str, Any] = runpy.run_path(str(Path(__file__).parent / "make_take.py"))
    assert path.read_bytes() == bytes_of(script["make"]()), "run tests/shows/make_take.py and look at what changed"


def test_it_names_its_show_rig_and_song(take: Take) -> None:
    assert (take.show, take.rig, take.song) == ("pellmarsh-hall", "full", "saltmarsh-signal")


def test_it_reaches_every_cue_of_the_first_three_songs(take: Take, book: Book) -> None:
    songs = book.shows["pellmarsh-hall"].set_songs[:3]
    assert [(cue.song, cue.cue) for cue in take.cues] == [
        (slug, name) for slug in songs for name in ("start", *(cue.name for cue in book.songs[slug].cues))
    ]


def test_cues_are_at_least_two_seconds_apart_and_all_is_over_in_two_minutes(take: Take) -> None:
    places = [cue.at_s for cue in take.cues]
    assert min(after - before for before, after in itertools.pairwise(places)) >= 2
    assert 60 <= take.events[-1].at_s <= 120


def test_every_press_is_followed_by_its_release(came_in: list[TakeEvent]) -> None:
    values = [value for _, value in readings(came_in, "floor", 80)]
    assert values == [127, 0] * (len(values) // 2)


def test_one_press_comes_too_soon(take: Take, book: Book) -> None:
    assert [show.say for show in _shows(take, book) if show.kind == "too soon"] == [""]


def test_the_strip_is_touched_and_let_go(came_in: list[TakeEvent]) -> None:
    times = [at_s for at_s, _ in readings(came_in, "guitar", 16)]
    assert sum(after - before > 0.06 for before, after in itertools.pairwise(times)) >= 2


def test_the_14_bit_pedal_sends_each_coarse_value_with_its_fine_one(came_in: list[TakeEvent]) -> None:
    controllers = [e.data[1] for e in came_in if e.port == "floor" and e.data[1] in (4, 36)]
    assert len(controllers) > 200
    assert controllers == [4, 36] * (len(controllers) // 2)


def test_a_pedal_sends_one_to_two_hundred_messages_in_its_busiest_second(came_in: list[TakeEvent]) -> None:
    times = [at_s for at_s, _ in readings(came_in, "floor", 4)]
    busiest = max(sum(start <= at_s < start + 1 for at_s in times) for start in times)
    assert 100 <= busiest <= 200


def test_replayed_through_the_machine_it_gives_what_went_out(take: Take, book: Book) -> None:
    sent = [(send.port, send.message) for out in _replayed(take, book) for send in out.sends]
    assert sent == [(event.port, event.data) for event in take.events if event.direction == "out"]


def _replayed(take: Take, book: Book) -> list[Out]:
    script = script_of_show(book, book.shows["pellmarsh-hall"], book.rigs["full"])
    state, out = open_show(script, 0.0)
    heard = [Heard(event.at_s, event.port, event.data) for event in take.events if event.direction == "in"]
    return [out, *(out for _, _, out in run(script, state, heard))]


def _shows(take: Take, book: Book) -> list[Any]:
    return [show for out in _replayed(take, book) for show in out.shows]
