"""A night closed and opened again: every file byte for byte, whatever was played and whatever is ticked."""

import datetime
import json
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book.problems import BookError
from showrunner.book.read import read_book
from showrunner.live.closing import as_planned, close, closed, filing_of, reopen, to_file
from showrunner.live.evidence import battery_hours
from showrunner.live.runs import Run, lengths, read_run, read_runs, run_files
from showrunner.planning.closing import Chosen, usual

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


def again(root: Path, began_s: float, lasted: list[float], date: str = "2026-11-20") -> None:
    """The show played once more on a date, later."""
    file = root / "runs/friday" / f"{date}.jsonl"
    before = file.read_text()
    play(root, lasted, date)
    later = [json.loads(line) for line in file.read_text().splitlines()]
    file.write_text(before + "".join(json.dumps({**at, "unix_s": at["unix_s"] + began_s}) + "\n" for at in later))


def closes(root: Path, number: int) -> Run:
    """The performance of that number on the show's only date, closed."""
    reading = read_book(root)
    run, night = read_run(root, run_files(root, "friday")[0]).played(reading.book)[number - 1]
    found = to_file(reading, run, night, lengths(read_runs(root), reading.book))
    close(root, run, filing_of(reading, run, found, usual(found), TODAY), reading.book.shows)
    return run


def hours_to_come(root: Path) -> float:
    """Hours on the guitar's cell that the runs have logged and no closing has filed."""
    book = read_book(root).book
    return battery_hours(root, book, book.rigs["rig"]).get("cell", 0.0)


@pytest.fixture
def twice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A matinee of three times 250 s and an evening of three times 400 s, half a minute between songs."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    root = book_at(tmp_path / "book", [240, 240, 240])
    play(root, [250.0] * 3)
    again(root, 20000.0, [400.0] * 3)
    return root


@pytest.mark.parametrize("first", [1, 2])
def test_each_performance_of_a_date_files_its_own_and_is_taken_back_alone(twice: Path, first: int) -> None:
    before, second = state(twice), 3 - first
    hours = {1: (3 * 250 + 2 * 30) / 3600, 2: (3 * 400 + 2 * 30) / 3600}
    assert hours_to_come(twice) == pytest.approx(sum(hours.values()))
    runs = {first: closes(twice, first)}
    assert hours_to_come(twice) == pytest.approx(hours[second])
    book = read_book(twice).book
    assert book.rigs["rig"].batteries["cell"].used_h == round(1 + hours[first], 2)
    assert len(book.venues["room"].visits) == 1
    with pytest.raises(BookError, match=f"performance {first} of 2, is closed already"):
        closes(twice, first)
    between = state(twice)
    runs[second] = closes(twice, second)
    assert hours_to_come(twice) == 0
    assert len(read_book(twice).book.venues["room"].visits) == 2
    names = {Path(name).name: json.loads(text) for name, text in state(twice).items() if name.endswith(".closed.json")}
    assert {name: one["performance"] for name, one in names.items()} == {
        "2026-11-20.closed.json": 1,
        "2026-11-20.2.closed.json": 2,
    }
    reopen(twice, runs[second], ())
    assert state(twice) == between
    reopen(twice, runs[first], ())
    assert state(twice) == before


def test_a_record_from_before_counts_every_performance_until_then_and_none_after(twice: Path) -> None:
    closes(twice, 1)
    record = twice / "runs/friday/2026-11-20.closed.json"
    kept = json.loads(record.read_text())
    reading = read_book(twice)
    both = [run for run, _ in read_run(twice, run_files(twice, "friday")[0]).played(reading.book)]
    kept["until_s"] = both[1].last_s
    record.write_text(
        json.dumps({name: value for name, value in kept.items() if name not in ("performance", "from_s")})
    )
    again(twice, 40000.0, [300.0] * 3)
    runs = [run for run, _ in read_run(twice, run_files(twice, "friday")[0]).played(reading.book)]
    assert [closed(twice, run) is not None for run in runs] == [True, True, False]
    assert closed(twice, runs[1]).covers(runs[1]) == "every performance of that date until then"
    assert hours_to_come(twice) == pytest.approx((3 * 300 + 2 * 30) / 3600)
    third = closes(twice, 3)
    assert closed(twice, third).covers(third) == ""
    assert (twice / "runs/friday/2026-11-20.3.closed.json").exists()
    reopen(twice, third, ())
    reopen(twice, runs[1], ())
    assert [closed(twice, run) for run in runs] == [None, None, None]


def test_what_is_filed_by_hand_is_not_filed_again(twice: Path) -> None:
    closes(twice, 1)
    venue = twice / "venues/room.toml"
    venue.write_text(venue.read_text() + '\n[[visits]]\ndate = 2026-11-20\nshow = "friday"\n')
    closes(twice, 2)
    assert len(read_book(twice).book.venues["room"].visits) == 2
