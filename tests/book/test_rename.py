"""A document under another name: every reference follows."""

import shutil
from pathlib import Path

import pytest

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.problems import BookError
from showrunner.book.read import read_book
from showrunner.book.rename import renamed
from showrunner.book.save import ChangedError
from showrunner.book.transaction import apply
from showrunner.places import demo_book

WHAT = "renaming"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    shutil.copytree(demo_book(), tmp_path / "book", ignore=shutil.ignore_patterns(".*"))
    return tmp_path / "book"


def files(root: Path) -> dict[str, bytes]:
    return {
        file.relative_to(root).as_posix(): file.read_bytes()
        for file in sorted(root.rglob("*"))
        if file.is_file() and not file.name.startswith(".")
    }


def test_every_place_that_names_the_song_follows(root: Path) -> None:
    low = renamed(read_book(root), "song", "low-lantern", "Lower Lantern")
    apply(root, low.changes, WHAT)
    reading = read_book(root)
    assert low.slug == "lower-lantern"
    assert not reading.problems
    assert reading.book.songs["lower-lantern"].title == "Lower Lantern"
    assert "low-lantern" not in reading.book.songs
    texts = [text for name, text in files(root).items() if name.startswith("shows/")]
    assert not any(b"low-lantern" in text for text in texts)
    assert reading.book.shows["brackwater-field"].stand_ins["lower-lantern"] == {"strip": "sw 3"}
    assert b"# The small rig has no strip" in files(root)["shows/brackwater-field.toml"]


def test_what_would_change_is_shown_line_by_line_before_anything_is(root: Path) -> None:
    before = files(root)
    marram = renamed(read_book(root), "song", "marram", "Marram Grass").changes
    assert files(root) == before
    assert marram.new == ("songs/marram-grass.toml",)
    assert marram.gone == ("songs/marram.toml",)
    line = next(line for line in marram.lines if line.file == "shows/brackwater-field.toml")
    assert line.before == '    { song = "marram", then = "talk 0:45", optional = true },'
    assert line.after == '    { song = "marram-grass", then = "talk 0:45", optional = true },'
    assert before["shows/brackwater-field.toml"].decode().splitlines()[line.line - 1] == line.before
    assert "[tonight.marram-grass]" in [line.after for line in marram.lines]


def test_takes_go_with_their_song(root: Path) -> None:
    takes = [name for name in files(root) if name.startswith("takes/saltmarsh-signal/")]
    apply(root, renamed(read_book(root), "song", "saltmarsh-signal", "Saltmarsh Light").changes, WHAT)
    assert takes
    assert [name.replace("-signal/", "-light/") for name in takes] == [
        name for name in files(root) if name.startswith("takes/")
    ]


def test_taken_back_all_files_are_as_they_were(root: Path) -> None:
    before = files(root)
    changes = renamed(read_book(root), "song", "saltmarsh-signal", "Saltmarsh Light").changes
    apply(root, changes, WHAT)
    apply(root, changes.inverse, WHAT)
    assert files(root) == before


def test_a_file_that_changed_in_the_meantime_stops_it_before_anything_is_done(root: Path) -> None:
    changes = renamed(read_book(root), "song", "marram", "Marram Grass").changes
    file = root / "shows" / "oxcote-theatre.toml"
    file.write_bytes(file.read_bytes() + b"# mine\n")
    before = files(root)
    with pytest.raises(ChangedError, match="oxcote-theatre"):
        apply(root, changes, WHAT)
    assert files(root) == before


def test_only_the_title_changes_where_the_file_name_stays(root: Path) -> None:
    same = renamed(read_book(root), "song", "marram", "MARRAM")
    apply(root, same.changes, WHAT)
    assert same.slug == "marram"
    assert read_book(root).book.songs["marram"].title == "MARRAM"


@pytest.mark.parametrize(
    ("kind", "slug", "title"),
    [
        ("rig", "small", "Light Rig"),
        ("venue", "pellmarsh-hall", "Pellmarsh Old Hall"),
        ("checklist", "load-in", "Loading In"),
        ("show", "pellmarsh-hall", "Pellmarsh in December"),
    ],
)
def test_other_documents_are_renamed_as_well(root: Path, kind: str, slug: str, title: str) -> None:
    apply(root, renamed(read_book(root), kind, slug, title).changes, WHAT)
    assert not read_book(root).problems
    assert not (root / f"{kind}s" / f"{slug}.toml").exists()


@pytest.mark.parametrize(
    "written",
    [
        "[tonight.a]\ncapo = 2 # high\n",
        '[tonight]\n"a" = { capo = 2 }\n',
        "[tonight]\na.capo = 2\n",
        "tonight.a.capo = 2\n",
        "tonight = { a = { capo = 2 } }\n",
        "tonight = { a.capo = 2 }\n",
        "[ tonight . 'a' ]\ncapo = 2\n",
    ],
)
def test_a_song_that_is_a_key_is_renamed_however_it_is_written(tmp_path: Path, written: str) -> None:
    for folder in ("songs", "shows"):
        (tmp_path / folder).mkdir()
    (tmp_path / "book.toml").write_text('format = 1\nname = "B"\n')
    (tmp_path / "songs" / "a.toml").write_text('format = 1\ntitle = "A"\nduration = "1:00"\n')
    show = f'format = 1\ntitle = "Night"\nreserve = ["a"]\n{written}'
    (tmp_path / "shows" / "night.toml").write_text(show)
    apply(tmp_path, renamed(read_book(tmp_path), "song", "a", "Bee").changes, WHAT)
    reading = read_book(tmp_path)
    assert not reading.problems
    assert reading.book.shows["night"].tonight["bee"].capo == 2


@pytest.mark.parametrize(("title", "says"), [("Eel Road", "there already"), ("  ", "no file name")])
def test_a_name_that_will_not_do_is_refused(root: Path, title: str, says: str) -> None:
    with pytest.raises(BookError, match=says):
        renamed(read_book(root), "song", "marram", title)


def test_a_show_that_can_not_be_read_stops_it(root: Path) -> None:
    (root / "shows" / "oxcote-theatre.toml").write_text("title = \n")
    with pytest.raises(BookError, match="oxcote-theatre"):
        renamed(read_book(root), "song", "marram", "Marram Grass")


def test_a_new_file_is_taken_back_only_while_it_is_as_it_was_made(root: Path) -> None:
    made = FileChanges((FileChange("songs/new.toml", None, b"format = 1\n"),))
    apply(root, made, WHAT)
    (root / "songs" / "new.toml").write_bytes(b"format = 1\n# mine\n")
    with pytest.raises(ChangedError):
        apply(root, made.inverse, WHAT)
    assert (root / "songs" / "new.toml").exists()
