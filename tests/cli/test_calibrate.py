"""`calibrate`: a pretended pedal from its bytes to the rig's file, and a player who answers wrongly."""

import tomllib
from pathlib import Path

import pytest

from showrunner.cli import calibrate as module
from showrunner.curves.travel import raw_of
from showrunner.live.fake import FakeSystem
from showrunner.live.pretend import LAWS
from showrunner.model.rig import Control

PEDAL = """\
[controls.swell]
# found by ear
kind = "pedal"
limb = "right foot"
port = "floor"
channel = 1
cc = 11   # expression
"""


@pytest.fixture
def rig(book: Path) -> Path:
    """The rig's file, with comments around the pedal."""
    file = book / "rigs/big.toml"
    plain = PEDAL.replace("# found by ear\n", "").replace("   # expression", "")
    file.write_text(file.read_text().replace(plain, PEDAL))
    assert "# found by ear" in file.read_text()
    return file


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("bits", [7, 14])
def test_a_pretended_pedals_response_is_found_to_within_a_raw_step(law: str, bits: int, run_json, rig: Path):
    if bits == 14:
        rig.write_text(rig.read_text().replace("cc = 11   # expression", "cc = 11   # expression\nbits = 14"))
    data = run_json("calibrate", "big", "swell", "--simulate", law, "--write", "--book", rig.parent.parent)
    control = Control.model_validate(tomllib.loads(rig.read_text())["controls"]["swell"])
    assert [list(pair) for pair in control.calibration] == data["calibration"]
    step = (control.top + 1) / 128
    for travel in range(7, 94):
        assert abs(raw_of(control, travel) - LAWS[law](travel / 100) * control.top) <= step


def test_comments_and_all_else_in_the_file_stay(run, rig: Path):
    before = rig.read_text()
    assert run("calibrate", "big", "swell", "--simulate", "even", "--write", "--book", rig.parent.parent).exit_code == 0
    after = rig.read_text()
    assert [line for line in after.splitlines() if line in before.splitlines()] == before.splitlines()


def test_without_write_what_was_found_is_shown_and_nothing_is_written(run, rig: Path):
    before = rig.read_bytes()
    result = run("calibrate", "big", "swell", "--simulate", "slow-heel", "--book", rig.parent.parent)
    assert rig.read_bytes() == before
    assert "reach" in result.stdout
    assert "not even; with these pairs it" in result.stdout
    assert any(line.startswith("+calibration = [") for line in result.stdout.splitlines())
    assert result.stdout.splitlines()[-1].endswith("say --write to write it")


def test_what_is_asked_does_not_mix_with_the_json(run, rig: Path):
    result = run("calibrate", "big", "swell", "--simulate", "even", "--json", "--book", rig.parent.parent)
    assert result.stdout.startswith("{")
    assert "half way; hold it still" in result.stderr


def test_dead_ends_and_hysteresis_are_reported_as_they_were_made(run_json, rig: Path):
    data = run_json("calibrate", "big", "swell", "--simulate", "dead-ends", "--book", rig.parent.parent)
    assert 3.5 <= data["dead_heel_pct"] <= 6.0
    assert 3.5 <= data["dead_toe_pct"] <= 6.0
    assert 1.0 <= data["hysteresis_raw"] <= 3.0
    assert data["uneven"] is False


class Still:
    """A player whose pedal sends nothing, whatever is asked."""

    def clock(self) -> float:
        return 0.0

    def go(self, _step: object) -> None:
        pass

    def rest(self, _seconds: float) -> None:
        pass


def test_a_pedal_that_says_nothing_ends_with_a_reason_and_writes_nothing(run, rig: Path, monkeypatch):
    monkeypatch.setattr(module, "real_system", lambda: FakeSystem(("Floor 1",), ()))
    monkeypatch.setattr(module, "Person", Still)
    before = rig.read_bytes()
    result = run("calibrate", "big", "swell", "--write", "--book", rig.parent.parent)
    assert result.exit_code == 2
    assert "nothing was heard" in result.stderr
    assert rig.read_bytes() == before


def test_a_port_that_is_not_there_is_named(run, rig: Path, monkeypatch):
    monkeypatch.setattr(module, "real_system", lambda: FakeSystem(("Desk",), ()))
    result = run("calibrate", "big", "swell", "--book", rig.parent.parent)
    assert result.exit_code == 2
    assert 'the port floor is not there: nothing fits "Floor*"' in result.stderr


def test_a_player_who_leaves_writes_nothing(run, rig: Path, monkeypatch):
    monkeypatch.setattr(module, "real_system", lambda: FakeSystem(("Floor 1",), ()))
    before = rig.read_bytes()
    assert run("calibrate", "big", "swell", "--write", "--book", rig.parent.parent).exit_code == 130
    assert rig.read_bytes() == before


@pytest.mark.parametrize(
    ("control", "said"),
    [
        ("swel", 'did you mean "swell"?'),
        ("sw 1", "only what has travel is calibrated"),
        ("string driver", "by hand"),
    ],
)
def test_what_has_no_travel_to_find_is_refused(control: str, said: str, run, rig: Path):
    result = run("calibrate", "big", control, "--simulate", "even", "--book", rig.parent.parent)
    assert result.exit_code == 2
    assert said in result.stderr
