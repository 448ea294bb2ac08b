"""`ports`, `listen` and `play`: what is plugged in, what is heard, and the show itself."""

import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from showrunner.cli.common import Call, command, find, find_show, open_book, rig_for, tonight, trouble
from showrunner.cli.entry import LINES_ONLY, takes_lines_only, takes_screens
from showrunner.cli.output import caution, columns, print_json, print_lines
from showrunner.cli.resuming import goes_on, resumed, say_refused
from showrunner.cli.status import tell_status
from showrunner.live.seen import SIMULATED
from showrunner.model.cautions import LOUDER, REAL_PORTS

if TYPE_CHECKING:
    from showrunner.book.read import Reading
    from showrunner.model.rig import Rig

LISTENS_EVERY_S = 0.02
SHOWS_EVERY_S = 0.25


@command(examples=("showrunner ports", "showrunner ports full", "showrunner ports full --json"))
@click.argument("rig", required=False)
def ports(call: Call, rig: str | None) -> int:
    """The system's MIDI ports, and which of them each port of a rig is. Exit 1 if one of the rig's is missing."""
    from showrunner.live.patching import ambiguous
    from showrunner.live.patterns import choose
    from showrunner.live.ports import PortError
    from showrunner.live.system import system_ports

    the_rig = _rig(call, rig)
    try:
        there = system_ports()
    except PortError as error:
        raise trouble(f"the system's MIDI ports can't be listed: {error}") from error
    rows: list[dict[str, Any]] = []
    several = ambiguous(the_rig, there.inputs, there.outputs) if the_rig is not None else {}
    for name, port in (the_rig.ports if the_rig is not None else {}).items():
        for side, pattern, names in (("input", port.input, there.inputs), ("output", port.output, there.outputs)):
            if pattern is not None:
                found = choose(pattern, names)
                rows.append(
                    {"port": name, "side": side, "pattern": pattern, "is": found, "fits": several.get(f"{name}.{side}")}
                )
        if port.virtual is not None:
            rows.append({"port": name, "side": "output", "pattern": None, "is": f"made: {port.virtual}", "fits": None})
    if call.json:
        print_json({"inputs": there.inputs, "outputs": there.outputs, "rig": rows})
    else:
        print_lines(_port_lines(there.inputs, there.outputs, rows))
    return 1 if any(row["is"] is None for row in rows) else 0


def _port_lines(inputs: tuple[str, ...], outputs: tuple[str, ...], rows: list[dict[str, Any]]) -> Iterator[str]:
    for title, names in (("Inputs", inputs), ("Outputs", outputs)):
        yield title
        yield from (f"  {name}" for name in names)
        if not names:
            yield "  none"
    if rows:
        yield "The rig's ports"
        yield from columns(
            [(row["port"], row["side"], row["is"] or f"missing: nothing fits {row['pattern']}") for row in rows]
        )
    for row in rows:
        if row["fits"]:
            yield f'"{row["pattern"]}" fits {", ".join(row["fits"])}: write more of the name'


@command(examples=("showrunner listen", "showrunner listen full", "showrunner listen full --for 10"), json=False)
@click.argument("rig", required=False)
@click.option("--for", "for_s", type=click.FloatRange(0), help="End after this many seconds.")
def listen(call: Call, rig: str | None, for_s: float | None) -> None:
    """What is heard, by control, with its travel: on a rig's ports, or on every input of the system."""
    from showrunner.live.hearing import Hearing
    from showrunner.live.kept import real_system
    from showrunner.live.ports import PortError

    hearing = Hearing(_rig(call, rig), real_system())
    until_s = None if for_s is None else time.perf_counter() + for_s
    try:
        while until_s is None or time.perf_counter() < until_s:
            for line in hearing.lines(time.perf_counter()):
                click.echo(line)
            sys.stdout.flush()
            time.sleep(LISTENS_EVERY_S)
    except PortError as error:
        raise trouble(str(error)) from error
    except KeyboardInterrupt:
        click.echo()
    finally:
        hearing.close()


@command(
    examples=(
        "showrunner play pellmarsh-hall",
        "showrunner play pellmarsh-hall --full-house",
        "showrunner play pellmarsh-hall --simulated",
        "showrunner play pellmarsh-hall --plain",
        "showrunner play pellmarsh-hall --resume",
        "showrunner play pellmarsh-hall --status --json",
        "showrunner play pellmarsh-hall --end",
    )
)
@click.argument("show")
@click.option("--rig", metavar="RIG", help="Play on this rig instead of the show's own or the book's usual one.")
@click.option("--simulated", is_flag=True, help="Play without hardware: keys move the controls.")
@click.option("--full-house", is_flag=True, help="Add the room's trim for an audience to the interface volume.")
@click.option("--resume", is_flag=True, help="Go on with the run that broke off, as it was begun.")
@click.option("--begin", is_flag=True, help="Begin at the first song, and give up a run that broke off.")
@click.option("--plain", is_flag=True, help="Print what happens as lines, for a screen reader or a pipe.")
@click.option("--status", is_flag=True, help="Say where the running show stands. Exit 1 if it is not running.")
@click.option("--end", "ends", is_flag=True, help="End the running show.")
def play(call: Call, show: str, rig: str | None, plain: bool, status: bool, ends: bool, **how: bool) -> int:
    """Play a show: join it if it is running, else begin it.

    The show plays on in processes of its own. Closing this screen, or Ctrl-C, ends the screen and not the show:
    open it again and it finds its place. --end ends the show.

    A show that is played with --simulated is joined with --simulated; it is no night, and nothing of it is filed. One
    that plays on real ports can't be tried meanwhile, nor the other way round: that is said, and asked.

    No show is begun on ports that another show or a rehearsal on this machine has; which one is said.

    A run that broke off, because the machine went off or all of it was killed, goes on where it stood if it is what is
    asked for now. One on another rig, without hardware or with it, of another date, of a book that has changed since,
    or from more than 12 hours ago is named, and you are asked; --resume and --begin say it at once.
    """
    if how["resume"] and how["begin"]:
        raise click.UsageError("--resume and --begin go one at a time")
    if plain + status + ends > 1:
        raise click.UsageError("--plain, --status and --end go one at a time")
    from showrunner.live.link import LinkError
    from showrunner.live.night import NightError

    run = _run_of(call, show, rig)
    try:
        if status:
            return tell_status(call, run.show, run.folder)
        if ends:
            return _end(call, run.show, run.folder, only_simulated=how["simulated"])
        client = _client(call, run, **how)
    except LinkError as error:
        raise trouble(str(error)) from error
    except NightError as error:
        raise trouble(f"{run.show} is being played, and can't be followed: {error}", "--end ends it") from error
    if plain or call.json or not takes_screens():
        if not (plain or call.json) and takes_lines_only():
            click.echo(f"{LINES_ONLY}: the show is told in lines, as with --plain", err=True)
        return _follow(client)
    from showrunner.tui.app import play as open_screen

    try:
        return open_screen(call.root, client)
    finally:
        client.close()


class _Run(NamedTuple):
    """A show that is asked for, the folder of its run, and the book to begin it from; None where it runs already."""

    show: str
    folder: Path
    reading: "Reading | None" = None
    rig: str | None = None


def _run_of(call: Call, show: str, rig: str | None) -> _Run:
    """The run of a show: the one under way without a look at the book, which may be half edited."""
    from showrunner.live.folder import run_folder
    from showrunner.live.link import running_show

    folder = running_show(call.root, show) if rig is None else None
    if folder is not None:
        return _Run(show.rpartition("/")[2], folder)
    reading = open_book(call)
    rig = find(reading, rig, "rig")[1] if rig is not None else None
    slug = find_show(reading, show, rig)
    return _Run(slug, run_folder(call.root, slug), reading, rig)


def _client(call: Call, run: _Run, *, simulated: bool, full_house: bool, resume: bool, begin: bool) -> Any:
    """A way to the run, begun if it is not under way."""
    from showrunner.live.launch import end, played_for_real, way_played

    way = way_played(run.folder)
    if way == "real" and simulated:
        what = f"{run.show} is being played on real ports"
        _ask(f"{what}: keys would step the show itself. Join it?", what, "leave --simulated out to join it")
    elif way == "simulated" and not simulated:
        what = f"{run.show} is being played simulated, without hardware"
        _ask(f"{what}. End that and play it on real ports?", what, "--simulated joins it, and --end ends it")
        end(run.folder)
        way, run = None, _run_of(call, run.show, run.rig)
    if way is not None and begin:
        raise trouble(f"{run.show} is being played", "leave --begin out to join it, or --end it first")
    if way is not None:
        return _joined(run, full_house=full_house)
    if resume:
        return resumed(run.show, run.folder)
    reading = run.reading if run.reading is not None else open_book(call)
    other = played_for_real(call.root, reading.book.shows) if simulated else None
    if other is not None:
        what = f"{other} is being played on real ports"
        _ask(f"{what}, and plays on. Try {run.show} without hardware beside it?", what, "end it first")
    return _begun(run._replace(reading=reading), simulated=simulated, full_house=full_house, begin=begin)


def _ask(question: str, what: str, mend: str) -> None:
    """Go on only if the player says so; Trouble where that is not said, or nobody can be asked."""
    if not (_asks() and click.confirm(question, err=True)):
        raise trouble(what, mend)


def _asks() -> bool:
    """Whether there is somebody to ask."""
    return sys.stdin.isatty()


def _joined(run: _Run, *, full_house: bool) -> Any:
    """A way to the run that is under way; Trouble where it has not the full house or the rig that is asked for."""
    from showrunner.live.launch import join
    from showrunner.live.night import read_night

    night = read_night(run.folder) if full_house or run.rig is not None else None
    if night is not None and run.rig not in (None, night.rig):
        what = f"{run.show} is being played on the rig {night.rig}"
        raise trouble(what, "leave --rig out to join it, or --end it first")
    if night is not None and full_house and not night.full_house:
        raise trouble(f"{run.show} was begun for an empty room", "leave --full-house out to join it, or --end it first")
    return join(run.folder)


def _begun(run: _Run, *, simulated: bool, full_house: bool, begin: bool) -> Any:
    """A way to the run, begun now, or gone on with as it was begun; with `begin` in no case that."""
    from showrunner.live.launch import BrokeOffError, attach, give_up
    from showrunner.live.night import night_of

    assert run.reading is not None
    used = rig_for(run.reading, run.show, run.rig)
    if not simulated:
        caution(REAL_PORTS)
        if full_house and run.reading.book.full_house_db(run.show) > 0:
            caution(LOUDER)
    log = str((run.reading.root / "runs" / run.show / f"{tonight()}.jsonl").resolve())
    night = night_of(run.reading.book, run.show, used, log=log, simulated=simulated, full_house=full_house)
    try:
        if not begin:
            say_refused(run.folder)
            return attach(run.folder, night)
    except BrokeOffError as error:
        if goes_on(error, asks=_asks()):
            return resumed(run.show, run.folder)
    give_up(run.folder)
    return attach(run.folder, night)


def _follow(client: Any) -> int:
    from showrunner.cli.plain import lines

    since_s = -1.0
    if client.simulated:
        click.echo(f"{SIMULATED}: nothing is sent to any port")
    try:
        while True:
            picture = client.picture()
            for at_s, line in lines(client, picture, since_s):
                click.echo(line)
                since_s = max(since_s, at_s)
            sys.stdout.flush()
            if picture.engine == "ended":
                click.echo("the show was ended")
                return 0
            client.wait(SHOWS_EVERY_S)
    except KeyboardInterrupt:
        click.echo("\nthe show plays on", err=True)
        return 0
    finally:
        client.close()


def _end(call: Call, slug: str, folder: Path, *, only_simulated: bool) -> int:
    from showrunner.live.launch import end, way_played

    if only_simulated and way_played(folder) == "real":
        raise trouble(f"{slug} is being played on real ports", "leave --simulated out to end it")
    there = end(folder)
    if call.json:
        print_json({"show": slug, "ended": there})
    else:
        click.echo(f"{slug} has ended" if there else f"{slug} was not running")
    return 0


def _rig(call: Call, word: str | None) -> "Rig | None":
    if word is None and not (call.book is not None or call.root.is_dir()):
        return None
    reading = open_book(call)
    slug = find(reading, word, "rig")[1] if word is not None else reading.book.rig_of()
    return reading.book.rigs.get(slug) if slug is not None else None
