"""Text for a printout with letters of one width: padding, and lines of 80 columns at the most."""

from collections.abc import Iterator

from showrunner.model.cells import cells

COLUMNS = 80


def pad(text: str, columns: int, *, right: bool = False) -> str:
    """The text with spaces up to a width, in front of it if `right`; never shortened."""
    space = " " * max(0, columns - cells(text))
    return space + text if right else text + space


def fold(line: str, hang: int | None = None) -> Iterator[str]:
    """A line in pieces of 80 columns at the most; those after the first begin at `hang`, or two columns further in."""
    line = line.rstrip()
    further_in = len(line) - len(line.lstrip(" ")) + 2
    indent = hang if hang is not None and hang <= COLUMNS // 2 else min(further_in, COLUMNS // 2)
    room = COLUMNS
    while cells(line) > room:
        end = _break(line, room)
        yield (" " * (COLUMNS - room) + line[:end]).rstrip()
        line, room = line[end:].lstrip(" "), COLUMNS - indent
    yield (" " * (COLUMNS - room) + line).rstrip()


def _break(line: str, room: int) -> int:
    """Index to break before: after the last space that fits, else wherever the room ends."""
    taken, first = 0, len(line) - len(line.lstrip(" "))
    after_space = None
    for index, char in enumerate(line):
        taken += cells(char)
        if taken > room:
            return after_space or max(index, 1)
        if char == " " and index >= first:
            after_space = index + 1
    return len(line)
