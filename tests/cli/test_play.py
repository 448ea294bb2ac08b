"""`play` where the show is played otherwise than it is asked for: said, asked, and nothing done before."""

from pathlib import Path
from types import SimpleNamespace

import click
import pytest
from left import leave

from showrunner.book.read import read_book
from showrunner.live.folder import STATE, run_folder
from showrunner.live.launch import Way, _to_go_on_with
from showrunner.live.link import LinkError
from showrunner.live.night import night_of
from showrunner.state.values import State


@pytest.fixture
def began(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """What was done to shows: begun, joined or ended."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    done: list[str] = []

    def attach(_folder: Path, night, *, resumes: bool = False) -> None:
        how = "resumed" if resumes else "begun"
        done.append(f"{how} {night.show} {'simulated' if night.simulated else 'real'}")
        raise LinkError("no show begins in this test")

    def join(_folder: Path) -> None:
        done.append("joined")
        raise LinkError("no show is joined in this test")

    monkeypatch.setattr("showrunner.live.launch.attach", attach)
    monkeypatch.setattr("showrunner.live.launch.join", join)
    monkeypatch.setattr("showrunner.live.launch.end", lambda _: done.append("ended"))
    return done


def played(monkeypatch: pytest.MonkeyPatch, show: str, way: Way) -> None:
    monkeypatch.setattr(
        "showrunner.live.launch.way_played", lambda folder: way if folder.name.startswith(show) else None
    )


@pytest.mark.parametrize(
    ("show", "way", "words", "said", "after_yes"),
    [
        ("friday", "real", ("--simulated",), "friday is being played on real ports", ["joined"]),
        ("friday", "simulated", (), "friday is being played simulated", ["ended", "begun friday real"]),
        ("sunday", "real", ("--simulated",), "sunday is being played on real ports", ["begun friday simulated"]),
    ],
)
def test_nothing_is_done_before_it_is_asked(
    run, book: Path, monkeypatch, began, show: str, way: Way, words, said: str, after_yes
) -> None:
    (book / "shows/sunday.toml").write_text((book / "shows/friday.toml").read_text())
    played(monkeypatch, show, way)
    result = run("play", "friday", *words, "--book", book)
    assert (result.exit_code, said in result.stderr, began) == (2, True, [])
    asked: list[str] = []
    for yes in (False, True):
        monkeypatch.setattr(click, "confirm", lambda text, yes=yes, **_: asked.append(text) or yes)
        monkeypatch.setattr("showrunner.cli.live._asks", lambda: True)
        assert run("play", "friday", *words, "--book", book).exit_code == 2
        assert said in asked[-1]
        assert began == (after_yes if yes else [])


def test_a_show_on_real_ports_is_not_ended_where_a_simulated_one_is_meant(
    run, book: Path, monkeypatch: pytest.MonkeyPatch, began: list[str]
) -> None:
    played(monkeypatch, "friday", "real")
    result = run("play", "friday", "--simulated", "--end", "--book", book)
    assert (result.exit_code, began) == (2, [])
    assert "friday is being played on real ports; leave --simulated out to end it" in result.stderr
    assert run("play", "friday", "--end", "--book", book).exit_code == 0
    assert began == ["ended"]


@pytest.fixture
def left(book: Path, began, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a run of friday without hardware that broke off; attaching is the real one but for the start."""
    monkeypatch.undo()
    monkeypatch.setenv("XDG_STATE_HOME", str(book.parent / "state"))

    def begin(folder: Path, night, *, resumes: bool) -> None:
        _to_go_on_with(folder, night, resumes=resumes)
        began.append(f"{'resumed' if resumes else 'begun'} {'simulated' if night.simulated else 'real'}")
        raise LinkError("no show begins in this test")

    monkeypatch.setattr("showrunner.live.launch._begin", begin)
    read = read_book(book).book
    rig = read.rig_of(read.shows["friday"])
    assert rig is not None
    night = night_of(read, "friday", rig, simulated=True)
    folder = run_folder(book, "friday")
    leave(folder, night, State(night.script().order, phase="song"))
    return folder


def test_with_nobody_to_ask_the_flags_are_named_and_nothing_is_done(run, book: Path, began, left: Path) -> None:
    result = run("play", "friday", "--book", book)
    assert (result.exit_code, began) == (2, [])
    assert ", without hardware that broke off at " in result.stderr
    assert "; --resume goes on with it, --begin begins anew and gives it up" in result.stderr
    assert (left / STATE).exists()


@pytest.mark.parametrize(
    ("words", "does", "there"),
    [
        (("--resume",), ["resumed simulated"], True),
        (("--begin",), ["begun real"], False),
        (("--simulated",), ["begun simulated"], True),
        (("--resume", "--begin"), [], True),
    ],
)
def test_flags_say_what_is_done_with_a_run_that_broke_off(
    run, book: Path, began, left: Path, words, does: list[str], there: bool
) -> None:
    assert run("play", "friday", *words, "--book", book).exit_code == 2
    assert (began, (left / STATE).exists()) == (does, there)


@pytest.mark.parametrize(
    ("answer", "does", "there"),
    [
        ("resume", ["resumed simulated"], True),
        ("begin", ["begun real"], False),
        ("leave", [], True),
        ("r", ["resumed simulated"], True),
        (" B", ["begun real"], False),
        ("l", [], True),
        ("", [], True),
        ("x\nresumes\nl", [], True),
    ],
)
def test_the_player_is_asked_where_somebody_is_there(
    run, book: Path, began, left: Path, monkeypatch: pytest.MonkeyPatch, answer: str, does: list[str], there: bool
) -> None:
    monkeypatch.setattr("showrunner.cli.live._asks", lambda: True)
    result = run("play", "friday", "--book", book, typed=f"{answer}\n", COLUMNS="60")
    assert (began, (left / STATE).exists()) == (does, there)
    lines = result.stderr.splitlines()
    asked = next(at for at, line in enumerate(lines) if line.startswith("Resume it, or begin anew"))
    said = [line for line in lines[:asked] if line]
    assert max(map(len, said)) <= 60
    assert "it was played without hardware" in " ".join(said)


def test_a_show_that_is_being_played_is_not_begun_anew(run, book: Path, began, monkeypatch: pytest.MonkeyPatch) -> None:
    played(monkeypatch, "friday", "real")
    result = run("play", "friday", "--begin", "--book", book)
    assert (result.exit_code, began) == (2, [])
    assert "friday is being played; leave --begin out to join it, or --end it first" in result.stderr


def test_there_is_nothing_to_resume_where_nothing_broke_off(run, book: Path, began) -> None:
    result = run("play", "friday", "--resume", "--book", book)
    assert (result.exit_code, began) == (2, [])
    assert "no run of friday broke off; leave --resume out to begin one" in result.stderr


def test_a_show_on_another_rig_is_not_joined_as_the_one_asked_for(
    run, book: Path, began, monkeypatch: pytest.MonkeyPatch
) -> None:
    played(monkeypatch, "friday", "real")
    of = SimpleNamespace(rig="another", full_house=False)
    monkeypatch.setattr("showrunner.live.night.read_night", lambda _: of)
    rig = next(iter(read_book(book).book.rigs))
    result = run("play", "friday", "--rig", rig, "--book", book)
    assert (result.exit_code, began) == (2, [])
    assert "friday is being played on the rig another; leave --rig out to join it" in result.stderr
