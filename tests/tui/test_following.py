"""A running show looked for on a worker's thread: read there, and let go of where nobody waits for it any more."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from showrunner.live import under_way
from showrunner.tui import following


class Found:
    """A way to a running show; its documents may be unreadable."""

    def __init__(self, error: Exception | None = None) -> None:
        self._error, self.closed = error, False

    @property
    def script(self) -> str:
        if self._error is not None:
            raise self._error
        return "the show"

    def close(self) -> None:
        self.closed = True


@pytest.fixture
def worker(monkeypatch: pytest.MonkeyPatch) -> SimpleNamespace:
    made = SimpleNamespace(is_cancelled=False)
    monkeypatch.setattr(following, "get_current_worker", lambda: made)
    return made


def looked(monkeypatch: pytest.MonkeyPatch, found: Found | None) -> Found | None:
    monkeypatch.setattr(under_way, "show_under_way", lambda *_, **__: found)
    return following.playing_now(Path("book"), ["night"])


@pytest.mark.usefixtures("worker")
def test_a_show_that_plays_is_given_open(monkeypatch: pytest.MonkeyPatch) -> None:
    found = Found()
    assert looked(monkeypatch, found) is found
    assert not found.closed


@pytest.mark.usefixtures("worker")
def test_nothing_is_given_where_no_show_plays(monkeypatch: pytest.MonkeyPatch) -> None:
    assert looked(monkeypatch, None) is None


def test_what_a_cancelled_worker_finds_is_let_go_of(worker: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> None:
    found, worker.is_cancelled = Found(), True
    assert looked(monkeypatch, found) is None
    assert found.closed


@pytest.mark.usefixtures("worker")
@pytest.mark.parametrize("error", [ValueError("no night"), OSError("gone"), KeyError("rig")])
def test_a_show_whose_documents_cannot_be_read_is_let_go_of(error: Exception, monkeypatch: pytest.MonkeyPatch) -> None:
    found = Found(error)
    assert looked(monkeypatch, found) is None
    assert found.closed
