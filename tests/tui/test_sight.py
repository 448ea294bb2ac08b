"""What the playing screen says of each place in a show."""

import datetime
from dataclasses import replace

import pytest

from showrunner.cli import plain
from showrunner.live.night import night_of
from showrunner.live.seen import SIMULATED, Sight
from showrunner.live.sight import arrivals, sight, song_head
from showrunner.live.wording import lateness
from showrunner.model.cells import whole_parts
from showrunner.model.rig import Battery, Control
from showrunner.model.song import TempoChange
from showrunner.model.venue import Venue
from showrunner.planning.legibility import legibility
from showrunner.planning.underway import plan_of
from showrunner.state.events import Asked, Jump
from showrunner.state.machine import fold, open_show
from showrunner.state.moments import prepare
from showrunner.tui.arranging import rows_of
from showrunner.tui.lettering import SIZES
from showrunner.tui.widgets.ruler import one_ruler


def seen(bench, arrived=frozenset()) -> Sight:
    return sight(bench.client.script, bench.client.picture(), bench.plan, arrived)


def said(told: Sight) -> list[str]:
    return list(told.do)


def test_a_changeover_names_guitar_tuning_and_pedal(bench) -> None:
    told = seen(bench)
    assert told.mode == "changeover"
    assert told.head[0] == "LOW LANTERN"
    assert said(told) == ["TAKE TENOR", "TUNING DROP D", "SWELL HEEL"]


def test_a_switch_goes_on_or_off_and_what_goes_back_by_itself_needs_nobody(bench) -> None:
    """Only a pedal has heel and toe; a strip that returns and a switch that is let go of are where they rest."""
    lantern, rig = bench.book.songs["lantern"], bench.book.rigs["rig"]
    on_port = {"port": "floor", "channel": 1}
    more = {
        "latch": {**on_port, "kind": "switch", "cc": 90, "sends": "latching"},
        "tap": {**on_port, "kind": "switch", "cc": 91},
        "strip": {**on_port, "kind": "strip", "cc": 92, "on_release": {"to": 0}},
        "stays": {**on_port, "kind": "strip", "cc": 93},
    }
    rig = rig.model_copy(
        update={"controls": {**rig.controls, **{n: Control.model_validate(c) for n, c in more.items()}}}
    )
    for places, asked in (
        ({"latch": 0, "tap": 0, "strip": 0, "stays": 0}, ["LATCH OFF", "STAYS 0%"]),
        ({"latch": 100, "tap": 100, "strip": 40, "stays": 50}, ["LATCH ON", "TAP ON", "STRIP 40%", "STAYS 50%"]),
    ):
        start = lantern.start.model_copy(update={"controls": {**lantern.start.controls, **places}})
        songs = {**bench.book.songs, "lantern": lantern.model_copy(update={"start": start})}
        script = night_of(bench.book._replace(songs=songs, rigs={"rig": rig}), "night", "rig").script()
        told = said(sight(script, bench.client.picture(), bench.plan))
        assert [each for each in told if each.split()[0].lower() in more] == asked


def test_a_changeover_says_chord_tempo_meter_and_who_counts(bench) -> None:
    told = seen(bench)
    assert told.after[0] == "Dm  92  7/8  COUNT 2 DRUMS"
    assert told.beside == ("MUTED",)


def test_a_guitar_that_stays_needs_no_line_and_a_capo_comes_on(bench) -> None:
    bench.play("next", "next", "next", "next")
    assert said(seen(bench)) == ["TUNING STANDARD", "CAPO 2"]


def test_the_head_is_the_title_until_the_first_cue_and_the_title_stays_beside_it(bench) -> None:
    bench.play("next")
    told = seen(bench)
    assert (told.head, told.titled) == (("LOW LANTERN",), True)
    assert told.beside[0] == "BEAT 1  2 BARS  7/8"
    bench.clock.now_s += 30
    told = seen(bench)
    assert (told.head, told.beside, told.titled) == (("LOW LANTERN",), ("7/8",), True)
    bench.play("next")
    told = seen(bench)
    assert (told.head, told.beside, told.titled) == (("LEAD",), ("LOW LANTERN  7/8",), False)


def test_the_meter_beside_the_title_is_the_one_in_force(bench) -> None:
    """Bars 1 to 40 of 7/8 at 92 quarters a minute last 40 * 3.5 * 60 / 92 = 91.3 s; cues are at bars 21 and 61."""
    lantern = bench.book.songs["lantern"]
    lead, out = (cue.model_copy(update={"bar": bar}) for cue, bar in zip(lantern.cues, (21, 61), strict=True))
    changes = (TempoChange.model_validate({"bar": 41, "meter": "4/4"}),)
    song = lantern.model_copy(update={"cues": (lead, out), "tempo_changes": changes})
    piece = prepare("lantern", song, bench.book.rigs["rig"])
    said = {
        (number, at_s): song_head(piece, number, at_s, None)[1][0][-3:] for number in (0, 1, 2) for at_s in (1, 91, 92)
    }
    assert {key for key, meter in said.items() if meter == "4/4"} == {(1, 92), (2, 1), (2, 91), (2, 92)}
    assert set(said.values()) == {"7/8", "4/4"}


def test_whether_it_sounds_is_said_in_the_same_words_everywhere(bench) -> None:
    assert seen(bench).beside == ("MUTED",)
    bench.play("mute")
    assert seen(bench).beside == ("SOUNDING",)
    assert (plain.WORDS["muted"], plain.WORDS["sounding"]) == ("muted", "sounding")
    bench.play(*["next"] * 6)
    told = seen(bench)
    assert (told.mode, told.beside, told.do) == ("over", ("MUTED",), ())


def test_lines_for_a_pipe_say_the_same_actions_as_the_screen_and_none_that_is_done(bench) -> None:
    assert list(plain.hands(bench.client, bench.client.picture())) == ["take tenor", "tuning drop D"]
    bench.play("next", ("swell", 0), "next")
    assert list(plain.hands(bench.client, bench.client.picture()))[:1] == ["octave switch octave"]
    bench.play("next", "next")
    picture = bench.client.picture()
    assert [line.upper() for line in plain.hands(bench.client, picture)] == said(seen(bench))


def test_choosing_asks_only_for_the_guitar_that_is_not_in_hand(bench) -> None:
    bench.play("next", "choose")
    assert said(seen(bench)) == ["HOLD TO TAKE SONG", "TUNING STANDARD", "CAPO 2"]
    bench.play("next")
    assert said(seen(bench)) == ["HOLD TO TAKE SONG", "TAKE BARITONE", "TUNING B STANDARD"]


def test_a_song_shows_the_moment_the_hands_and_what_comes_next(bench) -> None:
    bench.play("next", ("swell", 0), "next")
    told = seen(bench)
    assert told.head == ("LEAD",)
    assert said(told) == ["OCTAVE SWITCH OCTAVE", "HOLD THE E", "SWELL TOE"]
    assert told.after == ("→ OUT",)


def test_a_pedal_that_has_been_where_it_belongs_is_not_asked_for_again(bench) -> None:
    bench.play("next", ("swell", 0), "next", ("swell", 125))
    arrived = arrivals(bench.client.script, bench.client.picture().state)
    bench.play(("swell", 30))
    assert "SWELL TOE" not in said(seen(bench, arrived))


def test_the_last_cue_is_followed_by_the_next_song(bench) -> None:
    bench.play("next", "next", "next")
    assert seen(bench).after == ("→ EEL ROAD",)


def test_the_last_song_is_followed_by_the_end(bench) -> None:
    bench.play("next", "next", "next", "next", "next")
    assert seen(bench).after[0] == "→ THE END"
    bench.play("next")
    assert seen(bench).head == ("THE END",)


def test_the_ruler_has_what_the_receiver_has(bench) -> None:
    bench.play("next", ("swell", 127))
    (standing,) = seen(bench).standing
    assert (standing.control, standing.travel) == ("swell", 100)
    (row,) = standing.rows
    assert (row.target, row.value, row.number, row.wants) == ("drive", 12, 127, None)


def test_a_control_not_heard_has_no_place(bench) -> None:
    (standing,) = seen(bench).standing
    assert standing.travel is None
    assert standing.rows[0].wants is None


def test_a_control_not_heard_is_said_to_be_assumed_where_the_song_wants_it_until_it_is_heard(bench) -> None:
    bench.play("next")
    (standing,) = seen(bench).standing
    assert standing.assumed == 0
    assert "not heard yet: assumed at 0 %" in one_ruler(standing, 60, 4)[1]
    bench.play("next")
    (standing,) = seen(bench).standing
    assert standing.assumed == 100
    assert standing.rows[0].value == 12
    assert all(len(line) == 60 for line in one_ruler(standing, 60, 4))
    bench.play(("swell", 64))
    (standing,) = seen(bench).standing
    assert standing.assumed is None
    assert not any("assumed" in line for line in one_ruler(standing, 60, 4))


def test_choosing_shows_the_song_and_that_nothing_is_sent(bench) -> None:
    bench.play("next", "choose", "next")
    told = seen(bench)
    assert told.mode == "choosing"
    assert told.head[0] == "? KILN LIGHT"
    assert "reserve" in told.label
    assert "nothing is sent" in told.label
    assert said(told)[0] == "HOLD TO TAKE SONG"


def test_lateness_is_the_shows(bench) -> None:
    assert seen(bench).aside == ("",)
    bench.play("next")
    assert seen(bench).aside == ("ON TIME",)
    bench.clock.now_s += bench.plan.time.sets[0].songs[0].expected_s + 90
    assert seen(bench).aside == ("LATE 1:30",)
    bench.play("next", "next", "next")
    told = seen(bench)
    assert (told.mode, told.aside[0][:7], len(told.aside)) == ("changeover", "LATE 1:", 1)


def test_early_is_a_word_with_its_figure_too() -> None:
    assert (lateness(-12), lateness(40), lateness(0)) == (("EARLY 0:12",), ("LATE 0:40",), ("ON TIME",))


LONG = {"sets": [{"songs": [{"song": "lantern"}, {"song": "road", "optional": True}]}], "slot": "8:45"}


def test_a_late_song_moves_the_finish_and_names_what_to_drop(make_bench) -> None:
    """Songs of 3:00 and 4:00, 4 % longer live, 15 s between them and 60 s to walk off: 8:32 of 8:45, then 1:00 late."""
    bench = make_bench(**LONG)
    bench.play("next", "next", "next")
    assert "over" not in seen(bench).status
    bench.clock.now_s += bench.plan.time.sets[0].songs[0].expected_s + 60
    told = seen(bench)
    assert "ends 20:09" in told.status
    assert "over: drop Eel Road" in told.status
    assert told.trouble == ()
    bench.play("next")
    told = seen(bench)
    assert told.trouble[-1].big[0] == "DROP EEL ROAD"
    assert not told.trouble[-1].grave


def test_a_song_put_in_from_the_reserve_moves_the_finish(make_bench) -> None:
    bench = make_bench(**LONG)
    bench.play("next")
    assert "ends 20:08" in seen(bench).status
    bench.clock.now_s += bench.plan.time.sets[0].songs[0].expected_s - 4.5
    bench.play("choose", "back", "take")
    assert bench.client.picture().state.order == ("lantern", "kiln", "road")
    assert "ends 20:10" in seen(bench).status
    assert "over: drop" in seen(bench).status


def test_on_the_show_s_own_night_its_finish_goes_by_the_time_of_day(make_bench) -> None:
    bench = make_bench(date=datetime.date(2027, 3, 6))
    bench.play("next")
    picture = bench.client.picture()
    late = datetime.datetime(2027, 3, 6, 20, 10).timestamp()
    told = sight(bench.client.script, picture._replace(unix_s=late), bench.plan)
    assert told.aside[0].startswith("LATE 10:0")
    assert "ends 20:18" in told.status
    another_day = datetime.datetime(2027, 3, 5, 15).timestamp()
    assert sight(bench.client.script, picture._replace(unix_s=another_day), bench.plan).aside == ("ON TIME",)


@pytest.mark.parametrize("set_s", [0.0, 3600.0, -3600.0, 365 * 86400.0, -365 * 86400.0])
def test_how_late_it_is_stays_whatever_is_done_to_the_time_of_day(make_bench, set_s: float) -> None:
    bench = make_bench(date=datetime.date(2027, 3, 6))
    bench.play("next")
    began = datetime.datetime(2027, 3, 6, 20, 10).timestamp()
    picture = bench.client.picture()._replace(began_unix_s=began, unix_s=began)
    later = picture.moved_to(picture.at_s + 30)
    told = sight(bench.client.script, later._replace(unix_s=later.unix_s + set_s), bench.plan)
    assert told.aside == sight(bench.client.script, later, bench.plan).aside
    assert told.aside[0].startswith("LATE 10:0")
    ends = {0.0: "20:18", 3600.0: "21:18", -3600.0: "19:18"}.get(set_s, "20:18")
    assert f"ends {ends}" in told.status


def test_a_lost_port_is_said_and_what_to_do(bench) -> None:
    bench.client.pull("host")
    trouble = seen(bench).trouble[0]
    assert trouble.big[0] == "PORT HOST LOST"
    assert "nothing reaches it" in trouble.words
    assert trouble.grave


def test_a_port_of_which_one_side_is_missing_says_which_and_what_still_goes_on(bench) -> None:
    rig = bench.client.script.rig
    both = rig.ports["host"].model_copy(update={"input": "Host*"})
    script = replace(bench.client.script, rig=rig.model_copy(update={"ports": {**rig.ports, "host": both}}))
    picture = bench.client.picture()
    for side, words in (("input", "host: input missing: check the cable"), ("output", "nothing reaches it")):
        gone = picture._replace(state=replace(picture.state, missing=frozenset({("host", side)})))
        (trouble,) = sight(script, gone, bench.plan).trouble
        assert trouble.big[0] == f"PORT HOST {side.upper()} MISSING"
        assert words in trouble.words


def test_a_port_that_comes_back_owes_its_program(bench) -> None:
    bench.play("next")
    bench.client.pull("host")
    bench.clock.now_s += 1
    bench.client.plug("host")
    assert [each.big[0] for each in seen(bench).trouble] == ["PROGRAM OWED", "HOST IS BACK"]


def test_a_log_that_cannot_be_written_is_said_without_calling_it_a_port(bench) -> None:
    picture = bench.client.picture()._replace(troubles={"log": "the run's log can't be written: no space left"})
    told = sight(bench.client.script, picture, bench.plan, frozenset())
    assert told.trouble[0].big[0] == "LOG TROUBLE"
    assert "no space left" in told.trouble[0].words
    assert not told.trouble[0].grave


def test_a_port_that_cannot_be_opened_is_said_to_be_closed(bench) -> None:
    picture = bench.client.picture()._replace(troubles={"floor": "something else has it"})
    told = sight(bench.client.script, picture, bench.plan, frozenset())
    assert told.trouble[0].big[0] == "PORT FLOOR CLOSED"
    assert told.trouble[0].grave


def test_muted_is_trouble_only_while_a_song_plays(bench) -> None:
    assert seen(bench).trouble == ()
    bench.play("next", "mute")
    assert [each.big[0] for each in seen(bench).trouble] == ["MUTED"]


def test_a_press_too_soon_is_said_and_passes(bench) -> None:
    bench.play("next")
    for after_s, raw in ((0.0, 127), (0.1, 0), (0.1, 127)):
        bench.clock.now_s += after_s
        bench.client.move("sw 1", raw)
    assert [each.big[0] for each in seen(bench).trouble] == ["TOO SOON"]
    bench.clock.now_s += 3
    assert seen(bench).trouble == ()


def test_an_engine_that_does_not_answer_is_the_worst_trouble(bench) -> None:
    picture = bench.client.picture()._replace(engine="not answering")
    assert sight(bench.client.script, picture, bench.plan).trouble[0].big[0] == "PLAYER NOT ANSWERING"


def test_the_program_that_was_sent_is_told_from_one_that_was_answered(bench) -> None:
    bench.play("next")
    assert "host sent" in seen(bench).status
    answered = bench.client.picture()._replace(answers={"host": "answered"})
    assert "host answered" in sight(bench.client.script, answered, bench.plan).status


def test_the_smallest_big_letters_are_read_with_ease_at_two_metres() -> None:
    for width, height in ((80, 24), (120, 36), (200, 60)):
        rows = rows_of(height, trouble=True, roomy=(width, height) >= (120, 44))
        room = min(rows.after, rows.trouble)
        largest_that_fits = next(size for size in SIZES if size.rows <= room)
        assert legibility(2.0, 14, height, largest_that_fits.letter_rows).reach == "reached"


def test_a_battery_that_will_not_last_is_said_before_its_guitar_is_played(make_bench) -> None:
    """20 mAh of which 70 % count feed 18 mA for 0.8 h; the songs and half an hour of soundcheck want more."""
    bench = make_bench()
    rig = bench.book.rigs["rig"].model_copy(
        update={
            "batteries": {"driver cell": Battery(capacity_mah=20, load_ma=18)},
            "instruments": {
                name: guitar.model_copy(update={"battery": "driver cell"} if name == "tenor" else {})
                for name, guitar in bench.book.rigs["rig"].instruments.items()
            },
        }
    )
    plan = plan_of(bench.book, bench.night.the_show, rig)
    told = sight(bench.client.script, bench.client.picture(), plan)
    assert told.trouble[-1].big[0] == "BATTERY DRIVER CELL"
    assert "0.8 h left" in told.trouble[-1].words
    bench.play("next")
    assert sight(bench.client.script, bench.client.picture(), plan).trouble == ()


def test_a_changeover_says_gain_and_volume(bench) -> None:
    assert "gain 0 dB, volume 0 dB" in seen(bench).status
    bench.play("next")
    assert "gain" not in seen(bench).status


def test_a_gain_that_the_next_guitar_wants_elsewhere_is_to_be_turned(make_bench) -> None:
    bench = make_bench(sets=[{"songs": [{"song": "lantern"}, {"song": "kiln"}]}], reserve=[])
    rig = bench.book.rigs["rig"]
    guitars = {
        name: one.model_copy(update={"trim_db": -4.0}) if name == "baritone" else one
        for name, one in rig.instruments.items()
    }
    book = bench.book._replace(rigs={"rig": rig.model_copy(update={"instruments": guitars})})
    script = night_of(book, "night", "rig").script()
    bench.play("next", "next", "next", "next")
    assert "GAIN -4 DB" in said(sight(script, bench.client.picture(), bench.plan))
    bench.client.trim("input gain", 1.5)
    told = sight(script, bench.client.picture(), bench.plan)
    assert "GAIN -2.5 DB" in said(told)
    assert "gain -2.5 dB, volume 0 dB" in told.status


def test_a_gain_is_to_be_turned_back_where_back_or_a_jump_leads_to_another_guitar(make_bench) -> None:
    """The gain follows from how hands left it, as all they set does, not from the song before in the order."""
    bench = make_bench(sets=[{"songs": [{"song": "lantern"}, {"song": "kiln"}]}], reserve=[])
    rig = bench.book.rigs["rig"]
    guitars = {name: one.model_copy(update={"trim_db": 0.0}) for name, one in rig.instruments.items()}
    guitars["baritone"] = guitars["baritone"].model_copy(update={"trim_db": -4.0})
    book = bench.book._replace(rigs={"rig": rig.model_copy(update={"instruments": guitars})})
    script = night_of(book, "night", "rig").script()
    state, _ = open_show(script, 0.0)

    def asked(at_s: float, event: Asked | Jump) -> list[str]:
        nonlocal state
        state, _ = fold(script, state, event)
        told = sight(script, bench.client.picture()._replace(state=state, at_s=at_s), bench.plan)
        return [each for each in said(told) if each.startswith("GAIN")]

    steps = ["next", "next", "next", "next", "next", "back", "back", "back", "next"]
    gains = [asked(at_s, Asked(at_s, what)) for at_s, what in enumerate(steps, 10)]
    assert script.pieces[state.order[0]].song.instrument != "baritone"
    assert gains == [[], [], [], ["GAIN -4 DB"], [], ["GAIN -4 DB"], ["GAIN 0 DB"], [], []]
    assert asked(30.0, Jump(30.0, "kiln", 0)) == ["GAIN -4 DB"]
    assert asked(33.0, Jump(33.0, "lantern", 1)) == ["GAIN 0 DB"]


def test_the_line_at_the_top_says_the_trims_that_are_played_full_house_and_all(bench) -> None:
    venue = Venue.model_validate({"format": 1, "title": "Hall", "trims": {"full_house_db": -3.0}})
    show = bench.night.the_show.model_copy(update={"venue": "hall"})
    book = bench.book._replace(shows={"night": show}, venues={"hall": venue})
    for full, said_of in ((False, "volume 0 dB · "), (True, "volume -3 dB, full house · ")):
        script = night_of(book, "night", "rig", full_house=full).script()
        assert said_of in sight(script, bench.client.picture(), bench.plan).status


@pytest.mark.parametrize("steps", [(), ("next",), ("choose",), ("next",) * 6])
def test_a_show_without_hardware_says_so_first_in_every_phase(bench, steps: tuple[str, ...]) -> None:
    bench.play(*steps)
    picture = bench.client.picture()
    simulated, real = (sight(bench.client.script, picture.as_shown(simulated=how), bench.plan) for how in (True, False))
    assert simulated.status.split(" · ")[0] == SIMULATED
    assert SIMULATED not in real.status


@pytest.mark.parametrize("steps", [("next",), ("next",) * 4])
def test_the_end_of_the_show_has_room_at_80_columns_simulated_or_not(bench, steps: tuple[str, ...]) -> None:
    """In a song and in a changeover after the first, however long the title, which stands in large letters there."""
    songs = {
        slug: song.model_copy(update={"title": f"The Long {song.title} Waltz"})
        for slug, song in bench.book.songs.items()
    }
    script = night_of(bench.book._replace(songs=songs), "night", "rig").script()
    bench.play(*steps)
    for simulated in (True, False):
        told = sight(script, bench.client.picture().as_shown(simulated=simulated), bench.plan)
        assert told.head[0].startswith("THE LONG ")
        assert " · ends 20:" in whole_parts(told.status, 80)


def test_a_song_chosen_while_the_driver_is_on_says_to_put_it_off(bench) -> None:
    bench.play("next", ("swell", 0), "next", "choose", "take")
    told = seen(bench)
    assert told.mode == "changeover"
    assert "OCTAVE SWITCH OFF" in said(told)


def test_a_song_gone_straight_into_says_what_hands_must_do_and_one_begun_from_its_changeover_does_not(
    make_bench,
) -> None:
    bench = make_bench(sets=[{"songs": [{"song": "lantern", "then": "segue"}, {"song": "road"}]}])
    bench.play("next")
    assert said(seen(bench)) == ["SWELL HEEL"]
    bench.play("next", "next", "next")
    told = seen(bench)
    assert told.mode == "song"
    assert said(told) == ["TUNING STANDARD", "CAPO 2"]


def test_back_to_the_start_says_to_undo_what_the_cue_has_set(bench) -> None:
    bench.play("next", "next", "back")
    assert "OCTAVE SWITCH OFF" in said(seen(bench))
