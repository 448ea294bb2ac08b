"""A night closed and opened again: every file byte for byte, whatever was played and whatever is ticked."""

import datetime
import json
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book.read import read_book
from showrunner.live.closing import as_planned, close, closed, filing_of, reopen, to_file
from showrunner.live.runs import lengths, read_run, read_runs, run_files
from showrunner.planning.closing import Chosen

SONGS = ("ash", "beck", "cove")
TODAY = datetime.date(2026, 11, 21)


def book_at(root: Path, durations: list[int]) -> Path:
    files = {"book.toml": 'format = 1\nname = "Book"\nrig = "rig"\n'}
    for slug, seconds in zip(SONGS, durations, strict=True):
        length = f"{seconds // 60}:{seconds % 60:02}"
        files[f"songs/{slug}.toml"] = (
            f'format = 1\ntitle = "{slug}" # {slug}\nduration = "{length}"\ninstrument = "tenor"\n'
        )
    files["rigs/rig.toml"] = (
        'format = 1\ntitle = "Rig"\n[instruments.tenor]\ntunings = { standard = ["E2"] }\nbattery = "cell"\n'
        '[batteries.cell]\n# a fresh one\ncapacity_mah = 550\nload_ma = 18\nused_h = 1\n[batteries."pedal cell"]\n'
        "capacity_mah = 550\nload_ma = 9\n"
    )
    files["venues/room.toml"] = 'format = 1\ntitle = "Room"\n# found cold\n[trims]\ninput_gain_db = 1\n'
    songs = ", ".join(f'{{ song = "{slug}" }}' for slug in SONGS)
    files["shows/friday.toml"] = (
        f'format = 1\ntitle = "Friday"\ndate = 2026-11-20\nvenue = "room"\n[[sets]]\nsongs = [{songs}]\n'
    )
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text)
    return root


def play(root: Path, lasted: list[float], date: str = "2026-11-20") -> None:
    at_s, lines = 1000.0, [{"kind": "began", "unix_s": 900, "time": f"{date}T20:00:00", "rig": "rig"}]
    for slug, seconds in zip(SONGS, lasted, strict=True):
        lines.append({"kind": "song", "song": slug, "unix_s": at_s, "time": f"{date}T20:10:00"})
        at_s += seconds
        lines.append({"kind": "changeover", "song": slug, "unix_s": at_s, "time": f"{date}T20:20:00"})
        at_s += 30
    file = root / "runs/friday" / f"{date}.jsonl"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text("".join(json.dumps(line) + "\n" for line in lines))


def state(root: Path) -> dict[str, bytes]:
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()}


@settings(max_examples=20, deadline=None)
@given(
    durations=st.lists(st.integers(30, 900), min_size=3, max_size=3),
    lasted=st.lists(st.floats(1, 2000), min_size=3, max_size=3),
    songs=st.frozensets(st.sampled_from(SONGS)),
    batteries=st.frozensets(st.sampled_from(["cell", "pedal cell"])),
    visit=st.booleans(),
    note=st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20),
)
def test_closed_and_opened_again_every_file_is_byte_for_byte_as_it_was(
    durations, lasted, songs, batteries, visit, note
) -> None:
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_STATE_HOME", f"{folder}/state")
        root = book_at(Path(folder) / "book", durations)
        play(root, lasted)
        before, reading = state(root), read_book(root)
        run = read_run(root, run_files(root, "friday")[0])
        found = to_file(reading, run, run.nights(reading.book)[0], lengths(read_runs(root), reading.book))
        filing = filing_of(reading, run, found, Chosen(songs, batteries, visit), TODAY, 20.0, note.strip())
        close(root, run, filing, reading.book.shows)
        after = read_book(root)
        assert after.problems == ()
        was = closed(root, run)
        assert was is not None
        assert all(after.book.songs[song].duration == seconds for song, seconds in was.songs.items())
        assert as_planned(after.book, was).songs == reading.book.songs
        reopen(root, run, reading.book.shows)
        assert state(root) == before


def test_two_nights_are_taken_back_the_later_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    root = book_at(tmp_path / "book", [240, 240, 240])
    before = state(root)
    for date, seconds in (("2026-11-13", 250.0), ("2026-11-20", 260.0)):
        play(root, [seconds] * 3, date)
    first, second = (read_run(root, file) for file in run_files(root, "friday"))
    played = state(root)
    for run in (first, second):
        reading = read_book(root)
        found = to_file(reading, run, run.nights(reading.book)[0], lengths(read_runs(root), reading.book))
        filing = filing_of(reading, run, found, Chosen(frozenset({"ash"}), frozenset({"cell"})), TODAY)
        close(root, run, filing, ())
    with pytest.raises(Exception, match="no longer what it was"):
        reopen(root, first, ())
    reopen(root, second, ())
    reopen(root, first, ())
    assert state(root) == played
    assert before.items() <= played.items()
