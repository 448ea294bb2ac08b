"""The inputs that are kept of what `fuzz.py` tried: a few short ones for each target, which reach the most code.

They lie in `corpus/TARGET.txt`, one a line, packed (zlib) and in base64.
"""

import base64
import sys
import time
import zlib
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

FOLDER = Path(__file__).with_name("corpus")
OURS = f"{Path(__file__).parents[2] / 'showrunner'}"

Step = tuple[CodeType, int, int]


def kept(target: str) -> list[bytes]:
    """The inputs that are kept for a target."""
    file = FOLDER / f"{target}.txt"
    lines = file.read_text(encoding="ascii").split() if file.exists() else []
    return [zlib.decompress(base64.b64decode(line)) for line in lines]


def keep(target: str, inputs: Iterable[bytes]) -> None:
    """Keep these, and no others, for a target."""
    FOLDER.mkdir(exist_ok=True)
    lines = (base64.b64encode(zlib.compress(data, 9)).decode() + "\n" for data in inputs)
    (FOLDER / f"{target}.txt").write_text("".join(lines), encoding="ascii")


def chosen(takes: Callable[[bytes], object], inputs: Iterable[bytes], most: int, within_s: float) -> list[bytes]:
    """At most so many of the inputs, each the one that adds most steps of ours to those before it.

    Those that can't be looked at within that many seconds are left out.
    """
    until_s, left = time.perf_counter() + within_s, dict[bytes, set[Step]]()
    for data in dict.fromkeys(inputs):
        if time.perf_counter() < until_s:
            left[data] = _reached(takes, data)
    found, seen = list[bytes](), set[Step]()
    while left and len(found) < most:
        best = max(left, key=lambda data: (len(left[data] - seen), -len(data)))
        new = left.pop(best) - seen
        if not new:
            break
        found.append(best)
        seen |= new
    return found


def _reached(takes: Callable[[bytes], object], data: bytes) -> set[Step]:
    """The steps from line to line of ours that an input takes."""
    seen = set[Step]()

    def call(frame: FrameType, _what: str, _of: object) -> Any:
        code, last = frame.f_code, 0

        def line(frame: FrameType, what: str, _of: object) -> Any:
            nonlocal last
            if what == "line":
                seen.add((code, last, frame.f_lineno))
                last = frame.f_lineno
            return line

        return line if code.co_filename.startswith(OURS) else None

    before = sys.gettrace()
    sys.settrace(call)
    try:
        with suppress(Exception):
            takes(data)
    finally:
        sys.settrace(before)
    return seen
