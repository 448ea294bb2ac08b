"""A show's lists of songs as its file has them, and what a move, a break or another order would make of them.

Every function gives the keys of the file that change and what they hold then, for one step of undo.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from showrunner.book.data import ABSENT, value_at
from showrunner.model.keys import KeyPath
from showrunner.model.show import Show

Changes = dict[KeyPath, Any]
ENDS = ("encore", "reserve")


class Spot(NamedTuple):
    """A row: a song, the list of the show's file it is in, and its index there; no song is a list without any."""

    song: str
    part: KeyPath
    number: int


def spots(show: Show) -> list[Spot]:
    """Every song of a show in order: sets, encore, reserve; a list without songs has one spot, without a song."""
    lists: list[tuple[KeyPath, tuple[str, ...]]] = [
        (("sets", number, "songs"), tuple(slot.song for slot in part.songs)) for number, part in enumerate(show.sets)
    ]
    lists += [((name,), getattr(show, name)) for name in ENDS]
    return [Spot(song, part, index) for part, songs in lists for index, song in enumerate(songs or ("",))]


def parts(show: Show) -> list[KeyPath]:
    """Every list that can hold songs, in order, empty ones too."""
    return [*(("sets", number, "songs") for number in range(len(show.sets))), *((name,) for name in ENDS)]


def stepped(show: Show, raw: Mapping[str, Any], spot: Spot, way: int) -> Changes:
    """One place earlier or later; from the end of a list into the next, that it may empty; nothing at the very end."""
    to = spot.number + way
    if 0 <= to < len(items(raw, spot.part)):
        return moved(raw, spot, spot.part, to)
    lists = parts(show)
    at = lists.index(spot.part) + way
    if not 0 <= at < len(lists):
        return {}
    return moved(raw, spot, lists[at], 0 if way > 0 else len(items(raw, lists[at])))


def moved(raw: Mapping[str, Any], spot: Spot, part: KeyPath, index: int) -> Changes:
    """The song at another place of a list; what only a set's item can say is left behind outside one."""
    from_ = items(raw, spot.part)
    item = from_.pop(spot.number)
    if part == spot.part:
        return {part: [*from_[:index], item, *from_[index:]]}
    into = items(raw, part)
    into.insert(index, _for(part, item))
    return {spot.part: from_ if from_ or spot.part[0] == "sets" else ABSENT, part: into}


def added(raw: Mapping[str, Any], part: KeyPath, index: int, song: str) -> Changes:
    """A song that the show doesn't have yet, at a place of a list; the first set is made for it if there is none."""
    if part[0] == "sets" and not raw.get("sets"):
        return {("sets",): [{"title": "Set 1", "songs": [{"song": song}]}]}
    into = items(raw, part)
    return {part: [*into[:index], _for(part, song), *into[index:]]}


def added_after(raw: Mapping[str, Any], there: list[Spot], row: Spot | None, song: str) -> Changes:
    """The same after a spot, wherever its song is by now; else at the end of its list, or of the first set."""
    now = next((spot for spot in there if row is not None and row.song and spot.song == row.song), row)
    parts_now = [spot.part for spot in there]
    if now is None or now.part not in parts_now or not (raw.get("sets") or now.song):
        return added(raw, ("sets", 0, "songs"), 0, song)
    return added(raw, now.part, now.number + 1 if now.song else 0, song)


def taken_out(raw: Mapping[str, Any], spot: Spot) -> Changes:
    """The show without the song, its stand-ins, what is different about it tonight and pins that name it."""
    changes: Changes = {}
    for number, part in enumerate(raw.get("sets", [])):
        for index, item in enumerate(part.get("songs", [])):
            if item.get("pin") in (f"after {spot.song}", f"not after {spot.song}"):
                changes["sets", number, "songs", index, "pin"] = ABSENT
    left = items(raw, spot.part)
    del left[spot.number]
    left = [_unpinned(item, spot.song) for item in left]
    changes = {key: value for key, value in changes.items() if key[: len(spot.part)] != spot.part}
    changes[spot.part] = left if left or spot.part[0] == "sets" else ABSENT
    for table in ("stand_ins", "tonight"):
        if spot.song in raw.get(table, {}):
            only = len(raw[table]) == 1
            changes[(table,) if only else (table, spot.song)] = ABSENT
    return changes


def broken(raw: Mapping[str, Any], spot: Spot) -> Changes:
    """A new set that begins with the song; or, where one does, no break before it."""
    number = int(spot.part[1])
    sets = [dict(part) for part in raw["sets"]]
    songs = list(sets[number].get("songs", []))
    if spot.number:
        sets[number]["songs"] = songs[: spot.number]
        sets.insert(number + 1, {"title": f"Set {number + 2}", "songs": songs[spot.number :]})
    elif number:
        sets[number - 1]["songs"] = [*sets[number - 1].get("songs", []), *songs]
        del sets[number]
    else:
        return {}
    return {("sets",): sets}


def with_set(raw: Mapping[str, Any], number: int, title: str) -> Changes:
    """A new set without songs, the one of that number, counted from 0."""
    sets = list(raw.get("sets", []))
    return {("sets",): [*sets[:number], {"title": title, "songs": []}, *sets[number:]]}


def without_set(raw: Mapping[str, Any], number: int) -> Changes:
    """The show without one of its sets, whose songs go to the end of the reserve."""
    sets = list(raw.get("sets", []))
    songs = [_for(("reserve",), item) for item in sets.pop(number).get("songs", [])]
    changes: Changes = {("sets",): sets or ABSENT}
    if songs:
        changes["reserve",] = [*items(raw, ("reserve",)), *songs]
    return changes


def in_order(raw: Mapping[str, Any], show: Show) -> Changes:
    """The sets as another version of the show has them, each song's own words kept but for what follows it."""
    by_song = {item["song"]: item for part in raw.get("sets", []) for item in part.get("songs", [])}
    changes: Changes = {}
    for number, part in enumerate(show.sets):
        key: KeyPath = ("sets", number, "songs")
        new = [_followed(by_song[slot.song], None if slot.then is None else str(slot.then)) for slot in part.songs]
        if new != items(raw, key):
            changes[key] = new
    return changes


def items(raw: Mapping[str, Any], part: KeyPath) -> list[Any]:
    """What a list of the file holds, nothing where it is left out."""
    value = value_at(raw, part)
    return [] if value is ABSENT else list(value)


def _unpinned(item: Any, song: str) -> Any:
    if not isinstance(item, dict) or item.get("pin") not in (f"after {song}", f"not after {song}"):
        return item
    return {key: value for key, value in item.items() if key != "pin"}


def _for(part: KeyPath, item: Any) -> Any:
    song = item["song"] if isinstance(item, dict) else item
    if part[0] != "sets":
        return song
    return item if isinstance(item, dict) else {"song": song}


def _followed(item: Mapping[str, Any], then: str | None) -> dict[str, Any]:
    if item.get("then") == then:
        return dict(item)
    rest = {key: value for key, value in item.items() if key != "then"}
    return rest if then is None else {"song": rest.pop("song"), "then": then, **rest}
