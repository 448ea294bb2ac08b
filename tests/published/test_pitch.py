"""Note names and pitches against ISO 16 (from memory), the MIDI 1.0 Detailed Specification and published charts."""

import pytest

from showrunner.model.units import format_note, note_hz, parse_note

# Open strings in standard tuning, Hz, as every tuner's table prints them; recomputed and agreeing.
STRINGS = {"E2": 82.41, "A2": 110.00, "D3": 146.83, "G3": 196.00, "B3": 246.94, "E4": 329.63}


def test_a4_is_note_69_and_440_hz():
    # ISO 16, from memory; note 69 by the MIDI Tuning Standard, from memory.
    assert (parse_note("A4"), note_hz(69)) == (69, 440.0)


def test_middle_c_is_note_60():
    # MIDI 1.0 Detailed Specification: note 60 is middle C; its name C4 follows from A4 = 69.
    assert (parse_note("C4"), format_note(60)) == (60, "C4")


@pytest.mark.parametrize("string", STRINGS)
def test_open_strings_have_the_published_pitch(string):
    assert round(note_hz(parse_note(string)), 2) == STRINGS[string]


@pytest.mark.parametrize("fret", range(13))
def test_a_capo_multiplies_a_strings_pitch_by_the_twelfth_root_of_two_a_fret(fret):
    open_string = parse_note("D3")
    assert note_hz(open_string + fret) == pytest.approx(note_hz(open_string) * 2 ** (fret / 12))


def test_a_capo_at_the_fifth_fret_makes_the_low_e_string_the_next_open_one():
    assert format_note(parse_note("E2") + 5) == "A2"


@pytest.mark.parametrize("number", range(128))
def test_every_note_number_reads_back_from_its_name(number):
    assert parse_note(format_note(number)) == number


@pytest.mark.parametrize(("one", "other"), [("F#3", "Gb3"), ("B#3", "C4"), ("Cb4", "B3"), ("F##3", "G3")])
def test_names_of_the_same_pitch_are_the_same_note(one, other):
    # Equal temperament: enharmonic spellings share a pitch; the octave number changes at C (ASA scientific pitch).
    assert parse_note(one) == parse_note(other)


# Open tunings, lowest string first, from published tuning charts; octaves follow from strings rising.
@pytest.mark.parametrize(
    ("tuning", "semitones"),
    [
        ("D2 A2 D3 G3 B3 E4", [-2, 0, 0, 0, 0, 0]),  # drop D
        ("D2 A2 D3 G3 A3 D4", [-2, 0, 0, 0, -2, -2]),  # D-A-D-G-A-D
        ("D2 G2 D3 G3 B3 D4", [-2, -2, 0, 0, 0, -2]),  # open G
        ("D2 A2 D3 F#3 A3 D4", [-2, 0, 0, -1, -2, -2]),  # open D
        ("C2 G2 C3 G3 C4 E4", [-4, -2, -2, 0, 1, 0]),  # open C
    ],
)
def test_tunings_differ_from_standard_by_whole_semitones(tuning, semitones):
    strings = zip(tuning.split(), STRINGS, strict=True)
    assert [parse_note(name) - parse_note(standard) for name, standard in strings] == semitones
