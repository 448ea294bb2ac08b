"""A rehearsal played against the clock, and its take replayed to the byte."""

from operator import itemgetter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.live.rehearsing import CLOCK, START, STOP, Rehearsal, Told
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.model.tempo import beats
from showrunner.planning.rehearsals import Plan
from showrunner.state import machine
from showrunner.state.events import Asked, Notice, PortFound, PortLost
from showrunner.state.moments import prepare
from showrunner.state.rehearsal import TAIL_S, Change, Due, Part, anew, play_change, play_song, with_pulses
from showrunner.state.script import Script
from showrunner.takes.recorder import Recorder
from showrunner.takes.replaying import differs_from_then, replay_steps
from showrunner.takes.smf import read_take

SWITCH = {"kind": "switch", "port": "floor", "channel": 1}
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Test rig",
        "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*", "settle_ms": 300}},
        "controls": {
            "swell": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 11},
            "fine": {"kind": "pedal", "port": "floor", "channel": 1, "cc": 4, "bits": 14},
            "strip": {"kind": "strip", "port": "floor", "channel": 1, "cc": 16, "on_release": {"to": 0}},
            "next": {**SWITCH, "cc": 80},
            "back": {**SWITCH, "cc": 81},
        },
        "targets": {
            "drive": {"port": "host", "channel": 1, "cc": 70, "range": [0, 127], "rest": 0},
            "width": {"port": "host", "channel": 1, "cc": 12, "bits": 14, "range": [0, 100], "rest": 50},
            "echo": {"port": "host", "channel": 1, "cc": 71, "range": [0, 100], "rest": 0},
            "output": {"port": "host", "channel": 1, "cc": 7, "range": [-90, 0], "rest": -10},
        },
        "steps": {"next": "next", "back": "back"},
        "mute": {"target": "output", "value": -90},
    }
)
SONG = {
    "format": 1,
    "title": "Low Lantern",
    "tempo_bpm": 97.3,
    "meter": "7/8",
    "tempo_changes": [{"bar": 3, "tempo_bpm": 131.1, "meter": "4/4"}],
    "duration": "0:20",
    "program": {"port": "host", "channel": 1, "number": 5},
    "curves": {
        "verse": {"swell": {"travel": [0, 100], "moves": {"drive": [0, 127]}}},
        "lead": {
            "swell": {"travel": [0, 100], "entry": "glide", "moves": {"drive": [127, 0]}},
            "fine": {"travel": [0, 100], "entry": "meet", "moves": {"width": [0, 100]}},
            "strip": {"travel": [0, 100], "moves": {"echo": [0, 100]}},
        },
    },
    "cues": [
        {"name": "Theme", "at": "0:04", "curves": "lead"},
        {"name": "Break", "at": "0:09", "targets": {"echo": 30}},
        {"name": "Last", "at": "0:14", "curves": "verse"},
    ],
}
OTHER = {**SONG, "title": "Harbour Steps", "program": {"port": "host", "channel": 1, "number": 6}}


def script() -> Script:
    pieces = {slug: prepare(slug, Song.model_validate(of), RIG) for slug, of in (("low", SONG), ("steps", OTHER))}
    return Script(RIG, pieces, ("low", "steps"))


class Played:
    """A rehearsal with what it sent and told."""

    def __init__(self, part: Part, **options: Any) -> None:
        self.sent: list[tuple[str, bytes]] = []
        self.told: list[Told] = []
        plan = Plan(options.pop("of", None) or script(), part, options.pop("times", 1), "low", {})
        self.rehearsal = Rehearsal(plan, lambda *row: self.sent.append(row), self.told.append, **options)

    def to_the_end(self) -> None:
        while (next_s := self.rehearsal.next_s) is not None:
            self.rehearsal.until(next_s)
        self.rehearsal.end(self.rehearsal.ends_s)

    def steps(self) -> list[tuple[float, str, str | None]]:
        notices = [(told.at_s, told.what) for told in self.told if isinstance(told.what, Notice)]
        return [(at_s, what.kind, what.cue) for at_s, what in notices if what.kind in ("song", "cue", "changeover")]


def low() -> Part:
    return play_song(script().pieces["low"], 0.0)


def count_s() -> float:
    return 3.5 * 60 / 97.3


def test_what_can_not_be_folded_or_judged_is_refused_and_told_and_the_clock_goes_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folds = machine.fold

    def fails(*of: Any) -> Any:
        if of[2].at_s > 6 and not isinstance(of[2], Asked):
            raise ZeroDivisionError
        return folds(*of)

    monkeypatch.setattr(machine, "fold", fails)
    played = Played(low())
    played.rehearsal.heard(5.5, "floor", b"\xb0\x0b\x40")
    played.rehearsal.heard(7.0, "floor", b"\xb0\x0b\x50")
    assert played.rehearsal.state.raws["swell"] == 0x40
    monkeypatch.setattr(played.rehearsal.reviewer, "feed", lambda *_: 1 / 0)
    played.to_the_end()
    assert [cue for _, kind, cue in played.steps() if kind == "cue"] == ["Theme", "Break", "Last"]
    said = [told.what.say for told in played.told if isinstance(told.what, Notice) and told.what.kind == "nothing"]
    assert "an error in the program; what was asked for is not done (ZeroDivisionError)" in said
    assert "ZeroDivisionError" in played.rehearsal.faults.take()[0]


def test_the_clock_begins_the_song_after_the_count_and_takes_its_cues_on_time():
    played = Played(low())
    played.to_the_end()
    assert [(round(at_s - count_s(), 9), kind, cue) for at_s, kind, cue in played.steps()[1:5]] == [
        (0, "song", "start"),
        (4, "cue", "Theme"),
        (9, "cue", "Break"),
        (14, "cue", "Last"),
    ]


def test_over_ten_minutes_of_clock_no_step_is_a_millisecond_late():
    long = Song.model_validate({**SONG, "duration": "12:00", "cues": [{"name": "Late", "at": "10:00"}]})
    piece = prepare("low", long, RIG)
    told: list[Told] = []
    part = play_song(piece, 0.0)
    plan = Plan(Script(RIG, {"low": piece}, ("low",)), part, 1, "low", {})
    rehearsal = Rehearsal(plan, lambda *_: None, told.append)
    while (next_s := rehearsal.next_s) is not None:
        rehearsal.until(next_s)
    (late,) = [row.at_s for row in told if isinstance(row.what, Notice) and row.what[:3] == ("cue", "low", "Late")]
    assert abs(late - count_s() - 600.0) < 0.001
    times = [row.at_s - count_s() for row in told if isinstance(row.what, Due) and row.what.what == "beat"]
    assert all(abs(at_s - beat.at_s) < 0.001 for at_s, beat in zip(times, beats(long), strict=False))
    assert times[-1] > 600.0


def test_by_foot_the_clock_takes_no_cue_and_the_foot_does():
    played = Played(low(), by_foot=True)
    played.rehearsal.until(5.0)
    assert [kind for _, kind, _ in played.steps()] == ["changeover"]
    played.rehearsal.heard(5.0, "floor", bytes((0xB0, 80, 127)))
    played.rehearsal.heard(5.1, "floor", bytes((0xB0, 80, 0)))
    played.rehearsal.until(6.0)
    assert [kind for _, kind, _ in played.steps()] == ["changeover", "song"]


def test_a_cue_taken_by_foot_is_not_taken_again_by_the_clock():
    played = Played(low())
    played.rehearsal.until(4.0)
    played.rehearsal.heard(4.2, "floor", bytes((0xB0, 80, 127)))
    played.rehearsal.heard(4.3, "floor", bytes((0xB0, 80, 0)))
    played.to_the_end()
    cues = [cue for _, kind, cue in played.steps() if kind == "cue"]
    assert cues == ["Theme", "Break", "Last"]


def test_timing_clocks_run_from_the_count_on_start_with_bar_1_and_stop_with_the_song():
    # MIDI 1.0 Detailed Specification, p. 30: F8 24 times a quarter note; FA and FC from memory, and that the first
    # clock after a start is the first beat.
    part = with_pulses(low(), script().pieces)
    played = Played(part, clock_to="host")
    played.to_the_end()
    clock = [data for port, data in played.sent if port == "host" and data in (CLOCK, START, STOP)]
    assert clock.index(START) == round(24 * 3.5)
    assert clock[-1] == STOP
    assert clock.count(START) == clock.count(STOP) == 1
    assert set(clock) == {CLOCK, START, STOP}
    quarters = 3.5 + 7 + 131.1 / 60 * (20 - 7 * 60 / 97.3)
    assert 24 * quarters - 1 <= clock.count(CLOCK) <= 24 * (quarters + 1)


def test_a_lost_port_is_told_and_playing_goes_on():
    played = Played(low())
    played.rehearsal.ported(PortLost(1.0, "host"))
    played.rehearsal.until(3.0)
    played.rehearsal.ported(PortFound(3.0, "host"))
    played.to_the_end()
    kinds = [told.what.kind for told in played.told if isinstance(told.what, Notice)]
    assert ("port lost" in kinds, "port found" in kinds, "cue" in kinds) == (True, True, True)


def times_through(played: Played) -> list[tuple[float, int]]:
    dues = [(told.at_s, told.what) for told in played.told if isinstance(told.what, Due)]
    return [(at_s, due.bar) for at_s, due in dues if due.what == "round"]


def test_each_time_through_starts_where_the_one_before_ended():
    part = play_song(script().pieces["low"], 0.0, start=1, stop=2)
    played = Played(part, times=3)
    played.to_the_end()
    assert times_through(played) == [(0.0, 1), (part.ends_s, 2), (2 * part.ends_s, 3)]


def test_a_song_looped_from_its_start_is_played_each_time():
    played = Played(anew(low()), times=3)
    played.to_the_end()
    assert [cue for _, kind, cue in played.steps() if kind == "cue"] == ["start", "Theme", "Break", "Last"] * 3


def test_round_and_round_goes_on_until_it_is_ended():
    played = Played(play_song(script().pieces["low"], 0.0, start=1, stop=2), times=None)
    played.rehearsal.until(120.0)
    assert len(times_through(played)) > 10
    played.rehearsal.end(120.0)
    assert played.rehearsal.next_s is None


def test_again_goes_back_to_the_start_of_this_time_through():
    played = Played(play_song(script().pieces["low"], 0.0, start=1, stop=2), times=2)
    played.rehearsal.until(3.0)
    played.rehearsal.again(3.0)
    played.to_the_end()
    assert times_through(played) == [(0.0, 1), (3.0, 1), (3.0 + played.rehearsal.part.ends_s, 2)]


def test_the_next_time_through_is_told_only_once_this_one_is_over():
    """A changeover into a song without a tempo: nothing falls due after its first step."""
    silent = prepare("steps", Song.model_validate({"format": 1, "title": "Silent", "duration": "1:00"}), RIG)
    low = script().pieces["low"]
    part = play_change(Change(low, silent, 3.0), 0.0)
    assert part.ends_s - part.dues[-1].at_s == TAIL_S
    played = Played(part, times=2, of=Script(RIG, {"low": low, "steps": silent}, ("low", "steps")))
    played.rehearsal.until(part.ends_s - 0.1)
    assert (played.rehearsal.round, times_through(played)) == (1, [(0.0, 1)])
    played.rehearsal.again(part.ends_s - 0.1)
    played.to_the_end()
    assert [number for _, number in times_through(played)] == [1, 1, 2]


def test_again_in_a_song_played_once_begins_it_anew():
    played = Played(low())
    played.rehearsal.until(6.0)
    played.rehearsal.again(6.0)
    played.to_the_end()
    cues = [cue for _, kind, cue in played.steps() if kind == "cue"]
    assert cues == ["start", "Theme", "Break", "Last"]


def test_it_is_not_over_before_its_tail_is():
    part = play_change(Change(script().pieces["low"], script().pieces["steps"], 3.0), 0.0)
    played = Played(part)
    while (next_s := played.rehearsal.next_s) is not None:
        played.rehearsal.until(next_s)
        last_s = next_s
    assert last_s == part.ends_s


def test_what_is_played_is_judged_as_it_goes():
    played = Played(low(), by_foot=True)
    for at_s in (count_s(), count_s() + 4.4):
        played.rehearsal.until(at_s)
        played.rehearsal.ask(Asked(at_s, "next"))
    last = played.rehearsal.reviewer.arrivals[-1]
    assert (last.cue, last.late_s) == ("Theme", pytest.approx(0.4, abs=0.001))


MESSAGES = st.one_of(
    st.tuples(st.sampled_from([11, 16, 4, 36]), st.integers(0, 127)),
    st.tuples(st.sampled_from([80, 81]), st.sampled_from([0, 127])),
).map(lambda row: bytes((0xB0, *row)))
PORTS = st.tuples(st.sampled_from([PortLost, PortFound]), st.sampled_from(["floor", "host"]))
PARTS = st.sampled_from(["song", "from a cue", "changeover", "loop"])


def part_of(name: str) -> Part:
    pieces = script().pieces
    if name == "song":
        return low()
    if name == "from a cue":
        return play_song(pieces["low"], 0.0, start=1, stop=3)
    return play_change(Change(pieces["low"], pieces["steps"], 3.0), 0.0)


@settings(max_examples=60, deadline=None)
@given(part=PARTS, by_foot=st.booleans(), heard=st.lists(st.tuples(st.floats(0, 24), MESSAGES | PORTS), max_size=40))
def test_a_take_through_the_same_curves_gives_byte_for_byte_what_went_out(
    part: str, by_foot: bool, heard: list[tuple[float, Any]], tmp_path_factory: pytest.TempPathFactory
):
    path: Path = tmp_path_factory.mktemp("takes") / "a.mid"
    recorder = Recorder(path, rig="big", song="low")
    played = Played(part_of(part), times=2 if part == "loop" else 1, recorder=recorder, by_foot=by_foot)
    for at_s, message in sorted(heard, key=itemgetter(0)):
        while (next_s := played.rehearsal.next_s) is not None and next_s < at_s:
            played.rehearsal.until(next_s)
        if isinstance(message, bytes):
            played.rehearsal.heard(at_s, "floor", message)
        else:
            played.rehearsal.ported(message[0](at_s, message[1]))
    played.to_the_end()
    recorder.close()
    take = read_take(path)
    out = [(event.port, event.data) for event in take.events if event.direction == "out"]
    assert out == played.sent
    assert differs_from_then(replay_steps(script(), take), take) is None


@pytest.mark.parametrize("killed_s", [0.2, 0.4, 4.0, 6.2, 6.3, 6.35, 7.0])
def test_a_take_that_was_killed_replays_to_the_byte_up_to_there(killed_s: float, tmp_path: Path):
    """At 4 s and its count-in the pedal's next curve glides in, so that messages go out that nothing came in for."""
    recorder = Recorder(tmp_path / "a.mid", rig="big", song="low")
    played = Played(low(), recorder=recorder)
    played.rehearsal.until(3.0)
    played.rehearsal.heard(3.0, "floor", bytes((0xB0, 11, 30)))
    while (next_s := played.rehearsal.next_s) is not None and next_s <= killed_s:
        played.rehearsal.until(next_s)
    recorder.keep_all()
    recorder.stop()
    take = read_take(tmp_path / "a.mid")
    assert [event.data for event in take.events if event.direction == "out"] == [message for _, message in played.sent]
    assert differs_from_then(replay_steps(script(), take), take) is None


def test_the_takes_messages_are_all_that_went_out_the_clocks_with_them(tmp_path: Path):
    recorder = Recorder(tmp_path / "a.mid", rig="big", song="low")
    part = with_pulses(play_song(script().pieces["low"], 0.0, start=1, stop=2), script().pieces)
    played = Played(part, recorder=recorder, clock_to="host")
    played.to_the_end()
    recorder.close()
    take = read_take(tmp_path / "a.mid")
    out = [event for event in take.events if event.direction == "out"]
    assert [event.data for event in out] == [message for _, message in played.sent]
    clocks = [event.at_s for event in out if event.data == CLOCK]
    # A tick is 64 µs at 97.3.
    assert clocks == pytest.approx([due.at_s for due in part.dues if due.what == "pulse"], abs=64e-6)
    assert [event.data for event in out if event.data in (START, STOP)] == [START, STOP]
    assert differs_from_then(replay_steps(script(), take), take) is None
