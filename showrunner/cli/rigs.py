"""`rigs`: what a second rig lacks, adds and has otherwise."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import click

from showrunner.cli.common import Call, command, find, open_book
from showrunner.cli.output import number, paragraph, print_json, print_lines
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.planning.rig_differences import Named, Otherwise, PartDifferences, differences, touched


@command(examples=("showrunner rigs full small", "showrunner rigs full small --json"))
@click.argument("first", metavar="A")
@click.argument("second", metavar="B")
def rigs(call: Call, first: str, second: str) -> None:
    """What rig B lacks, adds and has otherwise than rig A, and which songs of the book that touches."""
    reading = open_book(call)
    slugs = find(reading, first, "rig")[1], find(reading, second, "rig")[1]
    pair = reading.book.rigs[slugs[0]], reading.book.rigs[slugs[1]]
    parts = differences(reading.book, *pair)
    if call.json:
        print_json(_data(slugs, parts))
    else:
        print_lines(_lines(reading.book, pair, parts))


def _data(slugs: tuple[str, str], parts: Sequence[PartDifferences]) -> dict[str, Any]:
    return {
        "a": slugs[0],
        "b": slugs[1],
        "parts": [
            {
                "part": part.part,
                "lacks": [one._asdict() for one in part.lacks],
                "adds": [one._asdict() for one in part.adds],
                "otherwise": [
                    {"name": one.name, "key": one.key, "a": one.first, "b": one.second, "songs": one.songs}
                    for one in part.otherwise
                ],
            }
            for part in parts
        ],
        "songs": [{"song": song, "touched": by_part} for song, by_part in touched(parts).items()],
    }


def _lines(book: Book, pair: tuple[Rig, Rig], parts: Sequence[PartDifferences]) -> Iterator[str]:
    yield from paragraph(f"{pair[1].title}, beside {pair[0].title}")
    if not parts:
        yield "no difference"
    for part in parts:
        yield from ("", part.part.capitalize())
        for what, entries in (("lacks", part.lacks), ("adds", part.adds)):
            for entry in entries:
                yield from paragraph(f"{what} {entry.name}{_songs(book, entry)}", 2, 4)
        for name in dict.fromkeys(one.name for one in part.otherwise):
            yield from _entry(book, name, [one for one in part.otherwise if one.name == name])


def _entry(book: Book, name: str, keys: Sequence[Otherwise]) -> Iterator[str]:
    songs = dict.fromkeys(song for one in keys for song in one.songs)
    yield from paragraph(f"{name} is different{_songs(book, Named(name, tuple(songs)))}", 2, 4)
    for one in keys:
        if isinstance(one.first, Mapping) and isinstance(one.second, Mapping):
            for inner in dict.fromkeys((*one.first, *one.second)):
                a, b = one.first.get(inner), one.second.get(inner)
                if a != b:
                    yield from paragraph(f"{one.key} {inner}: {_value(a)} → {_value(b)}", 4, 6)
        else:
            yield from paragraph(f"{one.key}{': ' if one.key else ''}{_value(one.first)} → {_value(one.second)}", 4, 6)


def _songs(book: Book, entry: Named) -> str:
    if len(entry.songs) == len(book.songs) > 1:
        return ": every song"
    titles = [book.songs[slug].title for slug in entry.songs]
    if len(titles) > 4:
        return f": {', '.join(titles[:3])} and {len(titles) - 3} more songs"
    return f": {', '.join(titles)}" if titles else ""


def _value(value: Any) -> str:
    if value is None or value == [] or value == {}:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number(value)
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_value(inner)}" for name, inner in value.items())
    if isinstance(value, list):
        if all(isinstance(pair, list) and len(pair) == 2 for pair in value):
            return " ".join(f"{_value(a)}:{_value(b)}" for a, b in value)
        return (" " if all(isinstance(item, str) and " " not in item for item in value) else ", ").join(
            _value(item) for item in value
        )
    return str(value)
