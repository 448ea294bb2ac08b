"""`log`: what the night really took, against what was planned."""

import csv
import io
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from showrunner.cli.common import Call, command, find_show, open_book, trouble
from showrunner.cli.output import columns, number, paragraph, plural, print_json, print_lines
from showrunner.model.units import format_length
from showrunner.planning.night import Line, Night, night_of, performances
from showrunner.planning.timing import RunningTime, running_time
from showrunner.sheets.escape import for_csv

if TYPE_CHECKING:
    from showrunner.model.library import Book
    from showrunner.model.show import Show

OTHERS = {
    "too soon": "pressed too soon",
    "taken": "another song taken",
    "restarted": "the engine started again",
    "loop": "a message that came back in a loop",
    "program owed": "a program not sent after a port came back",
}


@command(
    examples=(
        "showrunner log pellmarsh-hall",
        "showrunner log pellmarsh-hall --run 2026-11-21",
        "showrunner log pellmarsh-hall --csv > night.csv",
    )
)
@click.argument("show")
@click.option("--run", metavar="DATE", help="The night of this date; else the latest.")
@click.option("--csv", "as_csv", is_flag=True, help="Every line of the log, as a table for a spreadsheet.")
def log(call: Call, show: str, run: str | None, as_csv: bool) -> None:
    """What a night took: songs and changeovers as played against the plan, steps back, ports lost.

    Runs are kept under the book's runs/SHOW by date. Of several in one night it is the one with the most songs.
    """
    if as_csv and call.json:
        raise click.UsageError("--csv and --json go one at a time")
    reading = open_book(call)
    slug = find_show(reading, show)
    path = _run_file(reading.root / "runs" / slug, run)
    book, the_show = reading.book, reading.book.shows[slug]
    stamped = _read(path)
    if as_csv:
        click.echo(_csv(book, stamped), nl=False)
        return
    cues = {song: ("start", *(cue.name for cue in of.cues)) for song, of in book.songs.items()}
    nights = [night_of(part, cues) for part in performances([line for _, line in stamped])]
    played = max(
        (night for night in reversed(nights) if night is not None), key=lambda night: len(night.songs), default=None
    )
    if played is None:
        raise trouble("no song was begun in this run", file=f"runs/{slug}/{path.name}")
    timed = running_time(book, the_show)
    if call.json:
        print_json(_data(slug, path.stem, played, timed))
    else:
        print_lines(_lines(book, the_show, path.stem, played, timed))


def _run_file(folder: Path, run: str | None) -> Path:
    files = sorted(folder.glob("*.jsonl"))
    if run is not None:
        files = [file for file in files if file.stem == run]
    if not files:
        there = ", ".join(file.stem for file in sorted(folder.glob("*.jsonl")))
        mend = f"there are {there}" if there else "showrunner play makes one"
        raise trouble(f"{folder.name} has no run" + (f" of {run}" if run is not None else ""), mend)
    return files[-1]


def _read(path: Path) -> list[tuple[str, Line]]:
    """Each line of a log with its clock time; what is none of ours is passed over."""
    from showrunner.live.runlog import entries

    found = []
    for entry in entries(path):
        at_s, kind = entry.get("unix_s"), entry.get("kind")
        if isinstance(at_s, int | float) and isinstance(kind, str):
            song, cue, say = (entry.get(name) for name in ("song", "cue", "say"))
            line = Line(
                float(at_s),
                kind,
                song if isinstance(song, str) else None,
                cue if isinstance(cue, str) else None,
                say if isinstance(say, str) else "",
            )
            found.append((str(entry.get("time", "")), line))
    return found


def _csv(book: "Book", stamped: Sequence[tuple[str, Line]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("time", "seconds", "what", "song", "title", "cue", "words"))
    first_s = next((line.at_s for _, line in stamped if line.kind == "song"), stamped[0][1].at_s if stamped else 0.0)
    for time, line in stamped:
        title = book.songs[line.song].title if line.song is not None and line.song in book.songs else ""
        cells = (time, f"{line.at_s - first_s:.3f}", line.kind, line.song or "", title, line.cue or "", line.say)
        writer.writerow([for_csv(cell) for cell in cells])
    return out.getvalue()


def _data(slug: str, run: str, played: Night, timed: RunningTime) -> dict[str, Any]:
    planned = {song.song: song for part in timed.sets for song in part.songs}
    return {
        "show": slug,
        "run": run,
        "planned_s": timed.planned_s,
        "lasted_s": played.lasted_s,
        "songs": [
            {
                **song._asdict(),
                "planned_starts_s": planned[song.song].starts_s if song.song in planned else None,
                "planned_s": planned[song.song].duration_s if song.song in planned else None,
            }
            for song in played.songs
        ],
        "not_played": [song for song in planned if song not in {one.song for one in played.songs}],
        "changeovers": [
            {
                "from": one.before,
                "to": one.after,
                "took_s": one.took_s,
                "planned_s": _pause_s(timed, one.before, one.after),
            }
            for one in played.changes
        ],
        "gone_back": [one._asdict() for one in played.backs],
        "ports_lost": [one._asdict() for one in played.outages],
        "others": dict(played.others),
    }


def _pause_s(timed: RunningTime, before: str, after: str) -> float | None:
    """Planned seconds between two songs, where the plan has them one after the other."""
    songs = [song for part in timed.sets for song in part.songs]
    return next((a.pause.seconds for a, b in pairwise(songs) if (a.song, b.song) == (before, after)), None)


def _lines(book: "Book", show: "Show", run: str, played: Night, timed: RunningTime) -> Iterator[str]:
    planned = {song.song: song for part in timed.sets for song in part.songs}
    yield f"{show.title}, {run}"
    yield ""
    rows = [("", "planned", "played", "", "")]
    change = {one.before: one for one in played.changes}
    for song in played.songs:
        plan = planned.get(song.song)
        wanted = plan.duration_s if plan is not None else None
        rows.append((format_length(song.starts_s), *_pair(wanted, song.lasted_s), _title(book, song.song)))
        after = change.get(song.song)
        if after is not None:
            pause_s = _pause_s(timed, after.before, after.after)
            rows.append(("", *_pair(pause_s, after.took_s), f"  to {_title(book, after.after)}"))
    yield from columns(rows, right=(0, 1, 2, 3))
    missing = [_title(book, song) for song in planned if song not in {one.song for one in played.songs}]
    yield ""
    if played.lasted_s is not None:
        over = played.lasted_s - timed.planned_s
        than = f"{format_length(abs(over))} {'longer' if over > 0 else 'shorter'} than planned"
        yield f"from the first note to the last {format_length(played.lasted_s)}, {than}"
    if missing:
        yield from paragraph(f"not played: {', '.join(missing)}", hang=2)
    for back in played.backs:
        yield f"{format_length(back.at_s)} gone back from {back.from_cue} to {back.to_cue} in {_title(book, back.song)}"
    for one in played.outages:
        how = "and did not come back" if one.gone_s is None else f"for {number(round(one.gone_s, 1))} s"
        yield f"{format_length(one.at_s)} the port {one.port} was gone {how}"
    for kind, count in played.others.items():
        yield f"{OTHERS[kind]}: {plural(count, 'time')}"


def _pair(planned_s: float | None, played_s: float | None) -> tuple[str, str, str]:
    planned = "-" if planned_s is None else format_length(planned_s)
    played = "-" if played_s is None else format_length(played_s)
    over = round(played_s - planned_s) if planned_s is not None and played_s is not None else 0
    return planned, played, f"{'+' if over > 0 else ''}{format_length(over)}" if over else ""


def _title(book: "Book", slug: str) -> str:
    return book.songs[slug].title if slug in book.songs else slug
