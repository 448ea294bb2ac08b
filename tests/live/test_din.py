"""A DIN wire carries 3,125 bytes a second; what waits for it must not grow old."""

from hypothesis import given
from hypothesis import strategies as st

from showrunner.live.din import BYTE_S, DinQueue


def drain(queue: DinQueue, now_s: float = 0.0) -> list[tuple[float, bytes]]:
    sent = []
    while (due_s := queue.due_s()) is not None:
        now_s = max(now_s, due_s)
        sent += [(now_s, message) for message in queue.take(now_s)]
    return sent


def test_three_bytes_take_960_microseconds() -> None:
    # MIDI 1.0 Detailed Specification v4.2.1, pp. 1 and 9: 31.25 kbaud, 10 bits a byte.
    queue = DinQueue()
    queue.put((b"\xb0\x0b\x01",))
    queue.put((b"\xb0\x0c\x01",))
    (first_s, _), (second_s, _) = drain(queue)
    assert round(second_s - first_s, 9) == 0.00096


def test_an_older_value_of_a_controller_gives_way_to_a_newer_one() -> None:
    queue = DinQueue()
    for value in range(100):
        queue.put((bytes((0xB0, 11, value)),))
        queue.put((bytes((0xB0, 12, value)),))
    assert [message for _, message in drain(queue)] == [b"\xb0\x0b\x63", b"\xb0\x0c\x63"]


def test_programs_banks_and_notes_are_kept_and_no_value_passes_them() -> None:
    kept = [b"\x90\x3c\x40", b"\xb0\x00\x01", b"\xb0\x20\x02", b"\xc0\x05", b"\xb0\x0b\x02"]
    queue = DinQueue()
    queue.put((b"\xb0\x0b\x01",))
    for message in kept:
        queue.put((message,))
    assert [message for _, message in drain(queue)] == [b"\xb0\x0b\x01", *kept]


def test_a_pair_of_14_bits_is_replaced_as_a_pair() -> None:
    queue = DinQueue()
    queue.put((b"\xb0\x0c\x01", b"\xb0\x2c\x02"))
    queue.put((b"\xb0\x0c\x03", b"\xb0\x2c\x04"))
    assert [message for _, message in drain(queue)] == [b"\xb0\x0c\x03", b"\xb0\x2c\x04"]


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 127), st.integers(0, 40)), max_size=60))
def test_final_values_are_right_and_never_later_than_what_waits_allows(moves: list[tuple[int, int, int]]) -> None:
    queue, now_s, sent, last = DinQueue(), 0.0, [], {}
    for controller, value, wait in moves:
        queue.put((bytes((0xB0, 20 + controller, value)),))
        last[20 + controller] = value
        now_s += wait * 0.0001
        sent += queue.take(now_s)
        assert len(queue) <= 4
    ended = drain(queue, now_s)
    sent += [message for _, message in ended]
    assert {message[1]: message[2] for message in sent} == last
    assert not ended or ended[-1][0] <= now_s + 5 * 3 * BYTE_S
