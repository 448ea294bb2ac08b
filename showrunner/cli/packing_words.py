"""What `pack` and `unpack` print: what went in, and what becomes of each file."""

import difflib
import shlex
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from showrunner.book.pack_into import Coming, Decided, Fate
from showrunner.book.pack_manifest import Contents
from showrunner.cli.output import columns, paragraph, plural

MOST_COMPARED = 4000
"""Lines of two documents that are compared with each other."""
_DONE: Mapping[Fate, str] = {
    "written": "new",
    "left": "the same",
    "kept": "differs{}; yours is kept",
    "replaced": "differs{}; replaced",
    "undecided": "differs{}: take it, or keep yours?",
}


def pack_lines(inside: Contents, path: Path, size: int) -> Iterator[str]:
    """What went into a pack, and what is missing or broken."""
    counts = Counter(file.partition("/")[0] for file in inside.files if not file.endswith(".closed.json"))
    parts = [plural(counts[f"{word}s"], word) for word in ("song", "rig", "venue", "checklist", "take", "run")]
    held = ", ".join(part for part in parts if not part.startswith("0 "))
    yield from paragraph(f"{path}: {inside.title}, with {held or 'no songs'}; {_size(size)}", hang=2)
    if inside.lacks:
        yield ""
        yield "NOT WHOLE: this is missing or broken, and what can't be read was left out"
        for lacked in inside.lacks:
            yield from paragraph(lacked, 2, 4)
    yield from paragraph(f"On the other machine: showrunner unpack {path.name} --into PATH", hang=2)


def unpack_lines(
    root: Path, inside: Contents, plan: Sequence[Decided], notes: Sequence[str], *, written: bool, shows_lines: bool
) -> Iterator[str]:
    """What becomes of each file of a pack; what is the same is only counted."""
    yield from paragraph(f"{inside.title}, {'put into' if written else 'to be put into'} {root}", hang=2)
    yield ""
    yield from columns([(one.coming.file, _what(one)) for one in plan if one.fate != "left"])
    same = sum(one.fate == "left" for one in plan)
    if same:
        yield f"  {plural(same, 'file')} the same" if same < len(plan) else "  all of it is there already"
    if shows_lines:
        for one in plan:
            yield from _difference(one.coming)
    if notes:
        yield ""
        for note in notes:
            yield from paragraph(f"NOTE {note}", 0, 2)
    yield ""
    if written:
        yield from paragraph(f"Try next: showrunner --book {shlex.quote(str(root))} check {inside.show}", hang=2)
    else:
        yield from paragraph(_way_on(plan), hang=2)


def unpack_data(
    pack: Path, root: Path, inside: Contents, plan: Sequence[Decided], notes: Sequence[str], *, written: bool
) -> dict[str, Any]:
    """The same as data."""
    files = [{"file": of.file, "state": of.state, "fate": fate, "aside": aside} for of, fate, aside in plan]
    return {
        "pack": str(pack),
        "show": inside.show,
        "book": str(root),
        "written": written,
        "files": files,
        "notes": list(notes),
    }


def _way_on(plan: Sequence[Decided]) -> str:
    if all(one.fate == "left" for one in plan):
        return "There is nothing to write."
    if any(one.fate == "undecided" for one in plan):
        return (
            "Nothing was written. Say --take FILE or --keep FILE for each that differs, or --take-rest or --keep-rest, "
            "and --write; --diff shows the lines."
        )
    return "Nothing was written: say --write to do it."


def _what(one: Decided) -> str:
    lines = _changed(one.coming) if one.coming.state == "differs" else ""
    aside = f", and yours stays as {one.aside.rpartition('/')[2]}" if one.aside is not None else ""
    return _DONE[one.fate].format(lines) + aside


def _changed(coming: Coming) -> str:
    texts = _texts(coming)
    if texts is None:
        return ""
    marks = Counter(line[0] for line in list(_compared(*texts, context=0))[2:])
    return f" (+{marks['+']} −{marks['-']} lines)"


def _difference(coming: Coming) -> Iterator[str]:
    texts = _texts(coming) if coming.state == "differs" else None
    if texts is not None:
        yield ""
        yield from _compared(*texts, f"{coming.file}, yours", f"{coming.file}, packed")


def _compared(
    before: list[str], after: list[str], yours: str = "", packed: str = "", context: int = 3
) -> Iterator[str]:
    """The lines that differ, as a unified difference; of two documents that are very long all lines of both.

    To compare them takes a time that may grow with the square of their length.
    """
    if len(before) + len(after) <= MOST_COMPARED:
        yield from difflib.unified_diff(before, after, yours, packed, lineterm="", n=context)
        return
    yield from (f"--- {yours}", f"+++ {packed}")
    yield from (f"-{line}" for line in before)
    yield from (f"+{line}" for line in after)


def _texts(coming: Coming) -> tuple[list[str], list[str]] | None:
    """Lines before and after; None for what is no document."""
    if coming.before is None or not coming.file.endswith(".toml"):
        return None
    before, after = (text.decode("utf-8-sig", "replace").splitlines() for text in (coming.before, coming.after))
    return before, after


def _size(size: int) -> str:
    return f"{max(1, round(size / 1024))} KiB" if size < 1 << 20 else f"{size / (1 << 20):.1f} MiB"
