"""Edits of several files made together, kept, and taken back."""

import datetime
import json
import os
import shutil
import tempfile
from contextlib import nullcontext
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book.filing import FiledFile, Filing, edited, filed, half_done, make, settle, take_back
from showrunner.book.problems import BookError
from showrunner.book.read import BOM, read_book
from showrunner.book.save import ChangedError

RECORD = "runs/friday/2026-11-20.closed.json"
WHAT = "closing friday"
FILES = {
    "book.toml": 'format = 1\nname = "Two songs"\n',
    "songs/low.toml": 'format = 1\ntitle = "Low"  # as the band says it\nduration = "4:00"\n# the end\n',
    "songs/high.toml": "format = 1\r\ntitle = 'High'\r\nduration = '1:05:00'\r\n",
    "venues/room.toml": 'format = 1\ntitle = "Room"\n\n[trims]\n# as found\ninput_gain_db = 1\n',
    "venues/hall.toml": 'format = 1\ntitle = "Hall"\n[[visits]]\ndate = 2025-01-01\n# a comment of its own\n',
}
VISIT = {"date": datetime.date(2026, 11, 20), "show": "friday", "note": 'Boomy, "very".'}


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return book_at(tmp_path / "book")


def book_at(root: Path) -> Path:
    for name, text in FILES.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(text.encode())
    (root / "songs/high.toml").write_bytes(BOM + FILES["songs/high.toml"].encode())
    (root / RECORD).parent.mkdir(parents=True)
    return root


def state(root: Path) -> dict[str, bytes]:
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()}


def evening(root: Path) -> Filing:
    reading = read_book(root)
    files = (
        edited(reading, "song", "low", [(("duration",), "4:10")]),
        edited(reading, "song", "high", [(("duration",), "1:06:00")]),
        edited(reading, "venue", "room", [(("visits", 0), VISIT)]),
        edited(reading, "venue", "hall", [(("visits", 1), VISIT)]),
    )
    return Filing(files, {"on": "2026-11-21"})


def test_all_files_change_and_nothing_else_in_them_does(root: Path) -> None:
    make(root, RECORD, evening(root), WHAT)
    book = read_book(root).book
    assert (book.songs["low"].duration, book.songs["high"].duration) == (250, 3960)
    assert [visit.show for visit in book.venues["hall"].visits] == [None, "friday"]
    assert (root / "songs/low.toml").read_text() == FILES["songs/low.toml"].replace("4:00", "4:10")
    assert "# as found" in (root / "venues/room.toml").read_text()


def test_taken_back_every_file_is_byte_for_byte_as_it_was_and_the_record_is_gone(root: Path) -> None:
    before = state(root)
    make(root, RECORD, evening(root), WHAT)
    assert take_back(root, RECORD, WHAT) == (
        "songs/low.toml",
        "songs/high.toml",
        "venues/room.toml",
        "venues/hall.toml",
    )
    assert state(root) == before


def test_what_was_filed_is_told_with_its_notes(root: Path) -> None:
    assert filed(root, RECORD) is None
    filing = evening(root)
    make(root, RECORD, filing, WHAT)
    assert filed(root, RECORD) == filing


def test_it_is_filed_once(root: Path) -> None:
    make(root, RECORD, evening(root), WHAT)
    after = state(root)
    with pytest.raises(ChangedError):
        make(root, RECORD, Filing(()), WHAT)
    assert state(root) == after


def test_a_file_that_was_changed_elsewhere_keeps_that_and_loses_what_was_filed(root: Path) -> None:
    make(root, RECORD, evening(root), WHAT)
    low = root / "songs/low.toml"
    low.write_text(low.read_text().replace("Low", "Lower"))
    take_back(root, RECORD, WHAT)
    assert low.read_text() == FILES["songs/low.toml"].replace('"Low"', '"Lower"')


def test_where_one_file_says_something_else_by_now_none_is_given_back(root: Path) -> None:
    make(root, RECORD, evening(root), WHAT)
    low = root / "songs/low.toml"
    low.write_text(low.read_text().replace("4:10", "4:20"))
    after = state(root)
    with pytest.raises(BookError, match=r"duration in songs/low\.toml is no longer what it was"):
        take_back(root, RECORD, WHAT)
    assert state(root) == after


def test_a_file_that_is_gone_stops_it(root: Path) -> None:
    make(root, RECORD, evening(root), WHAT)
    (root / "songs/low.toml").unlink()
    with pytest.raises(BookError, match="not there any more"):
        take_back(root, RECORD, WHAT)


def test_a_file_that_changed_since_it_was_read_stops_it_before_anything_is_done(root: Path) -> None:
    filing = evening(root)
    (root / "venues/hall.toml").write_text(FILES["venues/hall.toml"] + "# more\n")
    before = state(root)
    with pytest.raises(ChangedError):
        make(root, RECORD, filing, WHAT)
    assert state(root) == before


def test_a_file_that_can_not_be_saved_leaves_the_others_as_they_were(root: Path) -> None:
    (root / "venues/hall.toml").chmod(0o444)
    before = state(root)
    with pytest.raises(BookError):
        make(root, RECORD, evening(root), WHAT)
    assert state(root) == before


def test_a_value_that_its_file_would_not_take_is_refused_with_the_file(root: Path) -> None:
    with pytest.raises(BookError, match=r"songs/low\.toml"):
        edited(read_book(root), "song", "low", [(("duration",), "soon")])


DEEP = {"key": ["a"], "before": "[" * 100_000, "after": None}
DEEP_RECORD = {"state": "made", "files": [{"file": "songs/low.toml", "before": "", "after": "", "edits": [DEEP]}]}


def test_a_record_that_can_not_be_read_says_so(root: Path) -> None:
    bad = ("", "[]", '{"state": "made"}', '{"state": "made", "files": [{"file": 3}]}', "[" * 100_000)
    for text in (*bad, json.dumps(DEEP_RECORD)):
        (root / RECORD).write_text(text)
        with pytest.raises(BookError, match="can't be read"):
            filed(root, RECORD)
    (root / RECORD).unlink()
    os.mkfifo(root / RECORD)
    with pytest.raises(BookError, match="can't be read"):
        half_done(root, RECORD)


@pytest.mark.parametrize(
    "file", ["../outside.toml", "songs/../../x.toml", "/etc/x.toml", "runs/x.jsonl", "songs/..\\x.toml"]
)
def test_a_record_that_names_a_file_outside_the_books_documents_is_not_followed(root: Path, file: str) -> None:
    rows = [{"file": file, "before": "a", "after": "b", "edits": []}]
    for state_ in ("making", "made", "taking back"):
        (root / RECORD).write_text(json.dumps({"state": state_, "files": rows, "back": rows}))
        with pytest.raises(BookError, match="can't be read"):
            take_back(root, RECORD, WHAT)
        with nullcontext() if state_ == "made" else pytest.raises(BookError, match="can't be read"):
            settle(root, RECORD)
    (root / RECORD).write_text(json.dumps({"state": "taking back", "files": [], "back": rows}))
    with pytest.raises(BookError, match="can't be read"):
        settle(root, RECORD)


@pytest.mark.parametrize("changed", range(5))
@pytest.mark.parametrize("going", ["making", "taking back"])
def test_what_an_earlier_version_left_half_done_is_finished(root: Path, going: str, changed: int) -> None:
    before, filing = state(root), evening(root)
    make(root, RECORD, filing, WHAT)
    after = state(root)
    whole = json.loads((root / RECORD).read_text())
    back = [{"file": one["file"], "before": one["after"], "after": one["before"]} for one in whole["files"]]
    extra = {"back": back} if going == "taking back" else {}
    (root / RECORD).write_text(json.dumps(whole | {"state": going} | extra))
    for number, one in enumerate(filing.files):
        is_after = (number < changed) == (going == "making")
        (root / one.file).write_bytes(one.after if is_after else one.before)
    assert half_done(root, RECORD)
    settle(root, RECORD)
    assert state(root) == (after if going == "making" else before)


def test_stopped_half_way_and_changed_by_hand_since_it_is_turned_back(root: Path) -> None:
    filing = evening(root)
    before = state(root)
    make(root, RECORD, filing, WHAT)
    record = json.loads((root / RECORD).read_text())
    (root / RECORD).write_text(json.dumps(record | {"state": "making"}))
    (root / "venues/hall.toml").write_text(FILES["venues/hall.toml"] + "# mine\n")
    settle(root, RECORD)
    assert state(root) == before | {"venues/hall.toml": (FILES["venues/hall.toml"] + "# mine\n").encode()}


LENGTHS = st.integers(0, 5999).map(lambda s: f"{s // 60}:{s % 60:02}")
WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12).filter(str.strip)


@settings(max_examples=25, deadline=None)
@given(low=LENGTHS, high=LENGTHS, note=WORDS, comment=WORDS, ends=st.sampled_from(["\n", "\r\n"]))
def test_filed_and_taken_back_gives_every_byte(low: str, high: str, note: str, comment: str, ends: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        root = book_at(Path(folder) / "book")
        text = f'format = 1\ntitle = "Low"\n# {comment}\nduration = "{low}"\n'.replace("\n", ends)
        (root / "songs/low.toml").write_bytes(text.encode())
        before, reading = state(root), read_book(root)
        files: list[FiledFile] = [edited(reading, "song", "low", [(("duration",), high)])]
        files.append(edited(reading, "venue", "hall", [(("visits", 1), VISIT | {"note": note})]))
        make(root, RECORD, Filing(tuple(files)), WHAT)
        take_back(root, RECORD, WHAT)
        assert state(root) == before
        shutil.rmtree(root)
