"""`init`, `new` and `schema`."""

import json
from pathlib import Path

import pytest

from showrunner.cli.common import PLURALS


def test_init_makes_a_book_that_checks_clean(run, tmp_path: Path):
    result = run("init", tmp_path / "mine")
    assert result.exit_code == 0
    assert result.stdout.startswith(f"made the book {tmp_path / 'mine'}")
    assert run("check", "--book", tmp_path / "mine").exit_code == 0


def test_init_demo_makes_a_copy_of_the_demo_book(run, run_json, tmp_path: Path):
    data = run_json("init", tmp_path / "try", "--demo")
    assert "book.toml" in data["files"]
    assert run("list", "songs", "--book", tmp_path / "try").exit_code == 0


def test_init_refuses_a_folder_with_something_in_it(run, book: Path):
    result = run("init", book)
    assert result.exit_code == 2
    assert "is not an empty folder" in result.stderr


@pytest.mark.parametrize("kind", PLURALS)
def test_new_adds_a_file_of_each_kind_that_reads(kind, run, run_json, book: Path):
    data = run_json("new", kind, "Quiet Mill", "--book", book)
    assert data == {"kind": kind, "slug": "quiet-mill", "file": f"{kind}s/quiet-mill.toml"}
    result = run("read", f"{kind}/quiet-mill", "--book", book)
    assert result.exit_code == 0
    assert result.stderr == ""


def test_new_refuses_a_name_that_is_taken(run, book: Path):
    before = (book / "songs/low-lantern.toml").read_bytes()
    result = run("new", "song", "Low Lantern", "--book", book)
    assert result.exit_code == 2
    assert "songs/low-lantern.toml is there already" in result.stderr
    assert (book / "songs/low-lantern.toml").read_bytes() == before


@pytest.mark.parametrize("kind", [*PLURALS, "book"])
def test_schema_prints_the_json_schema_of_a_kind(kind, run):
    data = json.loads(run("schema", kind).stdout)
    assert data["title"] == kind
    assert "format" in data["properties"]


def test_schema_of_an_unknown_kind_is_wrong_usage(run):
    result = run("schema", "sonk")
    assert result.exit_code == 2
    assert 'did you mean "song"?' in result.stderr


def test_new_takes_the_users_own_starter_file_first(run, book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("showrunner.places.user_templates", lambda: tmp_path / "mine")
    (tmp_path / "mine/new").mkdir(parents=True)
    (tmp_path / "mine/new/venue.toml").write_text('format = 1\ntitle = "@TITLE@"\nkind = "club"\ncurfew = "22:30"\n')
    assert run("new", "venue", "Quay Rooms", "--book", book).exit_code == 0
    assert 'curfew = "22:30"' in (book / "venues/quay-rooms.toml").read_text()
    assert run("new", "--templates").stdout.splitlines()[0] == f"yours:        {tmp_path / 'mine' / 'new'}"
