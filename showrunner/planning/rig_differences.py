"""What a second rig lacks, adds and has otherwise, and which songs that touches."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple

from pydantic import BaseModel

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.song import Cue, Song, Start

PARTS = ("controls", "targets", "ports", "instruments", "batteries")
"""The tables of a rig whose entries have names."""


class Otherwise(NamedTuple):
    """One key that two rigs have with different values: as plain data, None where one has none."""

    name: str
    key: str
    first: Any
    second: Any
    songs: tuple[str, ...]


class Named(NamedTuple):
    """An entry that only one of two rigs has, with the songs that want it."""

    name: str
    songs: tuple[str, ...]


class PartDifferences(NamedTuple):
    """One part of two rigs: what the second lacks, what it adds, what it has otherwise."""

    part: str
    lacks: tuple[Named, ...]
    adds: tuple[Named, ...]
    otherwise: tuple[Otherwise, ...]


def differences(book: Book, first: Rig, second: Rig) -> tuple[PartDifferences, ...]:
    """Every part of two rigs in which they differ; songs are those of the book that name the entry."""
    found = [_of_part(book, part, getattr(first, part), getattr(second, part)) for part in PARTS]
    found.append(PartDifferences("the rest", (), (), tuple(_rest(book, first, second))))
    return tuple(part for part in found if part.lacks or part.adds or part.otherwise)


def touched(parts: Sequence[PartDifferences]) -> dict[str, dict[str, list[str]]]:
    """By song and part the names that it wants and the second rig lacks or has otherwise."""
    found: dict[str, dict[str, list[str]]] = {}
    for part in parts:
        entries = [(one.name, one.songs) for one in part.lacks] + [(one.name, one.songs) for one in part.otherwise]
        for name, songs in entries:
            for song in songs:
                names = found.setdefault(song, {}).setdefault(part.part, [])
                names += [] if name in names else [name]
    return {song: found[song] for song in sorted(found)}


def _of_part(book: Book, part: str, first: Mapping[str, BaseModel], second: Mapping[str, BaseModel]) -> PartDifferences:
    @cache
    def wanting() -> Mapping[str, Sequence[str]]:
        """The songs that name each entry, looked for once, and only where an entry differs."""
        found: dict[str, list[str]] = {}
        for slug in sorted(book.songs):
            for name in _names(part, book.songs[slug]):
                found.setdefault(name, []).append(slug)
        return found

    def songs(name: str) -> tuple[str, ...]:
        return tuple(wanting().get(name, ()))

    lacks = tuple(Named(name, songs(name)) for name in first if name not in second)
    adds = tuple(Named(name, songs(name)) for name in second if name not in first)
    otherwise = tuple(
        Otherwise(name, key, a, b, _in_tunings(book, name, a, b) if key == "tunings" else songs(name))
        for name in first
        if name in second
        for key, a, b in _keys(first[name], second[name])
    )
    return PartDifferences(part, lacks, adds, otherwise)


def _rest(book: Book, first: Rig, second: Rig) -> Iterator[Otherwise]:
    everything = tuple(sorted(book.songs))
    for key, a, b in _keys(first, second):
        if key in ("format", "title", *PARTS):
            continue
        if isinstance(a, dict) and isinstance(b, dict):
            for inner in dict.fromkeys((*a, *b)):
                if a.get(inner) != b.get(inner):
                    yield Otherwise(key, inner, a.get(inner), b.get(inner), everything)
        elif key == "gain":
            yield from _stages(a, b, everything)
        else:
            yield Otherwise(key, "", a, b, everything)


def _stages(
    a: Sequence[Mapping[str, Any]], b: Sequence[Mapping[str, Any]], songs: tuple[str, ...]
) -> Iterator[Otherwise]:
    first, second = ({stage["stage"]: stage for stage in chain} for chain in (a, b))
    for name in dict.fromkeys((*first, *second)):
        if name not in first or name not in second:
            yield Otherwise("gain", name, name in first, name in second, songs)
            continue
        for key, value in first[name].items():
            if value != second[name][key]:
                yield Otherwise("gain", f"{name} {key}", value, second[name][key], songs)


def _keys(first: BaseModel, second: BaseModel) -> Iterator[tuple[str, Any, Any]]:
    """The keys of two tables that differ, with their values as plain data."""
    a, b = first.model_dump(mode="json"), second.model_dump(mode="json")
    for key in a:
        if a[key] != b[key]:
            yield key, a[key], b[key]


def _in_tunings(book: Book, guitar: str, first: Mapping[str, Any], second: Mapping[str, Any]) -> tuple[str, ...]:
    """The songs played on a guitar in a tuning that the second rig's lacks or has otherwise."""
    gone = {name for name, strings in first.items() if second.get(name) != strings}
    return tuple(
        slug for slug in sorted(book.songs) if book.songs[slug].instrument == guitar and book.songs[slug].tuning in gone
    )


def _names(part: str, song: Song) -> set[str]:
    """The controls, targets, ports or guitars that a song names."""
    moments: tuple[Start | Cue, ...] = (song.start, *song.cues)
    curves = [(name, curve) for of_set in song.curves.values() for name, curve in of_set.items()]
    if part == "controls":
        placed = {name for moment in moments for name in (*moment.controls, *moment.by_hand)}
        return placed | {name for name, _ in curves}
    if part == "targets":
        return {name for moment in moments for name in moment.targets} | {t for _, curve in curves for t in curve.moves}
    if part == "ports":
        return {song.program.port} if song.program is not None else set()
    return {song.instrument} if part == "instruments" and song.instrument is not None else set()
