"""What the program sees for itself of a checklist's items."""

import datetime
from pathlib import Path

import pytest

from showrunner.book.read import read_book
from showrunner.live import verifying
from showrunner.live.locked import lock
from showrunner.live.mains import of_supplies
from showrunner.live.verifying import Facts, Verdict, to_try, verified
from showrunner.model.venue import Venue
from showrunner.places import demo_book


@pytest.fixture
def facts(tmp_path: Path) -> Facts:
    book = read_book(demo_book()).book
    return Facts(tmp_path, book, "pellmarsh-hall", book.rigs["full"], names={})


def in_room(facts: Facts, **venue: object) -> Facts:
    made = Venue.model_validate({"format": 1, "title": "New room", **venue})
    show = facts.book.shows["pellmarsh-hall"].model_copy(update={"venue": "new"})
    return facts._replace(book=facts.book._replace(venues={"new": made}, shows={"pellmarsh-hall": show}))


def test_a_port_needs_every_side_the_rig_uses(facts: Facts) -> None:
    assert verified("port host", facts).good is False
    assert verified("port host", facts._replace(names={"host": {"output": "Host 1"}})).good is False
    both = {"host": {"output": "Host 1", "input": "Host 1"}}
    assert verified("port host", facts._replace(names=both)) == (True, "there: Host 1")


def test_ports_not_looked_at_yet_are_no_verdict(facts: Facts) -> None:
    assert verified("port host", facts._replace(names=None)).good is None


def test_a_control_is_heard_with_how_far_it_went(facts: Facts) -> None:
    assert verified("control swell", facts).good is False
    assert verified("control swell", facts._replace(reach={"swell": (3.0, 97.0)})).said == "heard, from 3 to 97 %"


def test_what_the_rig_does_not_have_is_said(facts: Facts) -> None:
    for verify in ("port attic", "control third", "not doubled third", "battery clock"):
        assert verified(verify, facts).good is None


def test_a_battery_that_lasts_is_seen_and_one_run_down_is_not(facts: Facts) -> None:
    assert verified("battery driver cell", facts).good is True
    rig = facts.rig
    spent = {"driver cell": rig.batteries["driver cell"].model_copy(update={"used_h": 1000.0})}
    assert (
        verified("battery driver cell", facts._replace(rig=rig.model_copy(update={"batteries": spent}))).good is False
    )


def test_trims_count_as_set_once_the_room_was_visited(facts: Facts) -> None:
    assert verified("trims", in_room(facts)).good is False
    tonight = facts.book.shows["pellmarsh-hall"].date
    assert verified("trims", in_room(facts, visits=[{"date": tonight, "show": "pellmarsh-hall"}])).good is True
    before = in_room(facts, visits=[{"date": datetime.date(2020, 1, 1), "show": "pellmarsh-hall"}])
    assert "2020-01-01" in verified("trims", before).said


def test_trims_locked_at_the_soundcheck_count_as_set(facts: Facts, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(facts.root / "state"))
    room = in_room(facts)
    lock(facts.root, "pellmarsh-hall", room.book.shows["pellmarsh-hall"], on=True)
    assert verified("trims", room) == (True, "locked for New room since tonight's soundcheck")


def test_a_full_disk_is_seen(facts: Facts, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(verifying, "ENOUGH_BYTES", 1)
    assert verified("disk", facts).good is True
    monkeypatch.setattr(verifying, "ENOUGH_BYTES", 1 << 80)
    assert verified("disk", facts).good is False


def test_doubling_is_tried_by_ear_where_pedals_pass_through(facts: Facts) -> None:
    assert "nothing is passed on" in verified("not doubled swell", facts).said
    assert to_try("not doubled swell", facts.rig) == "swell"
    beside = facts.rig.model_copy(update={"routing": "beside"})
    assert to_try("not doubled swell", beside) is None
    assert to_try("control swell", facts.rig) is None


def test_an_error_among_the_findings_is_seen(facts: Facts) -> None:
    lacking = facts.rig.model_copy(update={"controls": {}})
    book = facts.book._replace(rigs={**facts.book.rigs, "full": lacking})
    assert verified("findings", facts._replace(book=book)).good is False


def test_mains_power_is_told_as_the_system_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Linux, Documentation/ABI/testing/sysfs-class-power: `type`, `online`, `status`."""
    assert of_supplies(tmp_path) is None
    battery, plug = tmp_path / "BAT0", tmp_path / "AC"
    battery.mkdir()
    (battery / "type").write_text("Battery\n")
    (battery / "status").write_text("Discharging\n")
    assert of_supplies(tmp_path) is False
    plug.mkdir()
    (plug / "type").write_text("Mains\n")
    (plug / "online").write_text("1\n")
    assert of_supplies(tmp_path) is True
    monkeypatch.setattr(verifying, "on_mains", lambda: None)
    assert verified("mains", Facts(tmp_path, read_book(demo_book()).book, None, None)) == Verdict(
        None, "this system doesn't tell whether it is on mains power: look at the plug"
    )
