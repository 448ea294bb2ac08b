"""Whatever is typed or written: an answer and an exit code, never a traceback."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.cli.common import PLURALS
from showrunner.cli.main import COMMANDS, program

WORDS = st.text(max_size=20) | st.sampled_from(
    ["", "-", "--", "--at", "--rig", "--book", "low-lantern", "friday", "big"]
)
READING = [name for name in COMMANDS if name not in ("demo", "init", "new", "listen", "play", "rehearse")]
MODEST = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def answer(book: Path, words: list[str]) -> tuple[int, str]:
    result = CliRunner(env={"SHOWRUNNER_BOOK": str(book)}).invoke(program, words)
    assert result.exception is None or isinstance(result.exception, SystemExit), (words, result.exception)
    assert result.exit_code in (0, 1, 2), words
    return result.exit_code, result.stdout


@MODEST
@given(words=st.lists(WORDS, max_size=4))
def test_any_words_get_an_answer(words, book: Path):
    answer(book, words)


@MODEST
@given(name=st.sampled_from(READING), words=st.lists(WORDS, max_size=3))
def test_any_words_after_a_command_get_an_answer(
    name, words, book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.chdir(tmp_path)
    answer(book, [name, *words])


@MODEST
@given(name=st.sampled_from(["read", "check", "curve", "time", "sheet"]), word=st.text(max_size=20))
def test_any_slug_gets_json_with_errors_or_a_report(name, word, book: Path):
    code, out = answer(book, [name, "--json", "--", word])
    assert ("errors" in json.loads(out)) == (code == 2)


@MODEST
@given(kind=st.sampled_from([*PLURALS]), name=st.text(max_size=80))
def test_any_name_makes_a_file_that_reads_or_is_refused(kind, name, book: Path):
    code, _ = answer(book, ["new", kind, "--", name])
    assert code in (0, 2)
    assert answer(book, ["check"])[0] in (0, 1)


@MODEST
@given(text=st.text(max_size=60))
def test_any_table_of_wishes_gets_an_answer(text, book: Path, tmp_path: Path):
    (tmp_path / "table.csv").write_text(text, encoding="utf-8")
    answer(book, ["curve", "low-lantern", "--from-table", str(tmp_path / "table.csv"), "--write"])
    assert answer(book, ["read", "low-lantern"])[0] == 0


@MODEST
@given(text=st.text(max_size=60))
def test_any_text_in_a_file_is_told_with_its_place(text, book: Path):
    (book / "songs/harbour.toml").write_text(text, encoding="utf-8")
    code, out = answer(book, ["read", "song/harbour", "--json"])
    assert code == 2
    assert {error["file"] for error in json.loads(out)["errors"]} == {"songs/harbour.toml"}
