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


def shared_out(show: Show, sets: Sequence[Sequence[str]]) -> Show:
    """The show with these songs in each of its sets; songs that none of them names keep their set and their number.

    What follows a set, its last song's `then`, stays with the set: a song that ends a set now loses its own, and one
    that no longer does is followed by applause.
    """
    slots = {slot.song: slot for part in show.sets for slot in part.songs}
    named = {song for songs in sets for song in songs}
    leads_on = before_breaks(show)
    ends = set(leads_on.values())
    parts = []
    for index, (part, songs) in enumerate(zip(show.sets, sets, strict=True)):
        now = [slots[song] for song in songs]
        for number, slot in enumerate(part.songs):
            if slot.song not in named:
                now.insert(number, slot)
        now = [slot.model_copy(update={"then": None}) if slot.song in ends else slot for slot in now]
        if index in leads_on:
            now[-1] = now[-1].model_copy(update={"then": part.songs[-1].then})
        parts.append(part.model_copy(update={"songs": tuple(now)}))
    return show.model_copy(update={"sets": tuple(parts)})


def _ranked(slots: Sequence[Slot], rank: dict[str, int]) -> list[Slot]:
    known = iter(sorted((slot for slot in slots if slot.song in rank), key=lambda slot: rank[slot.song]))
    return [next(known) if slot.song in rank else slot for slot in slots]


def _with_sets(show: Show, sets: Sequence[Sequence[Slot]]) -> Show:
    parts, leads_on = [], before_breaks(show)
    for index, (part, slots) in enumerate(zip(show.sets, sets, strict=True)):
        kept = _keep_end(part, slots) if index in leads_on else tuple(slots)
        parts.append(part.model_copy(update={"songs": kept}))
    return show.model_copy(update={"sets": tuple(parts)})


def before_breaks(show: Show) -> dict[int, str]:
    """The last song of each set that anything is played after, by the set's number; its `then` is the break's."""
    last = len(show.sets) if show.encore else max((n for n, part in enumerate(show.sets) if part.songs), default=0)
    return {number: part.songs[-1].song for number, part in enumerate(show.sets[:last]) if part.songs}


def _keep_end(part: SetOfSongs, slots: Sequence[Slot]) -> tuple[Slot, ...]:
    """The slots with what follows the set, its last song's `then`, after whichever song is last now."""
    if not slots or slots[-1].song == part.songs[-1].song:
        return tuple(slots)
    was, now = part.songs[-1], slots[-1]
    then = {was.song: now.then, now.song: was.then}
    return tuple(slot.model_copy(update={"then": then[slot.song]}) if slot.song in then else slot for slot in slots)
