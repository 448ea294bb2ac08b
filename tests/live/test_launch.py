"""A run begun, or gone on with, as it is asked for."""

from pathlib import Path
from typing import Any

import pytest
from left import leave, night

from showrunner.live.broken_off import RESUMES_WITHIN_S, broken_off, differs
from showrunner.live.folder import RUN, STATE, read_json, write_json
from showrunner.live.launch import BrokeOffError, attach, give_up
from showrunner.live.night import FILE, Night, read_night
from showrunner.state.values import State

OTHER_BOOT = "another start of the machine"
BEGUN = State(order=("eel", "tin"), place=1)


@pytest.fixture(autouse=True)
def _nothing_starts(monkeypatch: pytest.MonkeyPatch) -> None:
    def start(*_: object, **__: object) -> None:
        raise OSError("nothing is started in this test")

    monkeypatch.setattr("subprocess.Popen", start)


def goes_on(folder: Path, wanted: Night, **how: bool) -> bool:
    """Whether what is left in a folder is gone on with, else begun anew."""
    with pytest.raises(OSError, match="nothing is started"):
        attach(folder, wanted, **how)
    return (folder / STATE).exists()


@pytest.mark.parametrize(
    ("was", "wanted", "why"),
    [
        ({"simulated": True}, {}, "it was played without hardware"),
        ({}, {"simulated": True}, "it was played on real ports"),
        ({"rig": "small"}, {}, "it was played on Small rig, not on Big rig"),
        ({"date": "2026-11-28"}, {"date": "2026-11-29"}, "it was the show of 2026-11-28, not of 2026-11-29"),
        ({}, {"bpm": 90}, "the book has changed since: songs/eel, songs/tin"),
        ({}, {"full_house": True}, "it was begun for an empty room"),
    ],
)
def test_a_run_that_is_not_what_is_asked_for_is_named_and_never_taken(
    tmp_path: Path, was: dict[str, Any], wanted: dict[str, Any], why: str
) -> None:
    leave(tmp_path, night(**was), BEGUN)
    with pytest.raises(BrokeOffError, match=r"the run on .* rig.* that broke off at .*, before Tin") as refused:
        attach(tmp_path, night(**wanted))
    assert str(refused.value).endswith(f"; {why}")
    assert (tmp_path / STATE).exists()
    assert read_night(tmp_path) == night(**was)
    assert goes_on(tmp_path, night(**was), resumes=True)
    give_up(tmp_path)
    assert not goes_on(tmp_path, night(**wanted))
    assert read_night(tmp_path) == night(**wanted)


@pytest.mark.parametrize("full_house", [False, True])
def test_a_run_goes_on_by_itself_where_all_is_as_it_was(tmp_path: Path, full_house: bool) -> None:
    leave(tmp_path, night(full_house=full_house), BEGUN)
    assert goes_on(tmp_path, night())
    assert read_night(tmp_path).full_house == full_house


@pytest.mark.parametrize("state", [State(order=("eel", "tin")), State(order=("eel", "tin"), place=1, phase="over")])
def test_a_run_in_which_nothing_was_begun_or_all_was_played_is_not_asked_about(tmp_path: Path, state: State) -> None:
    leave(tmp_path, night(rig="small"), state)
    assert not goes_on(tmp_path, night())
    leave(tmp_path, night(), state)
    assert goes_on(tmp_path, night())


@pytest.mark.parametrize("wall_s", [60.0, -3600.0, -365 * 86400.0, 365 * 86400.0, 3660.0])
def test_no_time_of_day_keeps_a_run_from_going_on_while_the_machine_stays_on(tmp_path: Path, wall_s: float) -> None:
    leave(tmp_path, night(), BEGUN, wall_s=wall_s)
    assert goes_on(tmp_path, night())


@pytest.mark.parametrize(
    ("wall_s", "goes"), [(600.0, True), (-3600.0, True), (-365 * 86400.0, True), (RESUMES_WITHIN_S + 60.0, False)]
)
def test_after_a_start_of_the_machine_a_time_of_day_that_went_back_keeps_nothing_from_going_on(
    tmp_path: Path, wall_s: float, goes: bool
) -> None:
    leave(tmp_path, night(), BEGUN, wall_s=wall_s, boot=OTHER_BOOT)
    if goes:
        assert goes_on(tmp_path, night())
        return
    with pytest.raises(BrokeOffError, match="it broke off 12:01:00 ago"):
        attach(tmp_path, night())


def test_a_run_that_was_ended_is_over(tmp_path: Path) -> None:
    leave(tmp_path, night(), BEGUN)
    for name in (STATE, RUN):
        (tmp_path / name).unlink()
    assert broken_off(tmp_path) is None
    assert not goes_on(tmp_path, night(rig="small"))


@pytest.mark.parametrize("damage", [{"version": 2}, {"version": None}, {"book": {}}, {"more": 1}])
def test_a_night_that_can_not_be_read_is_refused_with_a_sentence(tmp_path: Path, damage: dict[str, Any]) -> None:
    leave(tmp_path, night(), BEGUN)
    write_json(tmp_path / FILE, {**(read_json(tmp_path / FILE) or {}), **damage})
    with pytest.raises(BrokeOffError, match=r"a run broke off; its night (was kept by|is damaged)") as refused:
        attach(tmp_path, night())
    assert refused.value.before is None
    give_up(tmp_path)
    assert not goes_on(tmp_path, night())


def test_what_was_saved_and_can_not_be_read_is_said_before_it_goes_on(tmp_path: Path) -> None:
    leave(tmp_path, night(), BEGUN, version=1)
    before = broken_off(tmp_path)
    assert before is not None
    assert before.refused == (
        "where the show stood can't be read; it was saved by version 1 of the program, this one reads version 2; "
        "it begins at its first song, since its log says nothing"
    )
    assert differs(before, night()) == ()
