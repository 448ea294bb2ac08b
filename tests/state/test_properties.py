"""What must hold on any song, any playing: the same state by every way, only changes sent, the order of a recall."""

from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from showrunner.curves.laws import to_number
from showrunner.state.events import Asked, Heard, Jump, Moved, PortFound, PortLost, Tick, Trimmed, Withhold
from showrunner.state.lanes import absorb, lanes
from showrunner.state.machine import fold
from showrunner.state.moments import prepare
from showrunner.state.script import Script
from showrunner.state.steps import SONG_GUARD_S

PEDALS = ("swell", "fine", "strip")
FREE = {"mix": 100, "drive": 127, "width": 100, "pitch": 100}
QUICK = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

travels = st.lists(st.integers(0, 100), min_size=1, max_size=4, unique=True).map(sorted)


@st.composite
def curve_sets(draw: st.DrawFn) -> dict[str, Any]:
    sets: dict[str, Any] = {}
    for name in draw(st.lists(st.sampled_from(["verse", "lead", "out"]), max_size=3, unique=True)):
        of_set = {}
        targets = draw(st.permutations(list(FREE)))
        for control in draw(st.lists(st.sampled_from(PEDALS), max_size=3, unique=True)):
            columns = draw(travels)
            rows = {}
            for target in targets[: draw(st.integers(1, 2))]:
                values = st.lists(st.integers(0, FREE[target]), min_size=len(columns), max_size=len(columns))
                rows[target] = {"values": draw(values), "shape": draw(st.sampled_from(["straight", "smooth", "step"]))}
            targets = targets[len(rows) :]
            if rows:
                entry = draw(st.sampled_from(["jump", "meet", "glide"]))
                of_set[control] = {"travel": columns, "entry": entry, "moves": rows}
        sets[name] = of_set
    return sets


@st.composite
def songs(draw: st.DrawFn, program: int = 1) -> dict[str, Any]:
    sets = draw(curve_sets())
    named = st.dictionaries(st.sampled_from(list(FREE)), st.integers(0, 100), max_size=2)
    placed = st.dictionaries(st.sampled_from(PEDALS), st.integers(0, 100), max_size=2)
    cues = []
    for index in range(draw(st.integers(0, 5))):
        cue: dict[str, Any] = {"name": f"cue {index}", "targets": draw(named), "open": draw(st.booleans())}
        cue["controls"] = draw(placed)
        if sets and draw(st.booleans()):
            cue["curves"] = draw(st.sampled_from(sorted(sets)))
        cues.append(cue)
    return {
        "format": 1,
        "title": "Made",
        "duration": "3:00",
        "program": {"port": "host", "channel": 1, "number": program},
        "start": {"targets": draw(named), "controls": draw(placed)},
        "curves": sets,
        "cues": cues,
    }


positions = st.fixed_dictionaries(
    {}, optional={"swell": st.integers(0, 127), "fine": st.integers(0, 16383), "strip": st.integers(1, 127)}
)


BEFORE = {"title": "Before", "program": None, "curves": {}, "cues": [], "start": {}}


def sounding(player: Any) -> Any:
    """Everything about a state that can be heard or that steers what comes next."""
    player.settle()
    state = player.state
    aims = {
        name: (aim.how, aim.control, aim.value if aim.how in ("fixed", "stands", "waits") else None)
        for name, aim in state.aims.items()
    }
    return state.song, state.moment, state.phase, state.muted, aims, dict(state.known)


def set_out(make_player: Any, script: Script, where: dict[str, int]) -> Any:
    """At the start of the second song, every control still since before it came up."""
    player = make_player(script)
    for control, raw in where.items():
        player.move(1, control, raw)
    player.settle()
    while player.state.song != "a" or player.state.phase != "song":
        player.settle()
        player.ask("next")
    player.settle()
    return player


@QUICK
@given(data=st.data(), first=songs(), second=songs(program=2), where=positions)
def test_next_back_jump_and_resume_arrive_at_the_same_state(
    data: st.DataObject, first: Any, second: Any, where: Any, make_rig: Any, make_song: Any, make_player: Any
) -> None:
    rig = make_rig()
    pieces = {slug: prepare(slug, make_song(**song), rig) for slug, song in (("a", first), ("b", second))}
    script = Script(rig, pieces, ("b", "a"))
    last = len(pieces["a"].moments) - 1
    to = data.draw(st.integers(0, last))

    by_next = set_out(make_player, script, where)
    for _ in range(to):
        by_next.settle()
        by_next.ask("next")
    expected = sounding(by_next)

    by_jump = set_out(make_player, script, where)
    by_jump.do(Jump(by_jump.at_s + 1, "a", to))
    assert sounding(by_jump) == expected

    by_back = set_out(make_player, script, where)
    by_back.do(Jump(by_back.at_s + 1, "a", last))
    while by_back.state.moment > to:
        by_back.settle()
        by_back.do(Jump(by_back.at_s + 1, "a", by_back.state.moment - 1))
    assert sounding(by_back) == expected

    resumed = set_out(make_player, script, where)
    resumed.do(Jump(resumed.at_s + 1, "b", 0))
    resumed.settle()
    resumed.do(Jump(resumed.at_s + 1, "a", to))
    assert sounding(resumed) == expected


def bare(program: int) -> dict[str, Any]:
    """A song that is nothing but its program."""
    return {
        "format": 1,
        "title": "Made",
        "duration": "3:00",
        "program": {"port": "host", "channel": 1, "number": program},
    }


def asked(what: Any) -> Any:
    return st.builds(lambda after_s: (after_s, "ask", what), st.sampled_from([0.01, 0.2, 1.5]))


happenings = st.lists(
    st.one_of(
        st.tuples(st.sampled_from([0.001, 0.01, 0.3]), st.just("swell"), st.integers(0, 127)),
        st.tuples(st.sampled_from([0.001, 0.01, 0.3]), st.just("fine"), st.integers(0, 16383)),
        st.tuples(st.sampled_from([0.001, 0.01, 0.3]), st.just("strip"), st.integers(0, 127)),
        st.tuples(
            st.sampled_from([0.05, 0.8, 2.0]), st.sampled_from(["next", "back", "tune"]), st.sampled_from([0, 127])
        ),
        st.tuples(st.just(0.2), st.just("lose"), st.sampled_from(["host", "floor", "guitar"])),
        st.tuples(st.just(0.2), st.just("find"), st.sampled_from(["host", "floor", "guitar"])),
        st.tuples(st.just(0.2), st.just("withhold"), st.sampled_from(PEDALS)),
        st.tuples(st.just(0.2), st.just("trim"), st.tuples(st.sampled_from(list(FREE)), st.integers(-20, 20))),
        st.tuples(st.just(0.0), st.just("bytes"), st.binary(max_size=4)),
        *(asked(what) for what in ("next", "back", "choose", "take", "cancel", "mute", "program")),
    ),
    max_size=40,
)


def play(player: Any, happening: Any) -> None:
    after_s, what, how = happening
    at_s = player.at_s + after_s
    if what == "ask":
        player.do(Asked(at_s, how))
    elif what == "lose":
        player.do(PortLost(at_s, how))
    elif what == "find":
        player.do(PortFound(at_s, how))
    elif what == "withhold":
        player.do(Withhold(at_s, how))
    elif what == "trim":
        player.do(Trimmed(at_s, *how))
    elif what == "bytes":
        player.do(Heard(at_s, "guitar", how))
    else:
        player.do(Moved(at_s, what, how))


@QUICK
@example(first=bare(1), second=bare(2), playing=[(0.01, "ask", "next"), (0.01, "ask", "mute")])
@given(first=songs(), second=songs(program=2), playing=happenings)
def test_only_what_changed_is_sent_and_nothing_while_a_program_settles(
    first: Any, second: Any, playing: Any, make_rig: Any, make_song: Any, make_player: Any
) -> None:
    rig = make_rig()
    pieces = {slug: prepare(slug, make_song(**song), rig) for slug, song in (("a", first), ("b", second))}
    player = make_player(Script(rig, pieces, ("a", "b")))
    lost_at: list[float] = []
    for happening in playing:
        play(player, happening)
        if happening[1] == "lose" and happening[2] == "host":
            lost_at.append(player.at_s)
    player.settle()
    has: dict[int, int] = {}
    settles_s, coarse = -1.0, None
    for at_s, port, message in player.sent:
        if port != "host":
            continue
        if any(at_s > lost_s for lost_s in lost_at):
            has.clear()
            settles_s, lost_at = -1.0, [lost_s for lost_s in lost_at if lost_s >= at_s]
        if message[0] == 0xC0:
            has.clear()
            settles_s = at_s + 0.3
            continue
        cc, value = message[1], message[2]
        if cc in (0, 32):
            continue
        if (cc, value) == (7, 0) and at_s < settles_s:
            continue  # the mute waits for nothing, and goes out again once the program has settled
        assert at_s >= settles_s - 1e-9
        if cc == 12:
            coarse = value
        elif cc == 44:
            assert has.get(12) != (coarse, value)
            has[12] = (coarse, value)  # type: ignore[assignment]
        else:
            assert has.get(cc) != value
            has[cc] = value


@QUICK
@given(first=songs(), second=songs(program=2), playing=happenings)
def test_the_receiver_ends_up_with_what_everything_aims_at(
    first: Any, second: Any, playing: Any, make_rig: Any, make_song: Any, make_player: Any
) -> None:
    rig = make_rig()
    pieces = {slug: prepare(slug, make_song(**song), rig) for slug, song in (("a", first), ("b", second))}
    script = Script(rig, pieces, ("a", "b"))
    player = make_player(script)
    for happening in playing:
        play(player, happening)
    for port in sorted(player.state.lost):
        player.do(PortFound(player.at_s + 1, port))
    player.settle()
    state = player.state
    for name, aim in state.aims.items():
        if name == "output":
            continue
        value = aim.value
        if aim.how == "follows":
            curves = pieces[state.song].moments[state.moment].curves
            table = script.table(state.song, curves, aim.control, state.trims)
            assert table is not None
            value = table.value(state.travels[aim.control])[table.targets.index(name)]
        assert state.known[name] == to_number(rig.targets[name], value)
    assert state.known["output"] == (0 if state.muted else 113)


@QUICK
@given(
    first=songs(), where=positions, raws=st.lists(st.integers(0, 127), min_size=1, max_size=20), steps=st.integers(0, 4)
)
def test_the_fast_road_sends_what_the_fold_sends_and_arrives_where_it_arrives(
    first: Any, where: Any, raws: list[int], steps: int, make_rig: Any, make_song: Any, make_player: Any
) -> None:
    rig = make_rig()
    pieces = {"b": prepare("b", make_song(**BEFORE), rig), "a": prepare("a", make_song(**first), rig)}
    script = Script(rig, pieces, ("b", "a"))
    player = set_out(make_player, script, where)
    for _ in range(steps):
        player.ask("next")
    player.settle()
    for control, lane in lanes(script, player.state).items():
        state, slow, fast, at_s = player.state, [], [], player.at_s
        for raw in raws:
            at_s += 0.01
            state, out = fold(script, state, Moved(at_s, control, raw))
            slow += out.sends
            fast += lane.move(raw)
        assert fast == slow
        assert absorb(script, player.state, lane, at_s) == state


@QUICK
@given(first=songs(), playing=happenings)
def test_while_muted_the_mute_target_stays_down(
    first: Any, playing: Any, make_rig: Any, make_song: Any, make_player: Any
) -> None:
    rig = make_rig()
    player = make_player(Script(rig, {"a": prepare("a", make_song(**first), rig)}, ("a",)))
    for happening in playing:
        before = len(player.sent)
        play(player, happening)
        if player.state.muted and not any(notice[0] == "muted" for notice in player.notices[-3:]):
            outputs = [m[2] for _, port, m in player.sent[before:] if port == "host" and m[:2] == b"\xb0\x07"]
            assert set(outputs) <= {0, 113}
            assert outputs[-1:] in ([], [0])


def test_the_guard_after_a_song_change_is_longer_than_after_a_cue(make_rig: Any) -> None:
    assert make_rig().steps.guard_ms / 1000 < SONG_GUARD_S


def test_equal_states_are_equal_values(player: Any) -> None:
    again = fold(player.script, player.state, Tick(player.at_s))[0]
    assert again == player.state
    with pytest.raises(AttributeError):
        player.state.muted = False
