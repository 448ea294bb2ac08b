"""`takes` and `progress`: what was kept, how it went, what to practise."""

from pathlib import Path

import pytest

from showrunner.takes.smf import read_take, write_take
from showrunner.takes.take import Take, TakeEvent

NEXT = 80
PEDAL = 11


def events(*messages: tuple[float, int, int]) -> tuple[TakeEvent, ...]:
    """Control changes on channel 1 of the floor board: seconds, controller, value; a switch lets go by itself."""
    found = [TakeEvent(at_s, "floor", "in", bytes((0xB0, cc, value))) for at_s, cc, value in messages]
    found += [TakeEvent(at_s + 0.1, "floor", "in", bytes((0xB0, cc, 0))) for at_s, cc, value in messages if cc == NEXT]
    return tuple(sorted(found, key=lambda event: event.at_s))


def steps(*times: float) -> tuple[tuple[float, int, int], ...]:
    return tuple((at_s, NEXT, 127) for at_s in times)


@pytest.fixture
def kept(book: Path) -> Path:
    """Three takes of one song: Ring late in two, all well in the last; and one of another song."""
    song = book / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('at = "1:00"', 'at = "1:00"\ncontrols = { swell = 100 }'))
    for name, at_s, raw in (("2026-11-01", 66.0, 127), ("2026-11-02", 65.0, 30), ("2026-11-03", 61.2, 127)):
        played = events(*steps(1.0), (30.0, PEDAL, raw), *steps(at_s, 181.0))
        write_take(book / f"takes/low-lantern/{name}.mid", Take(played, rig="big", song="low-lantern"))
    write_take(book / "takes/harbour/2026-11-02.mid", Take(events(*steps(1.0)), rig="big", song="harbour"))
    return book


def test_takes_of_a_song_are_listed_oldest_first_with_how_clean_they_were(kept: Path, run):
    rows = [line.split() for line in run("takes", "low-lantern", "--book", kept).stdout.splitlines()]
    assert [row[0] for row in rows] == ["low-lantern/2026-11-01", "low-lantern/2026-11-02", "low-lantern/2026-11-03"]
    assert [" ".join(row[-4:]) for row in rows] == ["2 of 3 clean", "2 of 3 clean", "3 of 3 clean"]
    assert rows[0][1] == "3:01"


def test_faults_say_what_was_wrong_where(kept: Path, run):
    text = run("takes", "low-lantern", "--faults", "--book", kept).stdout
    assert "5 s late" in text
    assert "swell at 24 %, should be at 100 %" in " ".join(text.split())


def test_json_has_every_cue_of_every_take(kept: Path, run_json):
    first = run_json("takes", "low-lantern", "--book", kept)["takes"][0]
    assert (first["take"], first["rig"], first["messages_in"]) == ("low-lantern/2026-11-01", "big", 7)
    assert [(cue["cue"], cue["faults"]) for cue in first["review"]["cues"]] == [
        ("Verse", []),
        ("Ring", ["late"]),
        ("End", []),
    ]
    assert first["review"]["cues"][1]["late_s"] == pytest.approx(5.0)


def test_pruning_says_first_and_deletes_only_when_told(kept: Path, run, run_json):
    files = sorted(kept.glob("takes/*/*.mid"))
    text = run("takes", "low-lantern", "--prune", 1, "--book", kept).stdout
    assert "low-lantern/2026-11-01" in text
    assert text.splitlines()[-1] == "2 takes of 3 would go; say --write to delete"
    assert sorted(kept.glob("takes/*/*.mid")) == files
    assert run("takes", "low-lantern", "--prune", 1, "--write", "--book", kept).stdout.endswith("deleted 2 takes\n")
    assert [one["take"] for one in run_json("takes", "low-lantern", "--prune", 0, "--book", kept)["takes"]] == [
        "low-lantern/2026-11-03"
    ]
    left = sorted(path.relative_to(kept).as_posix() for path in kept.glob("takes/*/*.mid"))
    assert left == ["takes/harbour/2026-11-02.mid", "takes/low-lantern/2026-11-03.mid"]


def test_write_without_prune_is_refused(kept: Path, run):
    assert run("takes", "low-lantern", "--write", "--book", kept).exit_code == 2


def test_a_damaged_take_is_named_and_the_others_are_listed(kept: Path, run):
    (kept / "takes/low-lantern/2026-11-02.mid").write_bytes(b"MThd\x00")
    result = run("takes", "low-lantern", "--book", kept)
    assert "takes/low-lantern/2026-11-02.mid: can't be read as a take" in result.stderr
    assert len(result.stdout.splitlines()) == 2


def test_progress_draws_each_place_over_time_and_names_what_to_practise(kept: Path, run):
    lines = run("progress", "friday", "--book", kept).stdout.splitlines()
    ring = next(line.split() for line in lines if line.split()[:1] == ["Ring"])
    assert ring[1:5] == ["1", "of", "3", "xxo"]
    assert " ".join(ring[5:]) == "late 2×, swell not there 1×"
    assert lines[-1] == "practise next: Low Lantern, Ring"


def test_progress_as_json_has_what_failed_at_each_time(kept: Path, run_json):
    places = run_json("progress", "friday", "--book", kept)["places"]
    assert (places[0]["song"], places[0]["cue"], places[0]["played"], places[0]["clean"]) == (
        "low-lantern",
        "Ring",
        3,
        1,
    )
    assert places[0]["times"] == [["late"], ["late", "swell not there"], []]


def test_a_cue_that_the_book_no_longer_has_does_not_stop_the_rest(kept: Path, run):
    song = kept / "songs/low-lantern.toml"
    song.write_text(song.read_text().replace('name = "End"', 'name = "Close"'))
    assert "practise next: Low Lantern, Ring" in run("progress", "low-lantern", "--book", kept).stdout


def test_a_changeover_that_took_too_long_is_a_place_of_its_own(kept: Path, run):
    played = events(*steps(1.0, 61.0, 181.0, 240.0, 320.0))
    write_take(kept / "takes/harbour/2026-11-09.mid", Take(played, show="friday", rig="big", song="harbour"))
    text = run("progress", "friday", "--book", kept).stdout
    assert "changeover from Low Lantern 0 of 1 x too long 1×" in " ".join(text.split())


def test_a_take_that_was_ended_at_once_is_said_to_hold_nothing(book: Path, run):
    write_take(book / "takes/low-lantern/2026-11-01.mid", Take((), rig="big", song="low-lantern"))
    assert "nothing was played" in run("takes", "low-lantern", "--book", book).stdout


def test_without_takes_both_say_how_to_make_them(book: Path, run):
    for name in ("takes", "progress"):
        assert run(name, "low-lantern", "--book", book).stdout == "no takes yet; showrunner rehearse makes them\n"


def test_a_whole_shows_take_is_filed_under_the_show_and_listed_for_each_of_its_songs(book: Path, run, run_json):
    run("rehearse", "friday", "--fast", "--keep", "--book", book)
    (kept,) = (book / "takes/friday").iterdir()
    name = f"friday/{kept.stem}"
    for of in ("friday", "low-lantern", "harbour"):
        assert [one["take"] for one in run_json("takes", of, "--book", book)["takes"]] == [name]
    assert run_json("replay", name, "--book", book)["as_then"] is True
    take = read_take(kept)
    write_take(kept, take._replace(events=(*events((0.5, PEDAL, 3)), *take.events)))
    assert {place["song"] for place in run_json("progress", "friday", "--book", book)["places"]} == {
        "low-lantern",
        "harbour",
    }


def test_what_the_clock_played_by_itself_says_nothing_of_the_player(book: Path, run, run_json):
    for _ in range(2):
        run("rehearse", "low-lantern", "--fast", "--keep", "--book", book)
    text = run("progress", "low-lantern", "--book", book).stdout
    assert text == "nobody was heard in the takes there are: move a pedal, or take the cues by foot\n"
    data = run_json("takes", "low-lantern", "--book", book)
    assert [one["review"]["played"] for one in data["takes"]] == [False, False]
    assert run("takes", "low-lantern", "--book", book).stdout.count("nobody was heard") == 2
    (first, _) = sorted((book / "takes/low-lantern").iterdir())
    take = read_take(first)
    keyed = tuple(ask._replace(what=ask.what.removesuffix(" by the clock")) for ask in take.asks)
    write_take(first, take._replace(asks=keyed))
    assert run("progress", "low-lantern", "--book", book).stdout.startswith("1 take; ")


def test_pruning_a_song_leaves_the_takes_of_whole_shows(book: Path, run):
    run("rehearse", "friday", "--fast", "--keep", "--book", book)
    run("rehearse", "low-lantern", "--fast", "--keep", "--book", book)
    run("takes", "low-lantern", "--prune", 0, "--write", "--book", book)
    assert [path.parent.name for path in book.glob("takes/*/*.mid")] == ["friday"]
    run("takes", "friday", "--prune", 0, "--write", "--book", book)
    assert not list(book.glob("takes/*/*.mid"))


def test_progress_names_takes_that_can_not_be_read_and_counts_only_those_it_read(kept: Path, run, run_json):
    (kept / "takes/low-lantern/2026-11-02.mid").write_bytes(b"MThd\x00")
    write_take(kept / "takes/low-lantern/2026-11-04.mid", Take(events(*steps(1.0)), rig="sold", song="low-lantern"))
    result = run("progress", "low-lantern", "--book", kept)
    assert "takes/low-lantern/2026-11-02.mid: can't be read as a take" in result.stderr
    assert result.stdout.startswith("2 takes; ")
    data = run_json("progress", "low-lantern", "--book", kept)
    assert data["takes"] == 2
    assert [row["file"] for row in data["left_out"]] == ["takes/low-lantern/2026-11-02.mid"]
    assert run_json("takes", "low-lantern", "--book", kept)["left_out"] == data["left_out"]


def test_progress_names_a_take_of_the_whole_show_that_can_not_be_read(kept: Path, run):
    (kept / "takes/friday").mkdir()
    (kept / "takes/friday/2026-11-05.mid").write_bytes(b"no take")
    assert "takes/friday/2026-11-05.mid: " in run("progress", "friday", "--book", kept).stderr


def test_progress_says_in_how_many_takes_all_of_a_song_was_clean(kept: Path, run, run_json):
    assert "Low Lantern: all clean in 1 of 3 takes  xxo" in run("progress", "low-lantern", "--book", kept).stdout
    assert run_json("progress", "low-lantern", "--book", kept)["songs"] == [
        {"song": "low-lantern", "takes": 3, "clean": 1}
    ]


def test_the_tenth_take_of_a_minute_comes_after_the_second(kept: Path, run):
    first = kept / "takes/harbour/2026-11-02.mid"
    for number in (2, 10):
        first.with_stem(f"2026-11-02-{number}").write_bytes(first.read_bytes())
    rows = [line.split()[0] for line in run("takes", "harbour", "--book", kept).stdout.splitlines()]
    assert rows == ["harbour/2026-11-02", "harbour/2026-11-02-2", "harbour/2026-11-02-10"]
    text = run("takes", "harbour", "--prune", 1, "--book", kept).stdout
    assert "harbour/2026-11-02-10" not in text


def test_pruning_one_take_that_stays_is_said_in_the_singular(kept: Path, run):
    assert run("takes", "harbour", "--prune", 3, "--book", kept).stdout == "nothing to delete: there is 1 take\n"


def test_takes_that_are_deleted_are_no_longer_among_those_there_are(kept: Path, run_json):
    data = run_json("takes", "low-lantern", "--prune", 1, "--write", "--book", kept)
    assert [one["take"] for one in data["takes"]] == ["low-lantern/2026-11-03"]
    assert data["prune"] == ["low-lantern/2026-11-01", "low-lantern/2026-11-02"]
