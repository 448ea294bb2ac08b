"""A run begun, or gone on with, as it was asked for."""

import time
from pathlib import Path

import pytest

from showrunner.live.folder import STATE, write_json
from showrunner.live.freeze import to_json
from showrunner.live.launch import attach
from showrunner.live.link import LinkError
from showrunner.live.night import Night, night_of, read_night, write_night
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.state.values import State


def night(*, simulated: bool) -> Night:
    rig = Rig.model_validate({"format": 1, "title": "Big rig"})
    book = Book(rigs={"big": rig}, shows={"friday": Show.model_validate({"format": 1, "title": "Friday"})})
    return night_of(book, "friday", "big", simulated=simulated)


def broke_off(folder: Path, of: Night) -> None:
    write_night(of, folder)
    kept = {"state": to_json(State()), "began_s": None, "unix_s": time.time() - 60}
    write_json(folder / STATE, kept)


def test_a_show_that_broke_off_is_not_lost_to_a_trial(tmp_path: Path) -> None:
    broke_off(tmp_path, night(simulated=False))
    with pytest.raises(LinkError, match="was being played on real ports and broke off"):
        attach(tmp_path, night(simulated=True))
    assert (tmp_path / STATE).exists()
    assert not read_night(tmp_path).simulated


def test_a_trial_that_broke_off_is_never_gone_on_with_as_the_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def nothing_starts(*_: object, **__: object) -> None:
        raise OSError("nothing is started in this test")

    broke_off(tmp_path, night(simulated=True))
    monkeypatch.setattr("subprocess.Popen", nothing_starts)
    with pytest.raises(OSError, match="nothing is started"):
        attach(tmp_path, night(simulated=False))
    assert not (tmp_path / STATE).exists()
    assert not read_night(tmp_path).simulated
