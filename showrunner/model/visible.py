"""What others wrote, fit to be shown: characters that steer a terminal or turn text round are made visible."""

import re
from typing import Any

_SIGNS = (
    "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\U000e0000-\U000e007f"
)
"""Controls (ECMA-48's C0 and C1) but tab, line feed and return, what ends a line or sets its direction, halves of
surrogates, and tags that nothing shows (Unicode 15.0, chapters 23.1, 23.2, 23.9)."""
_STEERS = re.compile(f"[{_SIGNS}]|\r(?!\n)")
"""With a return that does not end a line."""
_ANY = re.compile(f"[\t\n\r{_SIGNS}]")


def visible(text: str) -> str:
    """Text with a sign in the place of each character that steers: a control's own picture, U+FFFD for all others."""
    return _STEERS.sub(_sign, text)


def visible_line(text: str) -> str:
    """The same with tabs and line feeds too, for what stands on one line."""
    return _ANY.sub(_sign, text)


def steers(text: str) -> bool:
    """Whether there is anything in the text that `visible` changes."""
    return _STEERS.search(text) is not None


def _sign(found: re.Match[str]) -> str:
    code = ord(found[0])
    return chr(0x2400 + code) if code < 0x20 else "\u2421" if code == 0x7F else "\ufffd"


class Shown:
    """A stream that shows what is written to it as `visible` does; all else is the stream's own."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write text, its controls visible."""
        self._stream.write(visible(text))
        return len(text)

    def writelines(self, lines: Any) -> None:
        """Write each of the lines so."""
        for line in lines:
            self.write(line)

    def steer(self, text: str) -> None:
        """Write what steers the terminal on purpose: a string of the program's own."""
        self._stream.write(text)
        self._stream.flush()


def shown(stream: Any) -> Any:
    """The stream as `Shown`, itself where it is one already or is none."""
    return stream if stream is None or isinstance(stream, Shown) else Shown(stream)
