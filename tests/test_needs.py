"""A test that can't run on this machine says so at the end of the run, and fails where every test must run."""

import subprocess
import sys
from pathlib import Path

import pytest
from needs import ALL_TESTS, PACKAGES, summary

TESTS = Path(__file__).parent
OVER_PORTS = "live/test_jack.py::test_opening_sends_banks_and_program_then_values"
MADE = """
import pytest
from needs import did_not_run, need

def test_that_needs_programs():
    need("jackd", "tmux")

def test_that_needs_a_right():
    did_not_run("no right to this")

@pytest.mark.xfail
def test_that_is_known_to_fail():
    assert False

def test_that_needs_nothing():
    assert True
"""


def run(path: Path, programs: Path, *options: str, all_tests: str = "") -> tuple[int, list[str]]:
    """The exit code and the lines of a run of pytest that finds no programs but those in a folder."""
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *options, str(path)]
    environment = {"PATH": str(programs), "PYTHONPATH": str(TESTS), ALL_TESTS: all_tests}
    done = subprocess.run(command, cwd=TESTS.parent, env=environment, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout.splitlines()


@pytest.fixture
def made(tmp_path: Path) -> Path:
    (tmp_path / "test_made.py").write_text(MADE)
    (tmp_path / "test_other.py").write_text("import pytest\npytest.importorskip('no_such_library')\n")
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    return tmp_path


@pytest.mark.parametrize("workers", ["0", "2"])
def test_the_last_lines_say_what_did_not_run_and_what_to_install(made: Path, workers: str) -> None:
    code, lines = run(made, made, "-p", "needs", "-n", workers)
    assert code == 0
    assert lines[-6].strip("= ").startswith("1 passed, 3 skipped, 1 xfailed in ")
    assert lines[-5:] == [
        "3 tests did not run:",
        "  1 of test_made.py: no jackd and no tmux here",
        "  1 of test_made.py: no right to this",
        "  1 of test_other.py: could not import 'no_such_library': No module named 'no_such_library'",
        "To run them install (Debian's names): jackd2 tmux util-linux",
    ]


def test_where_every_test_must_run_they_fail(made: Path) -> None:
    code, lines = run(made / "test_made.py", made, "-p", "needs", "-n", "0", all_tests="1")
    assert code == 1
    assert lines[-1].strip("= ").startswith("2 failed, 1 passed, 1 xfailed in ")
    assert f"did not run: no jackd and no tmux here ({ALL_TESTS} is set)" in lines
    assert run(made / "test_other.py", made, "-p", "needs", "-n", "0", all_tests="1")[0] == 2


@pytest.mark.parametrize("workers", ["0", "2"])
def test_real_ports_need_a_sound_server(tmp_path: Path, workers: str) -> None:
    code, lines = run(TESTS / OVER_PORTS, tmp_path, "-n", workers)
    assert code == 0
    assert lines[-3:] == [
        "1 test did not run:",
        "  1 of tests/live/test_jack.py: no jackd and no unshare and no nsenter here",
        "To run them install (Debian's names): jackd2 tmux util-linux",
    ]
    assert run(TESTS / OVER_PORTS, tmp_path, "-n", workers, all_tests="1")[0] == 1


def test_real_ports_need_the_right_to_a_dev_shm_of_their_own(tmp_path: Path) -> None:
    for program in PACKAGES:
        (tmp_path / program).write_text(f"#!/bin/sh\necho {program}: refused >&2\nexit 1\n")
        (tmp_path / program).chmod(0o755)
    code, lines = run(TESTS / OVER_PORTS, tmp_path, "-n", "0")
    assert code == 0
    assert lines[-2] == "1 test did not run:"
    assert "unshare: refused" in lines[-1]
    assert run(TESTS / OVER_PORTS, tmp_path, "-n", "0", all_tests="1")[0] == 1


def test_nothing_is_said_where_all_ran() -> None:
    assert summary([]) == []
