"""What must happen between two songs, and whether there is time."""

import pytest

from showrunner.planning.changeover import between_s, changeover_times, changeovers
from showrunner.planning.handwork import strings_to_turn
from showrunner.state.moments import prepare_song

STANDARD, DROP_D = ["E2", "A2", "D3", "G3", "B3", "E4"], ["D2", "A2", "D3", "G3", "B3", "E4"]
LOW, LOWER = ["B1", "E2", "A2", "D3", "F#3", "B3"], ["A1", "E2", "A2", "D3", "F#3", "B3"]
RIG = {
    "ports": {"floor": {"input": "Floor*"}, "host": {"output": "Host*", "programs_count_from": 1}},
    "controls": {
        "swell": {"kind": "pedal", "limb": "right foot", "port": "floor", "channel": 1, "cc": 11, "rest": 0},
        "colour": {"kind": "pedal", "limb": "right foot", "port": "floor", "channel": 1, "cc": 13, "rest": 0},
        "toggle": {
            "kind": "switch", "limb": "left foot", "port": "floor", "channel": 1, "cc": 82, "sends": "latching",
            "rest": 0,
        },
        "touch": {"kind": "switch", "limb": "left foot", "port": "floor", "channel": 1, "cc": 83, "rest": 0},
        "strip": {
            "kind": "strip", "limb": "picking hand", "port": "floor", "channel": 1, "cc": 16,
            "on_release": {"to": 0}, "rest": 0,
        },
        "driver": {
            "kind": "selector", "limb": "picking hand", "positions": ["off", "fundamental", "octave"],
            "rest": "off", "seconds": 1,
        },
        "pickup": {"kind": "selector", "limb": "picking hand", "positions": ["neck", "bridge"], "rest": "neck"},
        "tone": {"kind": "knob", "limb": "fretting hand", "rest": "bright"},
        "fuzz": {"kind": "knob", "limb": "picking hand", "rest": "low", "seconds": 2},
    },
    "targets": {
        "drive": {"port": "host", "channel": 1, "cc": 70, "unit": "dB", "range": [-12, 12], "rest": 3},
        "mix": {"port": "host", "channel": 1, "cc": 71, "range": [0, 100], "rest": 0},
        "output": {"port": "host", "channel": 1, "cc": 72, "unit": "dB", "range": [-90, 0], "rest": 0},
    },
    "mute": {"target": "output", "value": -90},
    "instruments": {
        "baritone": {"tunings": {"B": LOW, "drop A": LOWER}, "carries": ["driver", "strip"], "swap_s": 25},
        "six-string": {
            "tunings": {"E": STANDARD, "drop D": DROP_D}, "carries": ["pickup", "tone"],
            "swap_s": 30, "retune_s_per_string": 8, "capo_s": 10,
        },
    },
}  # fmt: skip
SIX = {"instrument": "six-string"}
LOW_ONE = {"instrument": "baritone"}


@pytest.fixture
def between(make_book, make_show):
    """The changeover between two songs, played after nothing else."""

    def change(before, after, then=None):
        book = make_book({"ash": before, "beck": after}, RIG)
        slot = {"song": "ash"} | ({"then": then} if then else {})
        return changeovers(book, make_show([slot, "beck"]), book.rigs["full"])[0]

    return change


def done(change):
    """What is done, without pedals that need no word."""
    return [(step.what, step.before, step.after, step.seconds) for step in change.steps]


def test_the_worked_example_of_the_developers_page(between):
    """Worked by hand there: 1 + 30 + 8 + 10, then 1 + 2 for the picking hand beside 2 for the fretting hand: 52 s."""
    before = LOW_ONE | {"start": {"controls": {"swell": 100}, "by_hand": {"driver": "octave"}}}
    after = SIX | {
        "tuning": "drop D", "capo": 2,
        "start": {"controls": {"colour": 60}, "by_hand": {"pickup": "bridge", "tone": "dark", "fuzz": "half"}},
    }  # fmt: skip
    change = between(before, after)
    assert [(step.what, step.before, step.after, step.limb, step.seconds) for step in change.steps] == [
        ("driver", "octave", "off", "picking hand", 1),
        ("guitar", "baritone", "six-string", "both hands", 30),
        ("tuning", "E", "drop D", "both hands", 8),
        ("capo", 0, 2, "both hands", 10),
        ("pickup", "neck", "bridge", "picking hand", 1),
        ("tone", "bright", "dark", "fretting hand", 2),
        ("fuzz", "low", "half", "picking hand", 2),
        ("swell", 100, 0, "right foot", 1),
        ("colour", 0, 60, "right foot", 1),
    ]
    assert [step.waits_for for step in change.steps] == [(), (0,), (1,), (2,), (3,), (3,), (), (), ()]
    assert change.needs_s == 52
    assert (change.has_s, change.short_s) == (12, 40)


def test_two_songs_that_leave_nothing_to_do_need_no_time(between):
    assert between(SIX, SIX).steps == ()
    assert between(SIX, SIX).needs_s == 0


def test_only_strings_whose_note_differs_are_turned(between):
    change = between(SIX, SIX | {"tuning": "drop D"})
    assert done(change) == [("tuning", "E", "drop D", 8)]
    assert change.steps[0].detail == "6 E2→D2"


def test_a_guitar_just_taken_up_is_in_its_rest_tuning(between):
    assert done(between(SIX, LOW_ONE | {"tuning": "B"})) == [("guitar", "six-string", "baritone", 25)]


def test_a_guitar_laid_down_and_taken_up_again_is_back_in_its_rest_tuning(make_book, make_show):
    songs = {"ash": SIX | {"tuning": "drop D"}, "beck": LOW_ONE, "cove": SIX}
    book = make_book(songs, RIG)
    last = changeovers(book, make_show(list(songs)), book.rigs["full"])[-1]
    assert done(last) == [("guitar", "baritone", "six-string", 30)]


def test_the_capo_comes_off_with_the_guitar_or_by_hand(between):
    assert done(between(SIX | {"capo": 3}, SIX)) == [("capo", 3, 0, 10)]
    assert done(between(SIX | {"capo": 3}, LOW_ONE)) == [("guitar", "six-string", "baritone", 25)]


def test_a_running_driver_is_turned_off_for_tuning_and_on_again_at_the_end(between):
    running = {"start": {"by_hand": {"driver": "octave"}}}
    change = between(LOW_ONE | running, LOW_ONE | running | {"tuning": "drop A"})
    assert [step[:2] for step in done(change)] == [("driver", "octave"), ("tuning", "B"), ("driver", "off")]
    assert change.steps[2].waits_for == (0, 1)


def test_a_running_driver_may_run_on_where_the_guitar_stays_as_it_is(between):
    running = LOW_ONE | {"start": {"by_hand": {"driver": "octave"}}}
    assert between(running, running).steps == ()


def test_selectors_take_a_second_and_knobs_two_where_the_rig_does_not_say(between):
    """Common practice, no source."""
    change = between(SIX, SIX | {"start": {"by_hand": {"pickup": "bridge", "tone": "dark"}}})
    assert {step.what: step.seconds for step in change.steps} == {"pickup": 1, "tone": 2}


def test_switches_of_a_guitar_that_is_not_played_are_left_alone(between):
    assert between(SIX, SIX | {"start": {"by_hand": {"driver": "octave"}}}).steps == ()


def test_pedals_go_where_the_next_song_wants_them(between):
    moved = SIX | {"cues": [{"name": "End", "controls": {"swell": 80}}]}
    assert done(between(moved, SIX)) == [("swell", 80, 0, 1)]


def test_what_goes_back_by_itself_is_not_parked(between):
    moved = SIX | {"cues": [{"name": "End", "controls": {"touch": 100, "strip": 60, "toggle": 100}}]}
    assert [step[0] for step in done(between(moved, SIX))] == ["toggle"]


def test_the_state_is_that_of_the_last_cue(between):
    before = SIX | {"cues": [{"name": "Up", "by_hand": {"fuzz": "full"}}, {"name": "Down", "by_hand": {"fuzz": "low"}}]}
    assert between(before, SIX).steps == ()


def test_a_first_cue_at_the_start_is_where_the_next_song_begins(between):
    after = SIX | {"cues": [{"name": "In", "at": "0:00", "by_hand": {"fuzz": "half"}}]}
    assert done(between(SIX, after)) == [("fuzz", "low", "half", 2)]


@pytest.mark.parametrize(("then", "has_s"), [("segue", 0), ("gap 0:20", 20), ("talk 1:30", 90), (None, 12)])
def test_there_is_the_time_that_the_show_gives(between, then, has_s):
    assert between(SIX, SIX, then).has_s == has_s


def test_a_target_that_changes_its_value_jumps_in_its_own_unit(between):
    change = between(SIX | {"start": {"targets": {"drive": 9}}}, SIX)
    assert [tuple(sound) for sound in change.recall.jumps] == [("drive", 9, 3, "dB")]


def test_a_jump_under_the_mute_is_not_heard_and_in_a_segue_is(between):
    before = SIX | {"start": {"targets": {"drive": 9}}}
    assert between(before, SIX).recall.sound == "muted"
    assert between(before, SIX, "segue").recall.sound == "sounding"


def test_a_pedal_that_still_stands_at_the_toe_brings_its_curve_s_value(between):
    curves = {"verse": {"swell": {"travel": [0, 100], "moves": {"mix": [0, 40]}}}}
    before = SIX | {"curves": curves, "cues": [{"name": "End", "controls": {"swell": 100}}]}
    after = SIX | {"curves": {"verse": {"swell": {"travel": [0, 100], "moves": {"mix": [0, 70]}}}}}
    assert [tuple(sound) for sound in between(before, after).recall.jumps] == [("mix", 40, 70, "%")]


def test_a_row_that_glides_in_does_not_jump(between):
    def moves(to, entry):
        return {"verse": {"swell": {"travel": [0, 100], "entry": entry, "moves": {"mix": [0, to]}}}}

    before = SIX | {"curves": moves(40, "jump"), "cues": [{"name": "End", "controls": {"swell": 100}}]}
    assert between(before, SIX | {"curves": moves(70, "glide")}, "segue").recall.jumps == ()


def test_programs_are_named_as_the_receiver_counts_them(between):
    after = SIX | {"program": {"port": "host", "channel": 1, "number": 12}}
    recall = between(SIX, after).recall
    assert recall.programs == ("program 13 on host",)
    assert recall.targets == ("drive", "mix")


def test_a_song_the_book_lacks_is_passed_over(make_book, make_show):
    book = make_book({"ash": SIX, "cove": SIX}, RIG)
    changes = changeovers(book, make_show(["ash", "beck", "cove"]), book.rigs["full"])
    assert [(change.before, change.after) for change in changes] == [("ash", "cove")]


def test_guitars_and_tunings_that_the_rig_lacks_do_not_stop_the_list(between):
    assert done(between(SIX, {"instrument": "lute", "tuning": "old"})) == [("guitar", "six-string", "lute", 30)]
    assert between(SIX, SIX | {"tuning": "nobody's"}).steps == ()


def test_strings_are_counted_from_the_lowest(make_book):
    guitar = make_book({}, RIG).rigs["full"].instruments["six-string"]
    assert strings_to_turn(guitar, "drop D", "E") == ("6 D2→E2",)
    assert len(strings_to_turn(guitar, None, "E")) == 6


def test_times_by_pair_agree_with_the_changeovers(make_book, make_show):
    songs = {"ash": SIX, "beck": LOW_ONE, "cove": SIX | {"capo": 2}}
    book, show = make_book(songs, RIG), make_show(list(songs))
    times = changeover_times(book, show, book.rigs["full"])
    assert times == {(c.before, c.after): c.needs_s for c in changeovers(book, show, book.rigs["full"])}


def test_a_pair_of_songs_costs_what_it_costs_in_a_show(make_book, make_show):
    songs = {"ash": SIX, "beck": LOW_ONE | {"start": {"by_hand": {"fuzz": "half"}}}}
    book, show = make_book(songs, RIG), make_show(list(songs))
    rig = book.rigs["full"]
    ash, beck = (prepare_song(book, slug, rig, show) for slug in songs)
    assert between_s(ash, beck) == changeovers(book, show, rig)[0].needs_s == 27


def test_a_rigs_only_guitar_is_the_one_in_hand(make_book, make_show):
    """A song that names none is played on it, in its rest tuning, with its switches; nothing is taken later."""
    rig = {**RIG, "instruments": {"six-string": RIG["instruments"]["six-string"]}}
    named = SIX | {"tuning": "drop D", "start": {"by_hand": {"pickup": "bridge"}}}
    book = make_book({"ash": {}, "beck": named, "cairn": {}}, rig)
    into_beck, into_cairn = changeovers(book, make_show(["ash", "beck", "cairn"]), book.rigs["full"])
    assert done(into_beck) == [("tuning", "E", "drop D", 8), ("pickup", "neck", "bridge", 1)]
    assert done(into_cairn) == [("tuning", "drop D", "E", 8), ("pickup", "bridge", "neck", 1)]
    assert prepare_song(book, "ash", book.rigs["full"]).song.instrument == "six-string"
