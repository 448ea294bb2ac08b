"""`curve`: what a song's pedals do, as numbers, as a drawing, or put in from a table."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from showrunner.cli.common import Call, command, find, open_book, trouble
from showrunner.cli.output import columns, number, print_json, print_lines, width
from showrunner.curves.laws import to_number
from showrunner.curves.shapes import columns as columns_of
from showrunner.curves.shapes import row_in
from showrunner.model.nearest import did_you_mean
from showrunner.model.rig import Rig, Target
from showrunner.model.song import Curve, Song

if TYPE_CHECKING:
    from showrunner.book.read import Reading


class Chosen(NamedTuple):
    """One curve of a song that was asked for, and the travels to say it at."""

    set_name: str
    control: str
    curve: Curve
    travels: tuple[float, ...]


def rig_for(reading: "Reading", word: str | None) -> Rig | None:
    """The rig asked for, else the book's usual one, else none."""
    slug = find(reading, word, "rig")[1] if word is not None else reading.book.rig_of()
    return reading.book.rigs.get(slug) if slug is not None else None


def travels_from(text: str) -> tuple[float, ...]:
    """Travels as typed, %, in the order given; wrong usage for what isn't a travel."""
    travels = []
    for word in text.split(","):
        try:
            travel = float(word)
        except ValueError:
            travel = -1.0
        if not 0 <= travel <= 100:
            raise click.UsageError(
                f'"{word.strip()}" is not a travel; write numbers from 0 to 100, as in --at 0,50,100'
            )
        travels.append(travel)
    return tuple(travels)


def choose(song: Song, set_name: str | None, control: str | None, at: Sequence[float] | None) -> list[Chosen]:
    """The curves of a song that are in the set and under the control named, all where none is."""
    _known("curve set", set_name, song.curves)
    of_sets = {name: of for name, of in song.curves.items() if set_name in (None, name)}
    _known("curve for", control, {name: None for of_set in of_sets.values() for name in of_set})
    return [
        Chosen(name, moved, curve, tuple(at) if at is not None else _columns(curve))
        for name, of_set in of_sets.items()
        for moved, curve in of_set.items()
        if control in (None, moved)
    ]


def _known(what: str, name: str | None, known: Mapping[str, Any]) -> None:
    if name is not None and name not in known:
        ways = did_you_mean(name, known, f"there are: {', '.join(known) or 'none'}")
        raise trouble(f'no {what} "{name}" in this song', ways)


def _columns(curve: Curve) -> tuple[float, ...]:
    return tuple(sorted({*curve.travel, *(at for name in curve.moves for at in columns_of(curve, name))}))


def curve_data(song: str, chosen: Sequence[Chosen], targets: Mapping[str, Target]) -> dict[str, Any]:
    """Curves as JSON; unit and number are null for a target that the rig lacks."""
    curves = []
    for one in chosen:
        shapes = {name: row_in(one.curve, name) for name in one.curve.moves}
        rows = [
            {"travel": at, "targets": {name: _point(targets.get(name), shape(at)) for name, shape in shapes.items()}}
            for at in one.travels
        ]
        curves.append({"set": one.set_name, "control": one.control, "rows": rows})
    return {"song": song, "curves": curves}


def _point(target: Target | None, value: float) -> dict[str, Any]:
    known = target is not None
    return {
        "value": value,
        "unit": target.unit if target is not None else None,
        "number": to_number(target, value) if known and target is not None else None,
    }


def curve_lines(chosen: Sequence[Chosen], targets: Mapping[str, Target]) -> Iterator[str]:
    """Curves as tables: a row per target, a column per travel, each value with its controller number."""
    for index, one in enumerate(chosen):
        if index:
            yield ""
        yield f"{one.control}, in {one.set_name}: value (controller number)"
        names = [("travel", "%"), *((name, targets[name].unit if name in targets else "") for name in one.curve.moves)]
        cells = [[number(at) for at in one.travels]]
        for name in one.curve.moves:
            shape, target = row_in(one.curve, name), targets.get(name)
            cells.append([_cell(target, shape(at)) for at in one.travels])
        for part in _parts(names, cells):
            rows = [(*name, *(row[i] for i in part)) for name, row in zip(names, cells, strict=True)]
            yield from columns(rows, right=range(2, 2 + len(part)))


def plot_lines(chosen: Sequence[Chosen], targets: Mapping[str, Target]) -> Iterator[str]:
    """Curves as drawings, as wide as the terminal."""
    from showrunner.curves.plot import plot

    for index, one in enumerate(chosen):
        if index:
            yield ""
        yield f"{one.control}, in {one.set_name}"
        yield from plot(one.curve, targets, width(), stands=one.travels[0] if len(one.travels) == 1 else None)


def _cell(target: Target | None, value: float) -> str:
    return f"{number(value)} ({to_number(target, value) if target is not None else '-'})"


def _parts(names: Sequence[tuple[str, str]], cells: Sequence[Sequence[str]]) -> Iterator[range]:
    """Which columns go into one table, so that each fits the terminal."""
    wide = [max(len(row[i]) for row in cells) + 2 for i in range(len(cells[0]))]
    room = width() - 4 - max(len(a) for a, _ in names) - max(len(b) for _, b in names)
    start = 0
    while start < len(wide):
        sums = list(accumulate(wide[start:]))
        count = max(1, sum(total <= room for total in sums))
        yield range(start, min(start + count, len(wide)))
        start += count


@command(
    examples=(
        "showrunner curve saltmarsh-signal",
        "showrunner curve saltmarsh-signal --set lead --control swell --at 0,50,75",
        "showrunner curve saltmarsh-signal --set verse --plot",
        "showrunner curve saltmarsh-signal --control swell --from-table wishes.csv",
        "showrunner curve saltmarsh-signal --json",
    )
)
@click.argument("song")
@click.option("--set", "set_name", metavar="SET", help="Only this curve set.")
@click.option("--control", metavar="CONTROL", help="Only this control.")
@click.option("--at", metavar="T,T,…", type=travels_from, help="Say it at these travels, in %.")
@click.option("--plot", is_flag=True, help="Draw it: all rows over the travel, and what moves where.")
@click.option("--from-table", "table", metavar="FILE", help="Put a table into the song: travels across, targets down.")
@click.option("--write", is_flag=True, help="Save what --from-table changes, instead of only showing it.")
@click.option("--rig", metavar="RIG", help="The rig whose targets count; the book's usual one if left out.")
def curve(
    call: Call,
    song: str,
    set_name: str | None,
    control: str | None,
    at: tuple[float, ...] | None,
    plot: bool,
    table: str | None,
    write: bool,
    rig: str | None,
) -> None:
    """What each pedal of a song does over its travel: values, and the controller numbers that are sent.

    A table for --from-table has travels in its first row and a target with its values in each row after it, with
    commas, tabs or spaces between; - for none. FILE may be - for standard input.
    """
    if write and table is None:
        raise click.UsageError("--write needs --from-table FILE, which says what to write")
    reading = open_book(call)
    _, slug = find(reading, song, "song")
    the_rig = rig_for(reading, rig)
    targets = the_rig.targets if the_rig is not None else {}
    the_song, wished = reading.book.songs[slug], None
    if table is not None:
        from showrunner.cli.wishing import curve_for, put_in, save_wished, wished_lines, wishes_in

        set_name, control = curve_for(the_song, set_name, control)
        wished = put_in(reading, slug, set_name, control, wishes_in(table))
        the_song = wished.song
        if write:
            save_wished(reading, wished)
    chosen = choose(the_song, set_name, control, at)
    if call.json:
        said = {"file": wished.file, "written": write} if wished is not None else {}
        print_json(curve_data(slug, chosen, targets) | said)
    elif not chosen:
        print_lines([f"{slug} has no curves"])
    elif wished is not None and not plot:
        print_lines(wished_lines(wished, write))
    elif plot:
        print_lines(plot_lines(chosen, targets))
    else:
        print_lines(curve_lines(chosen, targets))
