"""The MIDI clock that a rehearsal sends, read by another reader than ours."""

from itertools import pairwise
from typing import Any

import pytest
from mido import Parser

from showrunner.live.rehearsing import CLOCK, STOP, Rehearsal
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.planning.rehearsals import LATE_S, Plan, Wanted, plan_of
from showrunner.state.rehearsal import LEAD_S, TAIL_S

SWITCH = {"kind": "switch", "port": "floor", "channel": 1}
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Test rig",
        "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*"}},
        "controls": {"next": {**SWITCH, "cc": 80}, "back": {**SWITCH, "cc": 81}},
        "steps": {"next": "next", "back": "back"},
    }
)
SONG: dict[str, Any] = {
    "format": 1,
    "title": "Low Lantern",
    "tempo_bpm": 97.3,
    "meter": "7/8",
    "tempo_changes": [{"bar": 3, "tempo_bpm": 131.1, "meter": "4/4"}],
    "duration": "0:20",
    "cues": [{"name": "Theme", "at": "0:04"}, {"name": "Break", "at": "0:09"}, {"name": "Last", "at": "0:14"}],
}
OTHER = {**SONG, "title": "Harbour Steps"}


def count_s() -> float:
    return 3.5 * 60 / 97.3


@pytest.mark.parametrize("by_foot", [False, True], ids=["by the clock", "by foot"])
@pytest.mark.parametrize(
    ("part", "lasts_s"),
    [({"stop": "Break"}, 9.0), ({"start": "Theme", "stop": "Break"}, 5.0), ({"start": "Theme"}, 16.0)],
    ids=["to a cue", "from a cue to another", "from a cue"],
)
def test_clocks_and_their_stop_end_where_the_part_ends(part: dict[str, str], lasts_s: float, by_foot: bool):
    book = Book(songs={"low": Song.model_validate(SONG)}, rigs={"rig": RIG})
    plan = plan_of(book, Wanted("rig", song="low", times=2, by_foot=by_foot, clock_to="host", **part))
    ends_s, late_s = count_s() + lasts_s, LATE_S if by_foot else 0.0
    clocks, stops_s = clocked(plan, by_foot=by_foot)
    assert stops_s == pytest.approx([ends_s, 2 * ends_s + late_s])
    for round_s, until_s in ((0.0, ends_s), (ends_s + late_s, 2 * ends_s + late_s)):
        there = [at_s for at_s in clocks if round_s <= at_s < round_s + ends_s + late_s]
        assert there[0] == pytest.approx(round_s)
        assert until_s - 60 / 97.3 / 24 - 1e-6 <= there[-1] < until_s


@pytest.mark.parametrize("by_foot", [False, True], ids=["by the clock", "by foot"])
def test_in_a_changeover_clocks_stop_with_the_song_and_where_it_is_over(by_foot: bool):
    songs = {"low": Song.model_validate(SONG), "steps": Song.model_validate(OTHER)}
    entries = [{"song": "low", "then": "gap 0:20"}, {"song": "steps"}]
    show = Show.model_validate({"format": 1, "title": "Friday", "sets": [{"title": "One", "songs": entries}]})
    book = Book(songs=songs, rigs={"rig": RIG}, shows={"friday": show})
    plan = plan_of(book, Wanted("rig", song="steps", show="friday", by_foot=by_foot, clock_to="host"))
    clocks, stops_s = clocked(plan, by_foot=by_foot)
    assert stops_s == pytest.approx([LEAD_S, LEAD_S + 20 + TAIL_S])
    assert clocks[-1] < LEAD_S + 20 + TAIL_S


def clocked(plan: Plan, *, by_foot: bool) -> tuple[list[float], list[float]]:
    """When clocks are sent, and when they are stopped, as a plan is played to its end."""
    sent = sent_at(plan, by_foot=by_foot)
    return [at_s for at_s, data in sent if data == CLOCK], [at_s for at_s, data in sent if data == STOP]


def sent_at(plan: Plan, *, by_foot: bool) -> list[tuple[float, bytes]]:
    """What goes to the host and when, as a plan is played to its end."""
    sent: list[tuple[float, bytes]] = []
    rehearsal = None

    def send(port: str, data: bytes) -> None:
        if port == "host":
            sent.append((0.0 if rehearsal is None else now_s, data))

    rehearsal = Rehearsal(plan, send, lambda _told: None, by_foot=by_foot, clock_to="host")
    while (next_s := rehearsal.next_s) is not None:
        now_s = next_s
        rehearsal.until(next_s)
    now_s = rehearsal.ends_s
    rehearsal.end(now_s)
    return sent


OPEN = {**SONG, "cues": [{"name": "Vamp", "at": "0:04", "open": True}, {"name": "Out", "at": "0:19", "open": True}]}


def read_by_mido(sent: list[tuple[float, bytes]]) -> tuple[list[float], list[float], list[float]]:
    """Times of start, clock and stop, as another reader of the bytes tells them."""
    found: dict[str, list[float]] = {"start": [], "clock": [], "stop": []}
    for at_s, data in sent:
        parser = Parser()
        parser.feed(data)
        for message in parser:
            found.get(message.type, []).append(at_s)
    return found["start"], found["clock"], found["stop"]


@pytest.mark.parametrize("by_foot", [False, True], ids=["by the clock", "by foot"])
def test_the_clock_goes_on_through_open_cues_as_another_reader_has_it(by_foot: bool):
    # MIDI 1.0 Detailed Specification, p. 30: 24 clocks a quarter note. The tempi are the song's own: 97.3, from bar 3
    # on 131.1; open cues hold it for 8 s each, our own figure.
    book = Book(songs={"low": Song.model_validate(OPEN)}, rigs={"rig": RIG})
    plan = plan_of(book, Wanted("rig", song="low", by_foot=by_foot, clock_to="host"))
    starts, clocks, stops = read_by_mido(sent_at(plan, by_foot=by_foot))
    assert starts == pytest.approx([count_s()])
    assert stops == pytest.approx([count_s() + 20 + 2 * 8])
    assert min(at_s for at_s in clocks if at_s >= starts[0] - 1e-9) == pytest.approx(starts[0])
    slow_s, fast_s = 60 / 97.3 / 24, 60 / 131.1 / 24
    change_s = starts[0] + 7 * 60 / 97.3 + 8  # the first open cue is before bar 3
    for before_s, after_s in pairwise([*clocks, *stops]):
        apart_s = slow_s if before_s < change_s - 1e-6 else fast_s
        assert 0 < after_s - before_s < apart_s * 1.003 or after_s == stops[0]
        assert after_s - before_s > apart_s * 0.997 or after_s == stops[0]


def test_each_song_of_a_show_has_its_start_on_its_first_beat():
    songs = {slug: Song.model_validate({**OPEN, "count_in": {"bars": 1}}) for slug in ("low", "steps", "third")}
    entries = [{"song": "low", "then": "gap 0:20"}, {"song": "steps", "then": "segue"}, {"song": "third"}]
    show = Show.model_validate({"format": 1, "title": "Friday", "sets": [{"title": "One", "songs": entries}]})
    book = Book(songs=songs, rigs={"rig": RIG}, shows={"friday": show})
    plan = plan_of(book, Wanted("rig", show="friday", clock_to="host"))
    starts, clocks, stops = read_by_mido(sent_at(plan, by_foot=False))
    lasts_s, begins_s = 20 + 2 * 8, count_s()
    assert starts == pytest.approx([begins_s, begins_s + lasts_s + 20, begins_s + 2 * lasts_s + 20])
    assert stops == pytest.approx([begins_s + lasts_s, begins_s + 2 * lasts_s + 20, begins_s + 3 * lasts_s + 20])
    assert all(any(abs(at_s - start_s) < 1e-6 for at_s in clocks) for start_s in starts)
    silent_s = [(a, b) for a, b in pairwise(clocks) if b - a > 0.1]
    assert silent_s == [pytest.approx((stops[0], starts[1] - count_s()), abs=0.05)]
