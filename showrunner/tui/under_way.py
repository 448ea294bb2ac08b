"""The show that is being played from a book, if one is."""

from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from showrunner.live.folder import run_folder
from showrunner.live.link import LinkError, RemoteShow


def show_under_way(root: Path, shows: Iterable[str]) -> RemoteShow | None:
    """A way to the first of these shows that plays now, None if none does; waits for its answer."""
    for show in shows:
        with suppress(LinkError):
            return RemoteShow(run_folder(root, show))
    return None
