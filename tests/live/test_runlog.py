"""What a run's log says of trims that were moved while the show ran."""

from pathlib import Path

from showrunner.live.runlog import append, entries, trim_entry, trims_moved
from showrunner.state.events import Trim


def trimmed(target: str, before: float, after: float) -> dict[str, object]:
    return {"kind": "trimmed", **trim_entry(Trim("soundcheck", target, before, after, "dB", by_hand=False))}


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


def test_moves_of_one_trim_add_up_and_one_that_came_back_is_no_move() -> None:
    lines = [
        trimmed("interface volume", 0.5, 0.0),
        trimmed("width", 0.0, 1.0),
        trimmed("interface volume", 0.0, -0.5),
        trimmed("width", 1.0, 0.0),
        {"kind": "cue", "say": "x"},
    ]
    assert trims_moved(lines) == {"interface volume": (0.5, -0.5)}


def test_lines_that_are_none_of_ours_are_passed_over() -> None:
    assert trims_moved([{"kind": "trimmed"}, {"kind": "trimmed", "target": "a", "from": "x", "to": 1}]) == {}
