"""Changes that the screens made and can take back, and what to do where somebody else made one as well."""

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from showrunner.book.problems import BookError
from showrunner.model.keys import KeyPath, dotted

if TYPE_CHECKING:
    from showrunner.book.change import Edit
    from showrunner.book.filing import Filing
    from showrunner.live.runs import Run


class _Said(Enum):
    NOT_SAID = "what was seen was not said"


NOT_SAID: Final = _Said.NOT_SAID


class Edits(NamedTuple):
    """Edits of one file that are one step, and its bytes before and after: made in order, taken back in the other."""

    kind: str
    slug: str
    edits: "tuple[Edit, ...]"
    before: bytes
    after: bytes

    @property
    def file(self) -> str:
        """The file, relative to the book."""
        return self.edits[0].file

    @property
    def inverse(self) -> "Edits":
        """What takes them back."""
        inverses = tuple(one.inverse for one in reversed(self.edits))
        return Edits(self.kind, self.slug, inverses, self.after, self.before)


class NightStep(NamedTuple):
    """A night that is closed, or opened again, as one step: its run, and what closing it files."""

    run: "Run"
    filing: "Filing"
    closes: bool

    @property
    def file(self) -> str:
        """The run's log, relative to the book."""
        return self.run.file

    @property
    def inverse(self) -> "NightStep":
        """What takes it back."""
        return self._replace(closes=not self.closes)

    def carry_out(self, root: Path) -> None:
        """Close the night or open it again; BookError, and nothing changed, where that can't be."""
        from showrunner.live.closing import close, reopen

        if self.closes:
            close(root, self.run, self.filing, ())
        else:
            reopen(root, self.run, ())


class ClashError(BookError):
    """A key was changed here and in its file: `mine` is what was to be written, `theirs` what the file says now."""

    def __init__(self, kind: str, slug: str, file: str, key: KeyPath, *, mine: Any, theirs: Any) -> None:
        super().__init__(f"{dotted(key)} in {file} was changed by somebody else as well", "choose one of the two")
        self.kind, self.slug, self.file, self.key = kind, slug, file, key
        self.mine, self.theirs = mine, theirs


class HalfDoneError(BookError):
    """Changes of several files of which a part was made, and could not be taken back at once."""
