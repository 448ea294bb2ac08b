"""`rehearse`: a song, a part of one, a changeover or a whole show by the clock, kept as a take."""

import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import click

from showrunner.cli.common import Call, command, find, find_show, open_book, trouble
from showrunner.cli.output import caution, print_json, print_lines
from showrunner.cli.rehearsal_words import Says
from showrunner.cli.replay import read, take_file
from showrunner.cli.reviewing import review_data, review_lines
from showrunner.live.ports import PortError
from showrunner.live.rehearsing import Rehearsal, Told
from showrunner.live.room import Room, by_take, played, run_fast, run_take
from showrunner.live.staging import Staged
from showrunner.model.cautions import REAL_PORTS
from showrunner.model.library import Book, title_of
from showrunner.model.rig import Rig
from showrunner.planning.rehearsals import Plan, RehearsalError, Wanted, plan_of
from showrunner.state.events import Asked, Notice
from showrunner.takes.reviewing import review_of
from showrunner.takes.smf import TakeError, read_take
from showrunner.takes.take import Take

if TYPE_CHECKING:
    from showrunner.book.read import Reading

INCOMPLETE = 2
"""What the program ends with where a take lacks something."""


@command(
    examples=(
        "showrunner rehearse saltmarsh-signal --simulated --fast",
        "showrunner rehearse saltmarsh-signal --from Theme --to Solo --times 5",
        "showrunner rehearse pellmarsh-hall --loop heron-clock --times 5 --foot",
        'showrunner rehearse pellmarsh-hall --loop "eel-road to withy-boats" --foot',
        "showrunner rehearse heron-clock --no-count --simulated",
        "showrunner rehearse saltmarsh-signal --take saltmarsh-signal/2026-11-14",
    )
)
@click.argument("what", metavar="SHOW|SONG")
@click.option("--rig", metavar="RIG", help="The rig; else the show's, or the book's usual one.")
@click.option("--from", "start", metavar="CUE", help="Start at this cue of the song.")
@click.option("--to", "stop", metavar="CUE", help="Stop as this cue is taken.")
@click.option(
    "--loop", "into", metavar="CHANGEOVER", help='Only this changeover of the show: the song it leads to, or "A to B".'
)
@click.option(
    "--times",
    type=click.IntRange(0, 100),
    default=1,
    show_default=True,
    help="So many times through; 0: round and round, until Ctrl-C.",
)
@click.option(
    "--foot", is_flag=True, help="Cues are taken by foot, or with Enter, and back with b; the clock only counts."
)
@click.option("--count/--no-count", default=True, help="Whether songs are counted in; they are unless told.")
@click.option("--take", metavar="TAKE", help="A take plays, instead of anybody.")
@click.option("--simulated", is_flag=True, help="Without hardware: nothing is sent, and nothing heard.")
@click.option("--fast", is_flag=True, help="As fast as it goes, without hardware; kept only with --keep.")
@click.option("--keep/--no-keep", default=None, help="Whether the take is kept in the book.")
@click.option("--clock", metavar="PORT", help="Send MIDI clock, start and stop to this port of the rig.")
def rehearse(call: Call, what: str, **asked: Any) -> int:
    """Rehearse by the clock: count-in, cues at their places, changeovers; and say how it went.

    What came in and went out is kept as a take, which replay, takes and progress read.
    """
    reading = open_book(call)
    kind, slug = find(reading, what, "show", "song")
    wanted = _wanted(reading, kind, slug, asked)
    how = _how(reading, asked)
    try:
        plan = plan_of(reading.book, wanted)
    except RehearsalError as error:
        raise trouble(error.what, error.mend or None) from error
    if how.player is not None:
        _check_player(reading.book, plan, asked["take"], how.player)
    with TemporaryDirectory() as scratch:
        takes = reading.root / "takes" if how.keeps else Path(scratch)
        with nullcontext() if how.without_ports else _held(reading, plan.script.rig, wanted):
            done = _play(plan, wanted, how, takes, Says(plan, quiet=call.json, by_foot=wanted.by_foot))
        found = review_of(reading.book, read_take(done.take), wanted.rig, plan.filed)
    name = f"{plan.filed}/{done.take.stem}" if how.keeps else None
    if call.json:
        steps = [_told(one) for one in done.told if isinstance(one.what, Notice)]
        data = {"of": slug, "rig": wanted.rig, "take": name, "steps": steps}
        print_json({**data, "trouble": done.trouble or None, **review_data(found)})
    else:
        click.echo()
        print_lines(review_lines(reading.book, found))
        if name is not None:
            click.echo(f"kept as {name}")
    if done.trouble:
        click.echo(done.trouble, err=True)
    return INCOMPLETE if done.trouble else 0


class _How(NamedTuple):
    """How a rehearsal goes: over ports or none, in its own time or fast, by a take's hands or anybody's, and kept."""

    without_ports: bool
    fast: bool
    player: Take | None
    keeps: bool


class _Done(NamedTuple):
    """A rehearsal that is over: its take's file, what was told on the way, and what is wrong with the take."""

    take: Path
    told: list[Told]
    trouble: str


def _how(reading: "Reading", asked: Mapping[str, Any]) -> _How:
    fast, take = asked["fast"], asked["take"]
    if asked["times"] == 0 and (fast or take is not None):
        raise click.UsageError("--times 0 goes round and round, until Ctrl-C; not with --fast or --take")
    player = None if take is None else read(take_file(reading, take))
    keeps = asked["keep"] if asked["keep"] is not None else not (fast or take is not None)
    return _How(asked["simulated"] or fast, fast, player, keeps)


def _check_player(book: Book, plan: Plan, name: str, take: Take) -> None:
    """Say so where a take goes through nothing of what it is to play."""
    played = dict.fromkeys(cue.song for cue in take.cues)
    if played and not played.keys() & plan.script.pieces.keys():
        of, wanted = (", ".join(title_of(book.songs, song) for song in songs) for songs in (played, plan.script.order))
        click.echo(f"{name} is of {of}; what was pressed there need not fit {wanted}", err=True)


def _play(plan: Plan, wanted: Wanted, how: _How, takes: Path, says: Says) -> _Done:
    """Play the plan; its take is put in order however it ends."""
    told: list[Told] = []

    def tell(one: Told) -> None:
        told.append(one)
        says.tell(one)

    room = None
    try:
        room = Room(plan.script, None if how.without_ports else _system(), lambda say: click.echo(say, err=True))
        playing = plan if how.player is None else by_take(plan, how.player)
        staged = _staged(playing, wanted, takes, room, tell)
        try:
            if how.fast and how.player is not None:
                run_take(staged.rehearsal, how.player)
            elif how.fast:
                run_fast(staged.rehearsal)
            else:
                _in_time(room, staged.rehearsal, how.player)
        finally:
            path = staged.close()
        return _Done(path, told, staged.trouble)
    except PortError as error:
        raise trouble(str(error), "try --simulated without hardware") from error
    except TakeError as error:
        raise trouble(f"the take is gone or was changed meanwhile: {error.what}", f"look at {takes}") from error
    finally:
        if room is not None:
            room.close()


def _staged(plan: Plan, wanted: Wanted, takes: Path, room: Room, tell: Callable[[Told], None]) -> Staged:
    try:
        return Staged(plan, wanted, takes, room.send, tell)
    except BrokenPipeError:
        raise
    except OSError as error:
        raise trouble(f"the take can't be written: {error.strerror}", f"look at {takes}, or say --no-keep") from error


def _in_time(room: Room, rehearsal: Rehearsal, player: Take | None) -> None:
    """In its own time, with Enter as next where there is a keyboard."""
    if sys.stdin.isatty():
        threading.Thread(target=_keys, args=(room,), daemon=True).start()
    if not room.run(rehearsal, played(rehearsal.script, player) if player is not None else ()):
        click.echo()


def _keys(room: Room) -> None:
    for line in sys.stdin:
        step: Literal["next", "back"] = "back" if line.strip() == "b" else "next"
        room.do(lambda rehearsal, at_s, step=step: rehearsal.ask(Asked(at_s, step)))  # type: ignore[misc]


def _rig(reading: "Reading", kind: str, slug: str, word: str | None) -> str:
    show = reading.book.shows[slug] if kind == "show" else None
    found = word or reading.book.rig_of(show)
    if found is None:
        raise trouble("nothing says which rig to rehearse on", "name one with --rig RIG")
    return find(reading, found, "rig")[1]


def _wanted(reading: "Reading", kind: str, slug: str, asked: Mapping[str, Any]) -> Wanted:
    """What is to be rehearsed; wrong usage where the options do not go with it."""
    start, stop, into, times = asked["start"], asked["stop"], asked["into"], asked["times"]
    if kind == "show":
        find_show(reading, f"show/{slug}")
    wanted = Wanted(
        _rig(reading, kind, slug, asked["rig"]),
        times=times or None,
        by_foot=asked["foot"],
        clock_to=asked["clock"],
        counted=asked["count"],
    )
    if kind == "song":
        if into is not None:
            raise click.UsageError("--loop is for a show; a song is looped with --from, --to and --times")
        return wanted._replace(song=slug, start=start, stop=stop)
    if start is not None or stop is not None:
        raise click.UsageError("--from and --to are for a song; name the song instead of the show")
    if into is not None:
        return wanted._replace(song=_changeover(reading, slug, into), show=slug)
    if times != 1:
        raise click.UsageError("--times is for a song, or for a changeover named with --loop")
    return wanted._replace(show=slug)


def _changeover(reading: "Reading", show: str, word: str) -> str:
    """The song that a changeover leads to: named by it, or as "FROM to INTO"."""
    before, to, into = word.rpartition(" to ")
    song = find(reading, into.strip(), "song")[1]
    if to:
        before = find(reading, before.strip(), "song")[1]
        the_show = reading.book.shows[show]
        if (before, song) not in pairwise((*the_show.set_songs, *the_show.encore)):
            raise trouble(f'no changeover of this show leads from "{before}" to "{song}"', "name the song it leads to")
    return song


@contextmanager
def _held(reading: "Reading", rig: Rig, wanted: Wanted) -> Iterator[None]:
    """The rig's ports are kept for the rehearsal while the block runs; Trouble where others have them."""
    from showrunner.live.holding import HeldError, holding, rehearsal_on

    try:
        with holding(rehearsal_on(rig, wanted.title(reading.book), reading.root)) as hold:
            caution(REAL_PORTS)
            if hold.trouble:
                caution(hold.trouble)
            yield
    except HeldError as error:
        raise trouble(error.what, f"{error.mend}, or rehearse with --simulated") from error


def _system() -> Any:
    from showrunner.live.kept import real_system

    return real_system()


def _told(one: Told) -> dict[str, Any]:
    notice = one.what
    assert isinstance(notice, Notice)
    return {"at_s": one.at_s, **notice._asdict()}
