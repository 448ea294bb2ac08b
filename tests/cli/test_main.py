"""The group of commands: lazy, helpful about misspelt words, with --book on either side."""

import subprocess
import sys
from pathlib import Path

import pytest

from showrunner.cli.main import COMMANDS

MODULES_AFTER = """
import sys
from showrunner.cli.main import program
try:
    program(sys.argv[1:])
finally:
    print("LOADED", *sorted(sys.modules), file=sys.stderr)
"""


def loaded_by(*args: str) -> set[str]:
    done = subprocess.run([sys.executable, "-c", MODULES_AFTER, *args], capture_output=True, text=True, check=False)
    return set(done.stderr.split("LOADED", 1)[1].split())


def test_help_lists_every_command(run):
    result = run("--help")
    assert result.exit_code == 0
    words = result.stdout.split()
    assert all(name in words for name in COMMANDS)


def test_help_imports_no_command_and_no_heavy_library():
    modules = loaded_by("--help")
    assert not modules & {"pydantic", "textual", "mido", "tomlkit", "tomllib", "platformdirs", "typst", "json"}
    assert not modules & {entry.module for entry in COMMANDS.values()}


def test_alone_it_prints_help_and_says_what_to_try(run):
    result = run()
    assert result.exit_code == 0
    assert "Commands:" in result.stdout
    assert "showrunner demo" in result.stdout


def test_version_is_the_packages(run):
    from importlib.metadata import version

    assert run("--version").stdout == f"showrunner {version('showrunner')}\n"


def test_a_misspelt_command_is_answered_with_the_nearest(run):
    result = run("lisst")
    assert result.exit_code == 2
    assert 'no command "lisst"; did you mean "list"?' in result.stderr


def test_show_is_answered_with_the_command_that_prints_a_document(run):
    result = run("show", "pellmarsh-hall")
    assert result.exit_code == 2
    assert 'no command "show"; did you mean "read"?' in result.stderr


def test_a_misspelt_command_loads_no_command():
    modules = loaded_by("lisst")
    assert not modules & {entry.module for entry in COMMANDS.values()}
    assert "pydantic" not in modules


def test_an_unknown_command_is_json_when_json_was_wanted(run_json):
    data = run_json("lisst")
    assert data == {
        "errors": [
            {"what": 'no command "lisst"; did you mean "list"?', "mend": None, "file": None, "line": None, "key": None}
        ]
    }


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_examples_that_begin_with_the_program(name, run):
    result = run(name, "--help")
    assert result.exit_code == 0
    examples = [line.strip() for line in result.stdout.split("Examples:", 1)[1].splitlines() if line.strip()]
    assert examples
    assert all(line.startswith("showrunner ") and name in line.split() for line in examples)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_commands_help_fits_eighty_columns(name, run):
    assert max(map(len, run(name, "--help").stdout.splitlines())) <= 80


def test_the_book_may_stand_before_the_command_or_after_it_or_in_the_environment(run, book: Path):
    before = run("--book", book, "list", "songs")
    after = run("list", "songs", "--book", book)
    around = run("list", "songs", SHOWRUNNER_BOOK=str(book))
    assert before.exit_code == 0
    assert before.stdout == after.stdout == around.stdout


def test_the_book_after_the_command_wins(run, book: Path, tmp_path: Path):
    assert run("--book", tmp_path / "nowhere", "list", "songs", "--book", book).exit_code == 0


def test_without_a_book_it_says_how_to_make_one(run, tmp_path: Path):
    result = run("--book", tmp_path / "nowhere", "list", "songs")
    assert result.exit_code == 2
    assert "there is no book at" in result.stderr
    assert "showrunner init" in result.stderr


def test_a_closed_pipe_ends_it_quietly(book: Path):
    reader = subprocess.Popen(
        [sys.executable, "-m", "showrunner.cli", "--book", str(book), "read", "rig/big"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert reader.stdout is not None
    reader.stdout.close()
    assert reader.stderr is not None
    said = reader.stderr.read()
    reader.stderr.close()
    assert reader.wait() == 141
    assert said == b""
