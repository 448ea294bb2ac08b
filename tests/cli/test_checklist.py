"""`showrunner checklist`: asked in the terminal, kept, and shared with the screens."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from showrunner.cli import checklist as module
from showrunner.cli.main import program
from showrunner.live import doubling
from showrunner.live.listening import Found
from showrunner.live.ticked import answers
from showrunner.places import demo_book

SHOW = "pellmarsh-hall"
LIST = """\
format = 1
title = "Doors"
items = [
  { ask = "Swell pedal", verify = "control swell", critical = true },
  { ask = "Lights", answer = "low" },
  { ask = "Ears", critical = true },
]
"""


class Heard:
    """A rig on which the swell pedal is heard from the second look on."""

    def __init__(self, *_: object) -> None:
        self._looks = 0

    def look(self, _: float) -> Found:
        self._looks += 1
        return Found({}, {"swell": (0.0, 100.0)} if self._looks > 1 else {}, playing=False)

    def withhold(self, _: str) -> None:
        pass

    def tried(self, _control: str, _now_s: float) -> doubling.Reading:
        self._looks += 1
        return doubling.Reading(held=True, moved=self._looks > 1)

    def close(self) -> None:
        pass


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setattr(module, "Listening", Heard)
    root = tmp_path / "book"
    shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*"))
    (root / "checklists" / "doors.toml").write_text(LIST)
    return root


def run(book: Path, *words: str, typed: str = "") -> Result:
    return CliRunner().invoke(program, ["--book", str(book), "checklist", SHOW, "--list", "doors", *words], input=typed)


def test_what_is_heard_meanwhile_is_seen_and_not_asked_again(book: Path) -> None:
    result = run(book, typed="\n\n\n")
    assert result.exit_code == 0
    assert "not so: swell is not heard yet" in result.output
    assert "seen: heard, from 0 to 100 %" in result.output
    assert answers(book, SHOW, "doors") == {"Swell pedal": "seen", "Lights": "done", "Ears": "done"}


def test_a_critical_item_that_is_left_asks_why_and_counts(book: Path) -> None:
    result = run(book, typed="\n\nn\nno plugs\n")
    assert result.exit_code == 1
    assert "critical and not done, doors: Ears" in result.output
    assert answers(book, SHOW, "doors")["Ears"] == "left: no plugs"


@pytest.mark.parametrize("typed", ["\nq\n", "\n"])
def test_stopping_or_the_end_of_input_keeps_what_was_answered(book: Path, typed: str) -> None:
    result = run(book, typed=typed)
    assert result.exit_code == 1
    assert answers(book, SHOW, "doors") == {"Swell pedal": "seen"}
    assert "goes on from here" in result.output


def test_going_on_asks_only_what_is_open(book: Path) -> None:
    run(book, typed="\nq\n")
    result = run(book, typed="\n\n")
    assert "2 of 3 to do" in result.output
    assert "Swell pedal" not in result.output
    assert result.exit_code == 0


def test_json_asks_nothing_and_tells_what_is_seen(book: Path) -> None:
    result = run(book, "--json")
    (the_list,) = json.loads(result.output)["lists"]
    first = the_list["items"][0]
    assert (first["verify"], first["verified"], first["answered"]) == ("control swell", False, None)
    assert the_list["items"][1]["verified"] is None
    assert result.exit_code == 1


def test_anew_forgets(book: Path) -> None:
    run(book, typed="\n\n\n")
    run(book, "--anew", "--json")
    assert answers(book, SHOW, "doors") == {}


def test_a_list_that_is_not_there_is_said(book: Path) -> None:
    result = run(book, "--list", "dors")
    assert result.exit_code == 2
    assert "doors" in result.output


@pytest.fixture
def by_ear(book: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A list whose one item only an ear can answer."""
    monkeypatch.setattr(doubling, "WITHHELD_S", 0.0)
    items = '[{ ask = "Doubled", verify = "not doubled swell", critical = true }]'
    (book / "checklists" / "doors.toml").write_text(f'format = 1\ntitle = "Doors"\nitems = {items}\n')
    return book


def test_an_ear_that_heard_nothing_answers_the_item(by_ear: Path) -> None:
    result = run(by_ear, typed="\nmaybe\nn\n")
    assert "move swell for" in result.output
    assert '"maybe" is no answer here' in result.output
    assert result.exit_code == 0
    assert answers(by_ear, SHOW, "doors") == {"Doubled": "done"}


def test_a_sound_that_moved_is_kept_as_the_reason_and_counts(by_ear: Path) -> None:
    result = run(by_ear, typed="\ny\n")
    assert "the host hears swell itself, too" in result.output
    assert result.exit_code == 1
    assert answers(by_ear, SHOW, "doors") == {"Doubled": doubling.HOST_HEARS}


def test_a_try_that_is_passed_over_asks_as_any_other_item(by_ear: Path) -> None:
    assert run(by_ear, typed="s\n\n").exit_code == 0
    assert answers(by_ear, SHOW, "doors") == {"Doubled": "done"}
