"""`demo`: the whole job without hardware or a terminal."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """What `showrunner demo` and `showrunner demo --json` print, as processes of their own, away from any terminal."""
    folder = tmp_path_factory.mktemp("demo")

    def run(*args: str) -> str:
        command = [sys.executable, "-m", "showrunner.cli", "demo", *args]
        environment = {**os.environ, "TMPDIR": str(folder), "TEMP": str(folder)}
        done = subprocess.run(
            command, capture_output=True, cwd=folder, env=environment, stdin=subprocess.DEVNULL, check=True
        )
        assert done.stderr == b""
        return done.stdout.decode()

    return run(), json.loads(run("--json"))


def test_it_goes_through_the_job_step_by_step_and_ends_with_what_to_try(demo):
    text, _ = demo
    steps = [line for line in text.splitlines() if line[:1].isdigit() and line[1:3] == ". "]
    assert [line.split(".")[0] for line in steps] == ["1", "2", "3", "4", "5", "6"]
    assert "showrunner init" in text.splitlines()[-2]


def test_it_fits_eighty_columns_but_for_paths(demo):
    text, _ = demo
    assert max(len(line) for line in text.splitlines() if "showrunner-demo-" not in line) <= 80


def test_the_full_rig_has_no_error_and_the_small_rig_has(demo):
    _, data = demo
    levels = {check["rig"]: {finding["level"] for finding in check["findings"]} for check in data["checks"]}
    assert list(levels) == ["full", "small"]
    assert "error" not in levels["full"]
    assert "error" in levels["small"]


def test_the_cue_sheet_is_where_it_says(demo):
    text, data = demo
    assert Path(data["sheet"]["file"]).read_bytes().startswith(b"%PDF-")
    assert any(Path(line.removeprefix("wrote ")).is_file() for line in text.splitlines() if line.startswith("wrote "))


def test_the_take_runs_through_the_first_songs_as_it_did_then(demo):
    _, data = demo
    steps = data["replay"]["steps"]
    assert data["replay"]["as_then"] is True
    assert len({step["song"] for step in steps}) >= 2
    assert {step["kind"] for step in steps} >= {"changeover", "song", "cue"}
    assert sum(len(step["sent"]) for step in steps) > 100


def test_every_command_it_says_to_try_works(demo, run):
    _, data = demo
    for line in data["next"]:
        words = line.split()[1:]
        if words[0] != "init":
            assert run(*words, "--book", data["book"]).exit_code in (0, 1), line


def test_it_leaves_the_demo_book_that_comes_with_it_alone(demo):
    from showrunner.places import demo_book

    _, data = demo
    assert Path(data["book"]) != demo_book()
    assert (Path(data["book"]) / "book.toml").is_file()
