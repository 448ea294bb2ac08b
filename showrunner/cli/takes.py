"""`takes` and `progress`: what was kept of rehearsals, how it went, and what to practise next."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from showrunner.cli.common import Call, command, find, find_show, open_book
from showrunner.cli.output import columns, plural, print_json, print_lines, working
from showrunner.cli.reviewing import review_data, review_lines
from showrunner.model.library import title_of
from showrunner.model.units import format_length
from showrunner.planning.practice import Go, Review, Spot, goes_of, spots, to_practise
from showrunner.planning.practice_words import (
    ALL_CLEAN,
    CLEAN,
    NOT_CLEAN,
    UNHEARD,
    course_of,
    drawn,
    how_clean,
    place_of,
)
from showrunner.takes.reviewing import Kept, kept_takes, reviewed
from showrunner.takes.smf import TakeError

if TYPE_CHECKING:
    from showrunner.model.library import Book


@command(
    examples=(
        "showrunner takes saltmarsh-signal",
        "showrunner takes saltmarsh-signal --faults",
        "showrunner takes pellmarsh-hall",
        "showrunner takes saltmarsh-signal --prune 10",
        "showrunner takes saltmarsh-signal --prune 10 --write",
    )
)
@click.argument("what", metavar="SHOW|SONG")
@click.option("--faults", is_flag=True, help="Say of each take what was wrong where.")
@click.option("--prune", metavar="N", type=click.IntRange(0), help="Say which to delete so that the newest N are left.")
@click.option("--write", is_flag=True, help="Delete them.")
def takes(call: Call, what: str, faults: bool, prune: int | None, write: bool) -> None:
    """The takes that go through a song, oldest first, with how clean each was; or those of a whole show."""
    if write and prune is None:
        raise click.UsageError("--write deletes what --prune N names; say how many to leave")
    reading = open_book(call)
    kind, slug = find(reading, what, *(("song",) if what in reading.book.songs else ("song", "show")))
    with working("reading takes"):
        kept, broken = kept_takes(reading.root, [slug])
        if kind == "show":
            kept = [one for one in kept if one.filed_under(kind, slug)]
        found = {one.name: of for one, of in reviewed(reading.book, kept)}
    left_out = _say_broken(reading.root, broken)
    mine = [one for one in kept if one.filed_under(kind, slug)]
    gone = mine[: max(0, len(mine) - prune)] if prune is not None else []
    if write:
        for one in gone:
            one.path.unlink()
    if call.json:
        rows = [_take_data(one, found.get(one.name)) for one in kept if not (write and one in gone)]
        said = {"prune": [one.name for one in gone], "written": write, "left_out": left_out}
        print_json({kind: slug, "takes": rows, **said})
    elif prune is not None:
        print_lines(_prune_lines(gone, len(mine), written=write))
    else:
        print_lines(_takes_lines(reading.book, kept, found, faults=faults))


def _say_broken(root: Path, broken: Sequence[TakeError]) -> list[dict[str, str]]:
    """Takes that can't be read, on standard error, and as data."""
    rows = [{"file": error.path.relative_to(root).as_posix(), "what": error.what} for error in broken]
    for row in rows:
        click.echo(f"{row['file']}: {row['what']}", err=True)
    return rows


def _take_data(one: Kept, found: Review | None) -> dict[str, Any]:
    return {
        "take": one.name,
        "length_s": one.length_s,
        "songs": one.songs,
        "rig": one.take.rig,
        "show": one.take.show,
        "messages_in": sum(event.direction == "in" for event in one.take.events),
        "messages_out": sum(event.direction == "out" for event in one.take.events),
        "review": None if found is None else review_data(found),
    }


def _takes_lines(book: "Book", kept: Sequence[Kept], found: dict[str, Review], *, faults: bool) -> Iterator[str]:
    if not kept:
        yield "no takes yet; showrunner rehearse makes them"
        return
    rows = []
    for one in kept:
        review = found.get(one.name)
        heard = sum(event.direction == "in" for event in one.take.events)
        rows.append((one.name, format_length(one.length_s), plural(heard, "message") + " in", how_clean(review)))
    if not faults:
        yield from columns(rows, right=(1, 2))
        return
    for row, one in zip(rows, kept, strict=True):
        yield "  ".join(row)
        if one.name in found:
            yield from review_lines(book, found[one.name])
        yield ""


def _prune_lines(gone: Sequence[Kept], count: int, *, written: bool) -> Iterator[str]:
    yield from (f"  {one.name}" for one in gone)
    if not gone:
        yield f"nothing to delete: there {'is' if count == 1 else 'are'} {plural(count, 'take')}"
    else:
        many = plural(len(gone), "take")
        yield f"deleted {many}" if written else f"{many} of {count} would go; say --write to delete"


@command(examples=("showrunner progress pellmarsh-hall", "showrunner progress saltmarsh-signal --json"))
@click.argument("what", metavar="SHOW|SONG")
def progress(call: Call, what: str) -> None:
    """Over all takes: how often each cue and changeover went clean, what fails most, what to practise next."""
    reading = open_book(call)
    kind, slug = find(reading, what, "show", "song")
    songs: Sequence[str] = (slug,)
    if kind == "show":
        songs = reading.book.shows[find_show(reading, what)].songs
    with working("reading takes"):
        kept, broken = kept_takes(reading.root, [slug, *songs])
        reviews = [of for _, of in reviewed(reading.book, kept) if of.played]
    left_out = _say_broken(reading.root, broken)
    found = tuple(spot for spot in spots(reviews) if spot.song in songs)
    goes = {song: of_song for song in dict.fromkeys(songs) if (of_song := goes_of(reviews, song))}
    if call.json:
        by_song = [
            {"song": song, "takes": len(of_song), "clean": sum(go.all_clean for go in of_song)}
            for song, of_song in goes.items()
        ]
        places = [_spot_data(spot) for spot in found]
        print_json({"of": slug, "takes": len(reviews), "songs": by_song, "places": places, "left_out": left_out})
    else:
        print_lines(_progress_lines(reading.book, goes, found, len(reviews), len(kept)))


def _spot_data(spot: Spot) -> dict[str, Any]:
    return {
        "song": spot.song,
        "cue": spot.cue,
        "from": spot.before,
        "played": len(spot.goes),
        "clean": spot.clean,
        "faults": dict(spot.faults),
        "times": [list(faults) for faults in spot.goes],
    }


def _progress_lines(
    book: "Book", goes: Mapping[str, Sequence[Go]], found: Sequence[Spot], takes: int, kept: int
) -> Iterator[str]:
    if not found:
        yield UNHEARD if kept else "no takes yet; showrunner rehearse makes them"
        return
    yield f"{plural(takes, 'take')}; {CLEAN} clean, {NOT_CLEAN} not, the latest on the right"
    for song in dict.fromkeys((*goes, *(spot.song for spot in found))):
        of_song = goes.get(song, ())
        clean = sum(go.all_clean for go in of_song)
        yield ""
        lately = drawn(go.all_clean for go in of_song)
        how = f": all clean in {clean} of {plural(len(of_song), 'take')}  {lately}" if of_song else ""
        yield f"{title_of(book.songs, song)}{how}"
        mine = [spot for spot in found if spot.song == song]
        yield from columns([(place_of(book.songs, spot), *course_of(spot)) for spot in mine], right=(1,))
    hard = to_practise(found)
    yield ""
    if not hard:
        yield ALL_CLEAN
    for number, spot in enumerate(hard):
        place = f"{title_of(book.songs, spot.song)}, {place_of(book.songs, spot)}"
        yield f"{'practise next:' if number == 0 else '         then:'} {place}"
