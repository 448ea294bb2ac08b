"""`log --close` and `--reopen`: what closing a night writes, shown first, and done with `--write`."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from showrunner.cli.common import Call, trouble
from showrunner.cli.output import columns, paragraph, print_json, print_lines, working
from showrunner.live.closing import already, close, closed, filing_of, finish, nothing_running, reopen, to_file
from showrunner.live.runs import Run, lengths, read_runs
from showrunner.model.nearest import did_you_mean
from showrunner.model.units import format_length
from showrunner.planning.closing import Chosen, SongLength, ToFile, usual
from showrunner.planning.night import Night
from showrunner.sheets.night import title_of

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.library import Book


def close_night(call: Call, reading: "Reading", run: Run, night: Night, asked: Mapping[str, Any]) -> None:
    """Shows what closing a performance would write, or writes it; Trouble where it is closed already."""
    if asked["write"]:
        nothing_running(reading.root, reading.book.shows)
        finish(reading.root)
    was = closed(reading.root, run)
    if was is not None:
        raise already(run, was)
    with working("reading the runs"):
        found = to_file(reading, run, night, lengths(read_runs(reading.root), reading.book))
    chosen = usual(found, _taken(found, asked["taken"]))
    filing = filing_of(reading, run, found, chosen, date.today(), asked["temperature"], asked["note"])
    if asked["write"]:
        close(reading.root, run, filing, reading.book.shows)
    files = [one.file for one in filing.files]
    if call.json:
        print_json(_data(run, found, chosen, files, asked["write"]))
    else:
        print_lines(_lines(reading.book, run, found, chosen, files, asked["write"]))


def reopen_night(call: Call, reading: "Reading", run: Run, write: bool) -> None:
    """Shows which files reopening a performance gives back, or gives them back; Trouble where it is not closed."""
    if write:
        nothing_running(reading.root, reading.book.shows)
        finish(reading.root)
    was = closed(reading.root, run)
    if was is None:
        raise trouble(f"{run.show}, {run.name}, is not closed", "there is nothing to take back", file=run.file)
    files = reopen(reading.root, run, reading.book.shows) if write else was.files
    if call.json:
        which = {"show": run.show, "run": run.date, "performance": run.number}
        print_json({**which, "reopened": write, "closed": was.on, "files": list(files)})
        return
    names = ", ".join(files) or "no file"
    covers = f", {was.covers(run)}" if was.covers(run) else ""
    print_lines(
        paragraph(f"open again; given back: {names}")
        if write
        else paragraph(f"closed on {was.on}{covers}; --write would give back what it changed in {names}")
    )


def _taken(found: ToFile, asked: tuple[str, ...]) -> frozenset[str]:
    offered = {one.song: one for one in found.songs}
    if "all" in asked:
        return frozenset(one.song for one in found.songs if not one.why_not)
    for song in asked:
        if song not in offered:
            near = did_you_mean(song, offered, f"it is one of {', '.join(offered)}")
            raise trouble(f'"{song}" was not played that night', near)
        if offered[song].why_not:
            raise trouble(f'"{song}" can\'t take the time it was played: {offered[song].why_not}')
    return frozenset(asked)


def _data(run: Run, found: ToFile, chosen: Chosen, files: list[str], written: bool) -> dict[str, Any]:
    visit = found.visit
    return {
        "show": run.show,
        "run": run.date,
        "performance": run.number,
        "written": written,
        "songs": [{**one._asdict(), "taken": one.song in chosen.songs} for one in found.songs],
        "rig": found.rig,
        "batteries": [{**one._asdict(), "after_h": one.after_h} for one in found.batteries],
        "venue": found.venue,
        "visit": None if visit is None else visit.model_dump(mode="json", exclude_none=True),
        "no_visit": found.no_visit or None,
        "files": files,
    }


def _lines(book: "Book", run: Run, found: ToFile, chosen: Chosen, files: list[str], written: bool) -> Iterator[str]:
    yield f"{book.shows[run.show].title}, {run.name}: {'closed' if written else 'what closing it writes'}"
    yield ""
    rows: list[tuple[str, ...]] = [("", "written", "played", "median", "")]
    rows += [_song(book, one, one.song in chosen.songs) for one in found.songs]
    yield from columns(rows, right=(1, 2, 3))
    yield ""
    for use in found.batteries:
        where = f"{' and '.join(use.guitars)} in hand" if use.guitars else "from the first note to the last"
        used = f"used {use.written_h:g} h, and {use.hours:.2f} h that night ({where}): {use.after_h:g} h"
        yield from paragraph(f"{use.battery}: {used}", hang=2)
    if found.visit is not None and found.venue is not None:
        yield from paragraph(f"{book.venues[found.venue].title}: a visit on {found.visit.date}", hang=2)
    else:
        yield from paragraph(f"no visit: {found.no_visit}", hang=2)
    names = ", ".join(files) or "nothing"
    yield ""
    if written:
        yield from paragraph(f"wrote {names}; --reopen --write takes it back")
    else:
        yield from paragraph(f"--write writes {names}; --duration SONG lets a song's duration be what it was played")


def _song(book: "Book", one: SongLength, taken: bool) -> tuple[str, ...]:
    played = "-" if one.played_s is None else format_length(one.played_s)
    middle = "-" if one.median_s is None else f"{format_length(one.median_s)} of {one.nights}"
    does = "takes it" if taken else "stays" if not one.why_not else f"stays: {one.why_not}"
    return title_of(book, one.song), format_length(one.written_s), played, middle, does
