"""`pack` and `unpack`."""

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("showrunner.live.folder.state_folder", lambda: tmp_path / "state")


@pytest.fixture
def pack(run, book: Path, tmp_path: Path) -> Path:
    path = tmp_path / "friday.zip"
    assert run("pack", "friday", "-o", path, "--book", book).exit_code == 0
    return path


def files_under(root: Path) -> dict[str, bytes]:
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()}


def test_pack_says_what_it_made(run, book: Path, tmp_path: Path):
    result = run("pack", "friday", "-o", tmp_path / "f.zip", "--book", book, COLUMNS="200")
    assert result.stdout.startswith(f"{tmp_path / 'f.zip'}: Friday at the Harbour, with 2 songs, 1 rig, 1 venue; ")


def test_pack_names_every_file_with_its_digest_in_json(run_json, book: Path, tmp_path: Path):
    data = run_json("pack", "friday", "-o", tmp_path / "f.zip", "--book", book)
    assert [file["file"] for file in data["files"]] == [
        "book.toml",
        "rigs/big.toml",
        "shows/friday.toml",
        "songs/harbour.toml",
        "songs/low-lantern.toml",
        "venues/harbour.toml",
    ]
    assert data["lacks"] == []
    assert data["bytes"] == (tmp_path / "f.zip").stat().st_size


def test_a_show_with_a_song_missing_is_packed_with_a_note_that_unpack_repeats(run, book: Path, tmp_path: Path):
    (book / "songs/harbour.toml").unlink()
    result = run("pack", "friday", "-o", tmp_path / "f.zip", "--book", book, COLUMNS="200")
    assert result.exit_code == 1
    assert "NOT WHOLE" in result.stdout
    assert 'shows/friday.toml:9: sets[0].songs[1].song: there is no song "harbour"' in result.stdout
    shown = run("unpack", tmp_path / "f.zip", "--into", tmp_path / "new", COLUMNS="200")
    assert "NOTE when it was packed: shows/friday.toml:9:" in shown.stdout


def test_pack_never_replaces_what_is_no_pack(run, book: Path, tmp_path: Path):
    mine = tmp_path / "mine.zip"
    mine.write_text("mine")
    result = run("pack", "friday", "-o", mine, "--book", book)
    assert result.exit_code == 2
    assert "is no pack" in result.stderr
    assert mine.read_text() == "mine"


def test_unpack_without_write_changes_nothing(run, pack: Path, tmp_path: Path):
    result = run("unpack", pack, "--into", tmp_path / "new")
    assert result.exit_code == 0
    assert "songs/harbour.toml      new" in result.stdout
    assert "say --write" in result.stdout
    assert not (tmp_path / "new").exists()


def test_unpack_makes_a_new_book_that_checks_as_the_old_one(run, run_json, pack: Path, book: Path, tmp_path: Path):
    assert run("unpack", pack, "--into", tmp_path / "new", "--write").exit_code == 0
    mine, theirs = (run_json("check", "friday", "--book", root)["findings"] for root in (book, tmp_path / "new"))
    assert mine == theirs


def test_unpacking_what_is_there_already_has_nothing_to_do(run, pack: Path, book: Path):
    result = run("unpack", pack, "--book", book, "--write")
    assert "all of it is there already" in result.stdout


def test_a_file_that_differs_stops_the_write_until_it_is_decided(run, pack: Path, book: Path):
    song = book / "songs/harbour.toml"
    song.write_text(song.read_text() + "# mine\n")
    (book / "songs/low-lantern.toml").unlink()
    before = files_under(book)
    result = run("unpack", pack, "--into", book, "--write")
    assert result.exit_code == 2
    assert "1 file of the book differs: songs/harbour.toml" in result.stderr
    assert files_under(book) == before


def test_a_file_that_is_taken_leaves_the_old_version_beside_it(run, run_json, pack: Path, book: Path):
    song = book / "songs/harbour.toml"
    theirs, mine = song.read_bytes(), song.read_bytes() + b"# mine\n"
    song.write_bytes(mine)
    data = run_json("unpack", pack, "--into", book, "--take", "songs/harbour.toml", "--write")
    assert song.read_bytes() == theirs
    assert (book / "songs/harbour.toml.old").read_bytes() == mine
    assert {
        "file": "songs/harbour.toml",
        "state": "differs",
        "fate": "replaced",
        "aside": "songs/harbour.toml.old",
    } in (data["files"])
    song.write_bytes(mine + b"# again\n")
    run("unpack", pack, "--into", book, "--take-rest", "--write")
    assert (book / "songs/harbour.toml.old").read_bytes() == mine
    assert (book / "songs/harbour.toml.old-2").read_bytes() == mine + b"# again\n"
    assert run("check", "--book", book).stderr == ""


def test_a_book_keeps_its_own_book_toml_and_hears_of_another_usual_rig(run, pack: Path, book: Path):
    own = 'format = 1\nname = "Another"\nrig = "small"\n'
    (book / "book.toml").write_text(own)
    result = run("unpack", pack, "--into", book, "--write", COLUMNS="200")
    assert result.exit_code == 0
    assert (book / "book.toml").read_text() == own
    assert 'put rig = "big" into the show' in result.stdout


def test_diff_shows_the_lines_that_differ(run, pack: Path, book: Path):
    song = book / "songs/harbour.toml"
    song.write_text(song.read_text().replace("5:30", "5:50"))
    shown = run("unpack", pack, "--into", book, "--diff").stdout
    assert '-duration = "5:50"' in shown
    assert '+duration = "5:30"' in shown


def test_a_name_that_is_not_in_the_pack_is_wrong_usage(run, pack: Path, book: Path):
    result = run("unpack", pack, "--into", book, "--take", "songs/harbor.toml")
    assert result.exit_code == 2
    assert 'did you mean "songs/harbour.toml"?' in result.stderr


def test_a_file_that_is_no_pack_is_told_as_data_too(run, run_json, tmp_path: Path):
    (tmp_path / "x.zip").write_bytes(b"not at all")
    assert run("unpack", tmp_path / "x.zip").exit_code == 2
    assert "no pack" in run_json("unpack", tmp_path / "x.zip")["errors"][0]["what"]


def test_a_folder_that_is_no_book_is_not_unpacked_into(run, pack: Path, tmp_path: Path):
    (tmp_path / "papers").mkdir()
    (tmp_path / "papers/letter.txt").write_text("dear")
    result = run("unpack", pack, "--into", tmp_path / "papers", "--write")
    assert result.exit_code == 2
    assert "neither a book nor an empty folder" in result.stderr


def test_nothing_is_unpacked_while_a_show_of_the_book_runs(
    run, pack: Path, book: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("showrunner.live.link.running", lambda folder: folder.name.startswith("friday"))
    (book / "songs/harbour.toml").unlink()
    result = run("unpack", pack, "--into", book, "--write")
    assert result.exit_code == 2
    assert "friday is being played" in result.stderr
    assert not (book / "songs/harbour.toml").exists()


def test_very_long_documents_are_shown_whole_not_compared(run, pack: Path, book: Path, monkeypatch: pytest.MonkeyPatch):
    """Comparing takes a time that may grow with the square of the lines: a pack could hold a command up for ever."""

    def never(*_: object, **__: object) -> None:
        raise AssertionError("it compares")

    monkeypatch.setattr("difflib.unified_diff", never)
    song = book / "songs/harbour.toml"
    lines = [f"# {number}" for number in range(4001)]
    song.write_text(song.read_text(encoding="utf-8") + "\n".join(lines), encoding="utf-8")
    result = run("unpack", pack, "--diff", "--book", book)
    assert "-# 4000" in result.stdout
    assert "+title" in result.stdout
