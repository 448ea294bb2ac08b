"""What is kept with a run: checklists' answers, the soundcheck's lock and the frozen night, whole on disk."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from showrunner.book.problems import BookError
from showrunner.live import folder, locked, ticked
from showrunner.model.show import Show

SHOW = Show.model_validate({"format": 1, "title": "Friday", "sets": []})
KEPT = {
    "answers": ("checklists.json", 'ticked.keep(root, "friday", "load-in", {"Leads?": said})'),
    "lock": (
        "soundcheck.json",
        'locked.lock(root, "friday", SHOW.model_copy(update={"title": said}), on=said == "new")',
    ),
    "night": ("night.json", 'write_night(night_of(Book(said, shows={"f": SHOW}, rigs={"r": RIG}), "f", "r"), run)'),
}
ENDED = """
import os, sys
from pathlib import Path
from showrunner.book import save  # before the calls are watched
from showrunner.live import locked, ticked
from showrunner.live.folder import run_folder
from showrunner.live.night import night_of, write_night
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
RIG = Rig.model_validate({"format": 1, "title": "Rig"})
SHOW = Show.model_validate({"format": 1, "title": "Friday", "sets": []})
root, name, does = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
run = run_folder(root, "friday")

def keep(said, ends_at):
    calls = []
    def ending(name, real):
        def call(*args, **kwargs):
            calls.append(name)
            if len(calls) == ends_at:
                if name == "write":
                    real(args[0], bytes(args[1])[:3])
                os._exit(9)
            return real(*args, **kwargs)
        return call
    for call in ("open", "write", "fchmod", "fsync", "close", "replace"):
        setattr(os, call, ending(call, getattr(os, call)))
    eval(does)
    print(" ".join(calls), flush=True)
    os._exit(0)

def ended(said, ends_at):
    child = os.fork()
    if not child:
        keep(said, ends_at)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])

assert ended("old", 0) == 0
old = (run / name).read_bytes()
assert ended("new", 0) == 0
new = (run / name).read_bytes()
assert old != new
found, ends_at = [], 0
while True:
    ended("old", 0)
    ends_at += 1
    if ended("new", ends_at) == 0:
        break
    found.append({old: "old", new: "new"}.get((run / name).read_bytes(), "neither"))
print(" ".join(found))
"""


@pytest.mark.parametrize(("name", "does"), KEPT.values(), ids=KEPT)
def test_ended_at_any_call_what_was_kept_is_the_old_or_the_new_and_synced(tmp_path: Path, name: str, does: str) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", ENDED, str(tmp_path), name, does],
        env={"XDG_STATE_HOME": str(tmp_path / "state"), "PYTHONPATH": ":".join(sys.path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    *calls, found = ran.stdout.splitlines()
    made = calls[1].split()
    assert made[made.index("write") :] == [
        "write",
        "fchmod",
        "fsync",
        "close",
        "replace",
        "open",
        "fsync",
        "close",
        "close",
    ]
    renamed = made.index("replace") + 1
    assert found.split() == ["old"] * renamed + ["new"] * (len(made) - renamed)


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


def test_answers_given_by_two_programs_at_once_are_both_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ticked.keep(tmp_path, "friday", "load-in", {"Leads?": "done"})
    real = folder.read_object

    def other_comes_first(source: bytes) -> object:
        monkeypatch.setattr(folder, "read_object", real)
        ticked.keep(tmp_path, "friday", "line-check", {"Vocals?": "done"})
        return real(source)

    monkeypatch.setattr(folder, "read_object", other_comes_first)
    ticked.keep(tmp_path, "friday", "load-in", {"Strings?": "left: none here"})
    assert ticked.answers(tmp_path, "friday", "load-in") == {"Leads?": "done", "Strings?": "left: none here"}
    assert ticked.answers(tmp_path, "friday", "line-check") == {"Vocals?": "done"}


@pytest.mark.parametrize(
    "does",
    [
        lambda root: ticked.keep(root, "friday", "load-in", {"Leads?": "done"}),
        lambda root: locked.lock(root, "friday", SHOW, on=True),
    ],
    ids=["answers", "lock"],
)
def test_a_state_folder_that_can_not_be_written_is_said(tmp_path: Path, does: Callable[[Path], None]) -> None:
    (tmp_path / "state").write_text("no folder")
    with pytest.raises(BookError, match=r"\.json can't be saved \("):
        does(tmp_path)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"load-in": 3}', "\0", "[" * 100_000])
def test_a_file_that_says_nothing_counts_as_no_answers(tmp_path: Path, text: str) -> None:
    file = folder.run_folder(tmp_path, "friday") / ticked.FILE
    file.write_text(text)
    assert ticked.answers(tmp_path, "friday", "load-in") == {}
    ticked.keep(tmp_path, "friday", "load-in", {"Leads?": "done"})
    assert json.loads(file.read_text()) == {"load-in": {"Leads?": "done"}}
