"""What the screens of songs and of shows share: one made, copied, renamed with a preview, opened in an editor."""

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType

from showrunner.book.files import FileChanges
from showrunner.book.problems import BookError
from showrunner.book.rename import copied, renamed
from showrunner.places import template_folders
from showrunner.tui.made import Made
from showrunner.tui.screens.asked import LineScreen, ProposalScreen
from showrunner.tui.screens.book import BookScreen


class DocumentsScreen(BookScreen):
    """A screen that lists files of one kind, `kind`; `go_to` puts its cursor on one of them."""

    kind: ClassVar[str] = ""
    OF_IT: ClassVar[frozenset[str]] = frozenset({"copy", "rename", "open", "night", "play", "end"})
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Open", id="files.open", priority=True),
        Binding("n", "new", "New", id="files.new"),
        Binding("c", "copy", "Copy", id="files.copy"),
        Binding("m", "rename", "Rename", id="files.rename"),
        Binding("e", "editor", "Editor", id="files.editor"),
    ]

    def sees(self, made: Made) -> bool:
        """Every step that was made here: all files of the kind are listed."""
        return made.place in ("", self.place)

    def go_to(self, slug: str) -> None:
        """Put the cursor on a file of this kind."""

    def made(self, slug: str) -> None:
        """After a file was made or copied."""
        self.go_to(slug)

    def action_new(self) -> None:
        """Add one from its starter file."""
        self._ask(f"The new {self.kind}'s title", "", self._new)

    def action_copy(self) -> None:
        """Add one that begins as a copy of the one under the cursor."""
        title = self._title()
        if title is not None:
            slug = self._slug()
            self._ask(f"Title of the copy of {title}", title, lambda typed: self._copy(slug, typed))

    def action_rename(self) -> None:
        """Another title and file name for the one under the cursor; every reference follows."""
        title = self._title()
        if title is not None:
            slug = self._slug()
            self._ask(f"Another title for {title}", title, lambda typed: self._rename(slug, typed))

    def _title(self) -> str | None:
        """What the one under the cursor is called; None, and why is said, where it can't be read."""
        at_hand = self.at_hand()
        if at_hand is None:
            return None
        kind, slug = at_hand
        document = getattr(self.shelf.book, f"{kind}s").get(slug) if self.can_read(kind, slug) else None
        return None if document is None else str(document.title)

    def _slug(self) -> str:
        at_hand = self.at_hand()
        return "" if at_hand is None else at_hand[1]

    def _ask(self, asks: str, text: str, answer: Callable[[str], bool]) -> None:
        def keeps(title: str) -> bool:
            try:
                return answer(title)
            except BookError as error:
                self.say(error)
                return False

        self.app.push_screen(LineScreen(asks, text, names_file=f"{self.kind}s/{{}}.toml", keeps=keeps))

    def _new(self, title: str) -> bool:
        slug = self.shelf.new(self.kind, title, [folder / "new" for folder in template_folders()])
        self.done()
        self.made(slug)
        return True

    def _copy(self, slug: str, title: str) -> bool:
        self._there(slug)
        copy = copied(self.shelf.reading, self.kind, slug, title)
        if not self.make_files(copy.changes):
            return False
        self.made(copy.slug)
        return True

    def _rename(self, slug: str, title: str) -> bool:
        self._there(slug)
        made = renamed(self.shelf.reading, self.kind, slug, title)
        if not preview(made.changes):
            return True

        def answered(taken: bool | None) -> None:
            if taken and self.make_files(made.changes):
                self.go_to(made.slug)

        self.call_later(
            self.app.push_screen,
            ProposalScreen(
                "These files and lines would change. Rename?", preview(made.changes), "Rename", "Keep the name"
            ),
            answered,
        )
        return True

    def _there(self, slug: str) -> None:
        """Look again, and BookError where the file is gone or can't be read by now."""
        self.shelf.refresh()
        if not self.shelf.raw(self.kind, slug):
            raise BookError(f"{self.kind}s/{slug}.toml is gone or can't be read", "Escape leaves the title")


def preview(changes: FileChanges) -> str:
    """Every file that is new, goes or moves, and every line that changes, before and after."""
    lines = [f"{file}: new" for file in changes.new]
    lines += [f"{old}/ becomes {new}/" for old, new in changes.folders]
    for one in changes.lines:
        lines += [f"{one.file}:{one.line}", f"  before {one.before.strip()}", f"  after  {one.after.strip()}"]
    return "\n".join([*lines, *(f"{file}: deleted, last" for file in changes.gone)])
