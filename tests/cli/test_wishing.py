"""`curve --from-table`: a table of wishes put into a song."""

from pathlib import Path

import pytest

TABLE = "travel, 0, 40, 100\necho mix, 0, 10, 60\ndrive, 3, 3, 9\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "wishes.csv"
    path.write_text(TABLE)
    return path


def test_without_write_it_shows_what_would_change_and_changes_nothing(run, book: Path, table: Path):
    before = (book / "songs/low-lantern.toml").read_bytes()
    result = run("curve", "low-lantern", "--from-table", table, "--book", book)
    assert result.exit_code == 0
    assert "+drive = [3, 3, 9]" in result.stdout.splitlines()
    assert "--write" in result.stdout.splitlines()[-1]
    assert (book / "songs/low-lantern.toml").read_bytes() == before


def test_with_write_the_rows_are_in_the_file_and_nothing_else_has_changed(run, book: Path, table: Path):
    song = book / "songs/low-lantern.toml"
    before = song.read_text()
    result = run("curve", "low-lantern", "--from-table", table, "--write", "--book", book)
    assert result.stdout.splitlines()[-1] == "wrote songs/low-lantern.toml"
    wanted = (
        before.replace("travel = [0, 50, 100]", "travel = [0, 40, 100]")
        .replace('"echo mix" = [0, 20, 40]', '"echo mix" = [0, 10, 60]')
        .replace("drive = [3, 3, 12]", "drive = [3, 3, 9]")
    )
    assert song.read_text() == wanted


def test_json_has_the_curve_as_it_becomes(run_json, book: Path, table: Path):
    data = run_json("curve", "low-lantern", "--from-table", table, "--book", book)
    assert (data["song"], data["file"], data["written"]) == ("low-lantern", "songs/low-lantern.toml", False)
    assert [row["travel"] for row in data["curves"][0]["rows"]] == [0, 40, 100]
    assert data["curves"][0]["rows"][2]["targets"]["drive"]["value"] == 9


def test_rows_that_the_table_does_not_name_keep_their_columns(run, run_json, book: Path, tmp_path: Path):
    small = tmp_path / "small.csv"
    small.write_text("travel, 0, 30\ndrive, 0, 6\n")
    run("curve", "low-lantern", "--from-table", small, "--write", "--book", book)
    rows = run_json("curve", "low-lantern", "--at", "0,30,50", "--book", book)["curves"][0]["rows"]
    assert [row["targets"]["drive"]["value"] for row in rows] == [0, 6, 6]
    assert [row["targets"]["echo mix"]["value"] for row in rows] == [0, 12, 20]


def test_a_row_keeps_its_shape(run, book: Path, table: Path):
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace("[0, 20, 40]", '{ values = [0, 20, 40], shape = "smooth" }'))
    run("curve", "low-lantern", "--from-table", table, "--write", "--book", book)
    assert '"echo mix" = { values = [0, 10, 60], shape = "smooth" }' in song.read_text()


def test_a_new_curve_is_made_where_there_is_none(run, run_json, book: Path, table: Path):
    args = ("curve", "harbour", "--set", "loud", "--control", "swell")
    assert run(*args, "--from-table", table, "--write", "--book", book).exit_code == 0
    assert run_json(*args, "--book", book)["curves"][0]["set"] == "loud"


def test_writing_twice_changes_nothing_the_second_time(run, book: Path, table: Path):
    run("curve", "low-lantern", "--from-table", table, "--write", "--book", book)
    once = (book / "songs/low-lantern.toml").read_bytes()
    result = run("curve", "low-lantern", "--from-table", table, "--write", "--book", book)
    assert result.stdout == "songs/low-lantern.toml has these values already\n"
    assert (book / "songs/low-lantern.toml").read_bytes() == once


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("travel, 0, 100\ndrve, 0, 1\n", 'no rig has a target "drve"; did you mean "drive"?'),
        ("travel, 0, 100\ndrive, 0, loud\n", "wishes.csv:2: "),
        ("travel, 0, 100, 50\ndrive, 0, 1, 2\n", "wishes.csv:1: "),
        ("", "wishes.csv:1: "),
    ],
)
def test_a_table_that_cant_be_used_is_told_and_changes_nothing(text, said, run, book: Path, table: Path):
    table.write_text(text)
    before = (book / "songs/low-lantern.toml").read_bytes()
    result = run("curve", "low-lantern", "--from-table", table, "--write", "--book", book)
    assert result.exit_code == 2
    assert said in result.stderr
    assert (book / "songs/low-lantern.toml").read_bytes() == before


def test_which_curve_it_is_for_must_be_clear(run, book: Path, table: Path):
    (book / "songs/bare.toml").write_text('format = 1\ntitle = "Bare"\nduration = "1:00"\n')
    assert "name the one to make" in run("curve", "bare", "--from-table", table, "--book", book).stderr
    result = run("curve", "low-lantern", "--set", "other", "--from-table", table, "--book", book)
    assert result.exit_code == 2
    assert "--control" in result.stderr


def test_write_without_a_table_is_wrong_usage(run, book: Path):
    result = run("curve", "low-lantern", "--write", "--book", book)
    assert result.exit_code == 2
    assert "--from-table" in result.stderr
