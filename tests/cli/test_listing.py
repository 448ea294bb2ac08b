"""`list` and `read`."""

from pathlib import Path
from shutil import copytree

import pytest

from showrunner.cli.common import PLURALS
from showrunner.places import demo_book


@pytest.mark.parametrize("kind", PLURALS)
def test_list_names_every_document_of_a_kind(kind, run, run_json, book: Path):
    slugs = {path.stem for path in (book / PLURALS[kind]).glob("*.toml")}
    text = run("list", kind, "--book", book).stdout
    assert {line.split()[0] for line in text.splitlines()} == slugs
    assert {row[kind] for row in run_json("list", PLURALS[kind], "--book", book)[PLURALS[kind]]} == slugs


def test_list_of_nothing_says_how_to_make_one(run, book: Path):
    (book / "checklists/door.toml").unlink()
    assert "showrunner new checklist" in run("list", "checklists", "--book", book).stdout


def test_list_of_a_misspelt_kind_is_wrong_usage(run, book: Path):
    result = run("list", "sogns", "--book", book)
    assert result.exit_code == 2
    assert "did you mean" in result.stderr


def test_read_prints_a_song_with_its_curves_and_cues(run, book: Path):
    text = run("read", "low-lantern", "--book", book).stdout
    assert "Low Lantern: 4:00" in text
    assert "echo mix  0  20   40" in text
    assert "1:00  Ring" in text


@pytest.mark.parametrize("word", ["rig/big", "rigs/small", "friday", "door", "venue/harbour", "low-lantern"])
def test_read_as_json_is_the_document_with_its_kind_and_file(word, run_json, book: Path):
    data = run_json("read", word, "--book", book)
    assert list(data) == ["kind", "slug", "file", "document"]
    assert data["document"]["format"] == 1
    assert (book / data["file"]).stem == data["slug"]


def test_an_ambiguous_slug_is_told_with_the_ways_to_say_it(run, book: Path):
    result = run("read", "harbour", "--book", book)
    assert result.exit_code == 2
    assert '"harbour" is more than one thing; say song/harbour or venue/harbour' in result.stderr


def test_an_unknown_slug_is_told_with_the_nearest(run, book: Path):
    result = run("read", "low-lanten", "--book", book)
    assert result.exit_code == 2
    assert 'did you mean "low-lantern"?' in result.stderr


def test_an_unknown_kind_before_the_slash_is_told(run, book: Path):
    result = run("read", "sonk/low-lantern", "--book", book)
    assert result.exit_code == 2
    assert 'no kind "sonk"' in result.stderr


def test_a_broken_file_is_told_with_its_line_and_stops_what_asks_for_it(run, run_json, book: Path):
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace("tempo_bpm = 120", 'tempo_bpm = "120"'))
    result = run("read", "low-lantern", "--book", book)
    assert result.exit_code == 2
    assert result.stderr.startswith("songs/low-lantern.toml:3: tempo_bpm: ")
    error = run_json("read", "low-lantern", "--book", book)["errors"][0]
    assert (error["file"], error["line"], error["key"]) == ("songs/low-lantern.toml", 3, "tempo_bpm")


def test_a_broken_file_is_told_but_does_not_stop_what_asks_for_another(run, book: Path):
    (book / "songs/broken.toml").write_text("format = ")
    result = run("read", "low-lantern", "--book", book)
    assert result.exit_code == 0
    assert "songs/broken.toml:1: " in result.stderr
    assert "Low Lantern" in result.stdout


def test_read_takes_a_name_as_its_shows_and_says_what_else_has_it(run, run_json):
    result = run("read", "pellmarsh-hall", "--book", demo_book())
    assert result.exit_code == 0
    assert result.stdout.startswith("Pellmarsh Hall, December: 2026-12-05")
    assert "this is show/pellmarsh-hall; the same name has venue/pellmarsh-hall" in result.stderr
    assert run_json("read", "pellmarsh-hall", "--book", demo_book())["kind"] == "show"
    assert run_json("read", "venue/pellmarsh-hall", "--book", demo_book())["kind"] == "venue"


def test_read_does_not_take_a_venue_for_the_show_that_cant_be_read(run, tmp_path: Path):
    copytree(demo_book(), tmp_path / "book")
    (tmp_path / "book/shows/pellmarsh-hall.toml").write_text("format = ")
    result = run("read", "pellmarsh-hall", "--book", tmp_path / "book")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "shows/pellmarsh-hall.toml can't be used before that is mended" in result.stderr


@pytest.mark.parametrize("kind", PLURALS)
def test_read_prints_every_document_of_the_demo_book_under_its_title(kind, run, run_json):
    for row in run_json("list", kind, "--book", demo_book())[PLURALS[kind]]:
        result = run("read", f"{kind}/{row[kind]}", "--book", demo_book())
        assert result.exit_code == 0
        assert result.stdout.startswith(row["title"])
