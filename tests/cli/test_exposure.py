"""The day's dose from the command line."""

from pathlib import Path

import pytest

VENUE = 'format = 1\ntitle = "The Harbour Room"\nsound_limit = { laeq_db = 97, over = "5:00" }\n'


def test_json_holds_parts_and_both_doses(run_json):
    data = run_json("exposure", "--part", "rehearsal 94 dBA 1h30m", "--part", "show 100 dBA 30m")
    assert data["parts"][0] == {"name": "rehearsal", "level_dba": 94, "seconds": 5400}
    assert data["niosh"]["dose_pct"] == pytest.approx(150 + 200)
    assert data["osha"]["dose_pct"] == pytest.approx(32.65 + 25, abs=0.01)
    assert data["niosh"]["twa_dba"] == pytest.approx(90.44, abs=0.01)
    assert data["niosh"]["left_s"] == 0


def test_over_a_days_dose_is_a_warning_in_words_and_exit_0(run):
    result = run("exposure", "--part", "rehearsal 94 dBA 1h30m")
    assert result.exit_code == 0
    assert "NIOSH: 150 % of the day's dose" in result.stdout
    assert "WARNING" in result.stdout


def test_what_is_left_is_said(run):
    assert "1:00:00 left at 91 dBA" in run("exposure", "--part", "rehearsal 91 dBA 1h").stdout


def test_the_cautions_are_always_there(run):
    text = " ".join(run("exposure", "--part", "tea 60 dBA 10m").stdout.split())
    assert "Protect your hearing" in text
    assert "licensed professional" in text


def limit_value(data):
    """The limit value of Directive 2003/10/EC, Article 3: 87 dB(A) over 8 h, with what protectors keep off counted."""
    (one,) = [limit for limit in data["limits"] if limit["laeq_dba"] == 87]
    return one["level_dba"], one["over"]


@pytest.mark.parametrize(
    ("options", "level_dba", "over"),
    [
        ((), None, None),
        (("--protection", 0), 99, True),
        (("--protection", 12), 87, False),
        (("--protection", 11), 88, True),
    ],
)
def test_the_limit_value_is_of_the_level_under_protection(run_json, options, level_dba, over):
    """Directive 2003/10/EC, Article 3 (as quoted): 99 dB(A) over eight hours, less what protection keeps off."""
    data = run_json("exposure", "--part", "show 99 dBA 8h", *options)
    assert limit_value(data) == (level_dba if level_dba is None else pytest.approx(level_dba), over)
    action = {limit["laeq_dba"]: limit["level_dba"] for limit in data["limits"] if limit["laeq_dba"] in (80, 85)}
    assert action == {80: pytest.approx(99), 85: pytest.approx(99)}  # action values leave protection out


def test_without_a_figure_for_protection_the_limit_value_is_said_not_to_be_comparable(run):
    text = " ".join(run("exposure", "--part", "show 99 dBA 8h").stdout.split())
    assert "not comparable: Directive 2003/10/EC, limit value" in text
    assert "say what yours keeps off with --protection DB" in text
    assert "OVER: Directive 2003/10/EC, limit value" not in text


def test_what_is_within_the_limit_value_without_protection_needs_none(run, run_json):
    assert limit_value(run_json("exposure", "--part", "talk 80 dBA 8h")) == (pytest.approx(80), False)
    assert "here 80.0 without protection" in " ".join(run("exposure", "--part", "talk 80 dBA 8h").stdout.split())


def test_a_show_counts_at_its_venues_limit_and_is_held_against_it(run, book: Path):
    (book / "venues/harbour.toml").write_text(VENUE)
    text = run("exposure", "--show", "friday", "--book", book).stdout
    assert "Friday at the Harbour  97 dBA" in text
    assert "within: The Harbour Room, 97 dBA over 5:00" in text


def test_a_louder_show_is_over_its_venues_limit(run, book: Path):
    (book / "venues/harbour.toml").write_text(VENUE)
    assert "OVER: The Harbour Room" in run("exposure", "--show", "friday", "--level", 98, "--book", book).stdout


def test_a_venue_without_a_limit_needs_a_level(run, book: Path):
    result = run("exposure", "--show", "friday", "--book", book)
    assert result.exit_code == 2
    assert "say how loud with --level DBA" in result.stderr


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["--level", "95"],
        ["--part", "rehearsal"],
        ["--part", "rehearsal 94 dBA soon"],
        ["--part", "rehearsal 94 dBA 0s"],
        ["--part", "a 90 dBA 20h", "--part", "b 90 dBA 20h"],
        ["--show", "friday", "--level", "nan"],
        ["--part", "show 99 dBA 1h", "--protection", "nan"],
        ["--part", "show 99 dBA 1h", "--protection", "-3"],
    ],
)
def test_what_makes_no_day_is_wrong_usage(run, words: list[str]):
    assert run("exposure", *words).exit_code == 2


def test_a_level_that_is_just_over_a_limit_looks_so(run):
    """By hand: 80.04 dBA for eight hours is over 80, and would be 80.0 with one decimal."""
    out = " ".join(run("exposure", "--part", "day 80.04 dBA 8h").stdout.split())
    assert "OVER: Directive 2003/10/EC, lower action value, 80 dBA over 8:00:00; here 80.04" in out
    assert "within: Directive 2003/10/EC, upper action value, 85 dBA over 8:00:00; here 80.0 " in f"{out} "
