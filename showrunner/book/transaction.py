"""Changes of several files of a book as one: all of them or none, wherever the program or the machine is ended.

What is to be done is written into a journal first, whole and on disk; then the files are changed, new ones first and
those that go last; then the journal goes. Whoever opens the book next and finds a journal finishes what it says. Only
where somebody else changed one of its files meanwhile it is taken back, and that file left as it is.

The journal is a file of the book's own folder, under the same lock: so whoever has the book next finds it, after the
folder was moved or under another user as well.
"""

import os
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.journal import LARGEST_JOURNAL, Entry, read_journal, written
from showrunner.book.lock import PATIENCE_S, locked
from showrunner.book.problems import BookError
from showrunner.book.read import JOURNAL
from showrunner.book.save import ChangedError, SaveError, digest, save, save_in_lock, sync_folder
from showrunner.plain_file import read_file


class HalfDoneError(BookError):
    """Changes of which a part was made and could not be taken back at once; whoever opens the book next settles it."""


class Settled(NamedTuple):
    """A change that had been stopped half way: what it did, and the files that somebody else changed meanwhile.

    It is finished where `changed` is empty, else taken back.
    """

    what: str
    changed: tuple[str, ...] = ()

    def __str__(self) -> str:
        if not self.changed:
            return f"{self.what} was stopped half way; it is finished now"
        files = ", ".join(self.changed)
        return (
            f"{self.what} was stopped half way, and somebody else changed {files} since; it is taken back now, and "
            f"{files} left as {'it is' if len(self.changed) == 1 else 'they are'}"
        )


def apply(root: Path, changes: FileChanges, what: str) -> None:
    """Makes all changes or none; `what` says what they do, as in "renaming songs/a.toml".

    ChangedError where a file is neither as before nor as after, SaveError where one can't be changed; then nothing is
    done. HalfDoneError where a part was done and can't be taken back at once.
    """
    root = Path(os.path.realpath(root))
    with _said("the book"), locked(root):
        found = _settle(root)
        if found is not None:
            raise ChangedError(str(found), "look at the book again, then make the change anew")
        _look(root, changes)
        entry = Entry(what, changes, tuple(_missing_folders(root, changes)))
        if len(changes.changes) + len(changes.folders) > 1:
            save_in_lock(root / JOURNAL, written(entry), None)
        try:
            _make(root, changes)
            _drop(root)
        except BaseException as error:
            try:
                _take_back(root, entry)
            except BookError:
                mend = "a part of it was done; it is finished when the book is opened and its files can be written"
                raise HalfDoneError(f"{what} was stopped half way", mend) from error
            raise


def settle(root: Path, *, patience_s: float = PATIENCE_S) -> Settled | None:
    """Finishes or takes back a change that was stopped half way, and says so; None where there is none.

    Waits while another program is changing the book; BusyError where that lasts longer. BookError where the journal
    can't be read or a file can't be written; then all stays as it is.
    """
    root = Path(os.path.realpath(root))
    if not os.path.lexists(root / JOURNAL):
        return None
    with _said("the book"), locked(root, patience_s=patience_s):
        return _settle(root)


def fill(root: Path, changes: FileChanges) -> None:
    """Makes new files in a folder that nobody else knows yet; errors as for `apply`."""
    _make(root, changes)


def _settle(root: Path) -> Settled | None:
    entry = read_journal(root)
    if entry is None:
        return None
    _no_links(root, entry.changes)
    changed = tuple(_changed(root, entry.changes))
    if changed and not _is_made(root, entry.changes, changed):
        _take_back(root, entry)
        return Settled(entry.what, changed)
    _make(root, entry.changes, leave=changed)
    _drop(root)
    return Settled(entry.what)


def _look(root: Path, changes: FileChanges) -> None:
    """Looks whether the changes can be made; ChangedError or SaveError where not."""
    _no_links(root, changes)
    for file in _changed(root, changes):
        raise ChangedError(f"{file} changed since it was read", "read the book again, then make the change anew")
    for old, new in changes.folders:
        if (root / old).exists() and (root / new).exists():
            raise SaveError(f"{new} is there already", f"move what is in {old} yourself, or take another name")


def _no_links(root: Path, changes: FileChanges) -> None:
    """SaveError where a link leads to another place, since for what is there no journal could answer."""
    around = [Path(path).parent.as_posix() for pair in changes.folders for path in pair]
    for path in (*(one.file for one in changes.changes), *around):
        if os.path.normcase(os.path.realpath(root / path)) != os.path.normcase(root / path):
            mend = "replace the link by what it leads to; the book's whole folder may be reached by one"
            raise SaveError(f"{path} is reached by a link, and can't be changed together with other files", mend)


def _changed(root: Path, changes: FileChanges) -> Iterator[str]:
    """The files that are neither as before nor as after."""
    for one in changes.changes:
        if _now(root / one.file) not in (one.before, one.after):
            yield one.file


def _is_made(root: Path, changes: FileChanges, leave: Collection[str]) -> bool:
    """Whether all is done but for these files."""
    moved = not any((root / old).exists() for old, _ in changes.folders)
    return moved and all(_now(root / one.file) == one.after for one in changes.changes if one.file not in leave)


def _make(root: Path, changes: FileChanges, *, leave: Collection[str] = (), made: Sequence[str] | None = None) -> None:
    """Makes the changes one by one; what is done already is passed over, so that it goes on wherever it was stopped.

    Of folders that are empty afterwards those in `made` go, all where it is None. ChangedError where a file is neither
    as before nor as after, but for those to `leave`.
    """
    mine = [one for one in changes.changes if one.file not in leave]
    for one in sorted(mine, key=lambda one: one.before is not None):
        if one.after is not None and _now(root / one.file) != one.after:
            _put(root, one, one.after)
    for old, new in changes.folders:
        if (root / old).exists():
            with _said(old, "moved"):
                _move(root / old, root / new)
    for one in mine:
        if one.after is None and _now(root / one.file) is not None:
            _delete(root, one)
            if made is None:
                _without_empty(root, (root / one.file).parent)
    for folder in reversed(made or ()):
        with suppress(OSError):
            (root / folder).rmdir()


def _take_back(root: Path, entry: Entry) -> None:
    """Takes back what was made, leaves what somebody else changed, and drops the journal."""
    _make(root, entry.changes.inverse, leave=tuple(_changed(root, entry.changes)), made=entry.made)
    _drop(root)


def _put(root: Path, one: FileChange, source: bytes) -> None:
    path = root / one.file
    with _said(one.file, "made"):
        _make_folder(root, path.parent)
    saves = save_in_lock if path.parent == root else save
    saves(path, source, None if one.before is None else digest(one.before))


def _make_folder(root: Path, folder: Path) -> None:
    if not folder.is_dir():
        _make_folder(root, folder.parent)
        folder.mkdir(exist_ok=True)
        sync_folder(folder.parent)


def _delete(root: Path, one: FileChange) -> None:
    path = root / one.file
    if _now(path) != one.before:
        raise ChangedError(f"{one.file} changed since it was read", "read the book again, then make the change anew")
    with _said(one.file, "deleted"):
        path.unlink()
        sync_folder(path.parent)


def _move(old: Path, new: Path) -> None:
    """Moves a folder; where the new one is there by now, each file that it has not."""
    if not new.exists():
        os.rename(old, new)
    else:
        for name in os.listdir(old):
            if not os.path.lexists(new / name):
                os.rename(old / name, new / name)
        with suppress(OSError):
            old.rmdir()
    sync_folder(new.parent)


def _missing_folders(root: Path, changes: FileChanges) -> Iterator[str]:
    """The folders that the changes will make, outermost first."""
    found: set[Path] = set()
    for one in changes.changes:
        if one.after is not None:
            found |= {folder for folder in (root / one.file).parents if root in folder.parents and not folder.exists()}
    yield from sorted(folder.relative_to(root).as_posix() for folder in found)


def _without_empty(root: Path, folder: Path) -> None:
    """Takes away the folders that a file was alone in, which would be missing without it; the book stays."""
    with suppress(OSError):
        while folder != root:
            folder.rmdir()
            folder = folder.parent


def _drop(root: Path) -> None:
    with _said(JOURNAL, "deleted"):
        (root / JOURNAL).unlink(missing_ok=True)
        sync_folder(root)


def _now(path: Path) -> bytes | None:
    with _said(path.name, "read"):
        return read_file(path, LARGEST_JOURNAL) if os.path.lexists(path) else None


@contextmanager
def _said(path: str, done: str = "changed") -> Iterator[None]:
    """Says in words what the system refuses."""
    try:
        yield
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise SaveError(f"{path} can't be {done} ({reason})", "look at the permissions") from error
