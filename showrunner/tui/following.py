"""The show that plays now, looked for on the thread of a screen's worker."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from textual.worker import get_current_worker

if TYPE_CHECKING:
    from showrunner.live.link import RemoteShow


def playing_now(root: Path, shows: Iterable[str], *, on_ports: bool = False) -> "RemoteShow | None":
    """A way to the first of these shows that plays, its documents read; None if none does. For a worker's thread.

    With `on_ports` one that is played without hardware does not count.

    Nobody gets what a worker finds that was cancelled meanwhile, so that it lets go of it here.
    """
    from showrunner.live.under_way import show_under_way

    client = show_under_way(root, shows, on_ports=on_ports)
    if client is None:
        return None
    wanted = not get_current_worker().is_cancelled
    if wanted:
        try:
            _ = client.script
        except (OSError, ValueError, LookupError, TypeError):
            wanted = False
    if wanted:
        return client
    client.close()
    return None
