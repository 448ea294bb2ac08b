"""Which of the system's ports a rig means."""

from showrunner.live.patterns import choose, matching

NAMES = ("Midi Through:Midi Through Port-0 14:0", "Floor Eight:Floor Eight MIDI 1 20:0", "Floor Eight 2:out", "Host")


def test_a_pattern_fits_the_name_the_client_or_the_port_whatever_the_case() -> None:
    assert matching("floor*", NAMES) == NAMES[1:3]
    assert matching("HOST", NAMES) == ("Host",)
    assert matching("out", NAMES) == ("Floor Eight 2:out",)


def test_what_it_was_last_time_wins_where_several_fit() -> None:
    assert choose("Floor*", NAMES) == NAMES[1]
    assert choose("Floor*", NAMES, last=NAMES[2]) == NAMES[2]
    assert choose("Floor*", NAMES, last="Floor gone") == NAMES[1]


def test_nothing_that_fits_is_none() -> None:
    assert choose("Strip*", NAMES) is None
