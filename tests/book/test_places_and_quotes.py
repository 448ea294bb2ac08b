"""Names and texts that lack the quotes they need, and errors that stand at the line of the part that is wrong."""

import pytest

from showrunner.book.read import read_document

RIG = 'format = 1\ntitle = "Rig"\n'
SONG = 'format = 1\ntitle = "Song"\nduration = "3:00"\n'
SHOW = 'format = 1\ntitle = "Show"\n'


def wrong(kind: str, text: str) -> list[tuple[int | None, str]]:
    _, problems = read_document(kind, "it", text.encode())
    return [(problem.line, f"{problem.what}; {problem.mend}") for problem in problems]


@pytest.mark.parametrize(
    ("kind", "text", "line", "says"),
    [
        ("rig", RIG + "[controls.left pedal]", 3, 'write [controls."left pedal"]'),
        ("rig", RIG + "[[controls.left pedal]]", 3, 'write [[controls."left pedal"]]'),
        ("rig", RIG + "[controls.größe]", 3, 'write [controls."größe"]'),
        ("song", SONG + "[start.targets]\ndelay mix = 3", 5, 'write "delay mix" = …'),
        ("song", SONG + "start.targets.delay mix = 3", 4, 'write start.targets."delay mix" = …'),
        ("song", SONG + 'start.targets."a b".c d = 3', 4, 'write start.targets."a b"."c d" = …'),
        ("song", SONG + '[start]\nby_hand = { "a" = "b", fuzz knob = "low" }', 5, 'write "fuzz knob" = …'),
        ("song", SONG + '[start]\nby_hand = { größe = "low" }', 5, 'write "größe" = …'),
    ],
)
def test_a_name_that_needs_quotes_is_shown_with_them(kind: str, text: str, line: int, says: str) -> None:
    ((at, said),) = wrong(kind, text + "\n")
    assert at == line
    assert "needs quotes" in said
    assert says in said


@pytest.mark.parametrize(
    ("value", "sign"),
    [("“Song”", "“"), ('"Song”', "”"), ("„Song“", "„"), ("‘Song’", "‘"), ("'Song’", "’"), ("«Song»", "«")],
)
def test_typographic_quotes_are_named(value: str, sign: str) -> None:
    ((line, said),) = wrong("song", f"format = 1\ntitle = {value}")
    assert (line, said) == (2, f'{sign} is a typographic quote, which TOML does not know; write straight quotes: "…"')


def test_typographic_quotes_inside_a_text_or_a_comment_are_no_fault() -> None:
    ((line, said),) = wrong("song", 'format = 1\ntitle = "it’s “so”" oops # “really”\n')
    assert line == 2
    assert "typographic" not in said


@pytest.mark.parametrize(
    ("kind", "text", "line"),
    [
        ("song", SONG + "[curves.v.swell]\ntravel = [0, 50, 100]\n[curves.v.swell.moves]\na = [1, 2, 3]\nb = [1]\n", 8),
        ("song", SONG + "[curves.v.swell]\ntravel = [50, 0]\nmoves = {}\n", 5),
        ("song", SONG + 'tempo_changes = [\n{ bar = 4, meter = "3/4" },\n{ bar = 3, meter = "4/4" },\n]\n', 6),
        ("song", SONG + '[[cues]]\nname = "A"\nat = "1:00"\nbar = 3\n', 7),
        ("rig", RIG + '[controls.s]\nkind = "pedal"\nchannel = 1\ncc = 2\n', 6),
        ("rig", RIG + '[controls.s]\nkind = "knob"\npositions = ["a"]\nrest = "b"\n', 6),
        ("rig", RIG + '[ports.p]\noutput = "x"\nvirtual = "y"\n', 5),
        ("rig", RIG + '[targets.t]\nport = "p"\nchannel = 1\ncc = 2\nunit = "%"\nrange = [0, 9]\nrest = 11\n', 9),
        ("rig", RIG + '[instruments.g]\ntunings = { E = ["E2"] }\nrest_tuning = "D"\n', 5),
        ("rig", RIG + '[[gain]]\nstage = "in"\nrange_db = [9, 0]\n', 5),
        ("show", SHOW + '[[sets]]\nsongs = [\n{ song = "a" },\n{ song = "b" },\n{ song = "a" },\n]\n', 7),
        ("show", SHOW + 'reserve = ["a"]\nencore = [\n"a",\n]\n', 3),
    ],
)
def test_what_is_wrong_with_a_part_stands_at_its_line(kind: str, text: str, line: int) -> None:
    ((at, said),) = wrong(kind, text)
    assert at == line, said
