"""The sheet for the desk: order, clock, loudness, what gets louder and where, talk, and how loud it may be."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from showrunner.curves.shapes import row_in
from showrunner.levels.gain import loudness_lufs, target_offsets, trims
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Curve
from showrunner.model.venue import Venue
from showrunner.sheets.cues import cue_lines
from showrunner.sheets.head import Head, head
from showrunner.sheets.order import Entry, Part, entries, parts
from showrunner.sheets.top import Top, top
from showrunner.sheets.words import joined, number, on_this_rig, signed, tempo_changes, with_unit
from showrunner.state.moments import Moment, Piece


class LevelMoment(NamedTuple):
    """A song's start (number 0) or one of its cues, and how the guitar's level changes or may change there."""

    number: int
    name: str
    place: str
    at_s: float | None
    bar: int | None
    levels: tuple[str, ...]


class DeskSong(NamedTuple):
    """A song as the desk hears it.

    `loudness` is at the reference trims, `trims` are tonight's, in an empty room. `mark` is loudest or quietest
    of those measured, with their trims; `moments` those of start and cues at which the level may change.
    """

    head: Head
    loudness: str
    trims: str
    tempo_changes: tuple[str, ...]
    mark: str
    moments: tuple[LevelMoment, ...]
    start_levels: tuple[str, ...]
    cues: tuple[LevelMoment, ...]


class DeskPart(NamedTuple):
    """A set, the encore or the reserve."""

    title: str
    kind: str
    songs: tuple[DeskSong, ...]


class Desk(NamedTuple):
    """The desk's sheet; `muted` says whether the guitar is muted between songs, `offsets` what tonight adds to targets.

    `full_house` is what the interface volume gets with an audience in, as far as the volume goes.
    """

    top: Top
    muted: bool
    offsets: tuple[str, ...]
    full_house: str
    parts: tuple[DeskPart, ...]


def desk(
    book: Book, show: Show, rig: Rig, starts: Mapping[str, float] | None = None, finish: float | None = None
) -> Desk:
    """What the desk's sheet says; `starts` by song and `finish` in minutes after the midnight that starts the date."""
    order = parts(book, show, rig, starts)
    marked, venue = marks(order), book.venues.get(show.venue) if show.venue is not None else None
    return Desk(
        top=top(book, show, rig, finish),
        muted=rig.mute is not None,
        offsets=tuple(
            f"{name} {signed(by, rig.targets[name].unit)}" for name, by in target_offsets(rig, venue, show).items()
        ),
        full_house=_full_house(order, venue, show),
        parts=tuple(
            DeskPart(part.title, part.kind, tuple(_song(book, show, entry, marked) for entry in part.entries))
            for part in order
        ),
    )


def level_moments(piece: Piece) -> Iterator[LevelMoment]:
    """A song's start and cues: where its level is set, how far pedals may move it, where a note is held."""
    lines = {line.number: line for line in cue_lines(piece)}
    for moment in piece.moments:
        line = lines.get(moment.number)
        levels = (*_set_levels(piece, moment), *_reach(piece, moment), *_held(moment))
        place, bar = (line.place, line.bar) if line is not None else ("", None)
        yield LevelMoment(moment.number, moment.name, place, moment.at_s, bar, levels)


def _song(book: Book, show: Show, entry: Entry, marked: Mapping[str, str]) -> DeskSong:
    if entry.piece is None:
        return DeskSong(head(book, show, entry), "", "", (), "", (), (), ())
    start, *cues = level_moments(entry.piece)
    return DeskSong(
        head=head(book, show, entry),
        loudness=_loudness(entry.piece),
        trims=_trims(book, show, entry.piece),
        tempo_changes=tempo_changes(entry.piece.song),
        mark=marked.get(entry.slug, ""),
        moments=tuple(moment for moment in (start, *cues) if moment.levels),
        start_levels=start.levels,
        cues=tuple(cues),
    )


def _loudness(piece: Piece) -> str:
    level = piece.song.level
    if level is None:
        return ""
    measured = ((level.integrated_lufs, "LUFS"), (level.true_peak_dbtp, "dBTP"))
    return joined(*("" if value is None else with_unit(value, unit) for value, unit in measured))


def _full_house(order: tuple[Part, ...], venue: Venue | None, show: Show) -> str:
    """What an audience adds to most songs, and to those whose volume comes to its end."""
    songs: dict[float, list[str]] = {}
    for piece in (entry.piece for entry in entries(order) if entry.piece is not None):
        empty, full = (trims(piece.rig, piece.song, venue, show, house).interface_volume for house in (False, True))
        songs.setdefault(round(full.set_db - empty.set_db, 6), []).append(piece.song.title)
    most = max(songs, key=lambda by: len(songs[by]), default=0.0)
    others = [f"{signed(by, 'dB')} in {', '.join(of)}" for by, of in songs.items() if by != most]
    if not most and not others:
        return ""
    return signed(most, "dB") + (f" ({'; '.join(others)})" if others else "")


def _trims(book: Book, show: Show, piece: Piece) -> str:
    """Input gain and interface volume tonight, and the song's own part of it."""
    venue = book.venues.get(show.venue) if show.venue is not None else None
    found, own = trims(piece.rig, piece.song, venue, show), piece.song.trim_db
    return joined(
        f"input gain {with_unit(found.input_gain.set_db, 'dB')}",
        f"interface volume {with_unit(found.interface_volume.set_db, 'dB')}",
        f"the song's own trim {signed(own, 'dB')}" if own else "",
    )


def marks(order: tuple[Part, ...]) -> dict[str, str]:
    """The loudest and the quietest song with its trim, where two at least are known and they differ."""
    songs = {entry.slug: entry.piece.song for entry in entries(order) if entry.piece is not None}
    known = {slug: lufs for slug, song in songs.items() if (lufs := loudness_lufs(song)) is not None}
    if len(set(known.values())) < 2:
        return {}
    low, high = min(known.values()), max(known.values())
    return {slug: "loudest" if lufs == high else "quietest" for slug, lufs in known.items() if lufs in (low, high)}


def _set_levels(piece: Piece, moment: Moment) -> Iterator[str]:
    """Level targets that a cue sets, with the difference where nothing else moves them meanwhile."""
    if moment.cue is None:
        return
    before = piece.moments[moment.number - 1]
    moved = {target for curve in _curves(piece, before).values() for target in curve.moves}
    for name, value in moment.cue.targets.items():
        target = piece.rig.targets.get(name)
        if target is None or not target.level:
            continue
        was = before.targets.get(name)
        said = f"{name} to {with_unit(value, target.unit)}"
        if was is not None and was != value and name not in moved:
            said += f", {'up' if value > was else 'down'} {with_unit(abs(value - was), target.unit)}"
        yield said


def _reach(piece: Piece, moment: Moment) -> Iterator[str]:
    """How far pedals may move level targets from here on, in words."""
    for control, name, low, high in reach(piece, moment):
        span = f"{number(low)} to {with_unit(high, piece.rig.targets[name].unit)}"
        yield f"{on_this_rig(piece.rig, control)} moves {name} {span}"


def reach(piece: Piece, moment: Moment) -> Iterator[tuple[str, str, float, float]]:
    """Controls, level targets and the ends between which they may move them by the curve set that comes in here."""
    if moment.curves_since != moment.number:
        return
    for control, curve in _curves(piece, moment).items():
        for name in curve.moves:
            target = piece.rig.targets.get(name)
            if target is not None and target.level:
                low, high = _ends(curve, name)
                if low != high:
                    yield control, name, low, high


def _ends(curve: Curve, target: str) -> tuple[float, float]:
    row, move = row_in(curve, target), curve.moves[target]
    values = [row(at) for at in (0.0, 100.0, *(move.travel or curve.travel))]
    return min(values), max(values)


def _curves(piece: Piece, moment: Moment) -> Mapping[str, Curve]:
    return piece.song.curves.get(moment.curves, {}) if moment.curves is not None else {}


def _held(moment: Moment) -> Iterator[str]:
    if moment.cue is not None and moment.cue.hold:
        yield "a held note rings on from here"
    if moment.cue is not None and moment.cue.stop is not None:
        yield "the held note ends"
