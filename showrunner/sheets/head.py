"""A song's head, on every sheet: what it is, what it is played on, what is different tonight, what follows."""

from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.units import format_length
from showrunner.sheets.changes import guitar_changes, hands_at_start, pedals_at_start, tuning_of
from showrunner.sheets.order import Entry
from showrunner.sheets.words import (
    capo_at,
    counting,
    follows,
    joined,
    music,
    number,
    places,
    settings,
    tempo,
    with_unit,
)


class Head(NamedTuple):
    """A song's head; text is empty, and lists too, where the book says nothing.

    `outfit` is guitar, tuning and capo in one, `music` chord, tempo, meter and count-in. `changes` is what becomes of
    guitar, tuning and capo since the song before, `hands` what else the hands set, `pedals` where controls should be
    at the first note, `tonight` what is different from the song as it is kept. `follows` is what comes after it, and
    `follows_kind` that in one word: segue, gap, talk, applause, break, or empty after the last.
    """

    label: str
    slug: str
    short: str
    title: str
    known: bool
    optional: bool
    clock: str = ""
    duration: str = ""
    key: str = ""
    first_chord: str = ""
    tempo: str = ""
    meter: str = ""
    count_in: str = ""
    guitar: str = ""
    tuning: str = ""
    capo: str = ""
    outfit: str = ""
    music: str = ""
    changes: tuple[str, ...] = ()
    hands: tuple[str, ...] = ()
    pedals: tuple[str, ...] = ()
    tonight: tuple[str, ...] = ()
    follows: str = ""
    follows_kind: str = ""


def head(book: Book, show: Show, entry: Entry) -> Head:
    """A song's head on any sheet."""
    after, kind, slug = follows(entry.pause, entry.pause_s), entry.pause, entry.slug
    if entry.piece is None:
        missing = ("not in the book",)
        return Head(
            entry.label, slug, slug, slug, False, entry.optional, tonight=missing, follows=after, follows_kind=kind
        )
    song, tuning = entry.piece.song, tuning_of(entry.piece)
    return Head(
        label=entry.label,
        slug=slug,
        short=song.short_title,
        title=song.title,
        known=True,
        optional=entry.optional,
        clock=entry.clock,
        duration=format_length(song.duration),
        key=song.key or "",
        first_chord=song.first_chord or "",
        tempo=tempo(song),
        meter=str(song.meter),
        count_in=counting(song.count_in),
        guitar=song.instrument or "",
        tuning=tuning,
        capo=capo_at(song.capo),
        outfit=joined(song.instrument or "", tuning, capo_at(song.capo)),
        music=music(song),
        changes=guitar_changes(entry),
        hands=settings(entry.piece.rig, hands_at_start(entry)),
        pedals=places(entry.piece.rig, pedals_at_start(entry)),
        tonight=tonight(book, show, slug, song),
        follows=after,
        follows_kind=kind,
    )


def tonight(book: Book, show: Show, slug: str, song: Song) -> tuple[str, ...]:
    """What is different about a song tonight, in words, with how it usually is; `song` is as it is played."""
    usual, changes = book.songs[slug], show.tonight.get(slug)
    said = (
        []
        if changes is None
        else [
            f"{what} {now}, usually {was}"
            for what, now, was in (
                ("guitar", changes.instrument, usual.instrument or "any"),
                ("tuning", changes.tuning, usual.tuning or "at rest"),
                ("capo", _fret(changes.capo), _fret(usual.capo)),
                ("tempo", _number(changes.tempo_bpm), _number(usual.tempo_bpm) or "free"),
                ("length", _length(changes.duration), format_length(usual.duration)),
                ("trim", _trim(changes.trim_db), _trim(usual.trim_db)),
                ("key", song.key, usual.key),
                ("starts on", song.first_chord, usual.first_chord),
            )
            if now is not None and now != was
        ]
    )
    return (*said, *(f"{used} does the work of {wanted}" for wanted, used in show.stand_ins.get(slug, {}).items()))


def _fret(fret: int | None) -> str | None:
    return None if fret is None else str(fret) if fret else "none"


def _number(value: float | None) -> str | None:
    return None if value is None else number(value)


def _length(seconds: int | None) -> str | None:
    return None if seconds is None else format_length(seconds)


def _trim(trim_db: float | None) -> str | None:
    return None if trim_db is None else with_unit(trim_db, "dB")
