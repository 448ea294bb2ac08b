"""The demo book shows everything that a book can say."""

import datetime
from collections.abc import Iterator

from showrunner.model.library import Book
from showrunner.model.song import Cue, Curve, Move


def curves(book: Book) -> Iterator[tuple[str, Curve]]:
    for song in book.songs.values():
        for of_set in song.curves.values():
            yield from of_set.items()


def moves(book: Book) -> Iterator[Move]:
    return (move for _, curve in curves(book) for move in curve.moves.values())


def cues(book: Book) -> Iterator[Cue]:
    return (cue for song in book.songs.values() for cue in song.cues)


def direction(move: Move) -> int:
    return (move.values[-1] > move.values[0]) - (move.values[-1] < move.values[0])


def test_a_pedal_moves_three_targets_and_more_in_opposite_directions(book: Book) -> None:
    swell = book.songs["saltmarsh-signal"].curves["verse"]["swell"]
    assert len(swell.moves) >= 3
    assert {direction(move) for move in swell.moves.values()} >= {-1, 1}


def test_a_target_rests_until_half_way(book: Book) -> None:
    swell = book.songs["saltmarsh-signal"].curves["verse"]["swell"]
    assert swell.travel[1] == 50
    assert swell.moves["drive"].values[0] == swell.moves["drive"].values[1] < swell.moves["drive"].values[2]


def test_a_row_has_columns_of_its_own(book: Book) -> None:
    assert any(move.travel is not None for move in moves(book))


def test_every_shape_and_every_entry_is_used(book: Book) -> None:
    assert {move.shape for move in moves(book)} == {"straight", "smooth", "step", "equal-power"}
    assert {curve.entry for _, curve in curves(book)} == {"jump", "meet", "glide"}


def test_every_law_is_used(book: Book) -> None:
    laws = {target.law for target in book.rigs["full"].targets.values()}
    assert laws == {"linear", "log", "gm-volume", "table"}


def test_a_strip_with_a_release_is_played(book: Book) -> None:
    assert book.rigs["full"].controls["strip"].on_release is not None
    assert any(control == "strip" for control, _ in curves(book))


def test_a_14_bit_control_moves_a_14_bit_target(book: Book) -> None:
    rig = book.rigs["full"]
    assert rig.controls["fade"].bits == 14
    assert rig.targets["volume"].bits == 14
    assert any(control == "fade" and "volume" in curve.moves for control, curve in curves(book))


def test_a_song_has_several_curve_sets(book: Book) -> None:
    assert max(len(song.curves) for song in book.songs.values()) >= 3


def test_hands_set_things_at_the_start_and_within_songs(book: Book) -> None:
    assert any(song.start.by_hand for song in book.songs.values())
    assert any(cue.by_hand for cue in cues(book))


def test_held_notes_start_and_are_stopped_with_the_driver_on_and_off(book: Book) -> None:
    assert any(cue.hold for cue in cues(book))
    assert {cue.stop.driver for cue in cues(book) if cue.stop is not None} == {"on", "off"}


def test_an_open_cue_may_go_back(book: Book) -> None:
    assert any(cue.open and cue.back_to is not None for cue in cues(book))
    assert any(cue.open and cue.back_to is None for cue in cues(book))


def test_the_first_show_plays_three_guitars_in_four_tunings(book: Book) -> None:
    songs = [book.songs[slug] for slug in book.shows["pellmarsh-hall"].set_songs]
    assert len({song.instrument for song in songs}) == 3
    assert len({(song.instrument, song.tuning) for song in songs}) >= 4
    assert any(song.capo for song in songs)


def test_guitars_have_spares_batteries_trims_and_things_they_carry(book: Book) -> None:
    guitars = book.rigs["full"].instruments.values()
    assert any(guitar.spare for guitar in guitars)
    assert any(guitar.battery for guitar in guitars)
    assert any(guitar.trim_db for guitar in guitars)
    assert any(guitar.carries for guitar in guitars)


def test_a_battery_has_one_capacity_and_another_has_it_by_load(book: Book) -> None:
    assert {isinstance(battery.capacity_mah, tuple) for battery in book.rigs["full"].batteries.values()} == {
        True,
        False,
    }


def test_songs_follow_by_segue_gap_talk_and_applause(book: Book) -> None:
    slots = [slot for show in book.shows.values() for part in show.sets for slot in part.songs]
    assert {slot.then.kind for slot in slots if slot.then is not None} == {"segue", "gap", "talk"}
    assert any(slot.then is None for slot in slots)


def test_a_segue_stays_on_one_guitar_and_one_program(book: Book) -> None:
    for show in book.shows.values():
        for part in show.sets:
            for slot, following in zip(part.songs, part.songs[1:], strict=False):
                if slot.then is not None and slot.then.kind == "segue":
                    before, after = book.songs[slot.song], book.songs[following.song]
                    assert (before.instrument, before.tuning, before.capo) == (
                        after.instrument,
                        after.tuning,
                        after.capo,
                    )
                    assert before.program == after.program


def test_every_kind_of_pin_is_used(book: Book) -> None:
    slots = [slot for show in book.shows.values() for part in show.sets for slot in part.songs]
    assert {slot.pin.kind for slot in slots if slot.pin} == {"first", "last", "here", "after", "not after"}


def test_shows_have_optional_songs_reserve_encore_trims_and_tonights_changes(book: Book) -> None:
    show = book.shows["pellmarsh-hall"]
    assert any(slot.optional for part in show.sets for slot in part.songs)
    assert show.reserve
    assert show.encore
    assert show.tonight
    assert show.trims.interface_volume_db
    assert show.trims.targets
    assert any(len(night.sets) == 2 for night in book.shows.values())


def test_tempo_meter_and_count_in_change_and_go_odd(book: Book) -> None:
    songs = book.songs.values()
    assert any(change.tempo_bpm for song in songs for change in song.tempo_changes)
    assert any(change.meter for song in songs for change in song.tempo_changes)
    assert {str(song.meter) for song in songs} >= {"7/8", "5/4", "3/4", "6/8", "4/4"}
    assert any(song.count_in is not None for song in songs)
    assert any(cue.bar is not None for cue in cues(book))
    assert any(cue.at is not None for cue in cues(book))


def test_switches_latch_and_spring_and_both_are_played(book: Book) -> None:
    controls = book.rigs["full"].controls
    played = {controls[name].sends for name, _ in curves(book) if controls[name].kind == "switch"}
    assert played == {"momentary", "latching"}


def test_programs_have_banks(book: Book) -> None:
    programs = [song.program for song in book.songs.values() if song.program is not None]
    assert len({program.bank_lsb for program in programs}) >= 3


def test_ports_are_usb_software_and_din(book: Book) -> None:
    wires = {port.wire for rig in book.rigs.values() for port in rig.ports.values()}
    assert wires == {"usb", "software", "din"}
    assert book.rigs["full"].ports["guitar"].pass_to == "host"
    assert book.rigs["full"].ports["host"].answers is not None


def test_the_gain_chain_has_stages_and_the_trims_a_volume_target(book: Book) -> None:
    for slug in ("full", "small"):
        rig = book.rigs[slug]
        assert len(rig.gain) >= 3
        assert rig.trims.volume_target in rig.targets


def test_rooms_have_trims_and_a_history(book: Book) -> None:
    assert {venue.kind for venue in book.venues.values()} == {"club", "hall", "theatre", "open air"}
    assert any(venue.trims.targets for venue in book.venues.values())
    assert any(visit.note for venue in book.venues.values() for visit in venue.visits)
    assert all(isinstance(v.date, datetime.date) for venue in book.venues.values() for v in venue.visits)


def test_critical_items_come_first_and_every_list_ends_by_saying_so(book: Book) -> None:
    for checklist in book.checklists.values():
        critical = [item.critical for item in checklist.items]
        assert critical == sorted(critical, reverse=True)
        assert checklist.items[-1].answer == "complete"
        assert len(checklist.items) <= 9


def test_every_way_to_verify_is_used(book: Book) -> None:
    checked = [item.verify for checklist in book.checklists.values() for item in checklist.items if item.verify]
    kinds = {"not doubled" if verify.startswith("not doubled") else verify.split()[0] for verify in checked}
    assert kinds == {"findings", "disk", "mains", "trims", "port", "control", "battery", "not doubled"}
