"""What a run's log says of trims that were moved while the show ran."""

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from showrunner.live.runlog import RunLog, append, entries, stamp, trim_entry, trim_of
from showrunner.state.events import Trim


def trimmed(target: str, before: float, after: float) -> dict[str, object]:
    return {"kind": "trimmed", **trim_entry(Trim("soundcheck", target, before, after, "dB", by_hand=False))}


@pytest.mark.parametrize(("hours", "time"), [(0, "19:21:20+00:00"), (5.75, "01:06:20+05:45"), (-3.5, "15:51:20-03:30")])
def test_a_line_says_when_by_the_clock_and_how_far_that_is_from_utc(hours: float, time: str) -> None:
    stamped = stamp(1795893680.0, timezone(timedelta(hours=hours)))
    assert stamped["time"].partition("T")[2] == time
    assert datetime.fromisoformat(stamped["time"]).timestamp() == stamped["unix_s"] == 1795893680.0


def test_a_line_is_written_by_the_machines_own_clock() -> None:
    written = datetime.fromisoformat(stamp(1795893680.0)["time"])
    assert written.utcoffset() is not None
    assert written.replace(tzinfo=None) == datetime.fromtimestamp(1795893680.0)


def test_a_moved_trim_is_a_line_with_who_target_from_and_to(tmp_path: Path) -> None:
    append(tmp_path / "night.jsonl", trimmed("interface volume", 0.5, 0.0))
    assert entries(tmp_path / "night.jsonl") == [
        {
            "kind": "trimmed",
            "who": "soundcheck",
            "target": "interface volume",
            "from": 0.5,
            "to": 0.0,
            "unit": "dB",
            "by_hand": False,
        }
    ]


def test_what_could_not_be_written_is_in_the_log_before_what_comes_next(tmp_path: Path) -> None:
    file, done, failed = tmp_path / "runs" / "night.jsonl", [], []
    file.parent.write_text("in the way")

    def fails(why: str) -> None:
        failed.append(why)
        file.parent.unlink()

    log = RunLog(file, done.append, fails)
    log.put({"kind": "song"}, 1)
    log.put({"kind": "cue"}, 2)
    log.close()
    assert len(failed) == 1
    assert [entry["kind"] for entry in entries(file)] == ["song", "cue"]
    assert done == [1, 2]


@pytest.mark.parametrize("value", [200.5, -1e9, 1e308, 10**400, float("inf"), float("nan"), True, "1", None])
def test_a_trim_that_no_show_could_have_is_none(value: object) -> None:
    line = {**trimmed("input gain", 0.0, 0.0), "to": value}
    assert trim_of(line) is None
    assert trim_of({**line, "to": 0.0, "from": value}) is None


@pytest.mark.parametrize("name", ["", "t" * 501, 7])
def test_a_trim_of_what_can_be_no_name_is_none(name: object) -> None:
    assert trim_of({**trimmed("drive", 0.0, 1.0), "target": name}) is None


def test_what_a_line_says_stands_on_one_line_with_its_controls_visible(tmp_path: Path) -> None:
    append(tmp_path / "night.jsonl", {"kind": "song", "say": "\x1b]0;x\x07a\nb\x9b31m\u202e"})
    assert entries(tmp_path / "night.jsonl") == [{"kind": "song", "say": "␛]0;x␇a␊b\ufffd31m\ufffd"}]


def test_what_a_line_says_stands_on_one_line_without_what_steers_a_terminal(tmp_path: Path) -> None:
    append(tmp_path / "log.jsonl", {"kind": "song", "say": "a\nb\x1b]0;x\x07\r", "n": 1})
    assert entries(tmp_path / "log.jsonl") == [{"kind": "song", "say": "a\u240ab\u241b]0;x\u2407\u240d", "n": 1}]
