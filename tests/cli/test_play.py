"""`play` where the show is played otherwise than it is asked for: said, asked, and nothing done before."""

from pathlib import Path

import click
import pytest

from showrunner.live.launch import Way
from showrunner.live.link import LinkError


@pytest.fixture
def began(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """What was done to shows: begun, joined or ended."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    done: list[str] = []

    def attach(_folder: Path, night) -> None:
        done.append(f"begun {night.show} {'simulated' if night.simulated else 'real'}")
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
