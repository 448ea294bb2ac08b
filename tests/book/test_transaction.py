"""Changes of several files: all or none, finished or taken back by whoever comes next, and nothing else touched."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from killed import FILES, book_at, rename, state

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.journal import Entry, JournalError, written
from showrunner.book.lock import BusyError, locked
from showrunner.book.problems import BookError
from showrunner.book.read import JOURNAL, read_book
from showrunner.book.save import ChangedError, SaveError
from showrunner.book.transaction import HalfDoneError, apply, settle

WHAT = "renaming songs/low.toml"
LOW, SHOW = "songs/low.toml", "shows/friday.toml"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return book_at(tmp_path / "book")


def refuse(*_: object) -> None:
    raise SaveError("the disk is full")


def stopped(root: Path, changes: FileChanges, what: str = WHAT) -> None:
    """A journal, as a program leaves it that is ended before it changed the first file."""
    (root / JOURNAL).write_bytes(written(Entry(what, changes)))


def test_ended_before_any_step_the_book_is_left_with_all_of_a_change_or_nothing_of_it(tmp_path: Path) -> None:
    program = str(Path(__file__).parents[1] / "killed.py")
    done = subprocess.run([sys.executable, program, str(tmp_path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    steps = json.loads(done.stdout)
    assert {"rename", "close", "unpack", "take back"} <= steps.keys()
    assert all(of_change > 10 for of_change, _ in steps.values())
    assert steps["rename"][1] > 5


def test_a_change_leaves_no_journal_and_nothing_is_to_settle(root: Path) -> None:
    apply(root, rename(root), WHAT)
    assert settle(root) is None
    assert not [name for name in os.listdir(root) if name.startswith(".")]


class FailsOnce:
    """Stands in for a call of the system, and fails at one of them."""

    def __init__(self, real: Callable[..., Any], at: int) -> None:
        self.real, self.left = real, at

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        self.left -= 1
        if self.left == 0:
            raise OSError(28, "No space left on device")
        return self.real(*args, **kwargs)


@pytest.mark.parametrize("failing", ["open", "write", "fsync", "replace", "rename", "unlink"])
def test_a_call_that_fails_anywhere_leaves_all_as_it_was_or_all_done(
    root: Path, failing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, changes = state(root), rename(root)
    fell = 0
    for number in range(1, 100):
        call, done = FailsOnce(getattr(os, failing), number), True
        with monkeypatch.context() as patch:
            patch.setattr(os, failing, call)
            try:
                apply(root, changes, WHAT)
            except SaveError as error:
                fell, done = fell + ("no space left on device" in str(error)), False
        if done:
            apply(root, changes.inverse, WHAT)
        assert state(root) == before, number
        if call.left > 0:
            break
    else:
        pytest.fail("it never came to the last call")
    assert fell


def test_what_can_neither_be_made_nor_taken_back_at_once_is_finished_by_whoever_comes_next(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changes = rename(root)
    with monkeypatch.context() as patch:
        patch.setattr("showrunner.book.transaction._move", FailsOnce(lambda *_: None, 1))
        patch.setattr("showrunner.book.transaction._take_back", refuse)
        with pytest.raises(HalfDoneError, match="was stopped half way; a part of it was done"):
            apply(root, changes, WHAT)
    assert settle(root) is not None
    assert not read_book(root).problems
    assert (root / "songs/lower.toml").exists()


def test_what_was_stopped_is_finished_and_said(root: Path) -> None:
    changes = rename(root)
    stopped(root, changes)
    (root / "songs/lower.toml").write_bytes(changes.changes[1].after or b"")
    assert str(settle(root)) == "renaming songs/low.toml was stopped half way; it is finished now"
    assert settle(root) is None
    reading = read_book(root)
    assert not reading.problems
    assert "low" not in reading.book.songs
    assert (root / "takes/lower/2026-11-02.mid").exists()


def test_where_somebody_else_changed_a_file_meanwhile_that_stays_and_the_rest_is_taken_back(root: Path) -> None:
    before, changes = state(root), rename(root)
    stopped(root, changes)
    (root / "songs/lower.toml").write_bytes(changes.changes[1].after or b"")
    (root / SHOW).write_text(FILES[SHOW] + "# mine\n")
    found = settle(root)
    assert found is not None
    assert found.changed == (SHOW,)
    assert "somebody else changed shows/friday.toml since; it is taken back now" in str(found)
    assert state(root) == before | {SHOW: (FILES[SHOW] + "# mine\n").encode()}


def test_what_was_made_whole_stays_whatever_was_changed_after_it(root: Path) -> None:
    changes = rename(root)
    apply(root, changes, WHAT)
    after = state(root)
    stopped(root, changes)
    (root / SHOW).write_bytes(after[SHOW] + b"# mine\n")
    assert "finished" in str(settle(root))
    assert state(root) == after | {SHOW: after[SHOW] + b"# mine\n"}


def test_a_take_that_was_made_under_the_old_name_meanwhile_goes_with_the_others(root: Path) -> None:
    changes = rename(root)
    apply(root, changes, WHAT)
    stopped(root, changes)
    (root / "takes/low").mkdir()
    (root / "takes/low/2026-11-03.mid").write_bytes(b"new")
    settle(root)
    assert sorted(os.listdir(root / "takes")) == ["lower"]
    assert sorted(os.listdir(root / "takes/lower")) == ["2026-11-02.mid", "2026-11-03.mid"]


def test_the_next_change_settles_what_was_stopped_and_is_made_anew(root: Path) -> None:
    other = FileChanges((FileChange("songs/high.toml", FILES["songs/high.toml"].encode(), b"x = 1\n"),))
    stopped(root, rename(root))
    with pytest.raises(ChangedError, match="it is finished now; look at the book again"):
        apply(root, other, "changing songs/high.toml")
    assert not (root / LOW).exists()
    apply(root, other, "changing songs/high.toml")


def test_bytes_of_every_kind_come_through_a_journal(root: Path) -> None:
    source = bytes(range(256)) * 3
    changes = FileChanges((FileChange("takes/a/b.mid", None, source), FileChange("takes/a/c.mid", None, b"")))
    stopped(root, changes)
    settle(root)
    assert (root / "takes/a/b.mid").read_bytes() == source
    assert (root / "takes/a/c.mid").read_bytes() == b""


def test_a_folder_that_was_there_stays_where_a_change_fails_and_one_that_was_made_goes(root: Path) -> None:
    (root / "takes/kept").mkdir()
    (root / "songs/high.toml").chmod(0o444)
    high = FILES["songs/high.toml"].encode()
    made = [FileChange("takes/kept/a.mid", None, b"1"), FileChange("takes/made/deep/a.mid", None, b"1")]
    with pytest.raises(SaveError):
        apply(root, FileChanges((*made, FileChange("songs/high.toml", high, b""))), "unpacking")
    assert sorted(os.listdir(root / "takes")) == ["kept", "low"]


def test_while_another_program_changes_the_book_nobody_settles(root: Path) -> None:
    stopped(root, rename(root))
    with locked(root), pytest.raises(BusyError):
        settle(root, patience_s=0)
    assert (root / JOURNAL).exists()


@pytest.mark.parametrize("link", [LOW, "songs", "takes"])
def test_what_a_link_leads_to_is_not_changed_together_with_other_files(root: Path, tmp_path: Path, link: str) -> None:
    (root / link).rename(tmp_path / "elsewhere")
    (root / link).symlink_to(tmp_path / "elsewhere")
    before, changes = state(root), rename(root)
    with pytest.raises(SaveError, match="is reached by a link"):
        apply(root, changes, WHAT)
    stopped(root, changes)
    with pytest.raises(SaveError, match="is reached by a link"):
        settle(root)
    (root / JOURNAL).unlink()
    assert state(root) == before


def test_a_book_that_is_reached_by_a_link_changes_as_any_other(root: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(root)
    apply(tmp_path / "link", rename(root), WHAT)
    assert (tmp_path / "link").is_symlink()
    assert (root / "songs/lower.toml").exists()


@pytest.mark.parametrize(
    "file",
    [
        "../outside.toml",
        "songs/../../x.toml",
        "/etc/x.toml",
        "",
        ".",
        "songs",
        "songs//x.toml",
        ".bashrc",
        "x/y.toml",
        "songs/\ud800.toml",
    ],
)
def test_a_journal_that_reaches_past_the_books_own_folders_is_refused(root: Path, tmp_path: Path, file: str) -> None:
    before = sorted(tmp_path.rglob("*"))
    for changes in (
        FileChanges((FileChange(file, None, b"planted"), FileChange("songs/x.toml", None, b""))),
        FileChanges((), ((file, "takes/x"), ("takes/low", file))),
    ):
        stopped(root, changes)
        with pytest.raises(BookError):
            settle(root)
        (root / JOURNAL).unlink()
        assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("damage", ["", "{}", "[]", "[" * 100_000, "cut", "byte", "newer", "folder", "fifo", "link"])
def test_a_journal_that_can_not_be_read_stops_every_change_and_is_said_with_the_book(
    root: Path, tmp_path: Path, damage: str
) -> None:
    changes, journal = rename(root), root / JOURNAL
    whole = written(Entry(WHAT, changes))
    forms: dict[str, Callable[[], object]] = {
        "cut": lambda: journal.write_bytes(whole[:-5]),
        "byte": lambda: journal.write_bytes(whole[:-1] + b"?"),
        "newer": lambda: journal.write_bytes(whole.replace(b'"format": 1', b'"format": 2', 1)),
        "folder": journal.mkdir,
        "fifo": lambda: os.mkfifo(journal),
        "link": lambda: (tmp_path / "whole").write_bytes(whole) and journal.symlink_to(tmp_path / "whole"),
    }
    forms.get(damage, lambda: journal.write_text(damage))()
    before = state(root)
    with pytest.raises(JournalError, match=r"\.journal"):
        settle(root)
    with pytest.raises(JournalError, match="format 2" if damage == "newer" else r"\.journal"):
        apply(root, changes, WHAT)
    assert state(root) == before
    assert [problem.file for problem in read_book(root).problems] == [JOURNAL]


def test_what_a_journal_says_is_said_on_one_line(root: Path) -> None:
    (root / JOURNAL).write_bytes(written(Entry("making\nall is well\x1b]0;x\x07", rename(root))))
    assert str(settle(root)).startswith("making\u240aall is well\u241b]0;x\u2407 was stopped")


def test_a_journal_keeps_names_that_only_some_systems_have(root: Path) -> None:
    source = FILES[LOW].encode()
    (root / LOW).rename(root / "songs/what? 夜.toml")
    changes = FileChanges((FileChange("songs/what? 夜.toml", source, None), FileChange("songs/b.toml", None, source)))
    stopped(root, changes)
    settle(root)
    assert sorted(os.listdir(root / "songs")) == ["b.toml", "high.toml"]


def test_a_copy_of_a_book_brings_its_journal_along(root: Path, tmp_path: Path) -> None:
    stopped(root, rename(root))
    shutil.copytree(root, tmp_path / "copy")
    assert settle(tmp_path / "copy") is not None
    assert not read_book(tmp_path / "copy").problems


def test_a_pipe_in_the_place_of_a_file_is_said_and_holds_nobody_up(root: Path) -> None:
    stopped(root, rename(root))
    (root / LOW).unlink()
    os.mkfifo(root / LOW)
    with pytest.raises(SaveError, match=r"low\.toml can't be read \(this is no plain file\)"):
        settle(root)
    assert (root / JOURNAL).exists()
