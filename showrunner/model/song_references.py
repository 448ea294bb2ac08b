"""Names in a song that point at nothing, and cues that can't be where they are."""

from collections.abc import Iterator

from showrunner.model.keys import KeyPath
from showrunner.model.names import RigNames, Wrong
from showrunner.model.nearest import Hint
from showrunner.model.song import Cue, Song, Start
from showrunner.model.tempo import cues_at_s
from showrunner.model.units import format_lengths


def wrong_in_song(song: Song, rigs: RigNames) -> Iterator[Wrong]:
    """Names in a song that no rig or the song itself doesn't have, and cues that can't be in this order."""
    yield from rigs.missing("guitar", song.instrument, ("instrument",))
    yield from rigs.tuning(song.instrument, song.tuning, ("tuning",))
    if song.program is not None:
        yield from rigs.output(song.program.port, ("program", "port"))
    for name, of_set in song.curves.items():
        yield from rigs.missing_keys("control", of_set, ("curves", name))
        for control, curve in of_set.items():
            yield from rigs.missing_keys("target", curve.moves, ("curves", name, control, "moves"))
    yield from _moment(song, song.start, ("start",), rigs)
    for number, cue in enumerate(song.cues):
        yield from _moment(song, cue, ("cues", number), rigs)
    yield from _cue_names(song.cues)
    yield from _cue_order(song)


def _moment(song: Song, moment: Start | Cue, place: KeyPath, rigs: RigNames) -> Iterator[Wrong]:
    if moment.curves is not None and moment.curves not in song.curves:
        mend = Hint(moment.curves, song.curves, "write its curves, or take it out here")
        yield Wrong((*place, "curves"), f'the song has no curve set "{moment.curves}"', mend)
    if moment.controls:
        yield from rigs.missing_keys("control", moment.controls, (*place, "controls"))
    if moment.targets:
        yield from rigs.missing_keys("target", moment.targets, (*place, "targets"))
    if moment.by_hand:
        yield from rigs.by_hand(moment.by_hand, (*place, "by_hand"))


def _cue_names(cues: tuple[Cue, ...]) -> Iterator[Wrong]:
    earlier: set[str] = set()
    for number, cue in enumerate(cues):
        if cue.name in earlier:
            yield Wrong(("cues", number, "name"), f'there is a cue "{cue.name}" before this', "give each its own name")
        key = ("cues", number, "back_to")
        if cue.back_to is not None and cue.back_to not in earlier:
            mend = Hint(cue.back_to, tuple(earlier), "name an earlier cue, or take it out here")
            yield Wrong(key, f'there is no cue "{cue.back_to}" before this', mend)
        if cue.back_to is not None and not cue.open:
            yield Wrong(key, "only an open cue can go back", "add open = true, or take back_to out")
        earlier.add(cue.name)


def _cue_order(song: Song) -> Iterator[Wrong]:
    """Cues that come before the one above them, by time where that is known, else by bar."""
    latest_s, latest_bar = 0.0, 0
    for number, (cue, at_s) in enumerate(zip(song.cues, cues_at_s(song), strict=True)):
        bar = cue.bar
        if at_s is not None and at_s < latest_s:
            key = ("cues", number, "bar" if cue.at is None else "at")
            at, latest = format_lengths(at_s, latest_s)
            what = f'"{cue.name}" is at {at}, before the cue above it at {latest}'
            yield Wrong(key, what, "put the cues in the order they are played")
        elif at_s is None and bar is not None and bar < latest_bar:
            what = f'"{cue.name}" is at bar {bar}, before the cue above it at bar {latest_bar}'
            yield Wrong(("cues", number, "bar"), what, "put the cues in the order they are played")
        latest_s, latest_bar = max(latest_s, at_s or 0.0), max(latest_bar, bar or 0)
