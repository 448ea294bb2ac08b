"""Locks of both kinds: of whole files, and of bytes as Windows has them."""

from pathlib import Path

import bytelocks
import pytest

from showrunner.book.lock import lets_go, locked, takes


@pytest.fixture(params=["of files", "of bytes"], autouse=True)
def _kind(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if request.param == "of bytes":
        bytelocks.use(monkeypatch)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "file"
    file.write_text("words")
    return file


def test_one_at_a_time_takes_a_lock(path: Path) -> None:
    with path.open("r+") as one, path.open("r+") as other:
        assert takes(one.fileno())
        assert not takes(other.fileno())
        lets_go(one.fileno())
        assert takes(other.fileno())
    with path.open("r+") as third:
        assert takes(third.fileno())


def test_a_locked_file_is_read_and_written_where_it_stood(path: Path) -> None:
    with path.open("r+") as one, path.open("r+") as other:
        assert one.read(2) == "wo"
        assert takes(one.fileno())
        assert (one.read(), other.read()) == ("rds", "words")
        assert not takes(other.fileno())
        one.write(" more")
        one.flush()
        assert other.read() == " more"
        lets_go(one.fileno())
    assert path.read_text() == "words more"


def test_a_folder_is_locked_while_the_block_runs_and_after_it_however_it_ends_no_more(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), locked(tmp_path):
        raise ZeroDivisionError
    with locked(tmp_path):
        pass
