"""What is worth knowing of the song or the show under the cursor, in lines for below its table."""

from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from showrunner.curves.ruler import ruler, spans
from showrunner.model.cells import cells, fit
from showrunner.model.library import Book, title_of
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.tempo import cues_at_s
from showrunner.model.units import format_clock, format_length, format_over
from showrunner.tui.song_words import cue_cells
from showrunner.tui.widgets.length import along

if TYPE_CHECKING:
    from showrunner.planning.timing import RunningTime

HANGING, HELD = "  ", "\N{NO-BREAK SPACE}"
NAME_CELLS, VALUE_CELLS, RULER_CELLS = 18, 6, 60
"""What a target's name and a value take at the most, and a ruler."""


def song_lines(book: Book, slug: str, width: int, rows: int) -> list[str]:
    """A song's facts, the shows that it is in, its cues along its length, and its curves as far as `rows` go.

    Nothing of one that can't be read.
    """
    song = book.songs.get(slug)
    if song is None:
        return []
    level = song.level.integrated_lufs if song.level is not None else None
    tempo = f"{song.tempo_bpm:g} bpm" if song.tempo_bpm is not None else None
    capo = f"capo {song.capo}" if song.capo else None
    facts = (
        (song.title, format_length(song.duration)),
        (song.key, tempo, str(song.meter)),
        (song.instrument, song.tuning, capo),
        (f"{level:.1f} LUFS" if level is not None else None,),
    )
    parts = [", ".join(fact for fact in each if fact) for each in facts]
    shows = [show.title for show in book.shows.values() if slug in show.songs]
    within = f"in {' · '.join(shows)}" if shows else "in no show yet"
    lines = [*filled(" · ".join(part for part in parts if part), width), *filled(within, width)]
    if song.cues:
        length, *named = along(song, width)
        roomy = len(lines) + len(song.cues) + 2 <= rows
        lines += ["", length, *(_cues(song, width) if roomy else named)]
    for block in _curves(song, book.rigs.get(book.rig_of(None) or ""), width):
        if len(lines) + len(block) <= rows:
            lines += block
    return lines


def _cues(song: Song, width: int) -> list[str]:
    """A line for each cue, with all that it brings."""
    rows = [
        cue_cells(number, cue, at_s, "")
        for number, (cue, at_s) in enumerate(zip(song.cues, cues_at_s(song), strict=True))
    ]
    when, name = (max(cells(row[column]) for row in rows) for column in (1, 2))
    said = ["; ".join(part for part in (f'curves "{row[3]}"' * bool(row[3]), row[4]) if part) for row in rows]
    return [
        fit(f"{row[0]:<2} {row[1]:>{when}}  {fit(row[2], name)}  {each}", width).rstrip()
        for row, each in zip(rows, said, strict=True)
    ]


def _curves(song: Song, rig: Rig | None, width: int) -> Iterator[list[str]]:
    """A block for each curve: what moves where between heel and toe, from which value to which."""
    for named, controls in song.curves.items():
        for control, curve in controls.items():
            if not curve.moves:
                continue
            name = min(max(map(cells, curve.moves)), NAME_CELLS)
            room = max(10, min(RULER_CELLS, width - name - 2 * VALUE_CELLS - 4))
            heel = " " * (name + VALUE_CELLS + 4)
            lines = ["", f'{control} in the curves "{named}"', f"{heel}heel{'toe':>{room - 4}}"]
            for target, move in curve.moves.items():
                unit = rig.targets[target].unit if rig is not None and target in rig.targets else ""
                first, last = (f"{move.values[end]:g}" for end in (0, -1))
                drawn = ruler(spans(curve, target), room)
                lines.append(f"  {fit(target, name)} {first:>{VALUE_CELLS}} {drawn} {last} {unit}".rstrip())
            yield lines


def show_lines(book: Book, slug: str, timed: "RunningTime | None", width: int, rows: int) -> list[str]:
    """When and where a show is, how its time is spent, and its songs in order, one to a line if that fits `rows`.

    Nothing of one that can't be read.
    """
    show = book.shows.get(slug)
    if show is None:
        return []
    venue, rig = book.venues.get(show.venue or ""), book.rigs.get(book.rig_of(show) or "")
    where = (str(show.date or "no date yet"), venue.title if venue is not None else show.venue or "no venue yet")
    head = " · ".join((show.title, *where, rig.title if rig is not None else "no rig yet"))
    lines = [line for text in (head, " · ".join(_times(timed))) if text for line in filled(text, width)]
    parts = list(_parts(show))
    if len(lines) + sum(2 + len(songs) for _, songs in parts) <= rows:
        told = _running(book, [song for _, songs in parts for song in songs], timed, width)
        return lines + [line for part, songs in parts for line in ("", part, *(told[song] for song in songs))]
    return lines + [line for part, songs in parts for line in filled(f"{part}: {_titles(book, songs)}", width)]


def _running(book: Book, songs: Sequence[str], timed: "RunningTime | None", width: int) -> dict[str, str]:
    """A line for each song: when it starts, how long it is, and what comes after it."""
    starts = None if timed is None else timed.starts
    at = {} if timed is None else {one.song: one for part in timed.sets for one in part.songs}
    begins = {song: when(one.starts_s, starts) for song, one in at.items()}
    early = max(map(cells, begins.values()), default=0)
    name = max((cells(title_of(book.songs, song)) for song in songs), default=0)
    lines = {}
    for song in songs:
        one, known = at.get(song), book.songs.get(song)
        length = "" if known is None else format_length(known.duration if one is None else one.duration_s)
        pause = "" if one is None or one.pause.kind == "end" else f"then {one.pause.kind}"
        pause += f" {format_length(one.pause.seconds)}" if pause and one is not None and one.pause.seconds else ""
        line = f"  {begins.get(song, ''):>{early}}  {fit(title_of(book.songs, song), name)}  {length:>7}  {pause}"
        lines[song] = fit(line, width).rstrip()
    return lines


def _times(timed: "RunningTime | None") -> Iterator[str]:
    if timed is None:
        return
    if timed.starts is not None and timed.finish is not None:
        yield f"from {format_clock(timed.starts)} to {format_clock(timed.finish)}"
    yield f"planned {format_length(timed.planned_s)}"
    if timed.over_s is not None:
        yield against_limit(timed.over_s)


def _parts(show: Show) -> Iterator[tuple[str, Sequence[str]]]:
    for number, one in enumerate(show.sets, 1):
        named = f"set {number}" if one.title is None else f"set {number}, {one.title}"
        yield f"{named} ({len(one.songs)})", [slot.song for slot in one.songs]
    for name, songs in (("encore", show.encore), ("reserve", show.reserve)):
        if songs:
            yield f"{name} ({len(songs)})", songs


def _titles(book: Book, songs: Sequence[str]) -> str:
    return f"{HELD}· ".join(title_of(book.songs, song).replace(" ", HELD) for song in songs) or "no song yet"


def filled(text: str, width: int) -> list[str]:
    """A text over as many lines as it needs, from the second on set in a little."""
    lines = wrap(text, max(20, width), subsequent_indent=HANGING, break_on_hyphens=False)
    return [line.replace(HELD, " ") for line in lines]


def against_limit(over_s: float) -> str:
    """How far over the slot or the curfew, or how much there is to spare, in words."""
    return f"{format_over(over_s)} over" if over_s > 0 else f"{format_length(-over_s)} to spare"


def when(at_s: float, starts: int | None) -> str:
    """The time of day, or since the first note where the show has no start."""
    return format_length(at_s) if starts is None else format_clock(starts + at_s / 60)


def clipped(lines: Sequence[str], rows: int, opens: str) -> str:
    """The lines that fit so many rows; where some don't, the last says so, and what `opens` the rest."""
    if not 0 < rows < len(lines):
        return "\n".join(lines)
    return "\n".join([*lines[: rows - 1], f"… {opens}"])


BAR_CELLS, TITLE_CELLS = 2, 36
"""What a table's scroll bar takes, and the most that a title does; a longer one is cut there, and whole below."""


def fitting(widths: Mapping[str, int], room: int, first_to_go: Sequence[str], padding: int = 2) -> list[str]:
    """The columns, by their heads and cells, that there is room for; those named first go first.

    Where a wide one has gone a narrow one may have its room after all.
    """
    left = room - sum(width + padding for width in widths.values())
    gone: list[str] = []
    for head in first_to_go:
        if left >= 0:
            break
        if head in widths and head not in gone:
            gone.append(head)
            left += widths[head] + padding
    for head in reversed(gone):
        if widths[head] + padding <= left:
            gone.remove(head)
            left -= widths[head] + padding
    return [head for head in widths if head not in gone]
