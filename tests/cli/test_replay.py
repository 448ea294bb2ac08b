"""`replay`: a take through the machine, step by step."""

from pathlib import Path

import pytest

from showrunner.takes.smf import write_take
from showrunner.takes.take import Take, TakeAsk, TakeCue, TakeEvent


def played(*messages: tuple[float, int, int]) -> tuple[TakeEvent, ...]:
    """Control changes on channel 1 of the floor board: seconds, controller, value."""
    return tuple(TakeEvent(at_s, "floor", "in", bytes((0xB0, cc, value))) for at_s, cc, value in messages)


STEP = 80
PEDAL = 11
EVENTS = played((1, STEP, 127), (1.1, STEP, 0), (5, PEDAL, 0), (6, PEDAL, 127), (60, STEP, 127), (60.1, STEP, 0))


@pytest.fixture
def take(book: Path) -> str:
    """A take of the show: into the first song, a pedal from heel to toe, on to the next cue."""
    write_take(book / "takes/low-lantern/night.mid", Take(EVENTS, show="friday", rig="big", song="low-lantern"))
    return "low-lantern/night"


def test_json_has_every_step_with_what_it_sent(take, run_json, book: Path):
    data = run_json("replay", take, "--book", book)
    assert (data["take"], data["show"], data["rig"], data["as_then"]) == (take, "friday", "big", None)
    assert [(step["kind"], step["cue"]) for step in data["steps"]] == [
        ("changeover", "Verse"),
        ("song", "Verse"),
        ("cue", "Ring"),
    ]
    moved = {sent["target"]: sent for sent in data["steps"][1]["sent"]}
    assert moved["drive"] == {
        "at_s": 6.0,
        "port": "host",
        "bytes": "b0 46 7f",
        "target": "drive",
        "value": 12.0,
        "unit": "dB",
        "number": 127,
    }


def test_text_names_each_step_and_what_went_out(take, run, book: Path):
    text = run("replay", take, "--book", book).stdout
    assert "0:00  changeover to Low Lantern" in text
    assert "1:00  cue Ring" in text
    assert "drive 12 dB" in text


def test_text_says_programs_as_the_host_counts_them_and_notices_in_words(run, book: Path):
    rig = book / "rigs/big.toml"
    rig.write_text(rig.read_text().replace('output = "Host*"', 'output = "Host*"\nprograms_count_from = 1'))
    on = played(*((at_s, STEP, value) for start in (1, 5, 9) for at_s, value in ((start, 127), (start + 0.1, 0))))
    write_take(book / "takes/harbour/night.mid", Take(on, rig="big", song="harbour"))
    lines = [line.strip() for line in run("replay", "harbour/night", "--book", book).stdout.splitlines()]
    assert any(line.startswith("program 4 to host") for line in lines)
    assert lines[lines.index("0:05  the show is over") + 1] == "the show is over; hold to choose another song"


def test_on_a_smaller_rig_only_its_targets_are_sent(take, run_json, book: Path):
    data = run_json("replay", take, "--rig", "small", "--book", book)
    assert {sent["target"] for step in data["steps"] for sent in step["sent"]} == {"drive"}


def test_what_went_out_then_is_told_apart_from_what_goes_out_now(take, run, run_json, book: Path):
    now = run_json("replay", take, "--book", book)
    out = tuple(
        TakeEvent(sent["at_s"], sent["port"], "out", bytes.fromhex(sent["bytes"]))
        for step in now["steps"]
        for sent in step["sent"]
    )
    events = tuple(sorted(EVENTS + out, key=lambda event: event.at_s))
    write_take(book / "takes/low-lantern/kept.mid", Take(events, show="friday", rig="big"))
    assert run_json("replay", "low-lantern/kept", "--book", book)["as_then"] is True
    assert "All of it is what went out then." in run("replay", "low-lantern/kept", "--book", book).stdout
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace("drive = [3, 3, 12]", "drive = [3, 3, 10]"))
    assert run_json("replay", "low-lantern/kept", "--book", book)["as_then"] is False
    changed = run("replay", "low-lantern/kept", "--book", book).stdout
    assert "the first to differ is drive 9.9 dB, at 0:06." in changed


def test_a_cue_that_no_switch_led_to_is_jumped_to(run_json, book: Path):
    take = Take(cues=(TakeCue(0.5, "low-lantern", "Verse"), TakeCue(90.0, "low-lantern", "End")), song="low-lantern")
    write_take(book / "takes/low-lantern/clock.mid", take)
    steps = run_json("replay", "low-lantern/clock", "--book", book)["steps"]
    assert [(step["kind"], step["cue"], step["at_s"]) for step in steps][-1] == ("cue", "End", 90.0)


def test_a_step_that_the_machine_takes_by_itself_is_not_jumped_to_once_more(run_json, book: Path):
    """A release 10 ms after its press may be a contact that bounces; the step comes 30 ms after the press.

    The file's cue stands at the tick nearest to that, which may be just before it.
    """
    events = played((1, STEP, 127), (1.1, STEP, 0), (60, STEP, 127), (60.01, STEP, 0))
    take = Take(
        events,
        cues=(TakeCue(1.1, "low-lantern", "Verse"), TakeCue(60.0399, "low-lantern", "Ring")),
        rig="big",
        asks=(TakeAsk(61.0, "end"),),
    )
    write_take(book / "takes/low-lantern/quick.mid", take)
    steps = run_json("replay", "low-lantern/quick", "--book", book)["steps"]
    assert [(step["kind"], step["cue"], round(step["at_s"], 2)) for step in steps[1:]] == [
        ("song", "Verse", 1.1),
        ("cue", "Ring", 60.04),
    ]
    assert steps[-1]["at_s"] > 60.0399


def test_a_path_will_do_for_a_take(take, run, book: Path):
    assert run("replay", book / f"takes/{take}.mid", "--book", book).exit_code == 0


def test_a_misspelt_take_is_answered_with_the_nearest(take, run, book: Path):
    result = run("replay", "low-lantern/nigth", "--book", book)
    assert result.exit_code == 2
    assert f'did you mean "{take}"?' in result.stderr


def test_a_file_that_is_no_take_is_told_without_a_traceback(run, run_json, book: Path, tmp_path: Path):
    file = tmp_path / "noise.mid"
    file.write_bytes(b"MThd\x00\x00")
    result = run("replay", file, "--book", book)
    assert result.exit_code == 2
    assert f"{file}: " in result.stderr
    assert run_json("replay", file, "--book", book)["errors"][0]["file"] == str(file)


def test_a_take_of_a_song_that_is_not_in_the_book_is_told(run, book: Path, tmp_path: Path):
    file = tmp_path / "x" / "other.mid"
    write_take(file, Take(EVENTS, rig="big", song="nowhere"))
    result = run("replay", file, "--book", book)
    assert result.exit_code == 2
    assert '"nowhere"' in result.stderr
