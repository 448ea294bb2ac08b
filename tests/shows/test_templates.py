"""Starter files can be used as they are, and what they show in comments works too."""

import re
import tomllib

import pytest

from showrunner.checks.run import check
from showrunner.model.library import KINDS, Book, BookFile
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.places import templates

EXAMPLE = re.compile(r"#(?!:)(?=\S|    \S)")


def starter(kind: str, *, examples: bool = False) -> str:
    text = (templates() / "new" / f"{kind}.toml").read_text(encoding="utf-8")
    text = text.replace("@SCHEMA@", "schema.json").replace("@TITLE@", "A new one")
    if not examples:
        return text
    lines = [EXAMPLE.sub("", line, count=1) for line in text.splitlines()]
    return "\n".join(lines).replace("\nsongs = []\n", "\n")


def home_rig() -> Rig:
    text = (templates() / "book" / "rigs" / "home.toml").read_text(encoding="utf-8")
    return Rig.model_validate(tomllib.loads(text))


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_file_names_its_schema_first_and_holds_its_title(kind: str) -> None:
    text = (templates() / "new" / f"{kind}.toml").read_text(encoding="utf-8")
    assert text.startswith("#:schema @SCHEMA@\n")
    assert 'title = "@TITLE@"\n' in text


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_file_is_valid_as_it_is(kind: str) -> None:
    assert KINDS[kind].model_validate(tomllib.loads(starter(kind))).model_dump()["title"] == "A new one"


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_file_is_valid_with_its_examples_taken_in(kind: str) -> None:
    plain, full = (KINDS[kind].model_validate(tomllib.loads(starter(kind, examples=e))) for e in (False, True))
    assert full != plain


@pytest.mark.parametrize("examples", [False, True])
def test_a_new_song_has_no_findings_on_a_new_books_rig(examples: bool) -> None:
    song = Song.model_validate(tomllib.loads(starter("song", examples=examples)))
    book = Book(rig="home", rigs={"home": home_rig()}, songs={"new": song})
    assert [finding for finding in check(book) if finding.level != "note"] == []


def test_a_new_books_rig_is_the_one_its_book_file_names() -> None:
    text = (templates() / "book" / "book.toml").read_text(encoding="utf-8")
    assert BookFile.model_validate(tomllib.loads(text)).rig == "home"
    assert home_rig().title == "Home rig"
