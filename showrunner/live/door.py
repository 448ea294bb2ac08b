"""The watcher's end of the link: lets screens of the same user in, and outlives whatever else comes."""

import socket
import threading
import time
import traceback
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from showrunner.live.folder import LINK, read_json
from showrunner.live.greeting import StrangerError, let_in

SOCKET = "link"
LONGEST_PATH = 100
"""Bytes that a socket file's path may have on every system; a longer one gives way to loopback."""
KEY_BYTES = 16
WAITING = 64
"""Connections that the system keeps until they are taken."""
UNPROVED = 8
"""Connections that may be open before they have shown the key; the oldest gives way to the next."""
PROVES_WITHIN_S = 2.0
GRACE_S = 0.05
"""For so long a connection is left to show the key, whoever else comes."""
TRIES_AGAIN_S = 0.05


class Door:
    """Listens in a run's folder; `serve` gets each connection that has the key, on a thread of its own, and closes it.

    `way` is how a screen finds it, with the key: to be written as `LINK`, where only the user can read it. A watcher
    that takes another's place keeps its key, so that a way in stands although a full disk takes no other.
    """

    def __init__(self, folder: Path, serve: Callable[[socket.socket], object]) -> None:
        import secrets

        self._serve = serve
        before = (read_json(folder / LINK) or {}).get("key")
        ours = isinstance(before, str) and len(before) == 2 * KEY_BYTES
        self._key = str(before) if ours else secrets.token_hex(KEY_BYTES)
        self._server, where = _listen(folder)
        self.way: dict[str, Any] = {**where, "key": self._key}
        self._unproved: dict[socket.socket, float] = {}
        self._counting = threading.Lock()
        threading.Thread(target=self._accept, name="accept", daemon=True).start()

    def close(self) -> None:
        """Let nobody in any more."""
        with suppress(OSError):
            self._server.shutdown(socket.SHUT_RDWR)
        self._server.close()

    def _accept(self) -> None:
        """Take whoever comes, for ever: too many open files, or anything else, passes."""
        while self._server.fileno() >= 0:
            try:
                self._take(self._server.accept()[0])
            except OSError:
                time.sleep(TRIES_AGAIN_S)
            except Exception:
                traceback.print_exc()
                time.sleep(TRIES_AGAIN_S)

    def _take(self, link: socket.socket) -> None:
        try:
            self._make_room()
            with self._counting:
                self._unproved[link] = time.perf_counter()
            threading.Thread(target=self._greet, args=(link,), name="greet", daemon=True).start()
        except BaseException:
            self._forget(link)
            link.close()
            raise

    def _make_room(self) -> None:
        while len(self._unproved) >= UNPROVED:
            with self._counting:
                oldest, came_s = next(iter(self._unproved.items()), (None, 0.0))
            left_s = came_s + GRACE_S - time.perf_counter()
            if oldest is None or left_s <= 0:
                if oldest is not None:
                    self._forget(oldest)
                    with suppress(OSError):
                        oldest.shutdown(socket.SHUT_RDWR)  # its own thread closes it
                return
            time.sleep(left_s)

    def _greet(self, link: socket.socket) -> None:
        try:
            let_in(link, self._key, time.perf_counter() + PROVES_WITHIN_S)
            link.settimeout(None)
        except (StrangerError, OSError):
            link.close()
            return
        finally:
            self._forget(link)
        self._serve(link)

    def _forget(self, link: socket.socket) -> None:
        with self._counting:
            self._unproved.pop(link, None)


def _listen(folder: Path) -> tuple[socket.socket, dict[str, Any]]:
    """A listening socket and the way to it: a file of the user's own, or a port of this machine alone."""
    path = folder / SOCKET
    if hasattr(socket, "AF_UNIX") and len(str(path).encode()) < LONGEST_PATH:
        path.unlink(missing_ok=True)
        server = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        server.bind(str(path))
        path.chmod(0o600)
        where: dict[str, Any] = {"path": str(path)}
    else:
        server = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        server.bind(("127.0.0.1", 0))
        where = {"port": server.getsockname()[1]}
    server.listen(WAITING)
    return server, where
