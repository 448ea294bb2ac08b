import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book.problems import MissingBookError, Problem
from showrunner.book.read import read_book, read_document
from showrunner.model.library import KINDS
from showrunner.places import demo_book

BOOKS = Path(__file__).parents[1] / "books"
SONG = 'format = 1\ntitle = "Tin Lantern"\nduration = "4:00"\n'


def make(root: Path, files: dict[str, str | bytes]) -> Path:
    for name, content in {"book.toml": 'format = 1\nname = "B"\n', **files}.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(content.encode() if isinstance(content, str) else content)
    return root


def places(problems: tuple[Problem, ...]) -> list[tuple[str, int | None, str]]:
    return [(problem.file, problem.line, problem.key) for problem in problems]


def test_slips_of_the_pen_are_placed_and_hide_nothing() -> None:
    reading = read_book(BOOKS / "reading-syntax")
    assert list(reading.book.songs) == ["good"]
    assert places(reading.problems) == [
        ("rigs/no-equals.toml", 3, ""),
        ("shows/no-such-day.toml", 3, ""),
        ("songs/no-quotes.toml", 2, ""),
        ("songs/open-list.toml", 6, ""),
        ("songs/open-quotes.toml", 2, ""),
        ("songs/twice.toml", 4, ""),
    ]
    assert reading.unread >= {("song", "twice"), ("rig", "no-equals"), ("show", "no-such-day")}


def test_misspelt_keys_and_words_are_each_named_with_the_nearest_known() -> None:
    reading = read_book(BOOKS / "reading-misspelt")
    mends = [(problem.line, problem.key, problem.mend) for problem in reading.problems if problem.file != "book.toml"]
    assert mends == [
        (3, "routing", 'did you mean "through"?'),
        (6, "controls.swell.kind", 'did you mean "pedal"?'),
        (7, "controls.swell.limb", 'did you mean "right foot"?'),
        (2, "titel", 'did you mean "title"?'),
        (4, "tempo", 'did you mean "tempo_bpm"?'),
        (5, "zzz", mends[5][2]),
        (8, "start.by-hand", 'did you mean "by_hand"?'),
        (12, "curves.verse.swell.entri", 'did you mean "entry"?'),
        (14, "curves.verse.swell.moves.drive.value", 'did you mean "values"?'),
        (18, "cues[0].targts", 'did you mean "targets"?'),
    ]
    assert mends[5][2].startswith("known here are format, title, ")


def test_wrong_sorts_of_value_are_placed_and_said_in_plain_words() -> None:
    problems = read_book(BOOKS / "reading-types").problems
    said = {(problem.file, problem.line, problem.key): f"{problem.what}; {problem.mend}" for problem in problems}
    song, rig, tables = "songs/sorts.toml", "rigs/bounds.toml", "songs/tables.toml"
    assert said == {
        ("book.toml", 3, "rig"): "3 is a number; write text in quotes",
        (rig, 2, "title"): "the text holds a line break or another control character; write one line without them",
        (rig, 7, "ports.host.programs_count_from"): "7 can't be used here; write 0 or 1",
        (rig, 8, "ports.host.unmapped"): '"keep" can\'t be used here; '
        'write what no control owns: "drop", or "pass NAME" to send it on to the output NAME',
        (rig, 13, "controls.swell.channel"): "17 is too large; write at most 16",
        (rig, 14, "controls.swell.cc"): "128 is too large; write at most 127",
        (rig, 15, "controls.swell.rest"): "true is a yes or no; write text in quotes or a number",
        (rig, 19, "controls.knob.rest"): "150 is too large; write at most 100",
        (rig, 20, "controls.knob.calibration[1]"): "a pair needs two values; write two in square brackets",
        (rig, 23, 'batteries."driver cell".capacity_mah'): '"full" is text; write a number or a list'
        " in square brackets without quotes",
        (rig, 24, 'batteries."driver cell".load_ma'): "0 is too small; write more than 0",
        (rig, 25, 'batteries."driver cell".fitted'): '"2026-11-01" is text; write a date, as in 2026-11-28'
        " without quotes",
        (rig, 28, "instruments.baritone.tunings"): "this is empty; give it 1 at least",
        (song, 2, "title"): "7 is a number; write text in quotes",
        (song, 3, "tempo_bpm"): '"92" is text; write a number without quotes',
        (song, 4, "meter"): '"7/9" is not a meter; write it as in "4/4" or "7/8"',
        (song, 5, "duration"): 'a length is written in quotes, as in "6:40"; ',
        (song, 6, "capo"): "1.5 is not a whole number; write it without a decimal point",
        (song, 7, "count_in"): "2 is a number; write a table",
        (song, 8, "cues"): '"none" is text; write a list in square brackets without quotes',
        (song, 9, "trim_db"): "inf is no number to count with; write an ordinary number",
        (song, 12, "curves.verse.swell.travel[1]"): '"50" is text; write a number without quotes',
        (song, 12, "curves.verse.swell.travel[2]"): "130 is too large; write at most 100",
        (song, 14, "curves.verse.swell.moves.drive[1]"): "true is a yes or no; write a number",
        (tables, 5, "start"): "this is a list of tables where one table belongs;"
        " write [start] once, with single brackets",
        (tables, 8, "cues"): "this is one table where a list of them belongs; write [[cues]] with double brackets",
    }


def test_names_that_point_at_nothing_are_placed_on_their_lines() -> None:
    reading = read_book(BOOKS / "reading-references")
    assert len(reading.book.songs) == 2
    assert reading.unread == frozenset()
    found = places(reading.problems)
    assert ("songs/loose-ends.toml", 11, 'start.targets."delay mx"') in found
    assert ("songs/loose-ends.toml", 26, "cues[1].bar") in found
    assert ("shows/friday.toml", 11, "sets[0].songs[1].song") in found
    assert len(found) == 39


def test_a_file_of_another_format_is_told_so_and_nothing_else() -> None:
    problems = read_book(BOOKS / "reading-versions").problems
    assert [(problem.file, problem.line, problem.key) for problem in problems] == [
        ("songs/newer.toml", 1, "format"),
        ("songs/quoted.toml", 1, "format"),
        ("songs/unsaid.toml", 1, "format"),
        ("songs/yes.toml", 1, "format"),
    ]
    assert problems[0].what == "format 2 is newer than this version knows"
    assert problems[1].mend == "write format = 1"
    assert problems[0].mend.startswith("open it with the version of Showrunner that wrote it")


def test_a_song_with_a_bad_rig_beside_it_is_not_blamed(tmp_path: Path) -> None:
    root = make(tmp_path, {"songs/a.toml": SONG + "[start.targets]\ndrive = 3\n", "rigs/full.toml": "format ="})
    assert places(read_book(root).problems) == [("rigs/full.toml", 1, "")]


def test_there_is_no_book_where_there_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    for path in (tmp_path / "nowhere", tmp_path / "file"):
        with pytest.raises(MissingBookError, match=r"there is no book at .*; make one with showrunner init"):
            read_book(path)


def test_an_empty_folder_lacks_only_its_book_file(tmp_path: Path) -> None:
    reading = read_book(tmp_path)
    assert places(reading.problems) == [("book.toml", None, "")]
    assert reading.book.songs == {}


def test_files_of_other_sorts_and_hidden_ones_are_left_alone(tmp_path: Path) -> None:
    stray: dict[str, str | bytes] = {
        "songs/notes.txt": b"\xff",
        "songs/a.toml~": "x",
        "songs/.a.toml": "x",
        "songs/old/b.toml": "x",
        "readme.toml": "x",
        "takes/x.toml": "x",
    }
    assert read_book(make(tmp_path, stray)).problems == ()


def test_what_is_no_file_is_a_problem(tmp_path: Path) -> None:
    root = make(tmp_path, {"songs/good.toml": SONG, "shows": "not a folder"})
    (root / "songs/folder.toml").mkdir()
    (root / "songs/gone.toml").symlink_to(root / "nowhere")
    (root / "songs/round.toml").symlink_to(root / "songs/round.toml")
    os.mkfifo(root / "songs/pipe.toml")
    reading = read_book(root)
    assert [problem.file for problem in reading.problems] == [
        "shows",
        "songs/folder.toml",
        "songs/gone.toml",
        "songs/pipe.toml",
        "songs/round.toml",
    ]
    assert list(reading.book.songs) == ["good"]


def test_what_may_not_be_read_is_a_problem(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    root = make(tmp_path, {"songs/good.toml": SONG, "songs/secret.toml": SONG})
    real = open

    def refuse(path: object, *args: object, **kwargs: object) -> object:
        if "secret" in str(path):
            raise PermissionError(13, "Permission denied")
        return real(path, *args, **kwargs)  # type: ignore[call-overload]

    monkeypatch.setattr("showrunner.book.read.open", refuse, raising=False)
    reading = read_book(root)
    assert list(reading.book.songs) == ["good"]
    assert [problem.what for problem in reading.problems] == ["this can't be read (permission denied)"]


def test_a_folder_that_may_not_be_read_is_a_problem(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: object) -> object:
        raise PermissionError(13, "Permission denied")

    root = make(tmp_path, {})
    monkeypatch.setattr("showrunner.book.read.os.scandir", refuse)
    assert places(read_book(root).problems) == [
        (folder, None, "") for folder in ("checklists", "rigs", "shows", "songs", "venues")
    ]


def test_a_name_that_is_no_text_is_a_problem(tmp_path: Path) -> None:
    root = make(tmp_path, {"songs/good.toml": SONG})
    Path(os.fsdecode(os.fsencode(root) + b"/songs/\xff.toml")).write_text(SONG)
    (problem,) = read_book(root).problems
    assert problem.what == "the file's name has characters that can't be shown"
    assert str(problem).encode()


@pytest.mark.parametrize(
    ("source", "line", "what"),
    [
        (SONG.encode() + b'key = "\xe9"\n', 4, "the byte 0xE9 is not UTF-8 text"),
        (SONG.encode("utf-16"), 1, "the file is UTF-16 text"),
        (SONG.encode("utf-16-le"), 1, "the file is UTF-16 text"),
        (SONG.encode("utf-16-be"), 1, "the file is UTF-16 text"),
        (SONG.encode() + b'key = "\x00"', 4, "there is a character that can't stand here"),
        (SONG.encode() + b"capo = " + b"9" * 5000, 4, "this number has too many digits"),
        (SONG.encode() + b"capo = 0x" + b"f" * 5000, 4, "this enormous number is too large"),
        (SONG.encode() + b"capo = " + b"[" * 9000 + b"]" * 9000, 4, "lists or tables nest too deep"),
        (SONG.encode() + b"capo" + b".a" * 9000 + b" = 1", 4, "the keys nest too deep"),
        (SONG.encode() + b"#" * (1 << 20), None, "the file is larger than 1 MiB"),
        (SONG.encode() + b"tempo_bpm = 1" + b"0" * 400, 4, "this enormous number is out of all measure"),
        (SONG.encode() + b'"" = 1', 4, 'there is no key "" here'),
        (b"\xef\xbb\xbf" + SONG.encode() + b"capo = -1", 4, "-1 is too small"),
        (SONG.replace("\n", "\r\n").encode() + b"capo = -1\r\n", 4, "-1 is too small"),
        (SONG.encode() + b"capo = 1\rkey = 2\n", 4, "something is left over at the end of the line"),
    ],
)
def test_bytes_that_are_no_song_are_a_problem_with_its_line(
    tmp_path: Path, source: bytes, line: int | None, what: str
) -> None:
    (problem,) = read_book(make(tmp_path, {"songs/bad.toml": source})).problems
    assert (problem.file, problem.line, problem.what) == ("songs/bad.toml", line, what)


def test_a_byte_order_mark_and_two_character_line_ends_are_no_trouble(tmp_path: Path) -> None:
    reading = read_book(make(tmp_path, {"songs/a.toml": b"\xef\xbb\xbf" + SONG.replace("\n", "\r\n").encode()}))
    assert reading.problems == ()
    assert reading.line("song", "a", ("duration",)) == 3


def test_a_reading_knows_files_lines_and_sources(tmp_path: Path) -> None:
    reading = read_book(make(tmp_path, {"songs/a.toml": SONG}))
    assert reading.file("song", "a") == "songs/a.toml"
    assert reading.file("book") == "book.toml"
    assert reading.line("song", "a", ("cues", 0, "at")) == 1
    assert reading.line("song", "b", ("title",)) is None
    assert reading.line("book", "", ("name",)) == 2
    assert reading.sources["song", "a"] == SONG.encode()


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(sorted(KINDS)), st.binary(max_size=60))
def test_any_bytes_give_a_document_or_a_placed_problem(kind: str, source: bytes) -> None:
    document, problems = read_document(kind, "x", source)
    assert (document is None) == bool(problems)
    assert all(problem.line is not None and problem.what for problem in problems)


LINES = st.sampled_from(
    ["format = 1", 'title = "x"', 'duration = "1:00"', "[start]", "[[cues]]", "[controls.a]", "[[sets]]", "[trims]"]
)
KEYS = st.sampled_from(
    ["format", "title", "cues", "curves", "start", "targets", "tempo_bpm", "capo", "songs", "ports", "items", "gain"]
)
VALUES = st.recursive(
    st.sampled_from(["1", "-1", "1e400", "nan", '"x"', '"\\u0007"', "true", "2026-11-28", "20:45:00", '"6:40"']),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
        st.dictionaries(KEYS, inner, max_size=3).map(
            lambda table: "{" + ", ".join(f"{key} = {value}" for key, value in table.items()) + "}"
        ),
    ),
    max_leaves=6,
)
PAIRS = st.builds("{} = {}".format, KEYS, VALUES)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(KINDS)), st.lists(st.one_of(LINES, PAIRS), max_size=10))
def test_any_made_document_gives_itself_or_placed_problems(kind: str, lines: list[str]) -> None:
    document, problems = read_document(kind, "x", "\n".join(lines).encode())
    assert (document is None) == bool(problems)
    for problem in problems:
        assert problem.line is not None
        assert 1 <= problem.line <= max(len(lines), 1)
        assert problem.what
        assert str(problem).isprintable()


DEMO = {path.relative_to(demo_book()): path.read_bytes() for path in demo_book().rglob("*.toml")}


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_book_cut_and_pasted_at_random_still_reads_with_every_problem_placed(data: st.DataObject) -> None:
    files = dict(DEMO)
    for name in data.draw(st.lists(st.sampled_from(sorted(DEMO)), min_size=1, max_size=3)):
        lines = files[name].split(b"\n")
        at, length = data.draw(st.integers(0, len(lines))), data.draw(st.integers(0, 8))
        other = DEMO[data.draw(st.sampled_from(sorted(DEMO)))].split(b"\n")
        start = data.draw(st.integers(0, len(other)))
        lines[at : at + length] = other[start : start + data.draw(st.integers(0, 8))]
        files[name] = b"\n".join(lines)
    with tempfile.TemporaryDirectory() as folder:
        for name, content in files.items():
            (Path(folder) / name).parent.mkdir(parents=True, exist_ok=True)
            (Path(folder) / name).write_bytes(content)
        reading = read_book(Path(folder))
    lengths = {name.as_posix(): content.count(b"\n") + 1 for name, content in files.items()}
    assert all(1 <= (problem.line or 0) <= lengths[problem.file] for problem in reading.problems)
    assert len(reading.sources) == len(files)


def test_read_again_after_changes_it_is_as_if_read_anew_and_what_stayed_is_the_same_document(tmp_path: Path) -> None:
    songs = {f"songs/{name}.toml": SONG for name in ("stays", "changes", "breaks", "goes", "moves")}
    root = make(tmp_path, {**songs, "songs/mends.toml": "title = "})
    before = read_book(root)
    make(
        root,
        {
            "book.toml": 'format = 1\nname = "C"\nrig = "gone"\n',
            "songs/changes.toml": SONG.replace("4:00", "5:00"),
            "songs/breaks.toml": SONG.replace('"4:00"', "4"),
            "songs/mends.toml": SONG,
            "songs/comes.toml": SONG,
        },
    )
    (root / "songs/goes.toml").unlink()
    (root / "songs/moves.toml").rename(root / "songs/moved.toml")
    again = read_book(root, before)
    assert again == read_book(root)
    assert set(again.book.songs) == {"stays", "changes", "mends", "comes", "moved"}
    assert [problem.file for problem in again.problems] == ["book.toml", "songs/breaks.toml"]
    assert again.book.songs["stays"] is before.book.songs["stays"]
    assert again.book.songs["changes"] != before.book.songs["changes"]
