"""`demo`: the whole job on the demo book, with nothing plugged in."""

import os
import shlex
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from showrunner.checks.finding import Finding
from showrunner.checks.run import check
from showrunner.cli.check import check_data, summary
from showrunner.cli.common import Call, command
from showrunner.cli.output import paragraph, plural, print_json, print_lines, working
from showrunner.cli.replay import read, replay_data, steps_lines, steps_of
from showrunner.cli.time import time_data, time_lines
from showrunner.places import demo_book, templates
from showrunner.planning.timing import RunningTime, running_time
from showrunner.takes.replaying import Step, differs_from_then
from showrunner.takes.take import Take

if TYPE_CHECKING:
    from showrunner.book.read import Reading

SMALL = "small"
SHEET = "floor-sheet.pdf"


class Demo(NamedTuple):
    """Everything the demo has found out."""

    reading: "Reading"
    show: str
    rig: str
    checks: dict[str, tuple[Finding, ...]]
    timed: RunningTime
    sheet: Path
    take: str
    played: Take
    steps: tuple[Step, ...]


@command(examples=("showrunner demo", "showrunner demo --json"), book=False)
def demo(call: Call) -> None:
    """The whole job on the demo book: check it on two rigs, time it, print a cue sheet, run its first songs.

    Works in a temporary folder, which is kept, and needs no hardware and no terminal.
    """
    root = Path(tempfile.mkdtemp(prefix="showrunner-demo-")) / "book"
    with working("running the demo"):
        done = run_demo(root)
    if call.json:
        print_json(demo_data(done))
    else:
        print_lines(demo_lines(done))


def run_demo(root: Path) -> Demo:
    """Makes the demo book at `root` and does the job with it."""
    from showrunner.book.read import read_book
    from showrunner.book.start import init
    from showrunner.sheets.render import render

    init(root, demo_book())
    reading = read_book(root)
    take = sorted((root / "takes").glob("*/*.mid"))[0]
    played = read(take)
    show = played.show or next(iter(reading.book.shows))
    the_show = reading.book.shows[show]
    rig = reading.book.rig_of(the_show) or SMALL
    sheet = root.parent / SHEET
    sheet.write_bytes(render(reading.book, show, "floor", "pdf", (templates(),)))
    return Demo(
        reading=reading,
        show=show,
        rig=rig,
        checks={name: check(reading.book, show=show, rig=name) for name in (rig, SMALL)},
        timed=running_time(reading.book, the_show),
        sheet=sheet,
        take=take.relative_to(root / "takes").with_suffix("").as_posix(),
        played=played,
        steps=steps_of(reading.book, played, rig, take.parent.name),
    )


def demo_data(done: Demo) -> dict[str, Any]:
    """The demo as JSON: each part as its own command prints it."""
    return {
        "book": str(done.reading.root),
        "checks": [check_data(done.reading, done.show, rig, False, found) for rig, found in done.checks.items()],
        "time": time_data(done.show, done.timed),
        "sheet": {"show": done.show, "for": "floor", "format": "pdf", "file": str(done.sheet)},
        "replay": replay_data(done.take, done.played, done.rig, done.steps),
        "next": [line for line, _ in _next(done)],
    }


def demo_lines(done: Demo) -> Iterator[str]:
    """The demo as text, step by step."""
    book, show = done.reading.book, done.reading.book.shows[done.show]
    counts = ", ".join(
        plural(len(documents), word)
        for word, documents in (
            ("song", book.songs),
            ("rig", book.rigs),
            ("venue", book.venues),
            ("show", book.shows),
            ("checklist", book.checklists),
        )
    )
    yield from _heading(1, "A book of plain files")
    yield f"{counts}, copied to"
    yield f"  {done.reading.root}"
    yield from _heading(2, f"Will the show work? {show.title}, on the rig it is written for and on the small one")
    for rig, found in done.checks.items():
        yield from _findings(done, rig, found)
    yield from _heading(3, "Does it fit the evening?")
    yield from time_lines(book, show, done.timed)
    yield from _heading(4, "A cue sheet for the floor")
    yield f"wrote {done.sheet}"
    yield from _heading(5, f"The first songs, from the take {done.take}: what goes out at each step")
    yield from steps_lines(book, book.rigs[done.rig], done.steps)
    if differs_from_then(done.steps, done.played) is None:
        yield "\nAll of it is what went out when the take was made."
    yield from _heading(6, "What to try next")
    root = str(done.reading.root)
    yield f"  set SHOWRUNNER_BOOK={root}" if os.name == "nt" else f"  export SHOWRUNNER_BOOK={shlex.quote(root)}"
    for line, does in _next(done):
        yield f"  {line}"
        yield f"      {does}"


def _heading(place: int, text: str) -> Iterator[str]:
    if place > 1:
        yield ""
    yield from paragraph(f"{place}. {text}", hang=3)
    yield ""


def _findings(done: Demo, rig: str, found: tuple[Finding, ...]) -> Iterator[str]:
    book = done.reading.book
    open_ones = [finding for finding in found if finding.silenced is None]
    yield from paragraph(summary(book, done.show, rig, open_ones), hang=2)
    for finding in open_ones:
        song = book.songs.get(finding.song or "")
        about = f"{song.title}: " if song is not None else ""
        yield from paragraph(f"{finding.level}: {about}{finding.what}", 2, 6)


def _next(done: Demo) -> list[tuple[str, str]]:
    song = next(iter(done.reading.book.shows[done.show].songs))
    return [
        (f"showrunner check {done.show} --rig {SMALL}", "the findings again, with files, lines and what to do"),
        (f"showrunner curve {song} --plot", "what the pedals of the first song move, and where"),
        (f"showrunner sheet {done.show} --for crew", "the sheet for the crew"),
        (f"showrunner replay {done.take} --rig {SMALL}", "the same take on the small rig"),
        ("showrunner init my-book", "a book of your own"),
    ]
