"""`rehearse`: a song, a part of one, a changeover or a whole show by the clock, kept as a take."""

import sys
import threading
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import click

from showrunner.cli.common import Call, command, find, find_show, open_book, trouble
from showrunner.cli.output import print_json, print_lines
from showrunner.cli.rehearsal_words import Says
from showrunner.cli.replay import read, take_file
from showrunner.cli.reviewing import review_data, review_lines
from showrunner.live.ports import PortError
from showrunner.live.rehearsing import Rehearsal, Told
from showrunner.live.room import Room, run_fast, run_take
from showrunner.model.rig import Rig
from showrunner.planning.rehearsals import Plan, RehearsalError, change_plan, show_plan, song_plan
from showrunner.state.events import Asked, Notice
from showrunner.state.rehearsal import Part, with_pulses
from showrunner.takes.recorder import Recorder
from showrunner.takes.reviewing import review_of
from showrunner.takes.smf import read_take
from showrunner.takes.take import Take

if TYPE_CHECKING:
    from showrunner.book.read import Reading


@command(
    examples=(
        "showrunner rehearse saltmarsh-signal --simulated --fast",
        "showrunner rehearse saltmarsh-signal --from Theme --to Solo --times 5",
        "showrunner rehearse pellmarsh-hall --loop heron-clock --times 5 --foot",
        "showrunner rehearse low-lantern --take low-lantern/2026-11-14 --fast",
    )
)
@click.argument("what", metavar="SHOW|SONG")
@click.option("--rig", metavar="RIG", help="The rig; else the show's, or the book's usual one.")
@click.option("--from", "start", metavar="CUE", help="Start at this cue of the song.")
@click.option("--to", "stop", metavar="CUE", help="Stop as this cue is taken.")
@click.option("--loop", "into", metavar="SONG", help="Only the changeover of the show that leads to this song.")
@click.option("--times", type=click.IntRange(1, 100), default=1, show_default=True, help="So many times through.")
@click.option("--foot", is_flag=True, help="Cues are taken by foot, or with Enter; the clock only counts.")
@click.option("--take", metavar="TAKE", help="A take plays, instead of anybody.")
@click.option("--simulated", is_flag=True, help="Without hardware: nothing is sent, and nothing heard.")
@click.option("--fast", is_flag=True, help="As fast as it goes, without hardware; kept only with --keep.")
@click.option("--keep/--no-keep", default=None, help="Whether the take is kept in the book.")
@click.option("--clock", metavar="PORT", help="Send MIDI clock, start and stop to this port of the rig.")
def rehearse(
    call: Call,
    what: str,
    rig: str | None,
    start: str | None,
    stop: str | None,
    into: str | None,
    times: int,
    foot: bool,
    take: str | None,
    simulated: bool,
    fast: bool,
    keep: bool | None,
    clock: str | None,
) -> None:
    """Rehearse by the clock: count-in, cues at their places, changeovers; and say how it went.

    What came in and went out is kept as a take, which replay, takes and progress read.
    """
    reading = open_book(call)
    kind, slug = find(reading, what, "show", "song")
    if kind == "show":
        find_show(reading, what)
    rig_slug = _rig(reading, kind, slug, rig)
    try:
        plan = _plan(reading, kind, slug, rig_slug, start=start, stop=stop, into=into, times=times)
    except RehearsalError as error:
        raise trouble(error.what, error.mend or None) from error
    the_rig = reading.book.rigs[rig_slug]
    if clock is not None:
        _check_port(the_rig, clock)
        plan = plan._replace(part=with_pulses(plan.part, plan.script.pieces))
    player = None if take is None else read(take_file(reading, take))
    keeps = keep if keep is not None else not (fast or take is not None)
    how = _How(foot, simulated or fast, fast, clock, player)
    told: list[Told] = []
    with TemporaryDirectory() as scratch:
        path = _path(reading.root / "takes" if keeps else Path(scratch), plan.filed)
        recorder = Recorder(path, show=slug if kind == "show" else None, rig=rig_slug, song=plan.filed)
        _play(plan, how, recorder, told, Says(plan, quiet=call.json, by_foot=foot))
        found = review_of(reading.book, read_take(path), rig_slug, plan.filed)
    name = f"{plan.filed}/{path.stem}" if keeps else None
    if call.json:
        steps = [_told(one) for one in told if isinstance(one.what, Notice)]
        print_json({"of": slug, "rig": rig_slug, "take": name, "steps": steps, **review_data(found)})
        return
    click.echo()
    print_lines(review_lines(reading.book, found))
    if name is not None:
        click.echo(f"kept as {name}")


class _How(NamedTuple):
    """How a rehearsal goes: by foot or by the clock, over ports or none, in its own time or fast, by a take's hands."""

    by_foot: bool
    without_ports: bool
    fast: bool
    clock_to: str | None
    player: Take | None


def _play(plan: Plan, how: _How, recorder: Recorder, told: list[Told], says: Says) -> None:
    """Play the plan; the take is put in order however it ends."""

    def tell(one: Told) -> None:
        told.append(one)
        says.tell(one)

    part = plan.part if how.player is None else Part((), _ends_s(how.player))
    try:
        room = Room(plan.script, None if how.without_ports else _system(), lambda say: click.echo(say, err=True))
        try:
            rehearsal = Rehearsal(
                plan.script, part, room.send, tell, recorder=recorder, by_foot=how.by_foot, clock_to=how.clock_to
            )
            if how.player is not None:
                run_take(rehearsal, how.player, (lambda _at_s: None) if how.fast else room.wait)
            elif how.fast:
                run_fast(rehearsal)
            else:
                _in_time(room, rehearsal)
        finally:
            room.close()
    except PortError as error:
        recorder.discard()
        raise trouble(str(error), "try --simulated without hardware") from error
    except BaseException:
        recorder.close()
        raise
    recorder.close()


def _in_time(room: Room, rehearsal: Rehearsal) -> None:
    """In its own time, with Enter as next where there is a keyboard."""
    if sys.stdin.isatty():
        threading.Thread(target=_keys, args=(room,), daemon=True).start()
    if not room.run(rehearsal):
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


def _plan(
    reading: "Reading",
    kind: str,
    slug: str,
    rig: str,
    *,
    start: str | None,
    stop: str | None,
    into: str | None,
    times: int,
) -> Plan:
    if kind == "song":
        if into is not None:
            raise click.UsageError("--loop is for a show; a song is looped with --from, --to and --times")
        return song_plan(reading.book, slug, rig, start, stop, times)
    if start is not None or stop is not None:
        raise click.UsageError("--from and --to are for a song; name the song instead of the show")
    if into is not None:
        return change_plan(reading.book, slug, rig, find(reading, into, "song")[1], times)
    if times > 1:
        raise click.UsageError("--times is for a song, or for a changeover named with --loop")
    return show_plan(reading.book, slug, rig)


def _check_port(rig: Rig, name: str) -> None:
    if name not in rig.ports or not rig.ports[name].sends:
        there = ", ".join(port for port, of in rig.ports.items() if of.sends)
        raise trouble(f'{rig.title} sends nothing to a port "{name}"', f"it sends to {there or 'none'}")


def _system() -> Any:
    from showrunner.live.binding import RtMidiSystem

    return RtMidiSystem()


def _path(folder: Path, song: str) -> Path:
    """A file that is not there yet, by the date and the minute."""
    stem = datetime.now().strftime("%Y-%m-%d-%H%M")
    path, number = folder / song / f"{stem}.mid", 2
    while path.exists():
        path, number = path.with_stem(f"{stem}-{number}"), number + 1
    return path


def _ends_s(take: Take) -> float:
    return max((row.at_s for rows in (take.events, take.cues, take.asks) for row in rows), default=0.0)


def _told(one: Told) -> dict[str, Any]:
    notice = one.what
    assert isinstance(notice, Notice)
    return {"at_s": one.at_s, **notice._asdict()}
