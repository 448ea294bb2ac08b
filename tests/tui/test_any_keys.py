"""Any keys, quickly, on terminals of any size, over books that are troubled or break meanwhile: no screen falls."""

import asyncio
import shutil
from pathlib import Path

import pytest
from driving import demo_shelf, driven
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from textual.binding import Binding

from showrunner.live.link import LinkError
from showrunner.places import demo_book
from showrunner.tui.app import Screens, place
from showrunner.tui.going import PLACES
from showrunner.tui.screens import proposing
from showrunner.tui.shelf import Shelf


def keys_of(name: str) -> list[str]:
    """Every key that does something on a screen."""
    bindings = [binding for kind in place(name).__mro__ for binding in vars(kind).get("BINDINGS", ())]
    keys = [key for binding in bindings if isinstance(binding, Binding) for key in binding.key.split(",")]
    out = {"q", "r"} if name == "rehearse" else {"q"}  # leaving the program; the machine's own ports
    return [key for key in dict.fromkeys(keys) if key not in out and not key.isdigit()]


TROUBLED = sorted(path for path in (Path(__file__).parent.parent / "books").iterdir() if path.is_dir())
BOOKS = [demo_book(), *TROUBLED]
MOVES = ["up", "down", "left", "right", "tab", "enter", "escape", "pageup", "home", "end"]
TYPED = ["a", "1", "5", "0", "space", "backspace", "full_stop", "minus", "left_square_bracket", "quotation_mark"]
OUTSIDE = ["breaks", "goes", "comes back", "empties", "resizes"]
KEYS = {name: keys_of(name) for name in PLACES}
FAST = settings(
    max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@pytest.fixture(autouse=True)
def _alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No process is started, nothing is searched for long, and no editor opens."""

    def join(*_: object, **__: object) -> None:
        raise LinkError("no show is begun here")

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("VISUAL", "true")
    monkeypatch.setattr(Shelf, "join", join)
    monkeypatch.setattr(proposing, "LOOKS_FOR_S", 0.05)


def happens(shelf: Shelf, what: str, texts: dict[Path, bytes]) -> None:
    """Something is done to the files at hand from outside."""
    for kind, slug in (("shows", shelf.show), ("songs", shelf.song)):
        file = shelf.root / kind / f"{slug}.toml"
        if what == "comes back" and file in texts:
            file.write_bytes(texts[file])
        elif file.is_file():
            texts.setdefault(file, file.read_bytes())
            if what == "breaks":
                file.write_text("title = \n")
            elif what == "empties":
                file.write_text('format = 1\ntitle = "T"\nduration = "1:00"\n')
            elif what == "goes":
                file.unlink()


async def drive(shelf: Shelf, name: str, keys: list[str], size: tuple[int, int]) -> None:
    """Press keys on a screen while things happen to its files."""
    app, texts = Screens(place(name)(shelf)), {}
    async with app.run_test(size=size) as pilot:
        for key in keys:
            if key == "resizes":
                await pilot.resize_terminal(20, 6)
            elif key in OUTSIDE:
                happens(shelf, key, texts)
                shelf.refresh()
                await pilot.pause()
            else:
                await pilot.press(key)
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert app.is_running


@pytest.mark.parametrize("name", KEYS)
@FAST
@given(st.data())
def test_no_keys_make_a_screen_fall_over(
    tmp_path_factory: pytest.TempPathFactory, name: str, data: st.DataObject
) -> None:
    of_screen = st.sampled_from(KEYS[name])
    some = st.one_of(of_screen, of_screen, st.sampled_from(MOVES), st.sampled_from(TYPED), st.sampled_from(OUTSIDE))
    keys = data.draw(st.lists(some, min_size=2, max_size=14))
    size = data.draw(st.sampled_from([(20, 6), (1, 1), (80, 24), (120, 36)]))
    root = tmp_path_factory.mktemp("any") / "book"
    shutil.copytree(data.draw(st.sampled_from(BOOKS)), root, ignore=shutil.ignore_patterns(".*", "takes"))
    shelf = Shelf(root)
    asyncio.run(drive(shelf, name, keys, size))


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
    await drive(shelf, name, [what, "end", *in_turn(name)], (120, 36))
