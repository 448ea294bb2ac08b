"""Runs read as they are kept, whatever their lines say."""

import json
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book.read import read_book
from showrunner.live.closing import to_file
from showrunner.live.evidence import battery_hours, trims_left
from showrunner.live.runs import lengths, read_run, read_runs, run_files
from showrunner.model.show import ShowTrims
from showrunner.places import demo_book
from showrunner.planning.night import STEPS, WORTH
from showrunner.sheets.night import night_csv
from showrunner.tui.night_words import Look, cells, evening, night_lines, song_lines
from showrunner.tui.screens.after import compare_with

SHOW = "pellmarsh-hall"
BOOK = read_book(demo_book())
SOME = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5), st.just([]))
KINDS = st.sampled_from([*STEPS, *WORTH, "began", "ended", "port lost", "port found", "trimmed", "unheard of"])
TIMES = st.one_of(st.floats(0, 9000), st.integers(0, 9000), st.sampled_from([1e308, -1e308, 10**400, float("nan")]))
ENTRY = st.fixed_dictionaries(
    {"kind": st.one_of(KINDS, SOME), "unix_s": st.one_of(TIMES, SOME)},
    optional={
        "time": st.one_of(st.sampled_from(["2026-12-05T20:47:05", "2026-12-06T00:10:00+01:00", "soon"]), SOME),
        "song": st.one_of(st.sampled_from(["marram", "low-lantern", "gone"]), SOME),
        "cue": st.one_of(st.sampled_from(["start", "Theme"]), SOME),
        "say": st.one_of(st.sampled_from(["host", "floor"]), SOME),
        "target": st.one_of(st.sampled_from(["interface volume", "reverb mix"]), SOME),
        "from": SOME,
        "to": SOME,
        "unit": SOME,
        "rig": SOME,
    },
)
LINE = st.one_of(ENTRY.map(json.dumps), st.text(max_size=20), st.just('{"kind": "so'))


@settings(max_examples=60, deadline=None)
@given(lines=st.lists(LINE, max_size=30))
def test_any_lines_are_read_told_and_drawn(lines: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        file = root / "runs" / SHOW / "2026-12-05.jsonl"
        file.parent.mkdir(parents=True)
        file.write_bytes("\n".join(lines).encode("utf-8", "surrogatepass"))
        run = read_run(root, file)
        whole = sum(bool(line.strip()) for line in file.read_bytes().decode(errors="replace").split("\n"))
        assert len(run.lines) + len(run.problems) == whole
        assert night_csv(BOOK.book, run.lines, run.stamps).count("\r\n") > len(run.lines)
        all_lengths = lengths(read_runs(root), BOOK.book)
        for performance, night in run.played(BOOK.book):
            look = Look(performance, night, None)
            compared = compare_with(BOOK.book, look)
            assert list(night_lines(BOOK.book, look, compared))
            for part in compared.parts:
                assert len(cells(BOOK.book, part, 11)) == 7
                assert len(evening(BOOK.book, compared, look, part, 30)) == 3
                assert list(song_lines(BOOK.book, part.song, all_lengths.get(part.song, []), look))
            assert to_file(BOOK, performance, night, all_lengths).rig == "full"


def test_files_of_a_show_come_by_date_and_no_name_is_a_pattern(tmp_path: Path) -> None:
    for show, date in (("a", "2026-02-01"), ("a", "2026-01-01"), ("b", "2026-01-15")):
        (tmp_path / "runs" / show).mkdir(parents=True, exist_ok=True)
        (tmp_path / "runs" / show / f"{date}.jsonl").write_text("")
    assert [file.stem for file in run_files(tmp_path, "a")] == ["2026-01-01", "2026-02-01"]
    assert [file.parent.name for file in run_files(tmp_path)] == ["a", "b", "a"]
    assert run_files(tmp_path, "*") == run_files(tmp_path, "..") == []


def lines_of(*kinds: str | dict) -> str:
    """Lines of a log, a second apart; those that are mappings as they are."""
    rows = [{"kind": kind} if isinstance(kind, str) else kind for kind in kinds]
    return "".join(json.dumps({"unix_s": 100 + at_s, **row}) + "\n" for at_s, row in enumerate(rows))


BEGAN = {"kind": "began", "show": SHOW, "rig": "full"}
SONG_LINE = {"kind": "song", "song": "saltmarsh-signal", "cue": "start"}


def kept(root: Path, text: str, date: str = "2026-12-05", show: str = SHOW):
    file = root / "runs" / show / f"{date}.jsonl"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    return read_run(root, file)


def test_what_was_played_without_hardware_is_left_out_of_a_run_and_counted(tmp_path: Path) -> None:
    tried = lines_of({**BEGAN, "simulated": True, "say": "SIMULATED"}, SONG_LINE, "over", "ended")
    real = lines_of({**BEGAN, "simulated": False}, SONG_LINE, "cue", "over", "ended")
    run = kept(tmp_path, tried + real + tried)
    assert (len(run.lines), len(run.stamps), run.simulated) == (5, 5, 2)
    assert [part.name for part, _ in run.played(BOOK.book)] == ["2026-12-05"]
    only = kept(tmp_path, tried, "2026-12-06")
    assert (only.lines, only.simulated, only.nights(BOOK.book)) == ((), 1, [])


def test_a_run_that_does_not_say_whether_it_was_simulated_was_played(tmp_path: Path) -> None:
    run = kept(tmp_path, lines_of(BEGAN, SONG_LINE, "over"))
    assert (len(run.lines), run.simulated) == (3, 0)


def test_a_simulated_run_goes_on_where_its_engine_was_started_again_but_never_as_the_show(tmp_path: Path) -> None:
    simulated = {**BEGAN, "simulated": True}
    run = kept(tmp_path, lines_of(simulated, SONG_LINE, simulated, "restarted", "over", {**BEGAN}, "restarted", "over"))
    assert (run.simulated, [line.kind for line in run.lines]) == (1, ["began", "restarted", "over"])


def test_simulated_runs_count_neither_for_lengths_nor_batteries_nor_trims(tmp_path: Path) -> None:
    moved = {"kind": "trimmed", "target": "interface volume", "from": 0.5, "to": -3.0, "unit": "dB"}
    played = [SONG_LINE, moved, {"kind": "changeover", "unix_s": 4000}]
    rig, show = BOOK.book.rigs["full"], BOOK.book.shows[SHOW]
    for simulated in (True, False):
        kept(tmp_path, lines_of({**BEGAN, "simulated": simulated}, *played))
        counted = not simulated
        assert bool(lengths(read_runs(tmp_path), BOOK.book)) is counted
        assert bool(battery_hours(tmp_path, BOOK.book, rig)) is counted
        before = show.model_copy(update={"trims": ShowTrims(interface_volume_db=0.5)})
        assert bool(trims_left(tmp_path, SHOW, before)) is counted


def test_the_trims_of_the_last_run_are_offered_although_the_show_was_tried_since(tmp_path: Path) -> None:
    moved = {"kind": "trimmed", "target": "interface volume", "from": 0.5, "to": -3.0, "unit": "dB"}
    kept(tmp_path, lines_of(BEGAN, SONG_LINE, moved))
    kept(tmp_path, lines_of({**BEGAN, "simulated": True}, SONG_LINE), "2026-12-06")
    show = BOOK.book.shows[SHOW].model_copy(update={"trims": ShowTrims(interface_volume_db=0.5)})
    assert trims_left(tmp_path, SHOW, show) == {"interface volume": (0.5, -3.0)}
