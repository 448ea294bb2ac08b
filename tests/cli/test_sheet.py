"""`sheet`: on standard output, in a file, as data."""

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
    assert "floor.txt: no such file or directory" in result.stderr


def test_a_show_without_a_rig_is_told(run, book: Path):
    (book / "book.toml").write_text('format = 1\nname = "Two songs"\n')
    result = run("sheet", "friday", "--book", book)
    assert result.exit_code == 2
    assert "no rig" in result.stderr
