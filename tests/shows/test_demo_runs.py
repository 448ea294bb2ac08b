"""The demo book's runs: what the program itself logs when it plays the show, and whole nights to look back on."""

import runpy
from pathlib import Path

import pytest

from showrunner.book.read import Reading
from showrunner.live.runs import Run, read_run, run_files
from showrunner.places import demo_book

MADE = runpy.run_path(str(Path(__file__).parent / "make_runs.py"))
SHOW = MADE["SHOW"]


@pytest.fixture(scope="module", name="kept")
def _kept() -> list[Run]:
    return [read_run(demo_book(), file) for file in run_files(demo_book())]


def test_they_are_what_the_program_logs_today() -> None:
    for name, text in MADE["runs"]().items():
        assert (demo_book() / name).read_text(encoding="utf-8") == text, f"run tests/shows/make_runs.py: {name}"


def test_each_is_one_whole_performance_of_every_song(kept: list[Run], reading: Reading) -> None:
    show = reading.book.shows[SHOW]
    for run in kept:
        (night,) = run.nights(reading.book)
        assert [song.song for song in night.songs] == [*show.set_songs, *show.encore]
        assert all(song.lasted_s is not None for song in night.songs)
        assert run.problems == ()


def test_together_they_have_everything_that_can_go_wrong_on_the_way(kept: list[Run], reading: Reading) -> None:
    nights = [night for run in kept for night in run.nights(reading.book)]
    assert any(night.backs for night in nights)
    assert any(night.trims for night in nights)
    assert any(outage.gone_s is not None for night in nights for outage in night.outages)
    assert {"too soon", "restarted", "program owed"} <= {kind for night in nights for kind in night.others}


def test_the_latest_is_the_night_of_the_show(kept: list[Run], reading: Reading) -> None:
    assert kept[-1].date == str(reading.book.shows[SHOW].date)
    assert kept[-1].rig in reading.book.rigs
