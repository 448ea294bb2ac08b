"""A show with its sets' songs in another order, or with some left out; what follows a set stays where it is."""

from collections.abc import Collection, Sequence

from showrunner.model.show import SetOfSongs, Show, Slot


def reordered(show: Show, order: Sequence[str]) -> Show:
    """The show with each set's songs as they come in `order`; songs that it does not name keep their places."""
    rank = {song: index for index, song in enumerate(order)}
    return _with_sets(show, [_ranked(part.songs, rank) for part in show.sets])


def without(show: Show, songs: Collection[str]) -> Show:
    """The show without some of its sets' songs, which join the reserve."""
    left = [[slot for slot in part.songs if slot.song not in songs] for part in show.sets]
    gone = tuple(song for song in show.set_songs if song in songs)
    return _with_sets(show, left).model_copy(update={"reserve": (*show.reserve, *gone)})


def _ranked(slots: Sequence[Slot], rank: dict[str, int]) -> list[Slot]:
    known = iter(sorted((slot for slot in slots if slot.song in rank), key=lambda slot: rank[slot.song]))
    return [next(known) if slot.song in rank else slot for slot in slots]


def _with_sets(show: Show, sets: Sequence[Sequence[Slot]]) -> Show:
    parts = []
    for index, (part, slots) in enumerate(zip(show.sets, sets, strict=True)):
        more = bool(show.encore) or any(later.songs for later in show.sets[index + 1 :])
        parts.append(part.model_copy(update={"songs": _keep_end(part, slots) if more else tuple(slots)}))
    return show.model_copy(update={"sets": tuple(parts)})


def _keep_end(part: SetOfSongs, slots: Sequence[Slot]) -> tuple[Slot, ...]:
    """The slots with what follows the set, its last song's `then`, after whichever song is last now."""
    if not slots or slots[-1].song == part.songs[-1].song:
        return tuple(slots)
    was, now = part.songs[-1], slots[-1]
    then = {was.song: now.then, now.song: was.then}
    return tuple(slot.model_copy(update={"then": then[slot.song]}) if slot.song in then else slot for slot in slots)
