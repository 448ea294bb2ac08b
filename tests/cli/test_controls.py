"""Nothing that a file, a port or a name says steers the terminal: every command on a book full of controls."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from planted import COLOUR, RAW, ROUND, TITLE, planted

from showrunner.cli.main import COMMANDS, program
from showrunner.live.fake import FakeSystem
from showrunner.model.visible import Shown, visible, visible_line

SHOW, SONG = "pellmarsh-hall", "saltmarsh-signal"


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planted(tmp_path_factory.mktemp("planted") / "book")


COMMAND_LINES = [
    "list songs",
    "list shows",
    "list rigs",
    "list venues",
    "list checklists",
    f"read {SHOW}",
    f"read {SONG}",
    "read rig/full",
    "read venue/pellmarsh-hall",
    "read checklist/load-in",
    "check",
    f"check {SHOW}",
    "rigs full small",
    "standins brackwater-field --rig small",
    f"curve {SONG}",
    f"curve {SONG} --plot",
    f"time {SHOW}",
    f"changeovers {SHOW}",
    "order brackwater-field",
    f"batteries {SHOW}",
    f"trims {SHOW}",
    f"soundcheck {SHOW}",
    *(
        f"sheet {SHOW} --for {who} --format {form}"
        for who, form in zip(("floor", "player", "crew", "desk"), ("text", "md", "html", "csv"), strict=True)
    ),
    f"checklist {SHOW}",
    f"takes {SONG}",
    f"progress {SONG}",
    f"log {SHOW}",
    f"log {SHOW} --close",
    f"replay {SONG}/steers",
    f"rehearse {SONG} --plain --times 1 --help",
    "ports",
    f"play {SHOW} --status",
    f"read no{TITLE}{COLOUR}{ROUND}",
    f"check no{TITLE}",
    f"curve {SONG} --set no{TITLE}",
    f"no{TITLE}",
    f"read {SONG} --json",
    f"log {SHOW} --json",
]


@pytest.mark.parametrize("words", COMMAND_LINES)
def test_no_command_writes_a_raw_control(
    words: str, hostile: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr("showrunner.live.kept.real_system", lambda: FakeSystem((f"Floor{TITLE}{COLOUR}",), ()))
    monkeypatch.chdir(tmp_path)
    result = CliRunner(env={"SHOWRUNNER_BOOK": str(hostile)}).invoke(program, words.split())
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.output
    assert RAW.findall(result.output) == []


def test_the_book_has_what_the_commands_make_visible(hostile: Path) -> None:
    result = CliRunner(env={"SHOWRUNNER_BOOK": str(hostile)}).invoke(program, ["log", SHOW])
    assert "\u241b]0;x\u2407" in result.output
    assert "\ufffd31m" in result.output
    result = CliRunner(env={"SHOWRUNNER_BOOK": str(hostile)}).invoke(program, ["takes", SONG])
    assert "2026\u241b]0;x\u2407\ufffd31m" in result.output


def test_a_pack_shows_no_raw_control_in_what_differs(hostile: Path, tmp_path: Path) -> None:
    pack, runner = tmp_path / "show.zip", CliRunner(env={"SHOWRUNNER_BOOK": str(hostile)})
    assert runner.invoke(program, ["pack", SHOW, "-o", str(pack)]).exit_code in (0, 1)
    other = planted(tmp_path / "other")
    song = other / "songs" / f"{SONG}.toml"
    song.write_text(song.read_text(encoding="utf-8") + f"# {TITLE}{COLOUR}{ROUND}\n", encoding="utf-8")
    result = CliRunner(env={"SHOWRUNNER_BOOK": str(other)}).invoke(program, ["unpack", str(pack), "--diff"])
    assert "\u241b]0;x\u2407\ufffd31m\ufffd" in result.output
    assert RAW.findall(result.output) == []


def test_names_on_the_command_line_are_shown_on_one_line(tmp_path: Path) -> None:
    result = CliRunner().invoke(program, ["--book", f"{tmp_path}/a{TITLE}\nb{COLOUR}", "list", "songs"])
    assert result.exit_code == 2
    assert len(result.output.splitlines()) == 1
    assert RAW.findall(result.output) == []


def test_every_command_is_tried() -> None:
    tried = {words.split()[0] for words in COMMAND_LINES} | {"pack", "unpack"}
    own_input_only = {"demo", "init", "new", "schema", "levels", "exposure", "listen", "calibrate"}
    assert set(COMMANDS) == (tried & set(COMMANDS)) | own_input_only


def test_a_stream_shows_what_it_is_given_and_steers_only_on_purpose() -> None:
    kept = io.StringIO()
    stream = Shown(kept)
    print(f"a{TITLE}b{COLOUR}c{ROUND}\td", file=stream)
    stream.writelines([TITLE])
    stream.steer("\r")
    assert kept.getvalue() == "a\u241b]0;x\u2407b\ufffd31mc\ufffd\td\n\u241b]0;x\u2407\r"


def test_an_error_of_the_program_is_written_visibly() -> None:
    said = subprocess.run(
        [sys.executable, "-c", "import sys; from showrunner.cli.main import program\n"
         "try: program.main(['--book', 'no', 'list', 'songs'])\n"
         "except SystemExit: pass\n"
         f"raise ValueError({json.dumps(TITLE + COLOUR)})"],
        capture_output=True, check=False,
    ).stderr.decode()  # fmt: skip
    assert "\u241b]0;x\u2407" in said
    assert RAW.findall(said) == []


def test_text_without_controls_stays_as_it_is() -> None:
    plain = "Dm · 7/8 — «Théâtre» \N{MUSIC NATURAL SIGN} 한글 \N{ZERO WIDTH JOINER}\t\n"
    assert visible(plain) == plain
    assert visible_line("a\tb\nc") == "a\u2409b\u240ac"
