"""What is said of a night that was played: what went wrong on the way, line by line, and its log as a table."""

import csv
import io
from collections.abc import Iterator, Sequence

from showrunner.levels.kept import KEYS
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.units import format_ahead, format_clock, format_clocks, format_length, format_over
from showrunner.planning.closing import trims_as_ended
from showrunner.planning.compared import Compared
from showrunner.planning.night import Gone, Line, Night
from showrunner.sheets.escape import for_csv
from showrunner.state.trimming import signed

OTHERS = {
    "too soon": "pressed too soon",
    "taken": "another song taken",
    "restarted": "the engine started again",
    "loop": "a message that came back in a loop",
    "program owed": "a program not sent after a port came back",
}
HEADER = ("time", "seconds", "what", "song", "title", "cue", "words")


def title_of(book: Book, song: str) -> str:
    """A song's title, or its slug where the book has it no longer."""
    return book.songs[song].title if song in book.songs else song


def pair(planned_s: float | None, played_s: float | None) -> tuple[str, str, str]:
    """Planned, played and the difference as they are written; the difference is empty below half a second."""
    planned = "-" if planned_s is None else format_length(planned_s)
    played = "-" if played_s is None else format_length(played_s)
    over = round(played_s - planned_s) if planned_s is not None and played_s is not None else 0
    return planned, played, f"{'+' if over > 0 else ''}{format_length(over)}" if over else ""


def finish_lines(compared: Compared) -> Iterator[str]:
    """How long it took against the plan, and when it ended against the curfew."""
    if compared.lasted_s is not None and compared.over_s is not None:
        than = f"{format_length(abs(compared.over_s))} {'longer' if compared.over_s > 0 else 'shorter'} than planned"
        yield f"from the first note to the last {format_length(compared.lasted_s)}, {than}"
    if compared.finish_min is None:
        return
    offset = "" if compared.ahead_min is None else f" (UTC{format_ahead(compared.ahead_min)})"
    if compared.late_s is None or compared.curfew_min is None:
        yield f"the last note at {format_clock(compared.finish_min)}{offset}"
        return
    finish, curfew = format_clocks(compared.finish_min, compared.curfew_min)
    by = f"{format_over(abs(compared.late_s))} {'after' if compared.late_s > 0 else 'before'}"
    yield f"the last note at {finish}{offset}, {by if compared.late_s else 'at'} the curfew at {curfew}"


def trim_lines(book: Book, show: Show, rig: Rig | None, night: Night) -> Iterator[str]:
    """The room's trims and tonight's together, as they ended, and which of them were moved in the show."""
    venue = book.venues.get(show.venue or "")
    moves = {one.trim: one for one in night.trims}
    if venue is None:
        ends = {name: one.after for name, one in moves.items()}
    else:
        trims = trims_as_ended(venue, show, night.trims)
        ends = {name: getattr(trims, key) for name, key in reversed(KEYS.items())} | dict(trims.targets)
    units = {name: target.unit for name, target in (rig.targets if rig is not None else {}).items()}
    units |= {name: one.unit for name, one in moves.items()} | dict.fromkeys(KEYS, "dB")
    said = [f"{name} {signed(by)} {units.get(name) or ''}".rstrip() for name, by in ends.items()]
    if said:
        yield f"trims as they ended{' (the room and tonight)' if venue is not None else ''}: {', '.join(said)}"
    for one in moves.values():
        times = "once" if one.moves == 1 else f"{one.moves} times"
        yield f"{one.trim} was moved {times}, from {signed(one.before)} to {signed(one.after)} {one.unit}".rstrip()


def incidents(book: Book, night: Night) -> Iterator[tuple[float | None, str]]:
    """What went wrong on the way: seconds from the first note, None for what is only counted, and the words."""
    found = [(back.at_s, _gone_back(book, back)) for back in night.backs]
    for one in night.outages:
        how = "and did not come back" if one.gone_s is None else f"for {one.gone_s:.1f} s".replace(".0 s", " s")
        found.append((one.at_s, f"the port {one.port} was gone {how}"))
    yield from sorted(found)
    for kind, count in night.others.items():
        yield None, f"{OTHERS[kind]}: {count} time{'' if count == 1 else 's'}"


def _gone_back(book: Book, back: Gone) -> str:
    into = title_of(book, back.song)
    if back.from_song == back.song and back.from_cue is not None:
        return f"gone back from {back.from_cue} to {back.to_cue} in {into}"
    whence = "the end" if back.from_song is None else title_of(book, back.from_song)
    if back.from_song is not None:
        whence = f"{back.from_cue} in {whence}" if back.from_cue is not None else f"the changeover to {whence}"
    return f"gone back from {whence} to {back.to_cue} in {into}"


def night_csv(book: Book, lines: Sequence[Line], stamps: Sequence[str]) -> str:
    """Every line of a log for a spreadsheet, with times of day and seconds from the first note (RFC 4180)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADER)
    first_s = next((line.at_s for line in lines if line.kind == "song"), lines[0].at_s if lines else 0.0)
    for stamp, line in zip(stamps, lines, strict=True):
        title = book.songs[line.song].title if line.song is not None and line.song in book.songs else ""
        cells = (stamp, f"{line.at_s - first_s:.3f}", line.kind, line.song or "", title, line.cue or "", line.say)
        writer.writerow([for_csv(cell) for cell in cells])
    return out.getvalue()
