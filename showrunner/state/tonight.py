"""A song as it is played tonight: the show's changes and its stand-ins put in."""

from collections.abc import Mapping
from typing import TypeVar

from showrunner.model.library import Book
from showrunner.model.rig import Control, Rig
from showrunner.model.show import Show
from showrunner.model.song import Song

V = TypeVar("V")

_CHANGEABLE = ("capo", "tuning", "instrument", "tempo_bpm", "trim_db", "duration")


def song_tonight(song: Song, show: Show | None, slug: str) -> Song:
    """The song with what `[tonight.SLUG]` and `[stand_ins.SLUG]` change; itself if nothing does."""
    if show is None:
        return song
    changes = show.tonight.get(slug)
    if changes is not None:
        update = {name: getattr(changes, name) for name in _CHANGEABLE if getattr(changes, name) is not None}
        song = song.model_copy(update=update)
    stand_ins = show.stand_ins.get(slug)
    return with_stand_ins(song, stand_ins) if stand_ins else song


def on_a_guitar(song: Song, rig: Rig) -> Song:
    """The song with the rig's only guitar where it names none; itself where it does, or the rig has none or several."""
    only = next(iter(rig.instruments)) if song.instrument is None and len(rig.instruments) == 1 else None
    return song if only is None else song.model_copy(update={"instrument": only})


def at_home(book: Book, name: str, rig: Rig) -> Control | None:
    """How a control is described where it is: in this rig, the book's usual one, else the first that has it."""
    slugs = (book.rig_of(), *sorted(book.rigs))
    for known in (rig, *(book.rigs[slug] for slug in slugs if slug is not None and slug in book.rigs)):
        if name in known.controls and not known.controls[name].by_hand:
            return known.controls[name]
    return None


def stand_in_starts(book: Book, slug: str, rig: Rig, show: Show) -> dict[str, float]:
    """Where stand-ins start: at the rest of the control they stand in for, unless the song says where that starts.

    A switch has heel and toe alone, so it isn't placed between.
    """
    starts: dict[str, float] = {}
    for wanted, used in show.stand_ins.get(slug, {}).items():
        home, control = at_home(book, wanted, rig), rig.controls.get(used)
        if home is None or control is None or control.by_hand or wanted in book.songs[slug].start.controls:
            continue
        if isinstance(home.rest, int | float) and (control.kind != "switch" or home.rest in (0, 100)):
            starts[used] = float(home.rest)
    return starts


def with_stand_ins(song: Song, stand_ins: Mapping[str, str]) -> Song:
    """The song with each wanted control's curves and places moved to the control that does its work."""
    start = song.start.model_copy(update={"controls": _renamed(song.start.controls, stand_ins)})
    cues = tuple(cue.model_copy(update={"controls": _renamed(cue.controls, stand_ins)}) for cue in song.cues)
    curves = {name: _renamed(of_set, stand_ins) for name, of_set in song.curves.items()}
    return song.model_copy(update={"start": start, "cues": cues, "curves": curves})


def _renamed(by_control: Mapping[str, V], stand_ins: Mapping[str, str]) -> Mapping[str, V]:
    """Wanted controls under their stand-in's name; what the stand-in did itself gives way."""
    taken = {stand_ins[control] for control in by_control if control in stand_ins}
    gone = taken | stand_ins.keys()
    kept = {control: value for control, value in by_control.items() if control not in gone}
    return kept | {stand_ins[control]: value for control, value in by_control.items() if control in stand_ins}
