"""Changes that the screens made and can take back, and what to do where somebody else made one as well."""

from collections.abc import Mapping
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, NamedTuple, Union

from showrunner.book.problems import BookError
from showrunner.model.keys import KeyPath, dotted

if TYPE_CHECKING:
    from showrunner.book.change import Edit
    from showrunner.book.files import FileChange, FileChanges
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


Step = Union[Edits, "FileChanges", NightStep]
"""One step of undo."""
AtHand = tuple[str, str] | None
"""Kind and slug of the document that a screen was on, None where it was on none."""


Here = tuple[str, AtHand]
"""The place of a screen, empty where none is up, and what is at hand there."""


def nowhere() -> Here:
    """No screen is up."""
    return "", None


class Made(NamedTuple):
    """A step, and where it was made: the screen by its place, empty where no screen made it, and what was at hand."""

    step: Step
    place: str = ""
    at_hand: AtHand = None

    @property
    def words(self) -> str:
        """What it did, and to which files."""
        step = self.step
        if isinstance(step, Edits):
            return f"{', '.join(dict.fromkeys(dotted(one.key) for one in step.edits))} in {step.file}"
        if isinstance(step, NightStep):
            did = "closing" if step.closes else "opening again"
            files = ", ".join(one.file for one in step.filing.files)
            return f"{did} {step.run.show}, {step.run.name}" + (f": {files}" if files else "")
        moves = [f"{old}/ becomes {new}/" for old, new in step.folders]
        return "; ".join([*moves, *(f"{_happened(one)} {one.file}" for one in step.changes)])


def _happened(one: "FileChange") -> str:
    return "new" if one.before is None else "deleted" if one.after is None else "changed"


class Choice(NamedTuple):
    """One of two versions that was chosen: what the file said then, and what is to stand."""

    theirs: Any
    stands: Any


Chosen = Mapping[KeyPath, Choice]
"""What was chosen where a step clashed, by key; the empty key is whole files."""
NOTHING_CHOSEN: Chosen = MappingProxyType({})


class ClashError(BookError):
    """A key was changed here and in its file: `mine` is what was to be written, `theirs` what the file says now.

    Without a key it is whole files, and `words` are what to show of either. `seen` is what stood at the keys of
    the change when it was begun, at this one what stands there now.
    """

    def __init__(
        self, file: str, key: KeyPath, *, mine: Any, theirs: Any, seen: Mapping[KeyPath, Any] | None = None
    ) -> None:
        self.where = f"{dotted(key)} in {file}" if key else file
        super().__init__(f"{self.where} was changed by somebody else as well", "choose one of the two")
        self.file, self.key, self.mine, self.theirs = file, key, mine, theirs
        self.seen = {**(seen or {}), key: theirs}
        self.words: tuple[str, str] | None = None
