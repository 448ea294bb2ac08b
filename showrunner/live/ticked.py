"""Answers to a show's checklists, kept with its run so that a crash loses none."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from showrunner.live.folder import keep_json, read_json, where_run
from showrunner.model.checklist import Checklist
from showrunner.model.library import Book

DONE, SEEN = "done", "seen"
"""An item answered by a person, and by the program itself; anything else says why it was left."""
FILE = "checklists.json"


def lists_of(book: Book, show: str | None) -> list[tuple[str, Checklist]]:
    """Slug and list in the show's order, or all of the book's where it names none."""
    the_show = book.shows.get(show or "")
    named = [slug for slug in (the_show.checklists if the_show is not None else ()) if slug in book.checklists]
    return [(slug, book.checklists[slug]) for slug in named or book.checklists]


def answers(root: Path, show: str | None, checklist: str) -> dict[str, str]:
    """What was answered in a list: what was asked, and `DONE`, `SEEN` or why it was left."""
    kept = read_json(where_run(root, show or "book") / FILE) or {}
    return {ask: str(answer) for ask, answer in _of(kept, checklist).items()}


def keep(root: Path, show: str | None, checklist: str, said: Mapping[str, str | None]) -> None:
    """Keep answers, None to take one back; they are on disk before this returns. SaveError where they can't be."""

    def change(kept: dict[str, Any]) -> dict[str, Any]:
        of_list = {**_of(kept, checklist), **said}
        return {**kept, checklist: {ask: answer for ask, answer in of_list.items() if answer is not None}}

    keep_json(where_run(root, show or "book"), FILE, change)


def undone(checklist: Checklist, said: Mapping[str, str]) -> Sequence[str]:
    """Critical items that are not as they must be."""
    return [item.ask for item in checklist.items if item.critical and said.get(item.ask) not in (DONE, SEEN)]


def _of(kept: Mapping[str, Any], checklist: str) -> Mapping[str, Any]:
    of_list = kept.get(checklist)
    return of_list if isinstance(of_list, dict) else {}
