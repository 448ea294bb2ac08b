"""Any keys, quickly, on terminals of any size, over books that are troubled or break meanwhile: no screen falls."""

import asyncio
import errno
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from driving import demo_shelf, driven
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.binding import Binding

from showrunner.book import save as book_save
from showrunner.live.link import LinkError
from showrunner.places import demo_book
from showrunner.tui.app import Screens, place
from showrunner.tui.going import PLACES
from showrunner.tui.screens import proposing
from showrunner.tui.screens.after_close import CloseScreen
from showrunner.tui.screens.asked import ClashScreen, LineScreen, PickScreen, ProposalScreen
from showrunner.tui.screens.curves import CurvesScreen
from showrunner.tui.screens.fields import FieldsScreen
from showrunner.tui.screens.mending import MendingScreen
from showrunner.tui.screens.starting import BeginScreen
from showrunner.tui.shelf import Shelf


def keys_of(screen: type, without: Iterable[str] = ("q",)) -> list[str]:
    """Every key that does something on a screen, but for those that leave the program."""
    bindings = [binding for kind in screen.__mro__ for binding in vars(kind).get("BINDINGS", ())]
    keys = [key for binding in bindings if isinstance(binding, Binding) for key in binding.key.split(",")]
    return [key for key in dict.fromkeys(keys) if key not in without and not key.isdigit()]


class Happening(NamedTuple):
    """What is done from outside to a file at hand, by its kind, or to the whole book; and who reads it then."""

    what: str
    kind: str
    seen_by: str = "the shelf"


TROUBLED = sorted(path for path in (Path(__file__).parent.parent / "books").iterdir() if path.is_dir())
BOOKS = [demo_book(), *TROUBLED]
MOVES = ["up", "down", "left", "right", "tab", "enter", "escape", "pageup", "home", "end"]
TYPED = ["a", "1", "5", "0", "space", "backspace", "full_stop", "minus", "left_square_bracket", "quotation_mark"]
KEYS = {name: keys_of(place(name), ("q", "r") if name == "rehearse" else ("q",)) for name in PLACES}
"""Without r on Rehearse: the machine's own ports."""
OVER = [ProposalScreen, ClashScreen, PickScreen, LineScreen, FieldsScreen, CurvesScreen, MendingScreen, CloseScreen]
OVER += [BeginScreen]
ASKED = sorted({key for screen in OVER for key in keys_of(screen)})
KINDS = ["show", "song", "rig", "venue", "checklist", "book"]
TO_A_FILE = {
    "breaks": lambda file: file.write_text("title = \n"),
    "holds no text": lambda file: file.write_bytes(b"\xff\xfe\x00[[["),
    "empties": lambda file: file.write_text('format = 1\ntitle = "T"\nduration = "1:00"\n'),
    "goes": lambda file: file.unlink(),
    "is renamed": lambda file: file.rename(file.with_name("renamed.toml")),
}
TO_THE_BOOK = [
    "the folder goes",
    "all of a kind go",
    "nothing can be written",
    "all comes back",
    "it shrinks",
]
SEEN_BY = st.sampled_from(["the shelf", "the screen", "nobody"])
OUTSIDE = st.builds(Happening, st.sampled_from([*TO_A_FILE, *TO_THE_BOOK]), st.sampled_from(KINDS), SEEN_BY)
FAST = settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


class Outside:
    """What else goes on on the machine: files of a book change, and its disk may refuse to be written to."""

    refuses = False

    def __init__(self, shelf: Shelf) -> None:
        self._shelf, self._root, self._away = shelf, shelf.root, shelf.root.with_name("away")
        self._texts: dict[Path, bytes] = {}
        Outside.refuses = False

    def at_hand(self, kind: str) -> Path:
        """The file of a kind that the screens are on, as far as it can be told."""
        book = self._shelf.book
        show = book.shows.get(self._shelf.show or "")
        slugs = {
            "show": self._shelf.show,
            "song": self._shelf.song,
            "rig": book.rig_of(show),
            "venue": show.venue if show is not None else None,
            "checklist": next(iter(show.checklists), None) if show is not None else None,
        }
        return self._root / self._shelf.reading.file(kind, slugs.get(kind) or "")

    def happens(self, what: str, kind: str) -> None:
        """One thing; what can't be, such as a file that goes twice, does nothing."""
        file, folder = self.at_hand(kind), self._root / f"{kind}s"
        if what == "nothing can be written":
            Outside.refuses = True
        elif what == "all comes back":
            self._comes_back()
        elif what == "the folder goes" and self._root.exists():
            self._root.rename(self._away)
        elif what == "all of a kind go" and folder.is_dir():
            self._texts |= {each: each.read_bytes() for each in folder.glob("*.toml")}
            shutil.rmtree(folder)
        elif what in TO_A_FILE and file.is_file():
            self._texts.setdefault(file, file.read_bytes())
            TO_A_FILE[what](file)

    def _comes_back(self) -> None:
        Outside.refuses = False
        if self._away.exists() and not self._root.exists():
            self._away.rename(self._root)
        for file, text in self._texts.items():
            file.parent.mkdir(exist_ok=True)
            file.write_bytes(text)


@pytest.fixture(autouse=True)
def _alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No process is started, nothing is searched for long, and no editor opens."""
    write = book_save._write

    def join(*_: object, **__: object) -> None:
        raise LinkError("no show is begun here")

    def written(*of: Any) -> Path:
        if Outside.refuses:
            raise OSError(errno.EROFS, "Read-only file system")
        return write(*of)

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("VISUAL", "true")
    monkeypatch.setattr("showrunner.tui.beginning.attach", join)
    monkeypatch.setattr(proposing, "LOOKS_FOR_S", 0.05)
    monkeypatch.setattr(book_save, "_write", written)


def look(app: Screens) -> None:
    """What each screen does by itself twice in a second."""
    for screen in app.screen_stack:
        if hasattr(screen, "_look_again"):
            screen._look_again()


async def drive(shelf: Shelf, name: str, steps: list[str | Happening], size: tuple[int, int]) -> None:
    """Press keys on a screen while things happen to its files; what it shows in the end is the book as it is."""
    app, outside = Screens(place(name)(shelf)), Outside(shelf)
    async with app.run_test(size=size) as pilot:
        for step in steps:
            if isinstance(step, str):
                await pilot.press(step)
                continue
            if step.what == "it shrinks":
                await pilot.resize_terminal(20, 6)
            outside.happens(step.what, step.kind)
            if step.seen_by == "the shelf":
                shelf.refresh()
            elif step.seen_by == "the screen":
                look(app)
                await pilot.pause()
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.resize_terminal(80, 24)
        look(app)
        await pilot.pause()
        assert app.is_running
        assert not getattr(app.screen, "stale", False)
        for kind, slug in (("show", shelf.show), ("song", shelf.song)):
            assert slug is None or shelf.reading.has(kind, slug)


@pytest.mark.parametrize("name", KEYS)
@FAST
@given(st.data())
def test_no_keys_make_a_screen_fall_over(
    tmp_path_factory: pytest.TempPathFactory, name: str, data: st.DataObject
) -> None:
    of_screen = st.sampled_from(KEYS[name])
    some = st.one_of(of_screen, of_screen, st.sampled_from(ASKED), st.sampled_from(MOVES + TYPED), OUTSIDE, OUTSIDE)
    steps = data.draw(st.lists(some, min_size=2, max_size=20))
    size = data.draw(st.sampled_from([(20, 6), (1, 1), (80, 24), (120, 36)]))
    root = tmp_path_factory.mktemp("any") / "book"
    shutil.copytree(data.draw(st.sampled_from(BOOKS)), root, ignore=shutil.ignore_patterns(".*", "takes"))
    shelf = Shelf(root)
    asyncio.run(drive(shelf, name, steps, size))


def in_turn(name: str) -> list[str]:
    """Every key of a screen, what it opened left again."""
    return [key for first in KEYS[name] for key in (first, "escape", "escape")]


@pytest.mark.parametrize("name", KEYS)
@driven
async def test_every_key_in_turn_on_a_small_terminal(tmp_path: Path, name: str) -> None:
    await drive(demo_shelf(tmp_path / "book", without=("takes",)), name, in_turn(name), (20, 6))


@pytest.mark.parametrize("what", ["breaks", "goes"])
@pytest.mark.parametrize("name", KEYS)
@driven
async def test_every_key_in_turn_once_the_files_at_hand_are_not_what_they_were(
    tmp_path: Path, name: str, what: str
) -> None:
    shelf = demo_shelf(tmp_path / "book", show="pellmarsh-hall", song="saltmarsh-signal", without=("takes",))
    troubles = [Happening(what, kind) for kind in ("rig", "show", "song")]
    await drive(shelf, name, [*troubles, "end", *in_turn(name)], (120, 36))
