"""What a thing to rehearse consists of: a show's songs, a changeover's steps, a song's cues and curves."""

from collections.abc import Mapping

from showrunner.model.library import Book
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.tui.about import filled, show_lines, song_lines
from showrunner.tui.rehearse_choices import Choice
from showrunner.tui.set_words import changeover_lines


class About:
    """Tells of one thing after another; a show's changeovers are worked out once for a book and a rig."""

    def __init__(self) -> None:
        self._of: tuple[Book, str, str] | None = None
        self._changes: Mapping[tuple[str, str], Changeover] = {}

    def lines(self, book: Book, choice: Choice, show: str | None, rig: str | None, width: int, rows: int) -> list[str]:
        """Lines about what is chosen, of the songs alone in so many rows."""
        if choice.kind == "show":
            return show_lines(book, choice.slug, None, width, rows)
        told: list[str] = []
        if choice.before is not None:
            change = self._between(book, show, rig).get((choice.before, choice.slug))
            told = [] if change is None else [*changeover_lines(book, change, width, rows), ""]
            told = [part for line in told for part in (filled(line, width) if len(line) > width else [line])]
        return told + song_lines(book, choice.slug, width, rows - len(told))

    def _between(self, book: Book, show: str | None, rig: str | None) -> Mapping[tuple[str, str], Changeover]:
        if show not in book.shows or rig not in book.rigs or show is None or rig is None:
            return {}
        if self._of is None or self._of[0] is not book or self._of[1:] != (show, rig):
            self._of = (book, show, rig)
            found = changeovers(book, book.shows[show], book.rigs[rig])
            self._changes = {(one.before, one.after): one for one in found}
        return self._changes
