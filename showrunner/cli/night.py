"""`log`: what the night really took, against what was planned, and closing it."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from showrunner.book.problems import BookError
from showrunner.cli.closing import close_night, reopen_night
from showrunner.cli.common import Call, command, find, open_book, trouble
from showrunner.cli.output import columns, paragraph, print_json, print_lines
from showrunner.live.closing import Closed, as_planned, closed
from showrunner.live.runs import Run, left_out, read_run, run_files
from showrunner.model.units import format_ahead, format_clock, format_length
from showrunner.planning.changeover import changeover_times
from showrunner.planning.closing import trims_as_ended
from showrunner.planning.compared import Compared, compare
from showrunner.planning.night import Night
from showrunner.planning.timing import running_time
from showrunner.sheets.night import finish_lines, incidents, night_csv, pair, title_of, trim_lines

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.library import Book


@command(
    examples=(
        "showrunner log pellmarsh-hall",
        "showrunner log pellmarsh-hall --run 2026-11-28 --csv > night.csv",
        "showrunner log pellmarsh-hall --close",
        "showrunner log pellmarsh-hall --close --duration eel-road --write",
        "showrunner log pellmarsh-hall --run 2026-11-28 --performance 1 --close",
        "showrunner log pellmarsh-hall --close --temperature 21 --note Boomy --write",
        "showrunner log pellmarsh-hall --reopen --write",
    )
)
@click.argument("show")
@click.option("--run", metavar="DATE", help="The night of this date; else the latest.")
@click.option("--performance", type=click.IntRange(min=1), metavar="N", help="Which of several in one night.")
@click.option("--csv", "as_csv", is_flag=True, help="Every line of the log, as a table for a spreadsheet.")
@click.option("--close", "closing", is_flag=True, help="What the night leaves in the book's files.")
@click.option("--duration", "taken", multiple=True, metavar="SONG", help='Let it take its played time; or "all".')
@click.option("--temperature", type=click.FloatRange(-40, 60), metavar="°C", help="How warm it was, for the visit.")
@click.option("--note", metavar="TEXT", help="What to remember, for the visit.")
@click.option("--reopen", is_flag=True, help="Take back what closing wrote, where it still stands.")
@click.option("--write", is_flag=True, help="Close or reopen it, instead of only showing what would change.")
def log(call: Call, show: str, run: str | None, performance: int | None, **asked: Any) -> None:
    """What a night took: songs and changeovers as played against the plan, steps back, ports lost.

    Runs are kept under the book's runs/SHOW by date. Of several performances in one night it is the last, unless
    --performance says which. What was played with --simulated is no night: it is left out, and that is said.

    --close files one performance, once: hours on the rig's batteries, the venue's visit with the trims as they ended,
    and the played time as a song's duration for each --duration. All files change together, and --reopen takes that
    back.
    """
    _check(call, asked)
    reading = open_book(call)
    slug = find(reading, show, "show")[1]
    the_run, simulated = _run(reading.root, slug, run)
    for problem in the_run.problems:
        click.echo(str(problem), err=True)
    tells = not (asked["as_csv"] or asked["closing"] or asked["reopen"])
    if simulated and not tells:
        click.echo(left_out(simulated), err=True)
    if asked["as_csv"]:
        click.echo(night_csv(reading.book, the_run.lines, the_run.stamps), nl=False)
        return
    which, night = _night(the_run, the_run.played(reading.book), performance, must_say=asked["write"])
    if asked["reopen"]:
        reopen_night(call, reading, which, asked["write"])
    elif asked["closing"]:
        close_night(call, reading, which, night, asked)
    else:
        _tell(call, reading, which, night, simulated)


def _check(call: Call, asked: dict[str, Any]) -> None:
    if sum(bool(asked[name]) for name in ("as_csv", "closing", "reopen")) + (call.json and asked["as_csv"]) > 1:
        raise click.UsageError("--csv, --close, --reopen and --json: --csv goes alone, and so do the others")
    if not asked["closing"] and (asked["taken"] or asked["temperature"] is not None or asked["note"] is not None):
        raise click.UsageError("--duration, --temperature and --note go with --close")
    if asked["write"] and not asked["closing"] and not asked["reopen"]:
        raise click.UsageError("--write goes with --close or --reopen")


def _run(root: Path, show: str, date: str | None) -> tuple[Run, int]:
    """The run of a date, or the latest, and how many simulated ones were passed over; Trouble where there is none."""
    there = run_files(root, show)
    simulated = 0
    for file in reversed([file for file in there if date in (None, file.stem)]):
        run = read_run(root, file)
        simulated += run.simulated
        if run.lines or not run.simulated:
            return run, simulated
    if simulated:
        of = f" of {date}" if date is not None else ""
        raise trouble(f"{show} has no run{of}: {left_out(simulated)}", "showrunner play without --simulated makes one")
    names = ", ".join(file.stem for file in there)
    mend = f"there are {names}" if names else "showrunner play makes one"
    raise trouble(f"{show} has no run" + (f" of {date}" if date is not None else ""), mend)


def _night(run: Run, played: list[tuple[Run, Night]], performance: int | None, *, must_say: bool) -> tuple[Run, Night]:
    """The performance that is asked for, else the last; Trouble where it has to be said which, and was not."""
    if not played:
        raise trouble("no song was begun in this run", file=run.file)
    many = f"there were {len(played)}" if len(played) > 1 else "there was one"
    if performance is not None and performance > len(played):
        raise trouble(f"there is no performance {performance} on {run.date}", many, file=run.file)
    if performance is None and must_say and len(played) > 1:
        raise trouble(f"say which performance of {run.date}", f"{many}; --performance 1 is the first", file=run.file)
    return played[-1 if performance is None else performance - 1]


def _tell(call: Call, reading: "Reading", run: Run, night: Night, simulated: int) -> None:
    was = None
    try:
        was = closed(reading.root, run)
    except BookError as error:
        click.echo(str(error), err=True)
    book, show = as_planned(reading.book, was), reading.book.shows[run.show]
    rig = book.rigs.get(run.rig_in(book) or "")
    needs = changeover_times(book, show, rig) if rig is not None else {}
    compared = compare(night, running_time(book, show, rig=rig), needs)
    if call.json:
        venue = book.venues.get(show.venue or "")
        trims = None if venue is None else trims_as_ended(venue, show, night.trims).model_dump(mode="json")
        which = {"performance": run.number, "performances": run.of, "simulated_left_out": simulated}
        print_json({**_data(run, night, compared, was), **which, "trims_as_ended": trims})
    else:
        print_lines([*_lines(book, run, night, compared, was), *([left_out(simulated)] if simulated else [])])


def _data(run: Run, night: Night, compared: Compared, was: Closed | None) -> dict[str, Any]:
    return {
        "show": run.show,
        "run": run.date,
        "planned_s": compared.planned_s,
        "lasted_s": compared.lasted_s,
        "finish": None if compared.finish_min is None else format_clock(compared.finish_min),
        "utc_offset": None if compared.ahead_min is None else format_ahead(compared.ahead_min),
        "curfew": None if compared.curfew_min is None else format_clock(compared.curfew_min),
        "late_s": compared.late_s,
        "songs": [
            {
                "song": part.song,
                "starts_s": part.starts_s,
                "lasted_s": part.played_s,
                "planned_starts_s": part.planned_starts_s,
                "planned_s": part.planned_s,
            }
            for part in compared.parts
            if part.after is None
        ],
        "not_played": list(compared.not_played),
        "changeovers": [
            {
                "from": part.song,
                "to": part.after,
                "took_s": part.played_s,
                "planned_s": part.planned_s,
                "needs_s": part.needs_s,
            }
            for part in compared.parts
            if part.after is not None
        ],
        "gone_back": [one._asdict() for one in night.backs],
        "ports_lost": [one._asdict() for one in night.outages],
        "trims_moved": [one._asdict() for one in night.trims],
        "others": dict(night.others),
        "closed": None if was is None else was.on,
        "left_out": [{"line": problem.line, "what": problem.what} for problem in run.problems],
    }


def _lines(book: "Book", run: Run, night: Night, compared: Compared, was: Closed | None) -> Iterator[str]:
    closed_on = f", closed on {was.on}" if was is not None else ""
    yield f"{book.shows[run.show].title}, {run.name}{closed_on}"
    yield ""
    rows = [("", "planned", "played", "", "needed", "")]
    for part in compared.parts:
        if part.after is None:
            at = "" if part.starts_s is None else format_length(part.starts_s)
            rows.append((at, *pair(part.planned_s, part.played_s), "", title_of(book, part.song)))
        else:
            needs = "" if not part.needs_s else format_length(part.needs_s)
            rows.append(("", *pair(part.planned_s, part.played_s), needs, f"  to {title_of(book, part.after)}"))
    yield from columns(rows, right=(0, 1, 2, 3, 4))
    yield ""
    yield from finish_lines(compared)
    if compared.not_played:
        missing = ", ".join(title_of(book, song) for song in compared.not_played)
        yield from paragraph(f"not played: {missing}", hang=2)
    for line in trim_lines(book, book.shows[run.show], book.rigs.get(run.rig_in(book) or ""), night):
        yield from paragraph(line, hang=2)
    for at_s, words in incidents(book, night):
        yield from paragraph(words if at_s is None else f"{format_length(at_s)} {words}", hang=2)
