"""Changes one key of one file in place, and can take the change back.

Comments, order and layout stay; what the new text means is compared with what was meant before it is handed out.
"""

import tomllib
from collections.abc import Sequence
from difflib import SequenceMatcher
from typing import Any, NamedTuple

from showrunner.book.data import ABSENT, same, value_at
from showrunner.book.formats import FORMAT, is_earlier
from showrunner.book.problems import BookError
from showrunner.book.read import BOM, decoded
from showrunner.book.splice import added, removed, replaced
from showrunner.model.keys import KeyPath, dotted


class Edit(NamedTuple):
    """One change of one file: what stands at a key before and after it, ABSENT where nothing does.

    A key that ends in a number is an item of a list: without `before` it is put in at that place.
    """

    file: str
    key: KeyPath
    before: Any
    after: Any

    @property
    def inverse(self) -> "Edit":
        """The edit that takes this one back."""
        return Edit(self.file, self.key, self.after, self.before)


class StaleEditError(BookError):
    """What the edit was made for no longer stands in the file."""


class CannotChangeError(BookError):
    """The file's layout doesn't allow this change; it is left as it was."""


def edit(file: str, source: bytes, key: KeyPath, after: Any) -> Edit:
    """The edit that makes `key` hold `after`, or nothing if that is ABSENT; `before` as it stands in `source`.

    Where the tables around the key are missing it is the edit of the outermost, so that its inverse leaves none.
    """
    data = _data(file, source)
    while after is not ABSENT and key[1:] and value_at(data, key[:-1]) is ABSENT:
        key, after = key[:-1], {key[-1]: after}
    return Edit(file, key, value_at(data, key), after)


def insertion(file: str, key: KeyPath, item: Any) -> Edit:
    """The edit that puts an item into a list, at the number that ends `key`."""
    return Edit(file, key, ABSENT, item)


def apply(source: bytes, change: Edit) -> bytes:
    """The file's new bytes; StaleEditError where `before` doesn't stand, CannotChangeError where it can't be done."""
    if not change.key:
        raise CannotChangeError(f"{change.file} can't be changed whole", "change one key of it")
    data = _data(change.file, source)
    where = f"{dotted(change.key)} in {change.file}"
    if not _still_stands(data, change):
        raise StaleEditError(f"{where} is no longer what it was", "look at it again and make the change anew")
    if same(change.before, change.after):
        return source
    try:
        new = _changed(decoded(source), change)
        done = same(tomllib.loads(new), _meant(data, change))
    except (ValueError, TypeError, RecursionError):
        done = False
    if not done:
        raise CannotChangeError(f"{where} can't be changed in place", "change it in a text editor")
    return (BOM if source.startswith(BOM) else b"") + new.encode("utf-8")


def applied(source: bytes, edits: Sequence[Edit], before: bytes, after: bytes) -> bytes:
    """The file's new bytes by edits that once made `after` out of `before`; errors as for `apply`.

    A file that is as before becomes as after, byte for byte. In one that was changed elsewhere meanwhile the lines
    that differ are put in as they were, comments among them, where that means the same as the edits do.
    """
    if source == before:
        return after
    new = source
    for one in edits:
        new = apply(new, one)
    lines = with_lines(source, before, after)
    try:
        return lines if same(tomllib.loads(decoded(lines)), tomllib.loads(decoded(new))) else new
    except ValueError:
        return new


def with_lines(source: bytes, before: bytes, after: bytes) -> bytes:
    """The source with every run of lines that differs between before and after; as it is where one stands no longer."""
    had, has, now = before.splitlines(True), after.splitlines(True), source.splitlines(True)
    places: dict[int, int] = {}
    for old, place, size in SequenceMatcher(None, had, now, autojunk=False).get_matching_blocks():
        places.update((old + step, place + step) for step in range(size))
    for what, start, end, first, last in reversed(SequenceMatcher(None, had, has, autojunk=False).get_opcodes()):
        if what == "equal":
            continue
        at = places[start - 1] + 1 if start == end and start - 1 in places else places.get(start)
        if at is None or [places.get(line) for line in range(start, end)] != list(range(at, at + end - start)):
            return source
        now[at : at + end - start] = has[first:last]
    return b"".join(now)


def _changed(text: str, change: Edit) -> str:
    if change.before is ABSENT:
        return added(text, change.key, change.after)
    if change.after is ABSENT:
        return removed(text, change.key)
    return replaced(text, change.key, change.before, change.after)


def _still_stands(data: Any, change: Edit) -> bool:
    if change.before is ABSENT and isinstance(change.key[-1], int):
        items = value_at(data, change.key[:-1])
        return isinstance(items, list) and 0 <= change.key[-1] <= len(items)
    return same(value_at(data, change.key), change.before)


def _meant(data: Any, change: Edit) -> Any:
    """The data that the file should hold after the change."""
    return _with(data, change.key, change.before is ABSENT, change.after)


def _with(data: Any, key: Sequence[str | int], is_new: bool, value: Any) -> Any:
    step, deeper = key[0], key[1:]
    if isinstance(data, list) and isinstance(step, int):
        if deeper:
            return [*data[:step], _with(data[step], deeper, is_new, value), *data[step + 1 :]]
        return [*data[:step], *([] if value is ABSENT else [value]), *data[step + (not is_new) :]]
    if not isinstance(data, dict) or not isinstance(step, str):
        raise TypeError("there is no table at this key")
    if deeper:
        return data | {step: _with(data.get(step, {}), deeper, is_new, value)}
    return {name: item for name, item in data.items() if name != step} | ({} if value is ABSENT else {step: value})


def _data(file: str, source: bytes) -> Any:
    try:
        data = tomllib.loads(decoded(source))
    except (ValueError, RecursionError):
        raise CannotChangeError(f"{file} can't be read as it is", "mend it in a text editor first") from None
    if is_earlier(data):
        mend = f"write it in format {FORMAT} in a text editor first; it is read as it is"
        raise CannotChangeError(f"{file} is of format {data['format']}", mend)
    return data
