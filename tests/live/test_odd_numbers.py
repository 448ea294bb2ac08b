"""Numbers and dates that no clock shows, in logs and in what a run keeps: passed over, refused, never the end of it."""

import datetime
import json
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.cli.main import program
from showrunner.live import nightclock
from showrunner.live.runlog import seconds
from showrunner.live.saved import RefusedError, Saved, from_saved
from showrunner.places import demo_book

SHOW = "pellmarsh-hall"
HUGE = "9" * 400
"""A whole number that is past what a float can be."""
NUMBERS = ["Infinity", "-Infinity", "NaN", "1e308", "-1e308", "1e999", HUGE, f"-{HUGE}", "99999999999", "1e10", "-0.0"]
NUMBERS += ["1e-320", "253402300800", "-62135596801", "true", "null", "[]"]
TIMES = ["0000-01-01T00:00:00", "0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59", "2026-12-05T20:00+99:99", ""]
FIELDS = ("unix_s", "at_s", "number", "from", "to")
NEVER = re.compile(r"\b(?:nan|inf|NaN|Infinity)\b|e\+\d\d|\b\d{3,}:\d\d:\d\d\b")
"""What a night's figures never are: no numbers, powers of ten, hundreds of hours."""


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("odd") / "book"
    shutil.copytree(demo_book(), root, ignore=shutil.ignore_patterns(".*"))
    for file in sorted(root.glob(f"runs/{SHOW}/*"))[:-1]:
        file.unlink()
    return root


ODD = st.lists(
    st.tuples(
        st.integers(0, 400),
        st.one_of(
            st.tuples(st.sampled_from(FIELDS), st.sampled_from(NUMBERS)),
            st.tuples(st.just("time"), st.sampled_from(TIMES).map(json.dumps)),
        ),
    ),
    min_size=1,
    max_size=40,
)


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(odd=ODD)
def test_a_log_with_odd_numbers_is_told_and_closed_with_figures_that_can_be(
    odd: list[tuple[int, tuple[str, str]]], book: Path, tmp_path: Path
) -> None:
    (file,) = book.glob(f"runs/{SHOW}/*.jsonl")
    good = file.read_text(encoding="utf-8")
    lines = [*good.splitlines(), '{"kind": "trimmed", "target": "input gain", "from": 0, "to": 1}']
    for where, (field, value) in odd:
        line = json.loads(lines[where % len(lines)])
        if where % len(lines) and field in {**line, "at_s": 0}:
            lines[where % len(lines)] = json.dumps({**line, field: "@"}).replace('"@"', value)
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    try:
        for words in (["log", SHOW], ["log", SHOW, "--close", "--duration", "all"], ["batteries", SHOW]):
            result = CliRunner(env={"XDG_STATE_HOME": str(tmp_path)}).invoke(program, ["--book", str(book), *words])
            assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
            assert NEVER.search(result.output) is None, result.output
    finally:
        file.write_text(good, encoding="utf-8")


def test_a_clock_of_a_run_that_leaps_makes_no_song_of_days(book: Path, tmp_path: Path) -> None:
    (file,) = book.glob(f"runs/{SHOW}/*.jsonl")
    good = file.read_text(encoding="utf-8")
    lines = [json.loads(line) for line in good.splitlines()]
    lines[len(lines) // 2]["at_s"] = 1e10
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    try:
        result = CliRunner(env={"XDG_STATE_HOME": str(tmp_path)}).invoke(program, ["--book", str(book), "log", SHOW])
    finally:
        file.write_text(good, encoding="utf-8")
    assert NEVER.search(result.output) is None, result.output


@pytest.mark.parametrize("value", [*NUMBERS, '"5"'])
def test_a_time_is_a_number_that_a_clock_can_show(value: str) -> None:
    found = seconds(json.loads(value))
    assert found is None or 0 <= found < 1e11
    assert (found is not None) == (value in {"99999999999", "1e10", "-0.0", "1e-320"})


@pytest.mark.parametrize("name", ["at_s", "unix_s", "began_s", "began_unix_s"])
@pytest.mark.parametrize("value", [1e18, float("inf"), -1.0])
def test_a_state_saved_at_a_time_that_no_clock_shows_is_refused(
    name: str, value: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = {"version": 2, "state": [], "done": [], "boot": "b"}
    times = {"at_s": 1.0, "unix_s": 1.0, "began_s": 1.0, "began_unix_s": 1.0, name: value}
    monkeypatch.setattr("showrunner.live.saved.from_json", lambda _, of: Saved(*of))
    with pytest.raises(RefusedError, match="damaged"):
        from_saved({**good, **times})


@pytest.mark.parametrize("date", [datetime.date.min, datetime.date.max, datetime.date(9999, 12, 30)])
def test_a_show_in_the_first_or_the_last_year_has_no_day_that_clocks_tell(date: datetime.date) -> None:
    assert nightclock.minutes_of(date, 1.8e9) is None
    assert nightclock.counted(date, 1200) == 1200
    assert nightclock.clock(date, 1600.5) == 1600.5
