"""Stand-ins and differences of rigs from the command line."""

import tomllib
from pathlib import Path

import pytest

from showrunner.places import demo_book


@pytest.fixture
def with_pedal(book: Path) -> Path:
    """The book with a pedal on the small rig that could take the swell's work, and a show with a comment."""
    small, show = book / "rigs/small.toml", book / "shows/friday.toml"
    pedal = '[controls.fade]\nkind = "pedal"\nlimb = "right foot"\nport = "floor"\nchannel = 1\ncc = 4\n'
    small.write_text(small.read_text() + pedal)
    show.write_text(show.read_text() + "# to be played in the round\n")
    return book


def test_json_has_the_shape_of_the_design(run_json, with_pedal: Path):
    data = run_json("standins", "friday", "--rig", "small", "--book", with_pedal)
    assert data == {
        "show": "friday",
        "rig": "small",
        "songs": [
            {"song": "low-lantern", "stand_ins": {"swell": "fade"}, "losses": [], "unplayable": []},
            {"song": "harbour", "stand_ins": {"swell": "fade"}, "losses": [], "unplayable": []},
        ],
    }


def test_what_cant_be_played_is_said_so(run, run_json, book: Path):
    song = run_json("standins", "friday", "--rig", "small", "--book", book)["songs"][0]
    assert song["unplayable"] == ["swell"]
    assert song["losses"] == ["in Low Lantern nothing takes swell: the rig has nothing left that could"]
    text = run("standins", "friday", "--rig", "small", "--book", book).stdout
    assert "UNPLAYABLE swell: the rig has nothing left that could" in text


def test_where_none_is_needed_or_none_can_be_had_no_stand_in_is_said_to_be_there(run, book: Path):
    needs_none = run("standins", "friday", "--rig", "big", "--book", book).stdout
    assert needs_none.endswith("no stand-in is needed: shows/friday.toml stays\n")
    has_none = run("standins", "friday", "--rig", "small", "--book", book).stdout
    assert has_none.endswith("nothing can stand in: shows/friday.toml stays\n")


def test_nothing_is_written_without_being_asked(run, with_pedal: Path):
    before = (with_pedal / "shows/friday.toml").read_bytes()
    text = run("standins", "friday", "--rig", "small", "--book", with_pedal).stdout
    assert "nothing is written yet; say --write to write it" in text
    assert '+low-lantern = { swell = "fade" }' in text
    assert (with_pedal / "shows/friday.toml").read_bytes() == before


def test_write_puts_them_into_the_show_and_keeps_its_comments(run, with_pedal: Path):
    show = with_pedal / "shows/friday.toml"
    before = show.read_text()
    text = run("standins", "friday", "--rig", "small", "--write", "--book", with_pedal).stdout
    assert "wrote shows/friday.toml" in text
    assert show.read_text().startswith(before)
    stand_ins = {"low-lantern": {"swell": "fade"}, "harbour": {"swell": "fade"}}
    assert tomllib.loads(show.read_text()) == tomllib.loads(before) | {"stand_ins": stand_ins}
    again = run("standins", "friday", "--rig", "small", "--write", "--book", with_pedal).stdout
    assert "has these stand-ins already" in again


def test_check_and_sheets_honour_what_was_written(run, run_json, with_pedal: Path):
    run("standins", "friday", "--rig", "small", "--write", "--book", with_pedal)
    show = with_pedal / "shows/friday.toml"
    show.write_text(show.read_text().replace('venue = "harbour"', 'venue = "harbour"\nrig = "small"'))
    rules = {finding["rule"] for finding in run_json("check", "friday", "--book", with_pedal)["findings"]}
    assert "missing-control" not in rules
    sheet = run("sheet", "friday", "--for", "player", "--format", "text", "--book", with_pedal).stdout
    assert "fade does the work of swell" in sheet


def test_a_stand_in_that_is_no_longer_wanted_is_replaced_in_place(run, with_pedal: Path):
    show = with_pedal / "shows/friday.toml"
    show.write_text(show.read_text() + '[stand_ins.harbour]\n# the switch will do\nswell = "sw 9"\n')
    run("standins", "friday", "--rig", "small", "--write", "--book", with_pedal)
    assert '[stand_ins.harbour]\n# the switch will do\nswell = "fade"\n' in show.read_text()


def test_a_rig_that_is_not_the_shows_own_is_pointed_out(run, with_pedal: Path):
    text = run("standins", "friday", "--rig", "small", "--book", with_pedal).stdout
    assert 'put rig = "small" into it' in text


def test_a_rig_with_everything_needs_none(run, book: Path):
    text = run("standins", "friday", "--book", book).stdout
    assert "Every song has all its controls: Low Lantern, Harbour Steps" in text


def test_a_rig_that_is_not_there_exits_2(run, book: Path):
    assert run("standins", "friday", "--rig", "smalll", "--book", book).exit_code == 2


def test_a_spare_says_what_changes_as_text_and_as_json(run, run_json):
    call = ("standins", "pellmarsh-hall", "--guitar", "spare baritone", "--book", demo_book())
    text = run(*call).stdout
    assert "Pellmarsh Hall, December, on Full rig: spare baritone instead of baritone" in text
    assert "input gain +2 dB: spare baritone is at -1 dB, baritone at -3 dB" in text
    data = run_json(*call)
    assert (data["guitar"], data["instead_of"]) == ("spare baritone", ["baritone"])
    lantern = next(song for song in data["songs"] if song["song"] == "low-lantern")
    assert lantern["stand_ins"].keys() == {"strip"}
    assert lantern["unplayable"] == ["octave switch"]


def test_a_guitar_that_is_nobodys_spare_exits_2_with_the_nearest(run):
    result = run("standins", "pellmarsh-hall", "--guitar", "baritone", "--book", demo_book())
    assert result.exit_code == 2
    assert 'did you mean "spare baritone"?' in " ".join(result.stderr.split())


def test_a_spare_is_not_written(run):
    result = run("standins", "pellmarsh-hall", "--guitar", "spare baritone", "--write", "--book", demo_book())
    assert result.exit_code == 2


def test_rigs_says_what_the_second_lacks_and_whom_it_touches(run, run_json, book: Path):
    text = run("rigs", "big", "small", "--book", book).stdout
    assert text.startswith("Small rig, beside Big rig\n")
    assert "  lacks swell: every song\n" in text
    assert "  lacks echo mix: Low Lantern\n" in text
    assert "    settle_ms: 100 → 300\n" in text
    data = run_json("rigs", "big", "small", "--book", book)
    assert (data["a"], data["b"]) == ("big", "small")
    assert data["parts"][0]["lacks"] == [{"name": "swell", "songs": ["harbour", "low-lantern"]}]
    assert data["songs"][1]["touched"] == {"controls": ["swell"], "targets": ["echo mix"]}


def test_rigs_of_one_kind_have_no_difference(run, book: Path):
    assert "no difference" in run("rigs", "big", "big", "--book", book).stdout


def test_everything_fits_eighty_columns(run):
    for call in (
        ("standins", "brackwater-field"),
        ("standins", "pellmarsh-hall", "--rig", "small"),
        ("standins", "pellmarsh-hall", "--guitar", "spare baritone"),
        ("rigs", "full", "small"),
    ):
        lines = run(*call, "--book", demo_book()).stdout.splitlines()
        assert max(len(line) for line in lines if not line.startswith((" #", "@@", "---", "+++"))) <= 80
