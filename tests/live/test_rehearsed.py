"""Rehearsals over real ports are known to whoever would begin a show on the same ones."""

import os
import subprocess
import sys
from pathlib import Path

import bytelocks
import pytest

from showrunner.book.lock import lets_go, takes
from showrunner.live.launch import attach
from showrunner.live.link import LinkError
from showrunner.live.night import Night, night_of
from showrunner.live.rehearsed import FOLDER, rehearsed_on, rehearsing_on
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.places import state_folder

SAID = "Low Lantern is being rehearsed on Big rig"
HOLDS = """
import sys
from showrunner.live.rehearsed import rehearsing_on
from showrunner.model.rig import Rig
with rehearsing_on(Rig.model_validate_json(sys.argv[1]), "Low Lantern"):
    print("ready", flush=True)
    sys.stdin.read()
"""


def rig(title: str, pattern: str) -> Rig:
    return Rig.model_validate({"format": 1, "title": title, "ports": {"floor": {"input": pattern}}})


BIG, OTHER = rig("Big rig", "Floor*"), rig("Other rig", "Box*")


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


def night(*, simulated: bool) -> Night:
    show = Show.model_validate({"format": 1, "title": "Friday", "sets": [{"title": "One", "songs": [{"song": "low"}]}]})
    song = Song.model_validate({"format": 1, "title": "Low Lantern", "duration": "3:00"})
    book = Book(songs={"low": song}, rigs={"big": BIG}, shows={"friday": show})
    return night_of(book, "friday", "big", simulated=simulated)


@pytest.mark.parametrize("locks", ["of files", "of bytes"])
def test_a_rehearsal_is_known_on_rigs_that_share_a_port_while_it_goes(
    locks: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if locks == "of bytes":
        bytelocks.use(monkeypatch)
    with rehearsing_on(BIG, "Low Lantern"):
        assert rehearsed_on(BIG) == SAID
        assert rehearsed_on(rig("Small rig", "Floor*")) == SAID
        assert rehearsed_on(OTHER) is None
    assert rehearsed_on(BIG) is None
    assert list((state_folder() / FOLDER).iterdir()) == []


def test_two_who_look_at_once_do_not_take_each_other_for_a_rehearsal(monkeypatch: pytest.MonkeyPatch) -> None:
    folder = state_folder() / FOLDER
    folder.mkdir(parents=True)
    (folder / "1.json").write_text('{"what": "Low Lantern", "rig": "Big rig", "ports": ["Floor*"]}')
    with (folder / "1.json").open("r+") as other:
        assert takes(other.fileno())
        monkeypatch.setattr("showrunner.live.rehearsed.time.sleep", lambda _: lets_go(other.fileno()))
        assert rehearsed_on(BIG) is None


def test_one_that_has_locked_its_file_but_written_no_words_yet_is_left_alone() -> None:
    folder = state_folder() / FOLDER
    folder.mkdir(parents=True)
    with (folder / "1.json").open("x") as begins:
        assert rehearsed_on(BIG) is None
        assert takes(begins.fileno())
    assert (folder / "1.json").exists()


def test_one_that_was_killed_is_known_no_longer_and_leaves_nothing() -> None:
    orders = [sys.executable, "-c", HOLDS, BIG.model_dump_json(exclude_unset=True)]
    with subprocess.Popen(orders, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"ready\n"
        assert rehearsed_on(BIG) == SAID
        process.kill()
        process.wait()
    assert rehearsed_on(BIG) is None
    assert list((state_folder() / FOLDER).iterdir()) == []


@pytest.mark.parametrize("text", ["", "{", "[]", '{"what": 1}', "\0"])
def test_a_file_that_is_none_of_ours_is_passed_over(text: str) -> None:
    folder = state_folder() / FOLDER
    folder.mkdir(parents=True)
    (folder / "1.json").write_text(text)
    assert rehearsed_on(BIG) is None


def test_a_state_folder_that_can_not_be_written_does_not_stop_a_rehearsal(tmp_path: Path) -> None:
    (tmp_path / "state").write_text("no folder")
    with rehearsing_on(BIG, "Low Lantern"):
        assert rehearsed_on(BIG) is None


def test_no_show_is_begun_on_ports_that_a_rehearsal_plays_over(tmp_path: Path) -> None:
    with rehearsing_on(BIG, "Low Lantern"), pytest.raises(LinkError, match=f"{SAID}: end the rehearsal first"):
        attach(tmp_path, night(simulated=False))


def test_a_simulated_show_is_begun_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[Night] = []
    monkeypatch.setattr("showrunner.live.launch._begin", lambda _folder, of: begun.append(of))
    monkeypatch.setattr("showrunner.live.launch.RemoteShow", lambda folder: folder)
    with rehearsing_on(BIG, "Low Lantern"):
        attach(tmp_path, night(simulated=True))
    assert len(begun) == 1
    assert os.listdir(tmp_path / "state" / "showrunner" / FOLDER) == []
