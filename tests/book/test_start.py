import json
import os
import re
import tomllib
from pathlib import Path

import pytest

from showrunner import places
from showrunner.book.problems import MissingBookError
from showrunner.book.read import read_book
from showrunner.book.save import SaveError
from showrunner.book.start import StartError, init, new, slug_of
from showrunner.model.cautions import LIFTING, MAINS
from showrunner.model.library import KINDS

TEMPLATES = places.templates() / "new"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "book.toml").write_text('format = 1\nname = "B"\n')
    return tmp_path


def test_an_empty_book_reads_without_a_problem_and_is_named_after_its_folder(tmp_path: Path) -> None:
    init(tmp_path / 'The "North" book', places.templates() / "book")
    reading = read_book(tmp_path / 'The "North" book')
    assert reading.problems == ()
    assert reading.book.name == 'The "North" book'
    assert list(tmp_path.iterdir()) == [reading.root]


def test_the_demo_book_is_copied_whole_and_reads_without_a_problem(tmp_path: Path) -> None:
    init(tmp_path / "demo", places.demo_book())
    reading = read_book(tmp_path / "demo")
    assert reading.problems == ()
    assert len(reading.book.songs) >= 14
    assert [path.name for path in (tmp_path / "demo").glob("takes/*/*")] == [
        path.name for path in places.demo_book().glob("takes/*/*")
    ]


def test_an_empty_folder_may_become_a_book(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    init(tmp_path / "empty", places.templates() / "book")
    assert (tmp_path / "empty" / "book.toml").is_file()


@pytest.mark.parametrize("name", ["folder", "file"])
def test_nothing_is_overwritten_by_a_start(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "mine.txt").write_text("mine")
    (tmp_path / "file").write_text("mine")
    with pytest.raises(StartError, match="is not an empty folder; give a new path"):
        init(tmp_path / name, places.templates() / "book")
    assert (tmp_path / "folder" / "mine.txt").read_text() == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "folder"]


def test_a_start_that_fails_half_way_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(StartError, match=r"no space left on device"):
        init(tmp_path / "book", places.templates() / "book")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_file_reads_without_a_problem_and_tells_the_editor_its_schema(root: Path, kind: str) -> None:
    path = new(root, kind, "Tin Lantern", [TEMPLATES])
    assert path == root / f"{kind}s" / "tin-lantern.toml"
    assert read_book(root).unread == frozenset()
    assert tomllib.loads(path.read_text("utf-8"))["title"] == "Tin Lantern"
    first, _, _ = path.read_text("utf-8").partition("\n")
    schema = path.parent / first.removeprefix("#:schema ")
    assert first == f"#:schema ../.showrunner/schemas/{kind}.json"
    assert json.loads(schema.read_text("utf-8"))["title"] == kind


@pytest.mark.parametrize("name", ['A "quoted" \\ name', "Ünïcode", "夜の灯台", "Con", "x" * 300])
def test_any_title_is_kept_as_it_is_given(root: Path, name: str) -> None:
    path = new(root, "song", name, [TEMPLATES])
    assert read_book(root).book.songs[path.stem].title == name


@pytest.mark.parametrize(
    ("name", "slug"),
    [
        ("Saltmarsh Signal", "saltmarsh-signal"),
        ("  Don't Wait -- Up! ", "dont-wait-up"),
        ("Ünïcode № 7", "unicode-no-7"),
        ("夜の灯台", "夜の灯台"),
        ("../../etc/x", "etc-x"),
        ("!?", ""),
        ("y" * 100, "y" * 60),
    ],
)
def test_a_title_makes_a_file_name(name: str, slug: str) -> None:
    assert slug_of(name) == slug


def test_a_name_that_some_system_keeps_for_itself_gets_the_kind_after_it(root: Path) -> None:
    assert new(root, "song", "Con", [TEMPLATES]).name == "con-song.toml"


def test_a_slug_that_is_taken_is_refused(root: Path) -> None:
    path = new(root, "song", "Tin Lantern", [TEMPLATES])
    before = path.read_bytes()
    with pytest.raises(StartError, match=r"songs/tin-lantern.toml is there already"):
        new(root, "song", "TIN lantern", [TEMPLATES])
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("name", "what"),
    [("!?", "makes no file name"), ("a\nb", "line break"), ("a" * 501, "too long"), ("", "no file name")],
)
def test_a_name_that_will_not_do_is_refused_and_nothing_made(root: Path, name: str, what: str) -> None:
    with pytest.raises(StartError, match=what):
        new(root, "song", name, [TEMPLATES])
    assert [path.name for path in root.iterdir()] == ["book.toml"]


def test_a_kind_that_is_none_is_refused_with_the_nearest(root: Path) -> None:
    with pytest.raises(StartError, match='there is no kind "songs"; did you mean "song"'):
        new(root, "songs", "x", [TEMPLATES])


def test_nothing_is_added_where_there_is_no_book(tmp_path: Path) -> None:
    with pytest.raises(MissingBookError):
        new(tmp_path / "nowhere", "song", "x", [TEMPLATES])


def test_a_schema_that_is_out_of_date_is_written_again(root: Path) -> None:
    new(root, "song", "One", [TEMPLATES])
    schema = root / ".showrunner" / "schemas" / "song.json"
    schema.write_text("{}")
    new(root, "song", "Two", [TEMPLATES])
    assert json.loads(schema.read_text("utf-8"))["title"] == "song"


def test_a_folder_that_can_not_be_made_is_said_in_words(root: Path) -> None:
    (root / "songs").write_text("in the way")
    with pytest.raises(SaveError, match=r"songs/x.toml can't be made \(file exists\)"):
        new(root, "song", "x", [TEMPLATES])


def test_a_new_checklist_begins_with_the_cautions_for_mains_and_lifting(root: Path) -> None:
    new(root, "checklist", "Load-in", [TEMPLATES])
    items = {item.ask: item for item in read_book(root).book.checklists["load-in"].items}
    assert (items["Mains"].answer, items["Mains"].critical) == (MAINS, True)
    assert items["Lifting"].answer == LIFTING


def test_a_starter_file_of_ones_own_comes_first(root: Path, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/song.toml").write_text('format = 1\ntitle = "@TITLE@"\nduration = "3:33"\n')
    assert 'duration = "3:33"' in new(root, "song", "Mine", [tmp_path / "mine", TEMPLATES]).read_text()
    assert "capacity" in new(root, "venue", "Theirs", [tmp_path / "mine", TEMPLATES]).read_text()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b'format = 1\ntitle = "@TITLE@"\nlenght = "3:33"\n', "song.toml:"),
        (b'format = 1\ntitle = "Always"\nduration = "3:33"\n', "song.toml: the starter file has no @TITLE@"),
        (b'format = 1\ntitle = "\xff"\n', "song.toml:2: the byte 0xFF is not UTF-8 text"),
    ],
)
def test_a_starter_file_that_won_t_do_is_said_with_its_place(
    root: Path, tmp_path: Path, text: bytes, says: str
) -> None:
    (tmp_path / "song.toml").write_bytes(text)
    with pytest.raises(StartError, match=re.escape(says)):
        new(root, "song", "Mine", [tmp_path, TEMPLATES])
    assert not (root / "songs/mine.toml").exists()
