"""Cautions for hearing: said on standard error where the level can go up, and not where nothing does."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from showrunner.cli import rehearse
from showrunner.live.link import LinkError
from showrunner.live.ports import PortError
from showrunner.model.cautions import LOUDER, REAL_PORTS


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def _no_show_begins(monkeypatch: pytest.MonkeyPatch) -> None:
    def attach(*_: object) -> None:
        raise LinkError("no show begins in this test")

    monkeypatch.setattr("showrunner.live.launch.attach", attach)


@pytest.mark.parametrize(
    ("how", "louder", "ports"),
    [
        ((), False, True),
        (("--full-house",), True, True),
        (("--simulated",), False, False),
        (("--simulated", "--full-house"), False, False),
    ],
)
@pytest.mark.usefixtures("_no_show_begins")
def test_a_show_begun_on_real_ports_comes_with_a_caution(run, with_chain: Path, how, louder: bool, ports: bool):
    said = words(run("play", "friday", *how, "--book", with_chain).stderr)
    assert (LOUDER in said, REAL_PORTS in said) == (louder, ports)


@pytest.mark.usefixtures("_no_show_begins")
def test_a_full_house_that_is_no_louder_needs_none(run, book: Path):
    assert LOUDER not in words(run("play", "friday", "--full-house", "--book", book).stderr)


def test_a_rehearsal_on_real_ports_comes_with_a_caution(run, book: Path, monkeypatch: pytest.MonkeyPatch):
    def refuse() -> None:
        raise PortError("Host", "no ports in this test")

    monkeypatch.setattr(rehearse, "_system", refuse)
    assert REAL_PORTS in words(run("rehearse", "low-lantern", "--to", "Ring", "--book", book).stderr)
    assert REAL_PORTS not in words(run("rehearse", "low-lantern", "--fast", "--book", book).stderr)


@pytest.mark.parametrize(
    ("options", "louder"),
    [
        ((), False),
        (("--set", "interface volume=-1"), False),
        (("--set", "interface volume=1"), True),
        (("--set", "input gain=1"), True),
        (("--set", "input gain=-1", "--set", "output=1"), True),
        (("--full-house",), True),
    ],
)
def test_trims_that_raise_the_level_come_with_a_caution(run, with_chain: Path, options, louder: bool):
    result = run("trims", "friday", *options, "--json", "--book", with_chain)
    assert (LOUDER in words(result.stderr)) == louder
    assert json.loads(result.stdout)["show"] == "friday"  # JSON stays clean


@pytest.mark.parametrize(("target", "louder"), [("-5", True), ("-40", False)])
def test_songs_matched_upwards_come_with_a_caution(run, tmp_path: Path, target: str, louder: bool):
    sine = 0.1 * np.sin(2 * np.pi * 400 * np.arange(32000) / 8000)
    soundfile.write(tmp_path / "a.wav", sine, 8000)
    result = run("levels", tmp_path / "a.wav", "--match", "--target", target, "--json")
    assert (LOUDER in words(result.stderr)) == louder
    assert json.loads(result.stdout)["match"]
