"""Which file names every system takes, so that a book can move from one to another."""

import re
import unicodedata
from collections.abc import Iterable

LONGEST_BYTES = 200
_RESERVED = re.compile(r"con|prn|aux|nul|conin\$|conout\$|com[0-9¹²³]|lpt[0-9¹²³]", re.IGNORECASE)
_FORBIDDEN = '<>:"/\\|?*'


def is_reserved(stem: str) -> bool:
    """Whether Windows keeps a name, whatever its ending, for a device."""
    return _RESERVED.fullmatch(stem) is not None


def unsafe(name: str) -> str | None:
    """Why some system can't have a file or folder of this name; None where all can."""
    if not name.isprintable() or not name:
        return "it has characters that can't be shown" if name else "it is empty"
    found = next((character for character in name if character in _FORBIDDEN), None)
    if found is not None:
        return f"it has the character {found}"
    if name.startswith(".") or name.endswith((".", " ")):
        return "it begins with a dot" if name.startswith(".") else "it ends with a dot or a space"
    if is_reserved(name.partition(".")[0].rstrip()):
        return "Windows keeps this name for a device"
    return f"it is longer than {LONGEST_BYTES} bytes" if len(name.encode()) > LONGEST_BYTES else None


def folded(name: str) -> str:
    """What two names share that are one and the same where capitals or ways of writing an accent don't count."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def clash(names: Iterable[str]) -> tuple[str, str] | None:
    """The first two names that some systems can't tell apart; None if there are none."""
    seen: dict[str, str] = {}
    for name in names:
        other = seen.setdefault(folded(name), name)
        if other != name:
            return other, name
    return None
