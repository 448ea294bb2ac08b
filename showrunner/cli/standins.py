"""`standins`: what does the work of the controls that a rig or a spare guitar lacks."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

import click

from showrunner.book.files import FileChange, FileChanges
from showrunner.book.standins import with_stand_ins
from showrunner.book.transaction import apply
from showrunner.cli.common import Call, command, difference, find, find_show, open_book, rig_for, trouble
from showrunner.cli.output import paragraph, print_json, print_lines, working
from showrunner.model.nearest import did_you_mean
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.spare import SwappedSong, guitars_of, on_spare
from showrunner.planning.standins import SongStandIns, stand_ins

if TYPE_CHECKING:
    from showrunner.book.read import Reading


@command(
    examples=(
        "showrunner standins brackwater-field",
        "showrunner standins pellmarsh-hall --rig small",
        "showrunner standins pellmarsh-hall --rig small --write",
        'showrunner standins pellmarsh-hall --guitar "spare baritone"',
        "showrunner standins pellmarsh-hall --rig small --json",
    )
)
@click.argument("show")
@click.option("--rig", metavar="RIG", help="The rig it is to be played on; the show's own if left out.")
@click.option("--guitar", metavar="SPARE", help="Say what changes when this spare guitar has to be taken.")
@click.option("--write", is_flag=True, help="Put the stand-ins into the show's file, instead of only showing them.")
def standins(call: Call, show: str, rig: str | None, guitar: str | None, write: bool) -> None:
    """Which controls do the work of those that a rig lacks, and what is lost by it.

    Of all ways to play the show the one is taken that loses least, where keeping to the same stand-in from song to
    song counts too. What the show's file has for controls that the rig does have stays as it is.
    """
    if write and guitar is not None:
        raise click.UsageError("--write is for a rig's stand-ins; a spare guitar is taken when a string breaks")
    reading = open_book(call)
    rig_slug = find(reading, rig, "rig")[1] if rig is not None else None
    slug = find_show(reading, show, rig_slug)
    the_show = reading.book.shows[slug]
    rig_slug = rig_for(reading, slug, rig_slug)
    the_rig = reading.book.rigs[rig_slug]
    if guitar is not None:
        _print_spare(call, reading, slug, rig_slug, guitar)
        return
    with working("looking for stand-ins"):
        found = stand_ins(reading.book, the_show, the_rig)
    changed = with_stand_ins(reading, slug, {song.song: song.stand_ins for song in found})
    if write:
        apply(reading.root, FileChanges((changed,)), f"putting stand-ins into {changed.file}")
    if call.json:
        print_json({"show": slug, "rig": rig_slug, "songs": [_song_data(song) for song in found]})
        return
    print_lines(_lines(the_show, the_rig, found))
    print_lines(_file_lines(changed, found, write))
    if reading.book.rig_of(the_show) != rig_slug and changed.after != changed.before:
        print_lines(
            paragraph(f'The show itself is for another rig: put rig = "{rig_slug}" into it to play on this one.')
        )


def _song_data(song: SongStandIns) -> dict[str, Any]:
    return {
        "song": song.song,
        "stand_ins": song.stand_ins,
        "losses": list(song.losses),
        "unplayable": list(song.unplayable),
    }


def _lines(show: Show, rig: Rig, found: Sequence[SongStandIns]) -> Iterator[str]:
    yield from paragraph(f"{show.title}, on {rig.title}")
    if rig.routing == "beside":
        yield from paragraph(
            "This rig's routing is beside: the host hears the controls itself, so the host has to be told too."
        )
    concerned = [song for song in found if song.work or song.unplayable or song.kept]
    for song in concerned:
        yield from ("", song.title, *_work_lines(song))
    untouched = [song.title for song in found if song not in concerned]
    if untouched:
        yield ""
        needs = "Needing none" if concerned else "Every song has all its controls"
        yield from paragraph(f"{needs}: {', '.join(untouched)}", hang=2)
    over = dict.fromkeys((work.wanted, work.used) for song in found for work in song.work)
    if over:
        yield ""
        told = [f"{wanted} by {_listed(used for want, used in over if want == wanted)}" for wanted, _ in over]
        yield from paragraph(f"Over the show: {'; '.join(dict.fromkeys(told))}", hang=2)


def _work_lines(song: SongStandIns) -> Iterator[str]:
    for wanted, used in song.kept.items():
        yield from paragraph(f"{used} takes {wanted}, as the show has it", 2, 4)
    for work in song.work:
        yield from paragraph(f"{work.used} takes {work.wanted}{':' if work.losses else ', and nothing is lost'}", 2, 4)
        for loss in work.losses:
            yield from paragraph(f"- {loss.why}", 4, 6)
    for name, why in song.unplayable.items():
        yield from paragraph(f"UNPLAYABLE {name}: {why}", 2, 4)


def _file_lines(changed: FileChange, found: Sequence[SongStandIns], written: bool) -> Iterator[str]:
    yield ""
    if changed.after == changed.before:
        has = any(song.work for song in found)
        none = "nothing can stand in" if any(song.unplayable for song in found) else "no stand-in is needed"
        yield from paragraph(f"{changed.file} has these stand-ins already" if has else f"{none}: {changed.file} stays")
        return
    yield from difference(changed.file, changed.before or b"", changed.after or b"", "with the stand-ins")
    yield ""
    yield f"wrote {changed.file}" if written else "nothing is written yet; say --write to write it"


def _print_spare(call: Call, reading: "Reading", show: str, rig_slug: str, spare: str) -> None:
    rig, the_show = reading.book.rigs[rig_slug], reading.book.shows[show]
    spares = {guitar.spare for guitar in rig.instruments.values() if guitar.spare is not None}
    if spare not in spares:
        ways = f"it has {_listed(sorted(spares))} as spares" if spares else 'name one in the rig: spare = "…"'
        raise trouble(f'on {rig.title} "{spare}" is no guitar\'s spare', did_you_mean(spare, spares, ways))
    found = on_spare(reading.book, the_show, rig, spare)
    if call.json:
        songs = [_song_data(song.found) | _swap_data(song) for song in found]
        instead = list(guitars_of(rig, spare))
        print_json({"show": show, "rig": rig_slug, "guitar": spare, "instead_of": instead, "songs": songs})
        return
    print_lines(_spare_lines(the_show, rig, spare, found))


def _swap_data(song: SwappedSong) -> dict[str, Any]:
    return {"instead_of": song.guitar, "changes": list(song.changes), "losses": list(song.losses)}


def _spare_lines(show: Show, rig: Rig, spare: str, found: Sequence[SwappedSong]) -> Iterator[str]:
    yield from paragraph(f"{show.title}, on {rig.title}: {spare} instead of {_listed(guitars_of(rig, spare))}")
    if not found:
        yield "no song of the show is played on that"
        return
    everywhere = [change for change in found[0].changes if all(change in song.changes for song in found)]
    if everywhere and len(found) > 1:
        yield from ("", "In every song")
        for change in everywhere:
            yield from paragraph(f"- {change}", 2, 4)
    for song in found:
        yield from ("", song.found.title)
        own = [change for change in song.changes if len(found) == 1 or change not in everywhere]
        for change in own:
            yield from paragraph(f"- {change}", 2, 4)
        for lost in song.lost:
            yield from paragraph(f"LOST {lost}", 2, 4)
        works = list(_work_lines(song.found))
        yield from works
        if not (own or song.lost or works):
            yield "  nothing else changes"


def _listed(names: Iterable[str]) -> str:
    names = list(dict.fromkeys(names))
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
