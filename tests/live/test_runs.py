"""Runs read as they are kept, whatever their lines say."""

import json
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.book.read import read_book
from showrunner.live.closing import to_file
from showrunner.live.runs import best, lengths, read_run, read_runs, run_files
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
        whole = sum(bool(line.strip()) for line in file.read_text(errors="replace").split("\n"))
        assert len(run.lines) + len(run.problems) == whole
        assert night_csv(BOOK.book, run.lines, run.stamps).count("\r\n") > len(run.lines)
        all_lengths = lengths(read_runs(root), BOOK.book)
        for number, night in enumerate(nights := run.nights(BOOK.book)):
            look = Look(run, number, len(nights), night, None)
            compared = compare_with(BOOK.book, look)
            assert list(night_lines(BOOK.book, look, compared))
            for part in compared.parts:
                assert len(cells(BOOK.book, part, 11)) == 7
                assert len(evening(BOOK.book, compared, look, part, 30)) == 3
                assert list(song_lines(BOOK.book, part.song, all_lengths.get(part.song, []), look))
            assert to_file(BOOK, run, night, all_lengths).rig == "full"


def test_files_of_a_show_come_by_date_and_no_name_is_a_pattern(tmp_path: Path) -> None:
    for show, date in (("a", "2026-02-01"), ("a", "2026-01-01"), ("b", "2026-01-15")):
        (tmp_path / "runs" / show).mkdir(parents=True, exist_ok=True)
        (tmp_path / "runs" / show / f"{date}.jsonl").write_text("")
    assert [file.stem for file in run_files(tmp_path, "a")] == ["2026-01-01", "2026-02-01"]
    assert [file.parent.name for file in run_files(tmp_path)] == ["a", "b", "a"]
    assert run_files(tmp_path, "*") == run_files(tmp_path, "..") == []


def test_the_performance_with_the_most_songs_is_looked_at_first_the_later_of_equals() -> None:
    nights = read_run(demo_book(), run_files(demo_book(), SHOW)[0]).nights(BOOK.book)
    short = nights[0]._replace(songs=nights[0].songs[:2])
    assert best([short, nights[0], short]) == 1
    assert best([short, short]) == 1
    assert best([]) is None
