"""A table of wishes put into a song's curve, its comments and all else left as they are."""

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from showrunner.book.change import apply, edit
from showrunner.book.read import read_document
from showrunner.book.save import digest, save
from showrunner.cli.common import Fault, Trouble, difference, faults_of, trouble
from showrunner.curves.wishes import Wish, Wishes, WishesError, read_wishes
from showrunner.model.keys import KeyPath
from showrunner.model.nearest import did_you_mean
from showrunner.model.song import Song
from showrunner.plain_file import read_file

if TYPE_CHECKING:
    from showrunner.book.read import Reading


class Wished(NamedTuple):
    """A song's file with the wishes put in."""

    file: str
    before: bytes
    after: bytes
    song: Song

    @property
    def difference(self) -> list[str]:
        """What changes, as a unified difference of the file's lines."""
        return difference(self.file, self.before, self.after, "with the table")


LARGEST_TABLE = 1 << 20
"""Bytes of a table of wishes."""


def wishes_in(file: str) -> Wishes:
    """The table in a file, or on standard input for `-`; Trouble with every line that can't be used."""
    try:
        text = _typed() if file == "-" else read_file(Path(file), LARGEST_TABLE).decode("utf-8")
        return read_wishes(text)
    except WishesError as error:
        raise Trouble(*(Fault(p.what, p.mend, file, p.line) for p in error.problems)) from error
    except UnicodeDecodeError as error:
        raise trouble("this is not UTF-8 text", "save the table as UTF-8", file=file) from error


def _typed() -> str:
    """What comes on standard input, up to the size of a table."""
    text: str = sys.stdin.read(LARGEST_TABLE + 1)
    if len(text) > LARGEST_TABLE:
        raise trouble(f"standard input goes on for more than {LARGEST_TABLE >> 20} MiB", "a table is short", file="-")
    return text


def curve_for(song: Song, set_name: str | None, control: str | None) -> tuple[str, str]:
    """The curve set and the control that a table is for: as named, else the first set and its only control."""
    set_name = set_name or song.start_set
    if set_name is None:
        raise click.UsageError("the song has no curve set yet; name the one to make with --set SET --control CONTROL")
    controls = list(song.curves.get(set_name, {}))
    if control is None and len(controls) != 1:
        there = f"it has {', '.join(controls)}" if controls else "it has none yet"
        raise click.UsageError(f'which control of "{set_name}" is the table for? {there}; say --control CONTROL')
    return set_name, control or controls[0]


def put_in(reading: "Reading", slug: str, set_name: str, control: str, wishes: Wishes) -> Wished:
    """The song's file with the table's rows under that curve; rows the table doesn't name stay as they are."""
    rigs = reading.book.rigs.values()
    _known("control", (control,), {name for rig in rigs for name in rig.controls})
    _known("target", (row.target for row in wishes.rows), {name for rig in rigs for name in rig.targets})
    file, before = reading.file("song", slug), reading.sources["song", slug]
    after = before
    for key, value in _changes(reading.book.songs[slug], set_name, control, wishes):
        after = apply(after, edit(file, after, key, value))
    song, problems = read_document("song", slug, after)
    if not isinstance(song, Song):
        raise Trouble(*faults_of(problems))
    return Wished(file, before, after, song)


def save_wished(reading: "Reading", wished: Wished) -> None:
    """Saves the song's file, unless somebody else changed it since it was read."""
    if wished.after != wished.before:
        save(reading.root / wished.file, wished.after, digest(wished.before))


def wished_lines(wished: Wished, written: bool) -> list[str]:
    """What changes, and whether it is in the file now."""
    if wished.after == wished.before:
        return [f"{wished.file} has these values already"]
    return [
        *wished.difference,
        "",
        f"wrote {wished.file}" if written else "nothing is written yet; say --write to write it",
    ]


def _known(what: str, names: Iterable[str], known: set[str]) -> None:
    faults = [
        Fault(f'no rig has a {what} "{name}"', did_you_mean(name, known, f"the rigs have {', '.join(sorted(known))}"))
        for name in names
        if name not in known
    ]
    if faults:
        raise Trouble(*faults)


def _changes(song: Song, set_name: str, control: str, wishes: Wishes) -> Iterator[tuple[KeyPath, Any]]:
    base: KeyPath = ("curves", set_name, control)
    curve = song.curves.get(set_name, {}).get(control)
    if curve is None:
        yield base, {"travel": list(wishes.travel), "moves": wishes.moves()}
        return
    named = {row.target for row in wishes.rows}
    others = any(move.travel is None for name, move in curve.moves.items() if name not in named)
    columns = curve.travel if others else wishes.travel
    if columns != curve.travel:
        yield (*base, "travel"), list(columns)
    for row in wishes.rows:
        move = curve.moves.get(row.target)
        yield (*base, "moves", row.target), _row(row, columns, move.shape if move is not None else "straight")


def _row(row: Wish, columns: tuple[float, ...], shape: str) -> list[float] | dict[str, Any]:
    own = {} if row.travel == columns else {"travel": list(row.travel)}
    kept = {} if shape == "straight" else {"shape": shape}
    return {**own, "values": list(row.values), **kept} if own or kept else list(row.values)
