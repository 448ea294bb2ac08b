"""When the other side of a pipe counts as hung."""

import os
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from showrunner.live import pipes
from showrunner.live.frames import pack

LOOKS_EVERY_S = 0.1


class Side:
    """One end, whose time passes as it is told, and the other end's writing."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now_s, self.heard = 100.0, 0
        monkeypatch.setattr(pipes, "time", SimpleNamespace(perf_counter=lambda: self.now_s))
        reads, self._says = os.pipe()
        self._files = (
            os.fdopen(reads, "rb", buffering=0),
            os.fdopen(os.open(os.devnull, os.O_WRONLY), "wb", buffering=0),
        )
        self.end = pipes.Pipes(*self._files, 0, self._hear)

    def _hear(self, _message: dict[str, Any]) -> None:
        self.heard += 1

    def says(self, waits: Callable[..., Any]) -> None:
        heard = self.heard
        os.write(self._says, pack({"beat": True}))
        waits(lambda: self.heard > heard, "the word")

    def dies_within(self, for_s: float) -> bool:
        """Whether it is dead at any of the looks in so many seconds."""
        looks = [self._look() for _ in range(round(for_s / LOOKS_EVERY_S))]
        return any(looks)

    def _look(self) -> bool:
        self.now_s += LOOKS_EVERY_S
        return self.end.dead

    def close(self) -> None:
        os.close(self._says)
        for file in self._files:
            file.close()


@pytest.fixture
def side(monkeypatch: pytest.MonkeyPatch) -> Iterator[Side]:
    made = Side(monkeypatch)
    yield made
    made.close()


def test_one_that_is_silent_for_a_second_is_hung_and_before_its_first_word_for_longer(
    side: Side, waits: Callable[..., Any]
) -> None:
    assert not side.dies_within(pipes.STARTS_WITHIN_S - 0.1)
    assert not side.end.speaks
    side.says(waits)
    assert side.end.speaks
    assert not side.dies_within(pipes.DEAD_AFTER_S - 0.1)
    assert side.dies_within(0.3)
    assert not side.end.speaks


def test_one_is_not_hung_because_this_side_stood_still(side: Side, waits: Callable[..., Any]) -> None:
    side.says(waits)
    side.now_s += 60.0
    assert not side.dies_within(pipes.DEAD_AFTER_S - 0.1)
    side.says(waits)
    assert not side.dies_within(pipes.DEAD_AFTER_S - 0.1)
    side.now_s += 60.0
    assert side.dies_within(pipes.DEAD_AFTER_S + 0.3)


def test_nothing_is_imported_from_the_folder_that_a_show_is_begun_in(tmp_path: Path) -> None:
    for name in ("showrunner", "mido", "json"):
        (tmp_path / f"{name}.py").write_text("raise SystemExit('the module in the folder was taken')")
    done = subprocess.run(pipes.of_ours("showrunner.live.frames"), cwd=tmp_path, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
