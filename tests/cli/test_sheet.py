"""`sheet`: on standard output, in a file, as data."""

import os
import shutil
from pathlib import Path

import pytest


@pytest.mark.parametrize("audience", ["floor", "player", "crew", "desk"])
@pytest.mark.parametrize("form", ["text", "md", "html", "csv"])
def test_every_audience_gets_every_format_with_the_songs_in_it(audience, form, run, book: Path):
    result = run("sheet", "friday", "--for", audience, "--format", form, "--book", book)
    assert result.exit_code == 0
    assert "LOW LANTERN" in result.stdout.upper()


def test_a_copy_in_the_folder_that_is_named_comes_before_the_template_that_is_brought(
    run, book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("showrunner.places.user_templates", lambda: tmp_path)
    mine, brought = (Path(line.partition(":")[2].strip()) for line in run("sheet", "--templates").stdout.splitlines())
    assert (brought / "floor.txt").is_file()
    mine.mkdir()
    (mine / "floor.txt").write_text("my own $show\n")
    assert run("sheet", "friday", "--book", book).stdout.startswith("my own ")


def test_a_pdf_goes_to_the_file_named(run, book: Path, tmp_path: Path):
    file = tmp_path / "floor.pdf"
    result = run("sheet", "friday", "--format", "pdf", "-o", file, "--book", book)
    assert result.exit_code == 0
    assert file.read_bytes().startswith(b"%PDF-")
    assert result.stdout == f"wrote {file}\n"


def test_a_pdf_piped_is_the_pdf_and_nothing_else(run, book: Path):
    assert run("sheet", "friday", "--format", "pdf", "--book", book).stdout_bytes.startswith(b"%PDF-")


def test_a_pdf_to_a_terminal_is_wrong_usage(run, book: Path, monkeypatch: pytest.MonkeyPatch):
    class Terminal:
        def __getattr__(self, _name):
            return lambda: True

    class System:
        stdout = Terminal()

    monkeypatch.setattr("showrunner.cli.sheet.sys", System)
    result = run("sheet", "friday", "--format", "pdf", "--book", book)
    assert result.exit_code == 2
    assert "-o" in result.stderr


def test_json_is_what_the_sheet_says(run_json, book: Path):
    data = run_json("sheet", "friday", "--for", "crew", "--book", book)
    assert list(data) == ["show", "for", "format", "file", "sheet"]
    assert data["sheet"]["show"] == "Friday at the Harbour"


def test_a_file_that_cant_be_written_is_told(run, book: Path, tmp_path: Path):
    result = run("sheet", "friday", "-o", tmp_path / "no folder" / "floor.txt", "--book", book)
    assert result.exit_code == 2
    assert "floor.txt can't be saved (no such file or directory); nothing was written" in result.stderr


@pytest.mark.parametrize("command", [("sheet", "friday"), ("pack", "friday")])
@pytest.mark.parametrize("fails", ["write", "fsync", "replace"])
def test_a_full_disk_leaves_the_old_file_as_it_was(run, book: Path, tmp_path: Path, monkeypatch, command, fails):
    out = tmp_path / "out"
    out.mkdir()
    file = out / "made"
    assert run(*command, "-o", file, "--book", book).exit_code == 0
    old = file.read_bytes()
    song = book / "songs/harbour.toml"
    song.write_text(song.read_text().replace("Harbour Steps", "Harbour Stairs"))
    with monkeypatch.context() as patch:
        patch.setattr(os, fails, full)
        result = run(*command, "-o", file, "--book", book)
    assert result.exit_code == 2
    assert "made can't be saved (no space left on device); what was there before is still there" in result.stderr
    assert (os.listdir(out), file.read_bytes()) == (["made"], old)
    assert run(*command, "-o", file, "--book", book).exit_code == 0
    assert file.read_bytes() != old


def full(*_, **__):
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("command", [("sheet", "friday"), ("pack", "friday")])
@pytest.mark.parametrize("other", [False, True])
@pytest.mark.parametrize(
    "file",
    [
        "book.toml",
        "songs/harbour.toml",
        "songs/new.toml",
        "SONGS/Harbour.TOML",
        "link.txt",
        "takes/a/b.mid",
        ".journal",
    ],
)
def test_a_file_of_a_book_is_never_written_over(run, book: Path, tmp_path: Path, command, other: bool, file: str):
    """Neither of the book that is asked for, nor of another; not through a link either."""
    into = tmp_path / "other"
    shutil.copytree(book, into)
    (into / "takes/a").mkdir(parents=True)
    (into / "link.txt").symlink_to(into / "songs/harbour.toml")
    before = {path: path.read_bytes() for path in into.rglob("*") if path.is_file()}
    result = run(*command, "-o", into / file, "--book", book if other else into)
    assert result.exit_code == 2
    assert "is a file of a book; give another name" in result.stderr or "is no pack" in result.stderr
    assert {path: path.read_bytes() for path in into.rglob("*") if path.is_file()} == before


def test_beside_a_books_documents_a_sheet_goes_anywhere(run, book: Path, tmp_path: Path):
    for file in (book / "floor.txt", book / "songs/floor.txt", tmp_path / "songs.toml"):
        assert run("sheet", "friday", "-o", file, "--book", book).exit_code == 0
    (tmp_path / "link.txt").symlink_to(tmp_path / "songs.toml")
    assert run("sheet", "friday", "--for", "crew", "-o", tmp_path / "link.txt", "--book", book).exit_code == 0
    assert (tmp_path / "link.txt").is_symlink()


def test_a_show_without_a_rig_is_told(run, book: Path):
    (book / "book.toml").write_text('format = 1\nname = "Two songs"\n')
    result = run("sheet", "friday", "--book", book)
    assert result.exit_code == 2
    assert "no rig" in result.stderr
