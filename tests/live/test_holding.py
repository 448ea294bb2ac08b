"""Who has ports and who plays a run is known to all others on the machine, for as long as it lives."""

import gc
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from typing import TextIO

import bytelocks
import pytest

from showrunner.book.lock import takes
from showrunner.live.holding import (
    FOLDER,
    HeldError,
    Hold,
    Holder,
    Part,
    holders,
    holding,
    in_the_way,
    of_run,
    rehearsal_on,
    show_of,
    take,
)
from showrunner.live.launch import attach
from showrunner.live.link import LinkError
from showrunner.live.night import Night, night_of
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.places import state_folder

SAID = "Low Lantern is being rehearsed on Big rig"
HOLDS = """
import sys
from pathlib import Path
from typing import TextIO
from showrunner.live.holding import holding, rehearsal_on
from showrunner.model.rig import Rig
with holding(rehearsal_on(Rig.model_validate_json(sys.argv[1]), "Low Lantern", Path("/book"))):
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


def rehearsing(rig: Rig, title: str = "Low Lantern") -> Holder:
    return rehearsal_on(rig, title, Path("/book"))


def refused(rig: Rig) -> str | None:
    """What is said to who would rehearse something else on a rig; None where it may."""
    held = in_the_way(rehearsing(rig, "Harbour"))
    return None if held is None else held.what


@pytest.mark.parametrize("locks", ["of files", "of bytes"])
def test_a_rehearsal_is_known_on_rigs_that_share_a_port_while_it_goes(
    locks: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if locks == "of bytes":
        bytelocks.use(monkeypatch)
    with holding(rehearsing(BIG)):
        assert refused(BIG) == SAID
        assert refused(rig("Small rig", "floor 1")) == SAID
        assert refused(OTHER) is None
        with pytest.raises(HeldError, match=f"{SAID}; end the rehearsal first, or rehearse simulated"):
            take(rehearsing(BIG, "Harbour"))
    assert refused(BIG) is None
    assert list((state_folder() / FOLDER).glob("*.json")) == []


def test_a_port_that_a_rig_makes_itself_is_held_as_well() -> None:
    makes = Rig.model_validate({"format": 1, "title": "Maker", "ports": {"out": {"virtual": "To the host"}}})
    with holding(rehearsing(makes)):
        assert refused(makes) == "Low Lantern is being rehearsed on Maker"


def test_one_that_has_locked_its_file_but_written_no_words_yet_is_left_alone() -> None:
    folder = state_folder() / FOLDER
    folder.mkdir(parents=True)
    with (folder / "1.json").open("x") as begins:
        assert refused(BIG) is None
        assert takes(begins.fileno())
    assert (folder / "1.json").exists()


def test_one_that_was_killed_is_known_no_longer_and_leaves_nothing() -> None:
    orders = [sys.executable, "-c", HOLDS, BIG.model_dump_json(exclude_unset=True)]
    with subprocess.Popen(orders, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"ready\n"
        assert refused(BIG) == SAID
        assert [one.pid for one in holders()] == [process.pid]
        process.kill()
        process.wait()
    assert refused(BIG) is None
    assert list((state_folder() / FOLDER).glob("*.json")) == []


@pytest.mark.parametrize("text", ["", "{", "[]", '{"title": 1}', "\0"])
def test_a_file_that_is_none_of_ours_is_passed_over(text: str) -> None:
    folder = state_folder() / FOLDER
    folder.mkdir(parents=True)
    with (folder / "1.json").open("w") as file:
        file.write(text)
        file.flush()
        assert takes(file.fileno())
        assert refused(BIG) is None
        with holding(rehearsing(BIG)) as hold:
            assert hold.trouble == ""


def test_a_state_folder_that_can_not_be_written_stops_no_rehearsal_and_is_said(tmp_path: Path) -> None:
    (tmp_path / "state").write_text("no folder")
    with holding(rehearsing(BIG)) as hold:
        assert refused(BIG) is None
        assert hold.trouble.startswith("the state folder can't be written (")


def test_what_was_forgotten_by_its_holder_is_held_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    kept: list[TextIO] = []
    monkeypatch.setattr("showrunner.live.holding._MINE", kept)

    def begins() -> None:
        take(rehearsing(BIG))

    begins()
    gc.collect()
    assert refused(BIG) == SAID
    for file in kept:
        file.close()


def test_of_many_who_want_the_same_ports_at_once_one_gets_them() -> None:
    for _ in range(10):
        begin, got = threading.Barrier(6), list[Hold]()

        def wants(begin: threading.Barrier = begin, got: list[Hold] = got) -> None:
            begin.wait()
            with suppress(HeldError):
                got.append(take(rehearsing(BIG)))

        threads = [threading.Thread(target=wants) for _ in range(6)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(got) == 1
        got[0].let_go()


def playing(run: Path, part: Part, of: Night | None = None) -> Holder:
    return show_of(of or night(simulated=False), run, part)


def test_a_run_has_one_engine_and_its_other_processes_do_not_stand_in_its_way(tmp_path: Path) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    with holding(playing(here, "watcher")), holding(playing(here, "watcher")), holding(playing(here, "engine")):
        assert [one.part for one in of_run(here)].count("watcher") == 2
        with pytest.raises(HeldError) as caught:
            take(playing(here, "engine"))
        assert caught.value.same_run
        with pytest.raises(HeldError) as caught:
            take(playing(there, "watcher"))
        assert not caught.value.same_run
        assert refused(BIG) == "Friday is being played on Big rig"
    assert of_run(here) == []


def test_a_show_without_hardware_takes_no_ports_but_has_one_engine_all_the_same(tmp_path: Path) -> None:
    with holding(playing(tmp_path, "engine", night(simulated=True))):
        assert refused(BIG) is None
        with pytest.raises(HeldError):
            take(playing(tmp_path, "engine", night(simulated=True)))


def test_what_a_killed_engine_had_is_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old = take(playing(tmp_path, "engine"))
    monkeypatch.setattr("showrunner.live.holding.TRIES_AFTER_S", 0.0)
    threading.Timer(0.1, old.let_go).start()
    take(playing(tmp_path, "engine"), patience_s=60).let_go()


def test_a_show_of_another_book_is_named_with_it(tmp_path: Path) -> None:
    book = tmp_path / "other"
    of = night(simulated=False)._replace(log=str(book / "runs" / "friday" / "2026-11-30.jsonl"))
    with holding(playing(tmp_path, "engine", of)):
        held = in_the_way(rehearsing(BIG))
        assert held is not None
        assert held.what == f"Friday is being played on Big rig, from the book {book}"
        assert held.mend == f"end it with showrunner play friday --end --book {book}"
        held = in_the_way(rehearsal_on(BIG, "Harbour", book))
        assert held is not None
        assert (held.what, held.mend) == (
            "Friday is being played on Big rig",
            "end it with showrunner play friday --end",
        )


def test_no_show_is_begun_on_ports_that_a_rehearsal_plays_over(tmp_path: Path) -> None:
    with holding(rehearsing(BIG)), pytest.raises(LinkError, match=f"{SAID}, from the book /book; end the reh"):
        attach(tmp_path, night(simulated=False))


def test_a_simulated_show_is_begun_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[Night] = []
    monkeypatch.setattr("showrunner.live.launch._begin", lambda _folder, of, **_: begun.append(of))
    monkeypatch.setattr("showrunner.live.launch.RemoteShow", lambda folder: folder)
    with holding(rehearsing(BIG)):
        attach(tmp_path, night(simulated=True))
    assert len(begun) == 1
