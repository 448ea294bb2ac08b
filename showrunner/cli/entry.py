"""The console script: what opens a screen goes the short way there, everything else is a command of `cli.main`."""

import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from showrunner.model.visible import shown

LINES_ONLY = "TERM says that this terminal takes only lines"


class Wish(NamedTuple):
    """A screen that is asked for: of the book named, and of a show to be played if it is not the book's, and how."""

    book: str | None
    show: str | None = None
    simulated: bool = False


def wish(words: Sequence[str]) -> Wish | None:
    """The screen that the command line asks for and nothing else; None where it says anything more."""
    book, rest = None, list(words)
    for index, word in enumerate(rest):
        if word == "--book" and index + 1 < len(rest):
            book = rest[index + 1]
            del rest[index : index + 2]
            break
        if word.startswith("--book="):
            book = word.removeprefix("--book=")
            del rest[index]
            break
    simulated = rest[:1] == ["play"] and rest.count("--simulated") == 1
    if simulated:
        rest.remove("--simulated")
    if any(word.startswith("-") or "\0" in word for word in (*rest, book or "")):
        return None
    if not rest:
        return Wish(book)
    return Wish(book, rest[1], simulated) if rest[0] == "play" and len(rest) == 2 else None


def takes_lines_only() -> bool:
    """Whether standard output is a terminal that can't move its cursor: TERM is "dumb" or "unknown" (terminfo)."""
    return sys.stdout.isatty() and os.environ.get("TERM", "").lower() in ("dumb", "unknown")


def takes_screens() -> bool:
    """Whether standard output is a terminal that a screen can be drawn on."""
    return sys.stdout.isatty() and not takes_lines_only()


def open_screen(wanted: Wish) -> int | None:
    """Open the screen and give its exit code; None where it can't be opened this way."""
    named = wanted.book if wanted.book is not None else os.environ.get("SHOWRUNNER_BOOK") or None
    if named is None:
        from showrunner.places import default_book

        root = default_book()
    else:
        root = Path(named).expanduser() if named.startswith("~/") else Path(named)
    if wanted.show is None:
        return _open_book(root) if root.is_dir() else None
    from showrunner.live.link import LinkError, RemoteShow, running_show

    try:
        folder = running_show(root, wanted.show)
        client = RemoteShow(folder) if folder is not None else None
    except LinkError:
        return None
    if client is None:
        return None
    if client.simulated != wanted.simulated:
        client.close()
        return None
    client.sight()
    from showrunner.tui.app import play

    try:
        return play(root, client)
    finally:
        client.close()


def _open_book(root: Path) -> int:
    from showrunner.tui.app import open_book

    return open_book(root)


def main() -> None:
    """What the system starts; where the machine's ports were opened it ends without closing them."""
    sys.stdout, sys.stderr = shown(sys.stdout), shown(sys.stderr)
    try:
        _run()
    except SystemExit as ended:
        kept = sys.modules.get("showrunner.live.kept")
        if kept is not None and isinstance(ended.code, int):
            kept.leave(ended.code)
        raise


def _run() -> None:
    wanted = wish(sys.argv[1:])
    if wanted is not None and takes_screens() and (wanted.show is not None or sys.stdin.isatty()):
        gc.disable()  # until the first paint: to collect while modules load takes a tenth of the time
        code = open_screen(wanted)
        gc.enable()
        if code is not None:
            sys.exit(code)
    from showrunner.cli.main import main as commands

    commands()
