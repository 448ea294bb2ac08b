"""A packed show: what goes in, the same bytes out, and no damage or trick that gets past."""

import io
import os
import stat
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book import transaction
from showrunner.book.pack import contents, needed
from showrunner.book.pack_into import compared, decided, put
from showrunner.book.pack_manifest import Contents, PackError, refused, written
from showrunner.book.pack_zip import packed, unpacked
from showrunner.book.problems import BookError
from showrunner.book.read import read_book
from showrunner.book.safe_names import unsafe
from showrunner.book.save import SaveError
from showrunner.places import demo_book

MODEST = settings(max_examples=60, deadline=None)
BOOK = b'format = 1\nname = "Small"\n'
SHOW = b'format = 1\ntitle = "One night"\n[[sets]]\nsongs = [{ song = "marsh" }]\n'
SONG = b'\xef\xbb\xbf# with a mark and other line ends\r\nformat = 1\r\ntitle = "Marsh"\r\nduration = "3:00"\r\n'
SMALL = Contents(
    "night",
    "One night",
    None,
    {"book.toml": BOOK, "shows/night.toml": SHOW, "songs/marsh.toml": SONG, "takes/marsh/1.mid": b"MThd\0"},
)


def rezipped(files: dict[str, bytes], mode: int = stat.S_IFREG | 0o644, way: int = zipfile.ZIP_STORED) -> bytes:
    """An archive with these entries, as anybody could make it."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", way) as archive:
        for name, source in files.items():
            entry = zipfile.ZipInfo(name)
            entry.external_attr, entry.compress_type = mode << 16, way
            archive.writestr(entry, source)
    return made.getvalue()


def pack_of(files: dict[str, bytes], **extra: bytes) -> bytes:
    """A pack with a true list of these files, and further entries that are not in it."""
    return rezipped({"pack.toml": written(SMALL._replace(files=files)), **files, **extra})


def unpack_whole(root: Path, inside: Contents) -> None:
    coming = compared(root, inside)
    put(root, decided(root, coming, take=(), keep=(), otherwise="undecided"), "unpacking night")


def files_under(root: Path) -> dict[str, bytes]:
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()}


def test_a_show_of_the_demo_book_comes_out_byte_for_byte(tmp_path: Path):
    reading = read_book(demo_book())
    inside = contents(reading, "oxcote-theatre", takes=True)
    assert inside.lacks == ()
    unpack_whole(tmp_path / "new", unpacked(packed(inside)).contents)
    got = files_under(tmp_path / "new")
    assert got == {file: (demo_book() / file).read_bytes() for file in inside.files}
    assert "takes/saltmarsh-signal/2026-11-14.mid" in got
    assert not read_book(tmp_path / "new").problems


def test_only_what_the_show_needs_goes_in():
    files = contents(read_book(demo_book()), "brackwater-field").files
    assert "rigs/small.toml" in files
    assert "songs/tin-harbour.toml" not in files
    assert "shows/pellmarsh-hall.toml" not in files
    assert not any(file.startswith("takes/") for file in files)


def test_takes_of_the_songs_and_of_the_show_and_its_runs_go_in_where_wanted(tmp_path: Path):
    more = {
        "takes/night/1.mid": b"whole",
        "takes/other/1.mid": b"no",
        "runs/night/1.jsonl": b"{}",
        "runs/night/1.closed.json": b"{}",
        "runs/x/1.jsonl": b"",
    }
    for file, source in {**SMALL.files, **more}.items():
        (tmp_path / file).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / file).write_bytes(source)
    files = contents(read_book(tmp_path), "night", takes=True, runs=True).files
    assert {"takes/marsh/1.mid", "takes/night/1.mid", "runs/night/1.jsonl", "runs/night/1.closed.json"} < files.keys()
    assert not {"takes/other/1.mid", "runs/x/1.jsonl"} & files.keys()


def test_the_usual_rig_goes_in_beside_the_shows_own_so_that_no_name_is_lost():
    assert {("rig", "small"), ("rig", "full")} <= needed(read_book(demo_book()).book, "brackwater-field")


def test_a_rig_that_knows_what_songs_name_goes_in_too(tmp_path: Path):
    rig = 'format = 1\ntitle = "R"\n[controls.{}]\nkind = "knob"\nlimb = "left hand"\npositions = ["a", "b"]\n'
    for name in ("one", "two", "three"):
        (tmp_path / "rigs").mkdir(exist_ok=True)
        (tmp_path / f"rigs/{name}.toml").write_text(
            rig.format(name).replace("left hand", "picking hand").replace("knob", "selector")
        )
    (tmp_path / "songs").mkdir()
    (tmp_path / "shows").mkdir()
    (tmp_path / "book.toml").write_bytes(BOOK + b'rig = "one"\n')
    (tmp_path / "songs/marsh.toml").write_bytes(SONG + b'[start]\nby_hand = { two = "a" }\n')
    (tmp_path / "shows/night.toml").write_bytes(SHOW)
    reading = read_book(tmp_path)
    assert reading.problems == ()
    assert {slug for kind, slug in needed(reading.book, "night") if kind == "rig"} == {"one", "two"}


def test_the_same_show_makes_the_same_bytes():
    reading = read_book(demo_book())
    assert packed(contents(reading, "pellmarsh-hall")) == packed(contents(reading, "pellmarsh-hall"))


def test_any_zip_program_reads_a_pack_and_no_time_of_making_is_in_it():
    with zipfile.ZipFile(io.BytesIO(packed(SMALL))) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["pack.toml", *sorted(SMALL.files)]
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_a_pack_that_was_zipped_anew_with_compression_is_read():
    again = rezipped({"pack.toml": written(SMALL), **SMALL.files}, way=zipfile.ZIP_DEFLATED)
    assert unpacked(again).contents == unpacked(packed(SMALL)).contents


SLUGS = st.text(st.characters(categories=["Ll", "Nd"]) | st.sampled_from("- _'"), min_size=1, max_size=12).filter(
    lambda slug: unsafe(slug) is None and unsafe(f"{slug}.toml") is None
)


@MODEST
@given(data=st.data())
def test_whatever_is_packed_comes_out_byte_for_byte_in_an_empty_folder(data, tmp_path_factory: pytest.TempPathFactory):
    songs = data.draw(st.lists(SLUGS, max_size=4, unique_by=str.casefold))
    ends = st.text(st.characters(categories=["L", "N", "P", "S"]), max_size=20)
    files = dict(SMALL.files)
    for song in songs:
        files[f"songs/{song}.toml"] = SONG + f"# {data.draw(ends)}".encode()
        files[f"takes/{song}/a.mid"] = data.draw(st.binary(max_size=60))
        files[f"runs/night/{song}.jsonl"] = data.draw(st.binary(max_size=60))
    root = tmp_path_factory.mktemp("unpacked")
    unpack_whole(root, unpacked(packed(SMALL._replace(files=files))).contents)
    assert files_under(root) == files


@MODEST
@given(data=st.data())
def test_any_damaged_byte_gives_a_clear_error_or_harms_nothing(data):
    whole = packed(SMALL)
    place = data.draw(st.integers(0, len(whole) - 1))
    damaged = whole[:place] + bytes([data.draw(st.integers(0, 255))]) + whole[place + 1 :]
    try:
        got = unpacked(damaged).contents
    except PackError:
        got = None
    assert got in (None, unpacked(whole).contents)


@MODEST
@given(data=st.data())
def test_a_pack_that_breaks_off_or_is_no_pack_gives_a_clear_error(data):
    whole = packed(SMALL)
    cut = data.draw(st.integers(0, len(whole) - 1).map(lambda end: whole[:end]) | st.binary(max_size=200))
    with pytest.raises(PackError):
        unpacked(cut)


@pytest.mark.parametrize(
    "path",
    [
        "../outside.toml",
        "songs/../../outside.toml",
        "/etc/songs.toml",
        "songs\\outside.toml",
        "C:/songs/x.toml",
        "songs/C:x.toml",
        "songs/con.toml",
        "songs/LPT1.toml",
        "songs/com¹.toml",
        "songs/.hidden.toml",
        "songs/deep/down.toml",
        "songs//x.toml",
        "songs/line\nbreak.toml",
        "songs/x.toml ",
        "songs/a?.toml",
        ".showrunner/schemas/song.json",
        "takes/song/../../x.mid",
        "takes/song./x.mid",
        "takes/x.exe",
        "Songs/x.toml",
        "pack.toml",
        "",
    ],
)
def test_a_path_that_leads_out_of_the_book_or_that_some_system_can_t_have_is_refused(path):
    # reserved names and characters: Microsoft, "Naming Files, Paths, and Namespaces"
    assert refused(path) is not None
    with pytest.raises(PackError):
        unpacked(pack_of({**SMALL.files, path: SONG}))


def test_two_files_that_are_one_on_some_systems_are_refused():
    with pytest.raises(PackError, match="one file on some systems"):
        unpacked(pack_of({**SMALL.files, "songs/Marsh.toml": SONG}))


def test_a_link_in_a_pack_is_refused():
    link = rezipped({"pack.toml": written(SMALL), **SMALL.files}, mode=stat.S_IFLNK | 0o777)
    with pytest.raises(PackError, match="no plain file"):
        unpacked(link)


def test_a_way_of_packing_that_is_not_read_here_is_refused():
    other = rezipped({"pack.toml": written(SMALL), **SMALL.files}, way=zipfile.ZIP_BZIP2)
    with pytest.raises(PackError, match="not read here"):
        unpacked(other)


def test_a_file_that_is_not_in_the_list_is_refused():
    with pytest.raises(PackError, match="not in its list"):
        unpacked(pack_of(dict(SMALL.files), **{"songs/more.toml": SONG}))


def test_a_digest_that_does_not_fit_is_refused():
    other = {**SMALL.files, "songs/marsh.toml": SONG.replace(b"3:00", b"9:00")}
    with pytest.raises(PackError, match=r"songs/marsh\.toml .* digest"):
        unpacked(rezipped({"pack.toml": written(SMALL), **other}))


def test_a_file_that_unfolds_to_more_than_the_list_says_is_refused_unread():
    bomb = rezipped(
        {"pack.toml": written(SMALL), **SMALL.files, "takes/marsh/1.mid": bytes(50 << 20)}, way=zipfile.ZIP_DEFLATED
    )
    assert len(bomb) < 1 << 20
    with pytest.raises(PackError, match="not as long as"):
        unpacked(bomb)


def test_a_list_of_more_than_any_show_needs_is_refused():
    huge = written(SMALL).replace(b"bytes = 5,", b"bytes = 60000000,")
    huge += b"".join(
        b'"runs/night/%d.jsonl" = { bytes = 60000000, sha256 = "%s" }\n' % (n, b"0" * 64) for n in range(5)
    )
    with pytest.raises(PackError, match="larger than any show"):
        unpacked(rezipped({"pack.toml": huge, **SMALL.files}))


def test_a_pack_of_a_newer_format_says_so_with_its_line():
    newer = written(SMALL).replace(b"format = 1", b"format = 2\nparts = 3")
    with pytest.raises(PackError) as caught:
        unpacked(rezipped({"pack.toml": newer, **SMALL.files}))
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.key) == ("pack.toml", 2, "format")
    assert "version of Showrunner that wrote it" in problem.mend


def test_a_document_of_a_pack_that_can_t_be_read_is_said_with_file_and_line():
    with pytest.raises(PackError) as caught:
        unpacked(pack_of({**SMALL.files, "songs/marsh.toml": SONG.replace(b"duration", b"durration")}))
    assert {problem.file for problem in caught.value.problems} == {"songs/marsh.toml"}
    assert 4 in {problem.line for problem in caught.value.problems}


def test_a_link_out_of_the_book_is_not_written_through(tmp_path: Path):
    root, outside = tmp_path / "book", tmp_path / "outside"
    root.mkdir()
    outside.mkdir()
    (root / "book.toml").write_bytes(BOOK)
    (root / "songs").symlink_to(outside)
    with pytest.raises(PackError) as caught:
        compared(root, SMALL)
    assert {problem.file for problem in caught.value.problems} == {"songs/marsh.toml"}


def test_a_file_whose_name_the_book_has_in_other_capitals_is_refused(tmp_path: Path):
    (tmp_path / "songs").mkdir()
    (tmp_path / "book.toml").write_bytes(BOOK)
    (tmp_path / "songs/Marsh.toml").write_bytes(SONG)
    with pytest.raises(PackError) as caught:
        compared(tmp_path, SMALL)
    assert '"Marsh.toml"' in caught.value.problems[0].what


def test_a_write_that_fails_half_way_leaves_the_book_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "songs").mkdir()
    (tmp_path / "book.toml").write_bytes(BOOK)
    (tmp_path / "songs/marsh.toml").write_bytes(b"# mine\n" + SONG.lstrip(b"\xef\xbb\xbf"))
    before = files_under(tmp_path)
    plan = decided(tmp_path, compared(tmp_path, SMALL), take=(), keep=(), otherwise="replaced")
    real, count = transaction.save, iter(range(9))

    def fails_at_the_third(path: Path, source: bytes, was: str | None) -> str:
        if next(count) == 2:
            raise SaveError("the disk is full")
        return real(path, source, was)

    monkeypatch.setattr(transaction, "save", fails_at_the_third)
    with pytest.raises(SaveError):
        put(tmp_path, plan, "unpacking night")
    assert files_under(tmp_path) == before


def test_folders_that_unpack_did_not_make_stay_as_they_were(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    for name in (".spare.new", ".empty.new", "empty"):
        (tmp_path / name).mkdir(mode=0o750)
    (tmp_path / ".spare.new/mine.txt").write_text("mine")
    empty = (tmp_path / "empty").stat()
    plan = decided(tmp_path / "spare", compared(tmp_path / "spare", SMALL), take=(), keep=(), otherwise="undecided")

    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fail)
        for root in (tmp_path / "spare", tmp_path / "far/away/spare", tmp_path / "empty"):
            with pytest.raises(BookError, match="no space left on device"):
                put(root, plan, "unpacking night")
    assert files_under(tmp_path) == {".spare.new/mine.txt": b"mine"}
    assert sorted(os.listdir(tmp_path)) == [".empty.new", ".spare.new", "empty"]
    for root in (tmp_path / "spare", tmp_path / "far/away/spare", tmp_path / "empty"):
        put(root, plan, "unpacking night")
        assert files_under(root) == SMALL.files
    assert (tmp_path / ".spare.new/mine.txt").read_text() == "mine"
    now = (tmp_path / "empty").stat()
    assert (now.st_ino, now.st_mode) == (empty.st_ino, empty.st_mode)


def test_what_can_t_be_read_is_left_out_and_said(tmp_path: Path):
    for file, source in SMALL.files.items():
        (tmp_path / file).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / file).write_bytes(source)
    (tmp_path / "songs/marsh.toml").write_bytes(b"format = 1\ntitle =\n")
    inside = contents(read_book(tmp_path), "night")
    assert set(inside.files) == {"book.toml", "shows/night.toml"}
    assert inside.lacks[0].startswith("songs/marsh.toml:2:")
    assert unpacked(packed(inside)).manifest.lacks == inside.lacks
