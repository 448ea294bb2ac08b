"""What is saved of where a show stands: read, refused once and set aside, and then what the log proves."""

import json
import math
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from left import AT_S, NAME, leave, night

from showrunner.live import runclock
from showrunner.live.fake import FakeSystem
from showrunner.live.folder import RUN, STATE, read_json, write_json
from showrunner.live.night import Night, night_of
from showrunner.live.player import Player
from showrunner.live.runlog import began_entry, stamp
from showrunner.live.saved import where_it_stood
from showrunner.live.uptime import boot, uptime_s
from showrunner.live.watcher import _marked
from showrunner.state.script import Script
from showrunner.state.values import Clock, State

HOUR_S, YEAR_S = 3600.0, 365 * 86400.0
STOOD = State(order=("eel", "tin"), place=1, phase="song", clock=Clock(AT_S - 30), muted=True)
STEPS: list[dict[str, Any]] = [
    {"kind": "changeover", "song": "eel", "cue": "start", "at_s": 1.0},
    {"kind": "song", "song": "eel", "cue": "start", "at_s": 100.0},
    {"kind": "changeover", "song": "tin", "cue": "start", "at_s": 300.0},
    {"kind": "song", "song": "tin", "cue": "start", "at_s": 970.0},
]


def logged(folder: Path, steps: list[dict[str, Any]], *, name: str = NAME) -> Path:
    """The log of a run that took these steps."""
    began = {**began_entry("friday", "big", simulated=False, run=name), "at_s": 0.0}
    file = folder / "2026-11-28.jsonl"
    file.write_text("".join(json.dumps({**stamp(2e9 + row["at_s"]), **row}) + "\n" for row in (began, *steps)))
    return file


def stands(folder: Path, log: Path, handed: dict[str, Any] | None = None) -> tuple[State | None, float | None, str]:
    """Where the show in a folder goes on, since when, and what is said of it."""
    clock = runclock.go_on(folder, time.time(), log)
    saved, said = where_it_stood(folder, night().script(), clock, log, handed)
    return (None, None, said) if saved is None else (saved.state, saved.began_s, said)


DAMAGES = {
    "an older version": lambda kept: {name: kept[name] for name in ("state", "began_s", "done", "at_s", "unix_s")},
    "another version": lambda kept: {**kept, "version": 99},
    "a field of the state fewer": lambda kept: {**kept, "state": kept["state"][:-1]},
    "a field of the state more": lambda kept: {**kept, "state": [*kept["state"], 1]},
    "a field fewer": lambda kept: {name: value for name, value in kept.items() if name != "boot"},
    "a field more": lambda kept: {**kept, "more": 1},
    "no state": lambda kept: {**kept, "state": None},
    "a time that is none": lambda kept: {**kept, "at_s": "noon"},
    "a time that is no number": lambda kept: {**kept, "at_s": math.nan},
    "a time past all numbers": lambda kept: {**kept, "at_s": 10**400},
    "a time that no clock shows": lambda kept: {**kept, "unix_s": 1e308},
    "a control that the rig has not": lambda kept: {
        **kept,
        "state": [*kept["state"][:11], [["x", 1]], *kept["state"][12:]],
    },
    "a place that is not there": lambda kept: {**kept, "state": [kept["state"][0], 7, *kept["state"][2:]]},
    "a moment that is not there": lambda kept: {**kept, "state": [*kept["state"][:2], 9, *kept["state"][3:]]},
    "a song that is not there": lambda kept: {**kept, "state": [["eel", "nowhere"], *kept["state"][1:]]},
    "a song twice": lambda kept: {**kept, "state": [["eel", "eel"], *kept["state"][1:]]},
    "a list": lambda kept: [kept],
}


@pytest.mark.parametrize("what", DAMAGES)
def test_what_can_not_be_gone_on_with_is_refused_once_and_the_log_is_the_proof(tmp_path: Path, what: str) -> None:
    leave(tmp_path, night(), STOOD)
    kept = read_json(tmp_path / STATE)
    (tmp_path / STATE).write_text(json.dumps(DAMAGES[what](kept)))
    log = logged(tmp_path, STEPS)
    state, began_s, said = stands(tmp_path, log)
    assert said.startswith("where the show stood can't be read; ")
    assert said.endswith("; it goes on in Tin at start, where its log has it")
    assert state is not None
    assert (state.place, state.moment, state.phase, began_s) == (1, 0, "song", 100.0)
    assert state.clock == Clock(970.0)
    assert not (tmp_path / STATE).exists()
    assert (tmp_path / f"{STATE}.refused").exists()
    assert stands(tmp_path, log)[2] == ""


@pytest.mark.parametrize("text", ["", "{", "\x00" * 40, "[" * 5000])
def test_a_file_that_is_no_state_is_refused(tmp_path: Path, text: str) -> None:
    leave(tmp_path, night(), STOOD)
    (tmp_path / STATE).write_text(text)
    state, _, said = stands(tmp_path, tmp_path / "no-log")
    assert state is None
    assert said.endswith("it is damaged; it begins at its first song, since its log says nothing")


def test_a_log_that_can_not_be_read_proves_nothing_and_ends_nothing(tmp_path: Path) -> None:
    leave(tmp_path, night(), STOOD, version=1)
    state, _, said = stands(tmp_path, tmp_path)
    assert state is None
    assert said.endswith("it begins at its first song, since its log says nothing")
    assert _marked(tmp_path) == {}


def test_what_was_saved_is_gone_on_with_as_it_is(tmp_path: Path) -> None:
    leave(tmp_path, night(), STOOD, began_s=100.0)
    assert stands(tmp_path, logged(tmp_path, STEPS[:2])) == (STOOD, 100.0, "")


def test_what_the_watcher_hands_over_is_newer_than_what_it_could_save(tmp_path: Path) -> None:
    leave(tmp_path, night(), STOOD)
    handed = read_json(tmp_path / STATE)
    leave(tmp_path, night(), State(order=("eel", "tin")))
    assert stands(tmp_path, tmp_path / "no-log", handed)[0] == STOOD


def test_where_nothing_was_saved_the_log_is_the_proof_of_its_own_run_alone(tmp_path: Path) -> None:
    leave(tmp_path, night(), STOOD)
    (tmp_path / STATE).unlink()
    assert stands(tmp_path, logged(tmp_path, STEPS, name="another run")) == (None, None, "")
    state, *_ = stands(tmp_path, logged(tmp_path, STEPS[:3]))
    assert state is not None
    assert (state.place, state.phase) == (1, "changeover")


def demo() -> Night:
    from showrunner.book.read import read_book
    from showrunner.places import demo_book

    return night_of(read_book(demo_book()).book, "pellmarsh-hall", "full", simulated=True)


def played(script: Script, doings: list[Any]) -> tuple[State, list[dict[str, Any]]]:
    """A show played so, and what its log says."""
    now_s = [0.0]
    player = Player(script, FakeSystem.simulated(script.rig), lambda: now_s[0])
    for doing in doings:
        now_s[0] += 2.0
        player.engine.beat()
        doing(player)
    lines = [{**said.notice._asdict(), "at_s": said.at_s, "unix_s": 2e9 + said.at_s} for said in player.unwritten()]
    for line in lines:
        trim = line.pop("trim")
        if trim is not None:
            line |= {"who": "", "target": trim.target, "from": trim.before, "to": trim.after}
    return player.engine.look(), lines


def ask(what: Any, times: int = 1) -> list[Any]:
    return [lambda player: player.ask(what)] * times


def trim(name: str, value: float) -> Any:
    return lambda player: player.trim(name, value)


WAYS = {
    "the first changeover": [],
    "a cue": ask("next", 3),
    "back at a cue": [*ask("next", 3), *ask("back")],
    "the second changeover": ask("next", 8),
    "another song taken": [*ask("next", 8), *ask("choose"), *ask("next", 2), *ask("take")],
    "another song taken within a song": [
        *ask("next", 10),
        *ask("choose"),
        *ask("next", 3),
        *ask("take"),
        *ask("next", 2),
    ],
    "a song of the reserve": [*ask("next", 2), *ask("choose"), *ask("back"), *ask("take"), *ask("next", 2)],
    "trims": [
        *ask("next"),
        lambda p: p.trim("interface volume", -2.0),
        lambda p: p.trim("input gain", 1.5),
        *ask("next"),
    ],
    "a jump": [lambda player: player.jump("eel-road", 2)],
    "the end": ask("next", 200),
    "back from the end": [*ask("next", 200), *ask("back")],
}


@pytest.mark.parametrize("way", WAYS)
def test_a_log_proves_the_place_the_order_and_the_trims(way: str) -> None:
    from showrunner.live.proved import proved, stands_at

    script = demo().script()
    state, lines = played(script, WAYS[way])
    proof = proved(script, lines)
    assert proof is not None
    found = stands_at(script, proof, 1000.0)
    same = ("order", "place", "moment", "phase", "trims", "muted")
    assert [getattr(found, name) for name in same] == [getattr(state, name) for name in same]
    if state.clock is not None and way != "back at a cue":
        assert found.clock is not None
        assert found.clock.began_s == state.clock.began_s


def test_after_a_start_of_the_machine_everything_is_sent_again_and_the_program_is_owed(tmp_path: Path) -> None:
    script = demo().script()
    state, _ = played(script, ask("next", 3))
    leave(tmp_path, night(), STOOD)
    kept = {**(read_json(tmp_path / STATE) or {}), "state": json.loads(json.dumps(_frozen(state)))}
    for of, known in ((boot(), True), ("another start", False)):
        write_json(tmp_path / STATE, {**kept, "boot": of})
        clock = runclock.RunClock(NAME, boot(), uptime_s() - AT_S)
        saved, _ = where_it_stood(tmp_path, script, clock, tmp_path / "no-log", None)
        assert saved is not None
        assert (bool(saved.state.known), not saved.state.missing) == (known, known)
        assert (saved.state.place, saved.state.moment) == (state.place, state.moment)


def _frozen(state: State) -> Any:
    from showrunner.live.freeze import to_json

    return to_json(replace(state, choice=None))


@pytest.mark.parametrize("wall_s", [20.0, 20.0 - HOUR_S, 20.0 + HOUR_S, 20.0 - YEAR_S, 20.0 + YEAR_S])
def test_a_runs_clock_goes_on_whatever_the_time_of_day_says(tmp_path: Path, wall_s: float) -> None:
    leave(tmp_path, night(), STOOD, ago_s=20.0, wall_s=0.0)
    clock = runclock.go_on(tmp_path, time.time() + wall_s)
    assert clock() == pytest.approx(AT_S + 20.0, abs=5.0)


@pytest.mark.parametrize(
    ("wall_s", "off_s"),
    [(600.0, 600.0), (-HOUR_S, 0.0), (-YEAR_S, 0.0), (YEAR_S, 0.0)],
    ids=["ten minutes", "an hour back", "a year back", "a year on"],
)
def test_after_a_start_of_the_machine_the_time_of_day_says_how_long_it_was_off_or_nothing_does(
    tmp_path: Path, wall_s: float, off_s: float
) -> None:
    leave(tmp_path, night(), STOOD, ago_s=0.0, boot="another start")
    write_json(tmp_path / RUN, {**(read_json(tmp_path / RUN) or {}), "zero_s": 123456.0})
    clock = runclock.go_on(tmp_path, time.time() + wall_s)
    assert clock.name == NAME
    assert clock() == pytest.approx(AT_S + off_s, abs=5.0)
    assert runclock.go_on(tmp_path, time.time() + 5 * HOUR_S) == clock == runclock.read(tmp_path)


def test_where_the_state_was_lost_the_log_says_how_far_the_run_had_come(tmp_path: Path) -> None:
    leave(tmp_path, night(), STOOD, boot="another start")
    (tmp_path / STATE).unlink()
    clock = runclock.go_on(tmp_path, 2e9 + 970.0 + 60.0, logged(tmp_path, STEPS))
    assert clock() == pytest.approx(970.0 + 60.0, abs=5.0)


def test_a_new_run_begins_at_0(tmp_path: Path) -> None:
    assert runclock.go_on(tmp_path, time.time())() == pytest.approx(0.0, abs=5.0)
