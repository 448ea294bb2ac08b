"""The engine sends what the fold says, by whichever road a message takes."""

import random
import threading
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from showrunner.live.engine import IDLE_S, LOOK_AGAIN_S, Engine
from showrunner.live.ports import PortError
from showrunner.live.roads import STARTS
from showrunner.model.rig import Rig
from showrunner.model.song import Song
from showrunner.state.events import Asked, Out, PortFound
from showrunner.state.machine import open_show
from showrunner.state.moments import prepare
from showrunner.state.script import Script

PEDAL = {"kind": "pedal", "port": "floor", "channel": 1}
SWITCH = {"kind": "switch", "port": "floor", "channel": 1}
TARGET = {"port": "host", "channel": 1, "range": [0, 127], "rest": 0}
RIG = Rig.model_validate(
    {
        "format": 1,
        "title": "Test rig",
        "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*", "settle_ms": 20}},
        "controls": {
            "swell": {**PEDAL, "cc": 11},
            "wide": {**PEDAL, "cc": 4},
            "fine": {**PEDAL, "cc": 12, "bits": 14},
            "strip": {**PEDAL, "kind": "strip", "cc": 16, "on_release": {"to": 0}},
            "next": {**SWITCH, "cc": 80},
            "back": {**SWITCH, "cc": 81},
        },
        "targets": {name: {**TARGET, "cc": 20 + index} for index, name in enumerate("abcdef")},
        "steps": {"next": "next", "back": "back"},
    }
)
SONG = Song.model_validate(
    {
        "format": 1,
        "title": "Low Lantern",
        "duration": "3:00",
        "program": {"port": "host", "channel": 1, "number": 5},
        "curves": {
            "verse": {
                "swell": {"travel": [0, 100], "moves": {"a": [0, 127], "b": [127, 0]}},
                "fine": {"travel": [0, 100], "moves": {"c": [0, 127]}},
                "strip": {"travel": [0, 100], "moves": {"d": [0, 127]}},
            },
            "lead": {"swell": {"travel": [0, 50, 100], "moves": {"a": [0, 0, 127], "e": [20, 90, 20]}}},
        },
        "cues": [{"name": "Lead", "curves": "lead", "targets": {"f": 9}}, {"name": "Verse", "curves": "verse"}],
    }
)


class Bench:
    """An engine on made ports with a clock that a test sets."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.sent: list[bytes] = []
        self.gone = False
        self.meanwhile: Callable[[], object] | None = None
        self.script = Script(RIG, {"a": prepare("a", SONG, RIG), "b": prepare("b", SONG, RIG)}, ("a", "b"))
        state, _ = open_show(self.script, 0.0)
        self.slept_s = 0.0
        self.engine = Engine(
            self.script, state, {"host": self.send}, lambda: self.now_s, lambda *_: None, lambda: self.slept_s
        )
        self.hear = self.engine.hears("floor")

    def send(self, message: bytes) -> None:
        if self.gone:
            raise PortError("host", "gone")
        meanwhile, self.meanwhile = self.meanwhile, None
        if meanwhile is not None:
            meanwhile()
        self.sent.append(message)

    def pass_time(self, for_s: float) -> None:
        until_s = self.now_s + for_s
        while self.now_s < until_s:
            self.now_s = min(until_s, self.now_s + max(0.001, self.engine.beat()))
        self.engine.beat()

    def receiver(self) -> dict[int, int]:
        has: dict[int, int] = {}
        for message in self.sent:
            if message[0] == 0xB0:
                has[message[1]] = message[2]
        return has


@pytest.fixture
def bench() -> Bench:
    bench = Bench()
    bench.pass_time(0.1)
    for value in (127, 0):
        bench.hear(bytes((0xB0, 80, value)))
        bench.pass_time(0.1)
    return bench


def test_a_sweep_over_the_fast_road_sends_just_what_changes(bench: Bench) -> None:
    bench.hear(b"\xb0\x0b\x00")
    before = len(bench.sent)
    for value in (1, 2, 2, 3):
        bench.hear(bytes((0xB0, 11, value)))
    assert bench.sent[before:] == [
        bytes(message) for v in (1, 2, 3) for message in ((0xB0, 20, v), (0xB0, 21, 127 - v))
    ]
    assert bench.engine.look().raws["swell"] == 3


def test_a_message_under_way_on_a_road_that_is_taken_down_never_overtakes_the_next(bench: Bench) -> None:
    bench.hear(b"\xb0\x0b\x14")
    bench.hear(b"\xb0\x0b\x15")
    bench.meanwhile = lambda: bench.engine.do(Asked(bench.now_s, "next"))
    bench.hear(b"\xb0\x0b\x1e")
    bench.hear(b"\xb0\x0b\x5a")
    bench.pass_time(0.1)
    state = bench.engine.look()
    table = bench.script.table("a", "lead", "swell")
    assert state.raws["swell"] == 90
    assert table is not None
    wanted = {RIG.targets[name].cc: number for name, number in zip(table.targets, table.row(90), strict=True)}
    assert bench.receiver().items() >= wanted.items()


@pytest.mark.parametrize(("slept_s", "chooses"), [(0.0, True), (3.0, False)])
@pytest.mark.parametrize("first", ["beat", "release"])
def test_a_switch_that_was_down_while_the_machine_slept_was_not_held(
    bench: Bench, slept_s: float, chooses: bool, first: str
) -> None:
    bench.pass_time(2.0)
    bench.hear(b"\xb0\x50\x7f")
    before = bench.engine.look()
    bench.now_s, bench.slept_s = bench.now_s + 3.0, bench.slept_s + slept_s
    if first == "beat":
        bench.engine.beat()
    bench.hear(b"\xb0\x50\x00")
    after = bench.engine.look()
    assert (after.choice is not None) == chooses
    assert (after.place, after.moment, after.phase) == (before.place, before.moment, before.phase)
    bench.pass_time(10.0)
    bench.hear(b"\xb0\x50\x7f")
    bench.pass_time(0.1)
    bench.hear(b"\xb0\x50\x00")
    assert bench.engine.look().moment == before.moment + 1


def test_lists_of_numbers_are_heard_like_bytes(bench: Bench) -> None:
    bench.hear([0xB0, 11, 0])  # type: ignore[arg-type]
    bench.hear([0xB0, 11, 9])  # type: ignore[arg-type]
    assert bench.receiver()[20] == 9


def test_a_strip_on_the_fast_road_returns_when_the_finger_leaves(bench: Bench) -> None:
    for value in (10, 60, 100):
        bench.hear(bytes((0xB0, 16, value)))
        bench.pass_time(0.01)
    assert bench.receiver()[23] == 100
    bench.pass_time(0.5)
    assert bench.receiver()[23] == 0


def test_a_show_that_stands_still_is_looked_at_a_few_times_a_second(bench: Bench) -> None:
    """A strip that was played and let go costs no more than its own time to go back."""
    bench.pass_time(3.0)
    assert bench.engine.beat() == IDLE_S
    for value in (10, 60):
        bench.hear(bytes((0xB0, 16, value)))
    assert bench.engine.beat() <= LOOK_AGAIN_S
    bench.pass_time(3.0)
    assert bench.engine.beat() >= 0.05


def test_a_port_that_refuses_is_lost_and_gets_its_values_when_it_is_back(bench: Bench) -> None:
    bench.hear(b"\xb0\x0b\x00")
    bench.gone = True
    bench.hear(b"\xb0\x0b\x20")
    bench.pass_time(0.1)
    assert bench.engine.look().lost == {"host"}
    bench.gone = False
    before = len(bench.sent)
    bench.engine.do(PortFound(bench.now_s, "host"))
    assert bench.receiver()[20] == 0x20
    assert not any(message[0] == 0xC0 for message in bench.sent[before:])


pedals = st.tuples(st.sampled_from([11, 4, 12, 44, 16]), st.integers(0, 127))
played = st.lists(st.one_of(pedals, st.just((80, 127)), st.sampled_from([(80, 0), (81, 127), (81, 0)])), max_size=80)


@settings(max_examples=60, deadline=None)
@given(played, st.floats(0.0005, 0.4))
@example([(80, 127), (81, 127), (80, 127), (80, 127), (16, 2)], 0.15625)
def test_the_receiver_has_what_the_state_aims_at_after_any_playing(
    playing: list[tuple[int, int]], pace_s: float
) -> None:
    bench = Bench()
    for cc, value in playing:
        bench.hear(bytes((0xB0, cc, value)))
        bench.pass_time(pace_s)
    bench.pass_time(3.0)  # a switch is held, its song is brought once the guard is over, and its program settles
    state = bench.engine.look()
    assert bench.receiver() == {RIG.targets[name].cc: number for name, number in state.known.items()}
    piece = bench.script.pieces[state.order[state.place]]
    moment = piece.moments[state.moment]
    for name, aim in state.aims.items():
        if aim.how == "follows" and aim.control is not None:
            table = bench.script.table(piece.slug, moment.curves, aim.control)
            assert table is not None
            expected = table.value(state.travels[aim.control])[table.targets.index(name)]
            assert abs(state.known[name] - expected) <= 0.5


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.lists(st.binary(max_size=6), max_size=30))
def test_no_bytes_at_all_make_it_send_what_no_curve_or_cue_asks_for(data: list[bytes]) -> None:
    bench = Bench()
    for message in data:
        bench.hear(message)
        bench.pass_time(0.01)
    bench.pass_time(1.0)
    for message in bench.sent:
        assert message == b"\xc0\x05" or (message[0] == 0xB0 and 20 <= message[1] <= 25)


def test_memory_stays_flat_whatever_pedals_do(bench: Bench) -> None:
    """All that is worked out for messages is kept within limits; each of three pedals takes 16,256 different steps."""
    rnd = random.Random(1)

    def most_kb(messages: int) -> float:
        tracemalloc.reset_peak()
        for _ in range(messages):
            bench.hear(bytes((0xB0, rnd.choice((11, 4, 16)), rnd.randrange(128))))
            bench.sent.clear()
        return tracemalloc.get_traced_memory()[1] / 1024

    tracemalloc.start()
    try:
        settled_kb = most_kb(8000)
        assert most_kb(12000) < 1.5 * settled_kb
    finally:
        tracemalloc.stop()
    assert bench.engine.look().raws.keys() >= {"swell", "wide", "strip"}


def test_receivers_that_no_row_says_are_not_kept_for_ever(bench: Bench) -> None:
    steps: set[int] = set()
    bench.hear(b"\xb0\x0b\x00")
    for value in range(60):
        bench.engine.open(replace(bench.engine.look(), known={"a": value, "b": 1}), Out())
        bench.hear(b"\xb0\x0b\x40")
        assert bench.receiver()[20] == 0x40
        bench.hear(b"\xb0\x0b\x00")
        steps |= {len(of._starts) for of in bench.engine._steps.values()}
    assert 1 < max(steps) <= STARTS


def test_pedals_swept_from_one_thread_while_cues_are_taken_in_another_lose_nothing(bench: Bench) -> None:
    clock = iter(range(1, 10_000_000))
    bench.engine._clock = lambda: 10 + next(clock) * 1e-4  # type: ignore[method-assign]
    bench.hear = bench.engine.hears("floor")
    done = threading.Event()

    def sweep() -> None:
        for turn in range(40):
            for value in range(128):
                bench.hear(bytes((0xB0, 11, value if turn % 2 else 127 - value)))
        done.set()

    thread = threading.Thread(target=sweep)
    thread.start()
    while not done.is_set():
        bench.engine.do(Asked(bench.engine._clock(), "next"))
        bench.engine.do(Asked(bench.engine._clock(), "back"))
    thread.join()
    for _ in range(100):
        bench.engine.beat()
    state = bench.engine.look()
    assert state.raws["swell"] == 127
    table = bench.script.table("a", bench.script.pieces["a"].moments[state.moment].curves, "swell")
    assert table is not None
    has = bench.receiver()
    assert {
        RIG.targets[name].cc: number for name, number in zip(table.targets, table.row(127), strict=True)
    }.items() <= has.items()
