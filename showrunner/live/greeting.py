"""The first words on a link: each end proves to the other that it has the key, before anything else is read.

Each sends a number used once, and gets it back with the other's under the key (HMAC, RFC 2104, with SHA-256).
"""

import socket
import time
from typing import Any

from showrunner.live.frames import FrameError, message_of, pack

LONGEST = 256
"""Bytes of a frame past which it is no greeting; nothing longer is read from whoever has proved nothing."""


class StrangerError(Exception):
    """The other end does not have the key, or has not shown it in time."""


def let_in(link: socket.socket, key: str, until_s: float) -> None:
    """Greet whoever has come, as the running show; StrangerError unless it has the key and says so in time."""
    mine = _once()
    _say(link, {"greets": mine}, until_s)
    said = _hear(link, until_s)
    theirs = str(said.get("greets"))
    _check(said, _proof(key, "screen", mine, theirs))
    _say(link, {"proof": _proof(key, "show", mine, theirs)}, until_s)


def get_in(link: socket.socket, key: str, until_s: float) -> None:
    """Answer the running show's greeting; StrangerError unless it has the key as well and says so in time."""
    mine = _once()
    theirs = str(_hear(link, until_s).get("greets"))
    _say(link, {"greets": mine, "proof": _proof(key, "screen", theirs, mine)}, until_s)
    _check(_hear(link, until_s), _proof(key, "show", theirs, mine))


def _once() -> str:
    import secrets

    return secrets.token_hex(16)


def _proof(key: str, end: str, shows: str, screens: str) -> str:
    import hmac

    return hmac.digest(key.encode(), f"{end} {shows} {screens}".encode(errors="replace"), "sha256").hex()


def _check(said: dict[str, Any], proof: str) -> None:
    import hmac

    if not hmac.compare_digest(str(said.get("proof")).encode(errors="replace"), proof.encode()):
        raise StrangerError("it lacks the key")


def _say(link: socket.socket, message: dict[str, Any], until_s: float) -> None:
    try:
        link.settimeout(_left_s(until_s))
        link.sendall(pack(message))
    except OSError as error:
        raise StrangerError("it went away") from error


def _hear(link: socket.socket, until_s: float) -> dict[str, Any]:
    """The next frame, and nothing behind it."""
    length = int.from_bytes(_exactly(4, link, until_s), "big")
    if length > LONGEST:
        raise StrangerError("it says too much")
    try:
        return message_of(_exactly(length, link, until_s))
    except FrameError as error:
        raise StrangerError("it says something else") from error


def _exactly(count: int, link: socket.socket, until_s: float) -> bytes:
    data = b""
    while len(data) < count:
        try:
            link.settimeout(_left_s(until_s))
            more = link.recv(count - len(data))
        except OSError as error:
            raise StrangerError("it says nothing") from error
        if not more:
            raise StrangerError("it went away")
        data += more
    return data


def _left_s(until_s: float) -> float:
    left_s = until_s - time.perf_counter()
    if left_s <= 0:
        raise StrangerError("it took too long")
    return left_s
