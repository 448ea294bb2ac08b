"""`order`: as data, as text, and written into the show."""

from pathlib import Path

import pytest

SONG = 'format = 1\ntitle = "{title}"\nduration = "4:00"\ninstrument = "{guitar}"\n'
SHOW = """\
format = 1
title = "Saturday"
start = "20:45"
reserve = ["low-lantern"]
# the order of the evening
[[sets]]
songs = [
    { song = "ash", pin = "first" },    # the opener
    { song = "beck", then = "talk 0:45" },
    { song = "cove", optional = true },   # short one
    { song = "dune", then = "gap 15:00" },
]
[[sets]]
songs = [{ song = "elm" }]
"""
STRINGS = 'tunings = { standard = ["E2", "A2", "D3", "G3", "B3", "E4"] }\n'


@pytest.fixture
def saturday(book: Path) -> Path:
    """The book with a show whose guitars alternate; its file."""
    for slug, guitar in zip(("ash", "beck", "cove", "dune", "elm"), ("red", "blue", "red", "blue", "red"), strict=True):
        (book / f"songs/{slug}.toml").write_text(SONG.format(title=slug.title(), guitar=guitar))
    with (book / "rigs/big.toml").open("a") as rig:
        rig.write(f"[instruments.red]\n{STRINGS}[instruments.blue]\n{STRINGS}")
    show = book / "shows/saturday.toml"
    show.write_text(SHOW)
    return show


def test_json_has_the_shape_of_the_design(run_json, book: Path, saturday: Path):  # noqa: ARG001
    data = run_json("order", "saturday", "--book", book)
    assert list(data)[:6] == ["show", "before_s", "after_s", "order", "proved", "bound_s"]
    assert data["order"] == ["ash", "cove", "beck", "dune", "elm"]
    assert (data["before_s"], data["after_s"], data["proved"], data["bound_s"]) == (90, 30, True, 30)


def test_what_is_not_proved_is_not_said_to_be(run, run_json, book: Path, saturday: Path):
    """Beck names no guitar: after it blue might be in hand for dune, but red is, since all songs are pinned here."""
    song = book / "songs/beck.toml"
    song.write_text(song.read_text().replace('instrument = "blue"\n', ""))
    (book / "songs/cove.toml").write_text(song.read_text().replace("Beck", "Cove"))
    saturday.write_text(SHOW.replace('pin = "first"', 'pin = "here"').replace('"beck",', '"beck", pin = "here",'))
    saturday.write_text(saturday.read_text().replace('"cove",', '"cove", pin = "here",'))
    data = run_json("order", "saturday", "--book", book)
    assert (data["after_s"], data["bound_s"], data["proved"]) == (30, 0, False)
    text = " ".join(run("order", "saturday", "--book", book).stdout.split())
    assert "changeovers take 0:30 as written; the best order found: none takes less than 0:00" in text


def test_nothing_is_written_unless_asked_for(run, book: Path, saturday: Path):
    text = run("order", "saturday", "--book", book).stdout
    assert "changeovers take 1:30 as written, 0:30 in this order; no order takes less" in text
    assert "2 Cove 0 s was 3 30 s before, better" in " ".join(text.split())
    assert "nothing is written yet" in text
    assert saturday.read_text() == SHOW


def test_the_order_is_written_with_comments_kept_and_the_interval_where_it_was(run, book: Path, saturday: Path):
    run("order", "saturday", "--book", book, "--write")
    text = saturday.read_text()
    assert "# the order of the evening" in text
    lines = [line.strip() for line in text.splitlines() if "song =" in line]
    assert lines == [
        '{ song = "ash", pin = "first" },    # the opener',
        '{ song = "cove", optional = true },   # short one',
        '{ song = "beck", then = "talk 0:45" },',
        '{ song = "dune", then = "gap 15:00" },',
        'songs = [{ song = "elm" }]',
    ]
    assert "the order as written is kept" in run("order", "saturday", "--book", book).stdout


def test_an_interval_stays_when_its_song_moves(run, book: Path, saturday: Path):
    saturday.write_text(SHOW.replace('song = "cove"', 'song = "cove", pin = "last"'))
    run("order", "saturday", "--book", book, "--write")
    lines = [line.strip() for line in saturday.read_text().splitlines() if "{ song" in line]
    assert lines[1:4] == [
        '{ song = "dune" },',
        '{ song = "beck", then = "talk 0:45" },',
        '{ song = "cove", pin = "last", optional = true, then = "gap 15:00" },   # short one',
    ]


def test_the_exchange_that_helps_most_is_named(run, run_json, book: Path, saturday: Path):  # noqa: ARG001
    data = run_json("order", "saturday", "--swap", "--book", book)
    assert data["swaps"] == [{"songs": [["beck", "cove"]], "after_s": 30}]
    assert (data["after_s"], data["proved"], data["bound_s"]) == (30, False, None)
    assert "exchange Beck and Cove: 0:30" in run("order", "saturday", "--swap", "--book", book).stdout


def test_an_optional_song_is_left_out_where_the_show_is_over(run, run_json, book: Path, saturday: Path):
    saturday.write_text(SHOW.replace('start = "20:45"', 'start = "20:45"\nslot = "37:00"'))
    assert "over: drop Cove; --fit leaves it out" in run("order", "saturday", "--book", book).stdout
    data = run_json("order", "saturday", "--fit", "--write", "--book", book)
    assert data["left_out"] == ["cove"]
    assert 'reserve = ["low-lantern", "cove"]' in saturday.read_text()
    assert 'song = "cove"' not in saturday.read_text()


def test_what_was_short_as_written_is_of_the_show_as_written_whatever_is_left_out(run_json, book: Path, saturday: Path):
    short = SHOW.replace('start = "20:45"', 'start = "20:45"\nslot = "37:00"').replace("45", "01")
    saturday.write_text(short.replace('start = "20:01"', 'start = "20:45"'))
    whole, fit = (run_json("order", "saturday", *more, "--book", book) for more in ((), ("--fit",)))
    assert fit["left_out"] == ["cove"]
    assert (fit["before_s"], fit["before_short_s"]) == (whole["before_s"], whole["before_short_s"])


def test_exchanging_and_leaving_out_at_once_is_wrong_usage(run, book: Path, saturday: Path):  # noqa: ARG001
    assert run("order", "saturday", "--swap", "--fit", "--book", book).exit_code == 2


def test_pins_that_contradict_each_other_exit_2_and_name_the_songs(run, book: Path, saturday: Path):
    saturday.write_text(SHOW.replace('song = "beck"', 'song = "beck", pin = "first"'))
    result = run("order", "saturday", "--book", book)
    assert result.exit_code == 2
    assert 'shows/saturday.toml: "ash" and "beck" are pinned to the same place; change one of the pins' in result.stderr


def test_songs_move_between_sets_and_are_written_there(run_json, book: Path, saturday: Path):
    two = SHOW.replace('{ song = "elm" }', '{ song = "elm", then = "talk 0:30" }, { song = "fen" }')
    two = two.replace('    { song = "cove", optional = true },   # short one\n', "")
    saturday.write_text(two)
    (book / "songs/fen.toml").write_text(SONG.format(title="Fen", guitar="blue"))
    (book / "songs/elm.toml").write_text(SONG.format(title="Elm", guitar="red"))
    data = run_json("order", "saturday", "--across-sets", "--write", "--book", book)
    assert data["sets"] == [["ash", "elm", "beck"], ["dune", "fen"]]
    assert (data["before_s"], data["after_s"], data["proved"]) == (60, 30, True)
    text = saturday.read_text()
    assert "# the opener" in text
    assert run_json("order", "saturday", "--across-sets", "--book", book)["sets"] == data["sets"]
    assert '{ song = "beck", then = "gap 15:00" }' in text


def test_swap_does_not_go_with_looking_for_a_whole_order(run, book: Path, saturday: Path):  # noqa: ARG001
    assert run("order", "saturday", "--swap", "--across-sets", "--book", book).exit_code == 2


def fits(run, book: Path, saturday: Path, slot: str) -> str:
    """What --fit says with such a slot; the songs take 4:10 each on the night, and there is a minute to walk off."""
    saturday.write_text(SHOW.replace('start = "20:45"', f'start = "20:45"\nslot = "{slot}"'))
    return " ".join(run("order", "saturday", "--fit", "--book", book).stdout.split())


@pytest.mark.parametrize(
    ("slot", "said"),
    [
        ("1:00:00", "nothing is left out; the show keeps the margin: it ends 3 minutes or more before the end of its"),
        ("38:30", "nothing is left out; the show keeps the limit, but not the margin: it ends less than 3 minutes"),
        ("37:00", "left out, into the reserve: Cove; the show keeps the margin: it ends 3 minutes or more before"),
        ("34:30", "left out, into the reserve: Cove; the show keeps the limit, but not the margin: it ends less than"),
        ("20:00", "over the end of its slot, and no optional song is left that would be enough"),
    ],
)
def test_which_limit_was_kept_is_said(run, book: Path, saturday: Path, slot: str, said: str):
    assert said in fits(run, book, saturday, slot)


def test_the_curfew_is_named_where_it_is_the_tighter_limit(run, book: Path, saturday: Path):
    venue = next((book / "venues").glob("*.toml"))
    venue.write_text(venue.read_text().replace('curfew = "23:00"', 'curfew = "21:24"'))
    saturday.write_text(SHOW.replace('start = "20:45"', f'start = "20:45"\nvenue = "{venue.stem}"\nslot = "1:00:00"'))
    text = " ".join(run("order", "saturday", "--fit", "--book", book).stdout.split())
    assert "it ends less than 3 minutes before the curfew" in text
