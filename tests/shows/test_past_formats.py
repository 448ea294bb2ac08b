"""What books of earlier days hold is read, and what later ones will hold is refused with a reason.

The book in `tests/shows/format-1` is of the project's own history: its documents and take are the first that the demo
book had, its four logs have the four forms that lines of a log have had, its closed night is one that a version closed
which knew no performances of a date.
"""

import json
import shutil
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from showrunner.book import formats
from showrunner.book.change import CannotChangeError, edit
from showrunner.book.filing import filed
from showrunner.book.formats import FORMAT
from showrunner.book.problems import BookError
from showrunner.book.read import read_book, read_document
from showrunner.live.closing import closed, reopen
from showrunner.live.runs import read_runs
from showrunner.model.library import KINDS
from showrunner.takes.smf import read_take

BOOKS = Path(__file__).parent
BOOK = BOOKS / "format-1"


@pytest.mark.parametrize("number", range(1, FORMAT + 1))
def test_a_book_of_each_format_is_kept_and_reads_without_a_problem(number: int) -> None:
    reading = read_book(BOOKS / f"format-{number}")
    assert reading.problems == ()
    assert all(reading.slugs(kind) for kind in KINDS)
    assert f"format = {number}" in (BOOKS / f"format-{number}/book.toml").read_text()


def test_logs_of_every_form_say_the_same_of_a_night() -> None:
    book = read_book(BOOK).book
    nights = [night for run in read_runs(BOOK) for night in run.nights(book)]
    assert len(nights) == 4
    for night in nights:
        lengths = {song.song: song.lasted_s for song in night.songs}
        assert lengths == {"saltmarsh-signal": pytest.approx(401.677, abs=0.01), "low-lantern": None}


def test_a_take_of_earlier_days_is_read() -> None:
    take = read_take(BOOK / "takes/saltmarsh-signal/2026-11-14.mid")
    assert len(take.events) > 1000
    assert (take.song, take.rig) == ("saltmarsh-signal", "full")


def test_a_night_that_was_closed_before_performances_were_is_closed_and_can_be_taken_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    root = tmp_path / "book"
    shutil.copytree(BOOK, root)
    run = next(iter(read_runs(root)))
    was = closed(root, run)
    assert was is not None
    assert (was.on, was.from_s, dict(was.batteries)) == ("2026-11-30", None, {"driver cell": 0.1926})
    assert reopen(root, run, ()) == ("rigs/full.toml",)
    assert read_book(root).book.rigs["full"].batteries["driver cell"].used_h == 4
    assert closed(root, run) is None


def test_a_record_of_a_newer_format_is_refused_and_stays(tmp_path: Path) -> None:
    record = json.loads((BOOK / "runs/pellmarsh-hall/2026-11-28.closed.json").read_text())
    (tmp_path / "night.closed.json").write_text(json.dumps(record | {"format": 2}))
    with pytest.raises(BookError, match="is of another format than this Showrunner knows, 1; use the version"):
        filed(tmp_path, "night.closed.json")


@pytest.fixture
def earlier(monkeypatch: pytest.MonkeyPatch) -> None:
    """A format before the first, in which a duration was called length, and one before that without titles."""

    def renamed(_kind: str, data: dict[str, Any]) -> dict[str, Any]:
        return {"duration" if name == "length" else name: value for name, value in data.items()}

    def titled(kind: str, data: dict[str, Any]) -> dict[str, Any]:
        return {"title": f"A {kind}", **data}

    steps: Mapping[int, formats.Step] = MappingProxyType({0: renamed, -1: titled})
    monkeypatch.setattr(formats, "STEPS", steps)


@pytest.mark.usefixtures("earlier")
@pytest.mark.parametrize(
    "source", [b'format = 0\ntitle = "A song"\nlength = "3:00"\n', b'format = -1\nlength = "3:00"\n']
)
def test_a_document_of_an_earlier_format_is_read_step_by_step_and_its_file_left_alone(source: bytes) -> None:
    song, problems = read_document("song", "a", source)
    assert problems == []
    assert song is not None
    assert song.model_dump(exclude_defaults=True) == {"format": 1, "title": "A song", "duration": "3:00"}
    with pytest.raises(CannotChangeError, match=r"is of format -?\d; write it in format 1 in a text editor first"):
        edit("songs/a.toml", source, ("title",), "B")


@pytest.mark.usefixtures("earlier")
@pytest.mark.parametrize("number", ["-2", "2", "true", '"0"', "0.0"])
def test_any_other_format_is_refused(number: str) -> None:
    song, problems = read_document("song", "a", f'format = {number}\ntitle = "A"\nduration = "3:00"\n'.encode())
    assert song is None
    assert [problem.key for problem in problems] == ["format"]
