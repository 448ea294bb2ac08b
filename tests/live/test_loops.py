"""What was sent coming back is told from a player's own playing."""

from showrunner.live.loops import Loops


def circle(loops: Loops, message: bytes, every_s: float, times: int) -> list[bool]:
    """A message goes out and comes back again and again; whether each return was stopped."""
    stopped = []
    for turn in range(times):
        loops.sent(message, turn * every_s)
        stopped.append(loops.heard("floor", message, (turn + 0.5) * every_s))
    return stopped


def test_the_same_message_coming_back_again_and_again_stops_its_path() -> None:
    loops = Loops()
    assert circle(loops, b"\xb0\x14\x05", 0.02, 8)[-1]
    assert loops.ports == ("floor",)


def test_two_messages_that_chase_each_other_are_a_loop_too() -> None:
    loops, stopped = Loops(), []
    for turn in range(30):
        for value in (5, 122):
            loops.sent(bytes((0xB0, 20, value)), turn * 0.006)
            stopped.append(loops.heard("floor", bytes((0xB0, 20, value)), turn * 0.006 + 0.003))
    assert stopped[-1]


def test_a_pedal_that_trembles_over_its_own_controller_is_no_loop() -> None:
    loops = Loops()
    for turn in range(200):
        message = bytes((0xB0, 11, 60 + turn % 2))
        assert not loops.heard("floor", message, turn * 0.01)
        loops.sent(message, turn * 0.01)


def test_a_stopped_path_is_tried_again_after_silence() -> None:
    loops = Loops()
    circle(loops, b"\xb0\x14\x05", 0.02, 8)
    assert loops.heard("floor", b"\xb0\x14\x06", 0.3)
    assert not loops.heard("floor", b"\xb0\x14\x07", 2.0)
