import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from needs import did_not_run

from showrunner.book.lock import BusyError, locked
from showrunner.book.save import ChangedError, SaveError, digest, is_leftover, save

OLD, NEW = b"old = 1\n", b"new = 2\n" * 1000
CALLS = ("open", "write", "fchmod", "fsync", "close", "replace")

ENDING = """
import os, sys
from pathlib import Path
from showrunner.book.save import digest, save
path, end_at, old, new = Path(sys.argv[1]), int(sys.argv[2]), bytes.fromhex(sys.argv[3]), bytes.fromhex(sys.argv[4])
calls = 0
def ending(real):
    def call(*args, **kwargs):
        global calls
        calls += 1
        if calls == end_at:
            if real is os_write:
                os_write(args[0], bytes(args[1])[:3])
            os._exit(9)
        return real(*args, **kwargs)
    return call
os_write = os.write
for name in ("open", "write", "fchmod", "fsync", "close", "replace"):
    setattr(os, name, ending(getattr(os, name)))
save(path, new, digest(old))
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    (tmp_path / "song.toml").write_bytes(OLD)
    return tmp_path / "song.toml"


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[tuple[str, str]]]:
    """The system calls of a save in order, each with the name of the file or folder it was for."""
    made: list[tuple[str, str]] = []
    names: dict[int, str] = {}

    def recording(name: str, real: Any) -> Any:
        def call(*args: Any, **kwargs: Any) -> Any:
            result = real(*args, **kwargs)
            if name == "open":
                names[result] = Path(args[0]).name
            of = names.get(args[0], "") if isinstance(args[0], int) else Path(args[0]).name
            made.append((name, "the new file" if is_leftover(of) else of))
            return result

        return call

    for name in CALLS:
        monkeypatch.setattr(os, name, recording(name, getattr(os, name)))
    yield made
    monkeypatch.undo()


def test_the_new_bytes_replace_the_old(path: Path) -> None:
    assert save(path, NEW, digest(OLD)) == digest(NEW)
    assert path.read_bytes() == NEW
    assert os.listdir(path.parent) == ["song.toml"]


def test_a_new_file_is_made(tmp_path: Path) -> None:
    save(tmp_path / "new.toml", NEW, None)
    assert (tmp_path / "new.toml").read_bytes() == NEW


def test_the_file_is_on_the_disk_before_the_rename_and_the_folder_after_it(
    path: Path, calls: list[tuple[str, str]]
) -> None:
    save(path, NEW, digest(OLD))
    temporary, folder = "the new file", path.parent.name
    assert [call for call in calls if call != ("close", folder)] == [
        ("open", folder),
        ("open", temporary),
        ("write", temporary),
        ("fchmod", temporary),
        ("fsync", temporary),
        ("close", temporary),
        ("replace", temporary),
        ("open", folder),
        ("fsync", folder),
    ]


@pytest.mark.parametrize("end_at", range(1, 12))
def test_a_program_ended_at_any_call_of_a_save_leaves_the_old_file_or_the_new_one_whole(
    path: Path, end_at: int
) -> None:
    arguments = [str(path), str(end_at), OLD.hex(), NEW.hex()]
    ended = subprocess.run([sys.executable, "-c", ENDING, *arguments], check=False)
    is_renamed = end_at > 7
    assert ended.returncode == 9
    assert path.read_bytes() == (NEW if is_renamed else OLD)
    save(path, b"next = 3\n", digest(path.read_bytes()))
    assert os.listdir(path.parent) == ["song.toml"]


@pytest.mark.parametrize("failing", ["open", "write", "fchmod", "fsync", "replace"])
def test_a_call_that_fails_leaves_the_old_file_alone(path: Path, failing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, failing, fail)
    with pytest.raises(SaveError, match=r"song.toml can't be saved \(no space left on device\); what was there"):
        save(path, NEW, digest(OLD))
    monkeypatch.undo()
    assert path.read_bytes() == OLD
    assert os.listdir(path.parent) == ["song.toml"]


def test_a_file_that_changed_since_it_was_read_is_not_overwritten(path: Path) -> None:
    path.write_bytes(b"other = 1\n")
    with pytest.raises(ChangedError, match=r"song.toml changed since it was read"):
        save(path, NEW, digest(OLD))
    assert path.read_bytes() == b"other = 1\n"


def test_a_file_that_is_gone_is_not_made_anew(path: Path) -> None:
    path.unlink()
    with pytest.raises(ChangedError, match=r"song.toml is gone"):
        save(path, NEW, digest(OLD))
    assert not path.exists()


def test_a_new_file_does_not_overwrite_one_that_is_there(path: Path) -> None:
    with pytest.raises(ChangedError, match=r"song.toml is there already"):
        save(path, NEW, None)
    assert path.read_bytes() == OLD


@pytest.mark.parametrize("mode", [0o600, 0o644, 0o664])
def test_permissions_are_kept(path: Path, mode: int) -> None:
    path.chmod(mode)
    save(path, NEW, digest(OLD))
    assert path.stat().st_mode & 0o777 == mode


def test_a_file_that_may_only_be_read_is_left_alone(path: Path) -> None:
    path.chmod(0o444)
    with pytest.raises(SaveError, match=r"may only be read"):
        save(path, NEW, digest(OLD))
    assert path.read_bytes() == OLD


def test_a_link_stays_a_link(path: Path) -> None:
    link = path.with_name("link.toml")
    link.symlink_to(path)
    save(link, NEW, digest(OLD))
    assert link.is_symlink()
    assert path.read_bytes() == NEW


def test_a_file_of_a_guessed_name_beside_it_is_neither_followed_nor_harmed(path: Path, tmp_path_factory) -> None:
    other = tmp_path_factory.mktemp("other") / "mine.txt"
    other.write_bytes(b"mine\n")
    for name in (".song.toml.new", "song.toml.new", ".song.toml.tmp"):
        path.with_name(name).symlink_to(other)
    save(path, NEW, digest(OLD))
    assert other.read_bytes() == b"mine\n"
    assert path.read_bytes() == NEW
    assert path.with_name(".song.toml.new").is_symlink()


def test_a_name_that_is_taken_meanwhile_is_not_written_over(
    path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = tmp_path_factory.mktemp("other") / "mine.txt"
    other.write_bytes(b"mine\n")
    real = os.open

    def planting(name: Any, flags: int, mode: int = 0o777) -> int:
        if is_leftover(Path(name).name):
            Path(name).symlink_to(other)
        return real(name, flags, mode)

    monkeypatch.setattr(os, "open", planting)
    with pytest.raises(SaveError, match=r"song.toml can't be saved \(file exists\)"):
        save(path, NEW, digest(OLD))
    assert (other.read_bytes(), path.read_bytes()) == (b"mine\n", OLD)


def test_extended_attributes_are_kept(path: Path) -> None:
    try:
        os.setxattr(path, "user.from", b"the old laptop")
    except (AttributeError, OSError) as error:
        did_not_run(f"no extended attributes here ({error})")
    save(path, NEW, digest(OLD))
    assert os.getxattr(path, "user.from") == b"the old laptop"


def test_an_attribute_that_only_the_system_may_give_stops_no_save(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("showrunner.book.save._attributes", lambda _: {"security.x": b"1"})
    monkeypatch.setattr(os, "setxattr", lambda *_: (_ for _ in ()).throw(PermissionError(1, "no")), raising=False)
    save(path, NEW, digest(OLD))
    assert path.read_bytes() == NEW


@pytest.mark.parametrize("kind", ["fifo", "folder", "device"])
def test_what_is_no_file_is_not_replaced(tmp_path: Path, kind: str) -> None:
    path = Path("/dev/null") if kind == "device" else tmp_path / "there"
    os.mkfifo(path) if kind == "fifo" else path.mkdir() if kind == "folder" else None
    with pytest.raises(SaveError, match="is there already, and is no file"):
        save(path, NEW, None)
    assert path.exists()


def test_a_folder_that_is_not_there_can_not_be_saved_in(tmp_path: Path) -> None:
    with pytest.raises(SaveError, match=r"no such file or directory"):
        save(tmp_path / "nowhere" / "song.toml", NEW, None)


def test_a_rename_refused_while_the_file_is_held_open_is_tried_again(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    refusals, pauses = [1, 1, 1], []
    real = os.replace

    def refuse(old: Path, new: Path) -> None:
        if refusals:
            refusals.pop()
            raise PermissionError(13, "in use")
        real(old, new)

    monkeypatch.setattr(os, "replace", refuse)
    save(path, NEW, digest(OLD), retries=3, pause=pauses.append)
    assert path.read_bytes() == NEW
    assert pauses == [0.02, 0.04, 0.08]


def test_a_rename_refused_for_good_is_reported(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "In use")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(SaveError, match=r"song.toml can't be saved \(in use\)"):
        save(path, NEW, digest(OLD), retries=3, pause=lambda _: None)
    assert path.read_bytes() == OLD


def test_a_save_waits_for_another_and_gives_up_after_five_seconds(path: Path) -> None:
    waited: list[float] = []
    with locked(path.parent), pytest.raises(BusyError, match=r"another program is saving"):
        save(path, NEW, digest(OLD), pause=waited.append)
    assert sum(waited) == pytest.approx(5)
    assert path.read_bytes() == OLD


def test_a_save_goes_on_when_the_other_is_done(path: Path) -> None:
    other = locked(path.parent)
    other.__enter__()
    save(path, NEW, digest(OLD), pause=lambda _: other.__exit__(None, None, None))
    assert path.read_bytes() == NEW
