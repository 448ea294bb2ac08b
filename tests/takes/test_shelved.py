"""All takes of a book: read once, reviewed again where something they rest on has changed."""

from pathlib import Path

import pytest

from showrunner.book.read import read_book
from showrunner.takes import shelved
from showrunner.takes.shelved import Takes
from showrunner.takes.smf import write_take
from showrunner.takes.take import Take, TakeEvent

SONG = """\
format = 1
title = "Low Lantern"
duration = "2:00"
[[cues]]
name = "Ring"
at = "{at}"
"""
RIG = """\
format = 1
title = "Small rig"
[ports.floor]
input = "Floor*"
[controls.next]
kind = "switch"
port = "floor"
channel = 1
cc = 80
[steps]
next = "next"
"""


def pressed(*times: float) -> Take:
    """A switch pressed at these times, a tenth of a second each."""
    presses = [(at_s + after_s, value) for at_s in times for after_s, value in ((0, 127), (0.1, 0))]
    events = (TakeEvent(at_s, "floor", "in", bytes((0xB0, 80, value))) for at_s, value in presses)
    return Take(tuple(events), rig="rig", song="low")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    for name, text in (("songs/low.toml", SONG.format(at="1:00")), ("rigs/rig.toml", RIG)):
        (tmp_path / name).parent.mkdir()
        (tmp_path / name).write_text(text)
    write_take(tmp_path / "takes/low/2026-11-01.mid", pressed(1, 64))
    write_take(tmp_path / "takes/low/2026-11-02.mid", pressed(1, 61))
    return tmp_path


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> dict[str, list[str]]:
    """Which takes were read, and which were reviewed."""
    done: dict[str, list[str]] = {"read": [], "reviewed": []}
    read, review = shelved.read_take, shelved.reviewed

    def reads(path: Path) -> Take:
        done["read"].append(path.stem)
        return read(path)

    def reviews(book, kept):
        done["reviewed"] += [one.path.stem for one in kept]
        return review(book, kept)

    monkeypatch.setattr(shelved, "read_take", reads)
    monkeypatch.setattr(shelved, "reviewed", reviews)
    return done


def test_every_take_is_reviewed_and_its_places_are_counted(root: Path) -> None:
    found = Takes().of(root, read_book(root).book)
    assert [one.name for one in found.kept] == ["low/2026-11-01", "low/2026-11-02"]
    assert [(spot.cue, spot.goes) for spot in found.spots if spot.cue == "Ring"] == [("Ring", (("late",), ()))]


def test_a_second_look_reads_nothing_again(root: Path, counted: dict[str, list[str]]) -> None:
    takes = Takes()
    first = takes.of(root, read_book(root).book)
    counted["read"].clear()
    counted["reviewed"].clear()
    assert takes.of(root, read_book(root).book) == first
    assert counted == {"read": [], "reviewed": []}


def test_only_a_take_that_changed_is_read_again(root: Path, counted: dict[str, list[str]]) -> None:
    takes = Takes()
    takes.of(root, read_book(root).book)
    counted["read"].clear()
    write_take(root / "takes/low/2026-11-02.mid", pressed(1, 70, 90))
    assert dict(takes.of(root, read_book(root).book).spots[0].faults) == {"late": 2}
    assert counted["read"] == ["2026-11-02"]


def test_a_song_that_changed_is_held_against_its_takes_anew(root: Path) -> None:
    takes = Takes()
    takes.of(root, read_book(root).book)
    (root / "songs/low.toml").write_text(SONG.format(at="1:03"))
    found = takes.of(root, read_book(root).book)
    assert [spot.goes for spot in found.spots if spot.cue == "Ring"] == [((), ("early",))]


def test_a_damaged_take_is_named_and_the_others_are_read(root: Path) -> None:
    (root / "takes/low/2026-11-01.mid").write_bytes(b"MThd")
    found = Takes().of(root, read_book(root).book)
    assert [words.split(":")[0] for words in found.broken] == ["takes/low/2026-11-01.mid"]
    assert len(found.kept) == 1


def test_reading_stops_when_it_is_no_longer_wanted(root: Path) -> None:
    assert len(Takes().of(root, read_book(root).book, lambda done, _of: done < 1).kept) == 1
