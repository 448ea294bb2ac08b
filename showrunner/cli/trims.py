"""`trims`: gain and volume of each song tonight, line by line, and the headroom that leaves."""

from collections.abc import Iterator, Sequence
from typing import Any

import click

from showrunner.cli.allowances import LEVELS, allowances
from showrunner.cli.common import Call, command, find_show, open_book, rig_for
from showrunner.cli.output import caution, columns, number, paragraph, print_json, print_lines
from showrunner.cli.trims_kept import Kept, parse_settings, set_tonight, visited
from showrunner.levels.air import USUAL_C, delay_ms, last_temperature_c
from showrunner.levels.gain import Line, Setting
from showrunner.levels.headroom import StageLevel
from showrunner.levels.kept import last_visit
from showrunner.levels.newroom import Spread, Start
from showrunner.model.cautions import LOUDER
from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.model.venue import Venue
from showrunner.planning.trims import ShowLevels, SongTrims, louder, show_levels

SET = 'Tonight\'s "input gain", "interface volume" or a target as it would be in the show.'


@command(
    examples=(
        "showrunner trims pellmarsh-hall",
        "showrunner trims pellmarsh-hall --full-house",
        'showrunner trims pellmarsh-hall --set "interface volume=-1.5"',
        'showrunner trims pellmarsh-hall --set "interface volume=-1.5" --write',
        "showrunner trims oxcote-theatre --close --temperature 21 --note Boomy",
        "showrunner trims pellmarsh-hall --json",
    )
)
@click.argument("show")
@click.option("--full-house", is_flag=True, help="Add what the room needs with an audience in.")
@click.option("--set", "settings", multiple=True, callback=parse_settings, metavar="NAME=NUMBER", help=SET)
@click.option("--close", "closing", is_flag=True, help="Tonight's trims as a visit of the venue; see log --close.")
@click.option("--temperature", type=click.FloatRange(-40, 60), metavar="°C", help="How warm it was, for the visit.")
@click.option("--note", metavar="TEXT", help="What to remember, for the visit.")
@click.option("--write", is_flag=True, help="Write what --set and --close change, instead of only showing it.")
def trims(call: Call, show: str, full_house: bool, settings: tuple[tuple[str, float], ...], **asked: Any) -> None:
    """Input gain and interface volume of each song tonight, and the headroom left at each stage.

    Input gain is rig + guitar + venue + show; interface volume is rig + venue + show + full house + song. --set shows
    what a trim of tonight's would do. --close is for a show that was not played with this program; log --close files
    the night of one that was, and can take it back.
    """
    _check(settings, asked)
    kept = Kept(open_book(call))
    slug = find_show(kept.reading, show)
    rig = rig_for(kept.reading, slug)
    before = kept.reading.book
    if settings:
        kept = set_tonight(kept, slug, settings)
    book = kept.reading.book
    found = show_levels(book, book.shows[slug], book.rigs[rig], full_house)
    if louder(book.rigs[rig], show_levels(before, before.shows[slug], book.rigs[rig]), found):
        caution(LOUDER)
    if asked["closing"]:
        kept = visited(kept, slug, asked["temperature"], asked["note"])
    if asked["write"]:
        kept.write()
    if call.json:
        print_json(trims_data(slug, found) | {"files": kept.names, "written": asked["write"]})
    else:
        print_lines(trims_lines(book, book.shows[slug], found, full_house))
        print_lines(kept.lines(written=asked["write"]))


def _check(settings: tuple[tuple[str, float], ...], asked: dict[str, Any]) -> None:
    if not asked["closing"] and (asked["temperature"] is not None or asked["note"] is not None):
        raise click.UsageError("--temperature and --note go with --close")
    if asked["write"] and not asked["closing"] and not settings:
        raise click.UsageError("--write goes with --set or --close")


def trims_data(slug: str, found: ShowLevels) -> dict[str, Any]:
    """The trims as JSON, with the lines they are the sum of."""
    return {"show": slug, "songs": [_song_data(song) for song in found.songs], "start": _start_data(found.start)}


def trims_lines(book: Book, show: Show, found: ShowLevels, full_house: bool) -> Iterator[str]:
    """The trims as text."""
    venue = book.venues.get(show.venue) if show.venue is not None else None
    yield f"{show.title}{', full house' if full_house else ''}"
    yield ""
    yield from _sums(book, found.songs)
    if any(song.stages for song in found.songs):
        yield from ("", "Headroom of each song's loudest moment, dB (its quietest moment's in brackets)")
        yield from _headroom(book, found.songs)
    yield from _first(book, found)
    remarks: dict[tuple[str, str], list[str]] = {}
    for song in found.songs:
        for remark in song.remarks:
            remarks.setdefault((remark.what, remark.mend), []).append(book.songs[song.song].title)
    for (what, mend), songs in remarks.items():
        who = "every song" if len(songs) == len(found.songs) > 1 else ", ".join(songs)
        yield from paragraph(f"{who}: {what}; {mend}", hang=2)
    offsets = found.songs[0].trims.targets if found.songs else {}
    if offsets:
        yield ""
        yield from paragraph("On targets: " + ", ".join(f"{name} {by:+g}" for name, by in offsets.items()))
    yield from _room(venue, found.start)


def _sums(book: Book, songs: Sequence[SongTrims]) -> Iterator[str]:
    rows = [("", "input gain", "interface volume", "number")]
    for song in songs:
        gain, volume = song.trims.input_gain, song.trims.interface_volume
        at = "" if song.interface_volume_number is None else str(song.interface_volume_number)
        rows.append((book.songs[song.song].title, _db(gain.set_db), _db(volume.set_db), at))
    yield from columns(rows, indent=0, right=(1, 2, 3))
    for what, settings in (
        ("Input gain", [song.trims.input_gain for song in songs]),
        ("Interface volume", [song.trims.interface_volume for song in songs]),
    ):
        yield ""
        yield from _explained(book, what, songs, settings)


def _explained(book: Book, what: str, songs: Sequence[SongTrims], settings: Sequence[Setting]) -> Iterator[str]:
    """Each different sum once, with the songs it holds for."""
    yield f"{what} is"
    by_sum: dict[tuple[Line, ...], list[str]] = {}
    for song, setting in zip(songs, settings, strict=True):
        by_sum.setdefault(setting.lines, []).append(book.songs[song.song].title)
    for lines, titles in by_sum.items():
        told = " ".join(f"{line.where} {line.db:+g}" for line in lines if line.db or line.where == "rig")
        who = "all songs" if len(by_sum) == 1 else ", ".join(titles)
        yield from paragraph(f"{told}: {who}", 2, 4)


def _headroom(book: Book, songs: Sequence[SongTrims]) -> Iterator[str]:
    stages = [stage.stage for stage in songs[0].stages]
    rows = [("", *stages)]
    rows += [(book.songs[song.song].title, *(_left(stage) for stage in song.stages)) for song in songs]
    yield from columns(rows, indent=0, right=range(1, len(stages) + 1))
    if any(not stage.measured for song in songs for stage in song.stages[1:]):
        yield from paragraph(
            "~ not measured: common practice stands in for the song's own level. "
            "showrunner levels FILE --song SONG --write puts it in."
        )
    yield from allowances(LEVELS)


def _left(stage: StageLevel) -> str:
    quiet = stage.headroom_db + stage.loudest_dbfs - stage.quietest_dbfs
    return f"{'' if stage.measured else '~'}{stage.headroom_db:z.1f} ({quiet:z.1f})"


def _first(book: Book, found: ShowLevels) -> Iterator[str]:
    if found.first is None:
        return
    song, stage = found.first
    yield ""
    said = f"{stage.headroom_db:z.1f} dB left where {stage.needed_db:g} should be kept"
    yield from paragraph(f"First to clip: {stage.stage}, in {book.songs[song].title}: {said}", hang=2)


def _room(venue: Venue | None, start: Start | None) -> Iterator[str]:
    if venue is None:
        return
    if start is not None:
        yield ""
        trims = (("input gain", start.input_gain), ("interface volume", start.interface_volume))
        told = ", ".join(f"{name} {_spread(spread)}" for name, spread in trims)
        full = f", full house {_spread(start.full_house)}"
        yield from paragraph(
            f"{venue.title} was never played, and nothing is added for it. Rooms to start from, {start.because}: "
            f"{', '.join(start.rooms)}. They needed {told}{full}. Write what you take into the venue's [trims]."
        )
    visit = last_visit(venue)
    if visit is not None:
        yield ""
        then = [f"input gain {visit.trims.input_gain_db:+g} dB", f"volume {visit.trims.interface_volume_db:+g} dB"]
        then += [f"full house {visit.trims.full_house_db:+g} dB"] if visit.trims.full_house_db else []
        then += [f"{name} {by:+g}" for name, by in visit.trims.targets.items()]
        then += [f"{number(visit.temperature_c)} °C"] if visit.temperature_c is not None else []
        note = f". {visit.note}" if visit.note else ""
        yield from paragraph(f"Last here {visit.date}: {', '.join(then)}{note}", hang=2)
    if venue.depth_m is not None:
        at = last_temperature_c(venue)
        degrees = USUAL_C if at is None else at
        yield ""
        yield from paragraph(
            f"Sound takes {delay_ms(venue.depth_m, degrees):.0f} ms to the back wall, {number(venue.depth_m)} m, "
            f"at {number(degrees)} °C{'' if at is not None else ' (assumed)'}."
        )


def _spread(spread: Spread) -> str:
    return f"{spread.middle_db:+g} dB ({spread.low_db:+g} to {spread.high_db:+g})"


def _db(level_db: float) -> str:
    return f"{level_db:.1f} dB"


def _song_data(song: SongTrims) -> dict[str, Any]:
    gain, volume = song.trims.input_gain, song.trims.interface_volume
    return {
        "song": song.song,
        "input_gain_db": gain.set_db,
        "interface_volume_db": volume.set_db,
        "interface_volume_number": song.interface_volume_number,
        "targets": song.trims.targets,
        "headroom_db": {stage.stage: stage.headroom_db for stage in song.stages},
        "lines": {
            name: {"asked_db": setting.asked_db, "sum": [line._asdict() for line in setting.lines]}
            for name, setting in (("input_gain", gain), ("interface_volume", volume))
        },
        "cut_off": [lost._asdict() for lost in song.cut_off],
        "remarks": [remark._asdict() for remark in song.remarks],
    }


def _start_data(start: Start | None) -> dict[str, Any] | None:
    if start is None:
        return None
    return {
        "rooms": start.rooms,
        "because": start.because,
        "input_gain_db": start.input_gain._asdict(),
        "interface_volume_db": start.interface_volume._asdict(),
        "full_house_db": start.full_house._asdict(),
    }
