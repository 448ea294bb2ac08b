"""`replay --against`: what a changed curve changes on last night's playing."""

import shutil
from pathlib import Path

import pytest

from showrunner.takes.smf import read_take, write_take
from showrunner.takes.take import Take, TakeEvent

STEP, PEDAL = 80, 11


@pytest.fixture
def take(book: Path) -> str:
    """Into the song, the pedal to half way at 5 s and to the toe at 6 s, and on at 10 s."""
    rows = ((1, STEP, 127), (1.1, STEP, 0), (5, PEDAL, 64), (6, PEDAL, 127), (10, STEP, 127), (10.1, STEP, 0))
    events = tuple(TakeEvent(at_s, "floor", "in", bytes((0xB0, cc, value))) for at_s, cc, value in rows)
    write_take(book / "takes/low-lantern/night.mid", Take(events, rig="big", song="low-lantern"))
    return "low-lantern/night"


@pytest.fixture
def before(book: Path, take: str, tmp_path: Path) -> Path:  # noqa: ARG001
    """The book before the song's drive was changed from 12 dB at the toe to 6."""
    other = tmp_path / "before"
    shutil.copytree(book, other)
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace("drive = [3, 3, 12]", "drive = [3, 3, 6]"))
    return other


def test_only_the_target_that_was_changed_differs_and_from_where_it_does(take, before, run_json, book: Path):
    data = run_json("replay", take, "--against", before, "--book", book)
    (drive,) = data["differences"]
    assert (drive["target"], drive["unit"]) == ("drive", "dB")
    assert (drive["most_s"], drive["then"]) == (6.0, 12.0)
    assert drive["now"] == pytest.approx(6.0, abs=0.1)
    # From the toe at 6 s to the take's end at 10.1 s; half way both books give 3 dB.
    assert drive["seconds"] == pytest.approx(4.1, abs=0.01)


def test_text_says_how_long_and_where_most(take, before, run, book: Path):
    text = " ".join(run("replay", take, "--against", before, "--book", book).stdout.split())
    assert "drive differs for 4.1 s, from 0:06 on most at 0:06, Verse: there 12 dB, here 6" in text


def test_the_same_book_differs_nowhere(take, run, run_json, book: Path):
    assert run_json("replay", take, "--against", book, "--book", book)["differences"] == []
    assert "as with the other book" in run("replay", take, "--against", book, "--book", book).stdout


def test_what_was_sent_then_is_compared_by_target(take, run, run_json, before, book: Path):
    then = run_json("replay", take, "--book", before)
    out = tuple(
        TakeEvent(sent["at_s"], sent["port"], "out", bytes.fromhex(sent["bytes"]))
        for step in then["steps"]
        for sent in step["sent"]
    )
    came_in = read_take(book / "takes/low-lantern/night.mid").events
    kept = Take(tuple(sorted((*came_in, *out), key=lambda e: e.at_s)), rig="big", song="low-lantern")
    write_take(book / "takes/low-lantern/kept.mid", kept)
    found = run_json("replay", "low-lantern/kept", "--book", book)
    assert found["as_then"] is False
    assert [one["target"] for one in found["differences"]] == ["drive"]
    assert "then 12 dB, now 6" in " ".join(run("replay", "low-lantern/kept", "--book", book).stdout.split())


def test_a_take_replayed_as_it_was_played_differs_nowhere(run, run_json, book: Path):
    run("rehearse", "friday", "--loop", "harbour", "--fast", "--keep", "--book", book)
    (kept,) = (book / "takes/harbour").iterdir()
    assert run_json("replay", kept, "--book", book)["differences"] == []


def test_a_plot_draws_both_over_the_takes_time(take, before, run, book: Path):
    lines = run("replay", take, "--against", before, "--plot", "--book", book).stdout.splitlines()
    at = next(index for index, line in enumerate(lines) if line == "drive, -12 to 12 dB")
    there, here = lines[at + 1], lines[at + 2]
    assert there.split()[0] == "there"
    assert there.rstrip()[-1] == "█"
    assert here.rstrip()[-1] == "▆"
    assert lines[at + 3].split() == ["0:00", "0:10"]
    assert max(map(len, lines)) <= 80


def test_what_went_out_then_is_read_by_the_rig_it_went_to(run, run_json, book: Path):
    """Drive at 12 dB on the big rig is number 127; on a small one that reaches to 24 dB it is 95."""
    small = book / "rigs/small.toml"
    small.write_text(small.read_text().replace("range = [-12, 12]", "range = [-12, 24]"))
    run("rehearse", "harbour", "--fast", "--keep", "--book", book)
    (kept,) = (book / "takes/harbour").iterdir()
    take = read_take(kept)
    pedal = TakeEvent(2.0, "floor", "in", bytes((0xB0, PEDAL, 127)))
    out = TakeEvent(2.0, "host", "out", bytes((0xB0, 70, 95)))
    events = tuple(sorted((*take.events, pedal, out), key=lambda event: event.at_s))
    write_take(book / "takes/harbour/moved.mid", take._replace(events=events))
    (drive,) = [
        one
        for one in run_json("replay", "harbour/moved", "--rig", "small", "--book", book)["differences"]
        if one["target"] == "drive"
    ]
    # 95 of 127 over 24 dB from -12 is 5.95 dB; read by the small rig's numbers it would be 14.9 dB.
    assert drive["then"] == pytest.approx(5.95, abs=0.01)


def test_a_difference_names_the_song_where_there_are_several(run, book: Path):
    run("rehearse", "friday", "--fast", "--keep", "--book", book)
    (kept,) = (book / "takes/friday").iterdir()
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace("[start]\n", "[start]\ntargets = { drive = 9 }\n"))
    text = " ".join(run("replay", kept, "--book", book).stdout.split())
    assert "Low Lantern, Verse: then" in text
