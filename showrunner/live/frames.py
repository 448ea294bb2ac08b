"""JSON messages over a stream: four bytes of length, most significant first, then UTF-8."""

import json
from collections.abc import Iterator
from typing import Any

LONGEST = 1 << 22
"""Bytes of a frame past which the stream is not one of ours."""


class FrameError(Exception):
    """The stream holds something else than frames."""


class MessageError(FrameError):
    """A frame holds something else than a JSON object; the stream goes on after it."""


def pack(message: dict[str, Any]) -> bytes:
    """One frame."""
    body = json.dumps(message, separators=(",", ":")).encode()
    return len(body).to_bytes(4, "big") + body


class Frames:
    """Cuts a stream into messages of at most so many bytes; a piece may end anywhere."""

    def __init__(self, longest: int = LONGEST) -> None:
        self._waiting, self._longest = bytearray(), longest

    def feed(self, data: bytes) -> Iterator[dict[str, Any]]:
        """The messages that are whole by now; FrameError if the stream holds something else.

        After a MessageError those that follow are had by another call.
        """
        self._waiting += data
        while len(self._waiting) >= 4:
            length = int.from_bytes(self._waiting[:4], "big")
            if length > self._longest:
                raise FrameError(f"a frame of {length} bytes")
            if len(self._waiting) < 4 + length:
                return
            body = bytes(self._waiting[4 : 4 + length])
            del self._waiting[: 4 + length]
            yield message_of(body)


def message_of(body: bytes) -> dict[str, Any]:
    """The message that a frame holds; MessageError if it holds something else."""
    try:
        message = json.loads(body)
    except (ValueError, RecursionError) as error:
        raise MessageError("no JSON") from error
    if not isinstance(message, dict):
        raise MessageError("no object")
    return message
