"""The command line's entry: a table of commands, each loaded only when it runs."""

import os
import sys
from collections.abc import Mapping
from typing import Any, NamedTuple

import click

from showrunner.model.visible import shown


class Entry(NamedTuple):
    """Where a command is, and its line in the overview."""

    module: str
    function: str
    help: str


COMMANDS: Mapping[str, Entry] = {
    "demo": Entry("showrunner.cli.demo", "demo", "the whole job on the demo book, no hardware"),
    "init": Entry("showrunner.cli.starting", "init", "a new book, or a copy of the demo book"),
    "new": Entry("showrunner.cli.starting", "new", "a new song, rig, venue, show or checklist"),
    "schema": Entry("showrunner.cli.starting", "schema", "what a file may hold, as JSON Schema for editors"),
    "list": Entry("showrunner.cli.listing", "list_", "the songs, rigs, venues, shows or checklists of the book"),
    "read": Entry("showrunner.cli.listing", "read", "what one song, rig, venue, show or checklist says"),
    "check": Entry("showrunner.cli.check", "check", "what will go wrong, before it does"),
    "rigs": Entry("showrunner.cli.rigs", "rigs", "what a second rig lacks, adds and has otherwise"),
    "standins": Entry("showrunner.cli.standins", "standins", "what does the work of controls that a rig lacks"),
    "curve": Entry("showrunner.cli.curve", "curve", "what each pedal of a song does over its travel"),
    "time": Entry("showrunner.cli.time", "time", "when each song starts and when the show ends"),
    "changeovers": Entry("showrunner.cli.changeovers", "changeovers_", "what hands and feet do between songs"),
    "order": Entry("showrunner.cli.order", "order", "the order of songs that takes least time in changeovers"),
    "batteries": Entry("showrunner.cli.batteries", "batteries", "whether each battery lasts the show"),
    "trims": Entry("showrunner.cli.trims", "trims", "gain and volume of each song tonight, and the headroom left"),
    "soundcheck": Entry("showrunner.cli.soundcheck", "soundcheck", "what to play so that everything is heard once"),
    "levels": Entry("showrunner.cli.levels", "levels", "how loud recordings are, and the trims that match them"),
    "exposure": Entry("showrunner.cli.exposure", "exposure", "the day's sound dose, and what is left of it"),
    "sheet": Entry("showrunner.cli.sheet", "sheet", "cue sheets for the floor, the player, the crew and the desk"),
    "pack": Entry("showrunner.cli.packing", "pack", "a show and all it needs as one file, for another machine"),
    "unpack": Entry("showrunner.cli.packing", "unpack", "a packed show put into a book, nothing of it overwritten"),
    "ports": Entry("showrunner.cli.live", "ports", "the MIDI ports that are there, and which the rig's are"),
    "listen": Entry("showrunner.cli.live", "listen", "what is heard, by control, with its travel"),
    "checklist": Entry("showrunner.cli.checklist", "checklist", "a show's checklists, asked one item at a time"),
    "play": Entry("showrunner.cli.live", "play", "play a show; it plays on when the screen is closed"),
    "calibrate": Entry("showrunner.cli.calibrate", "calibrate", "a pedal's reach and response, found by asking"),
    "rehearse": Entry("showrunner.cli.rehearse", "rehearse", "a song, a changeover or a show by the clock"),
    "takes": Entry("showrunner.cli.takes", "takes", "what was kept of a song's rehearsals, and how it went"),
    "progress": Entry("showrunner.cli.takes", "progress", "what fails most over all takes; what to practise next"),
    "log": Entry("showrunner.cli.night", "log", "what the night really took, against what was planned"),
    "replay": Entry("showrunner.cli.replay", "replay", "what a take would send with the book as it is now"),
}
"""Every command, in the order of the job."""

MEANT = {"show": "read"}
"""Words that no command has, with the command that is meant: a show is a document here."""

WRONG_USAGE = 2
PIPE_CLOSED = 141
INTERRUPTED = 130


class Program(click.Group):
    """A group that knows its commands from the table and imports none before it runs."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names of all commands, in the table's order."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """The command of that name, its module imported now; None if there is none."""
        entry = COMMANDS.get(cmd_name)
        if entry is None:
            return None
        from importlib import import_module

        command: click.Command = getattr(import_module(entry.module), entry.function)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the first word names; for any other word an error with the nearest name."""
        command = self.get_command(ctx, args[0])
        if command is None and not ctx.resilient_parsing:
            from showrunner.model.nearest import nearest

            near = MEANT.get(args[0]) or nearest(args[0], COMMANDS)
            ctx.fail(f'no command "{args[0]}"' + (f'; did you mean "{near}"?' if near else ""))
        return args[0], command, args[1:]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """The overview, from the table alone."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, entry.help) for name, entry in COMMANDS.items()])

    def invoke(self, ctx: click.Context) -> Any:
        """Runs the command; a reader that closed the pipe ends it quietly."""
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            ctx.exit(PIPE_CLOSED)

    def main(self, args: Any = None, prog_name: str | None = None, **extra: Any) -> Any:  # type: ignore[override]
        """Runs the program and exits: 0 fine, 1 findings of level error, 2 wrong usage or unreadable input."""
        if not extra.pop("standalone_mode", True):
            return super().main(args, prog_name, standalone_mode=False, **extra)
        wants_json = "--json" in (sys.argv[1:] if args is None else args)
        sys.stdout, sys.stderr = shown(sys.stdout), shown(sys.stderr)
        try:
            code = super().main(args, prog_name, standalone_mode=False, **extra)
        except click.Abort:
            code = INTERRUPTED
        except click.ClickException as trouble:
            if wants_json:
                from showrunner.cli.common import print_errors

                print_errors(trouble)
            else:
                trouble.show()
            code = WRONG_USAGE
        sys.exit(code if isinstance(code, int) else 0)


def _print_version(ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from importlib.metadata import version

        click.echo(f"showrunner {version('showrunner')}")
        ctx.exit()


@click.group(cls=Program, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--book",
    metavar="PATH",
    envvar="SHOWRUNNER_BOOK",
    help="The book: the folder with songs, rigs, venues and shows. May stand after the command too. "
    "Without it SHOWRUNNER_BOOK is used, else the book in your data folder.",
)
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=_print_version, help="The version."
)
@click.pass_context
def program(ctx: click.Context, book: str | None) -> None:
    """Showrunner keeps the show of a guitarist who plays through a laptop: songs and their pedals, rigs, rooms,
    setlists; finds what will go wrong, prints the cue sheets and runs the night."""
    ctx.obj = book
    if ctx.invoked_subcommand is None:
        from showrunner.cli.entry import LINES_ONLY, takes_lines_only, takes_screens

        if takes_screens() and sys.stdin.isatty():
            _open_screens(book)
            return
        if takes_lines_only():
            click.echo(f"{LINES_ONLY}: the screens can't be shown. What they do, these commands do in lines.\n")
        click.echo(ctx.get_help())
        click.echo("\nNew here? Try:  showrunner demo")


def _open_screens(book: str | None) -> None:
    """The screens on a book, loaded only here."""
    from showrunner.cli.common import Call, trouble

    root = Call(book).root
    if not root.is_dir():
        ways = "make one with showrunner init PATH --demo, or name another with --book PATH or SHOWRUNNER_BOOK"
        raise trouble(f"there is no book at {root}", ways)
    from showrunner.tui.app import open_book

    open_book(root)


def main() -> None:
    """The console script."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="replace" if stream is sys.stdout else "backslashreplace")  # type: ignore[union-attr]
    program()
