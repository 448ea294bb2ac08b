"""Who plays on this machine: which ports a show or a rehearsal has, and which processes play a run.

Each of them keeps a file in the state folder, locked for as long as its process lives, however that ends.
"""

import json
import os
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TextIO, get_args

from showrunner.book.lock import BusyError, lets_go, locked, takes
from showrunner.places import state_folder

if TYPE_CHECKING:
    from showrunner.live.night import Night
    from showrunner.model.rig import Rig

FOLDER = "holders"
TRIES_AFTER_S = 0.01

Doing = Literal["show", "rehearsal"]
"""What ports are held for; `_SAID`, `_DO` and `Holder.mend` have the words for each."""
_SAID = {"show": "is being played", "rehearsal": "is being rehearsed"}
_DO = {"show": "play", "rehearsal": "rehearse"}

Part = Literal["", "engine", "watcher"]
"""Which process of a run holds; none where what plays is no run."""

_MINE: list[TextIO] = []
"""What this process holds: a file that is forgotten is closed, and its lock with it."""


class Holder(NamedTuple):
    """Who holds: what it does with which title on which rig, of the book in a folder, over which patterns of ports.

    A show has its slug, its run's folder, and which of the run's processes it is. Without hardware it has no ports.
    """

    doing: Doing
    title: str
    rig: str
    book: str
    ports: tuple[str, ...]
    pid: int
    slug: str = ""
    run: str = ""
    part: Part = ""

    def said(self, book: str) -> str:
        """Who it is, for somebody at a book."""
        of = f", from the book {self.book}" if self.book not in ("", book) else ""
        return f"{self.title} {_SAID[self.doing]} on {self.rig}{of}"

    def mend(self, book: str) -> str:
        """How its ports become free, for somebody at a book."""
        if self.doing == "rehearsal":
            return "end the rehearsal first"
        of = f" --book {self.book}" if self.book not in ("", book) else ""
        return f"end it with showrunner play {self.slug} --end{of}"


class HeldError(Exception):
    """What is wanted is held by another: `what` that does, and how to `mend` it; `same_run` where it plays the run."""

    def __init__(self, holder: Holder, wants: Holder) -> None:
        self.what, self.mend = holder.said(wants.book), holder.mend(wants.book)
        self.same_run = bool(holder.run) and holder.run == wants.run
        super().__init__(f"{self.what}; {self.mend}, or {_DO[wants.doing]} simulated")


class Hold:
    """What this process holds, until it is let go or the process ends; `trouble` says why nothing could be kept."""

    def __init__(self, file: TextIO | None, trouble: str = "") -> None:
        self._file, self.trouble = file, trouble
        if file is not None:
            _MINE.append(file)

    def let_go(self) -> None:
        """Let go of it; twice does no harm."""
        file, self._file = self._file, None
        if file is None:
            return
        _MINE.remove(file)
        with suppress(OSError):
            lets_go(file.fileno())
        with suppress(OSError):
            file.close()
        with suppress(OSError):  # Windows refuses it while somebody reads: whoever looks next does it
            Path(file.name).unlink()


def rehearsal_on(rig: "Rig", title: str, book: Path) -> Holder:
    """This process, rehearsing something on a rig's ports."""
    return Holder("rehearsal", title, rig.title, str(book.resolve()), ports_of(rig), os.getpid())


def show_of(night: "Night", run: Path, part: Part) -> Holder:
    """This process, a part of what plays a night's run."""
    rig = night.book.rigs[night.rig]
    book = str(Path(night.log).parents[2]) if night.log else ""
    ports = () if night.simulated else ports_of(rig)
    title = night.the_show.title
    return Holder("show", title, rig.title, book, ports, os.getpid(), night.show, str(run.resolve()), part)


def ports_of(rig: "Rig") -> tuple[str, ...]:
    """The patterns of all ports that a rig opens, and the names of those that it makes."""
    named = {name for port in rig.ports.values() for name in (port.input, port.output, port.virtual)}
    return tuple(sorted(name for name in named if name is not None))


def take(wants: Holder, *, patience_s: float = 0.0) -> Hold:
    """Hold what is wanted from now on; HeldError if another has it and keeps it for as long as `patience_s`.

    Where the state folder can't be written nothing is refused and nothing kept, which the hold's `trouble` says.
    """
    until_s = time.perf_counter() + patience_s
    while True:
        try:
            _folder().mkdir(parents=True, exist_ok=True, mode=0o700)
            with _alone():
                other = next((one for one in _there() if _compete(wants, one)), None)
                if other is None:
                    return Hold(_kept(wants))
        except OSError as error:
            why = (error.strerror or "no reason given").lower()
            return Hold(None, f"the state folder can't be written ({why}): no other show is kept off these ports")
        if time.perf_counter() >= until_s:
            raise HeldError(other, wants)
        time.sleep(TRIES_AFTER_S)


@contextmanager
def holding(wants: Holder) -> Iterator[Hold]:
    """What is wanted is held while the block runs; HeldError where another has it."""
    hold = take(wants)
    try:
        yield hold
    finally:
        hold.let_go()


def in_the_way(wants: Holder) -> HeldError | None:
    """Why what is wanted can't be held now; None where it can."""
    return next((HeldError(one, wants) for one in holders() if _compete(wants, one)), None)


def of_run(run: Path) -> list[Holder]:
    """The processes that play the run in a folder."""
    name = str(run.resolve())
    return [one for one in holders() if one.run == name]


def holders() -> list[Holder]:
    """Everybody who holds something now."""
    try:
        with _alone():
            return list(_there())
    except OSError:
        return []


def _compete(wants: Holder, other: Holder) -> bool:
    """Whether both can't be at once: two engines of a run, or two players over a port."""
    from showrunner.model.ports import may_be_one

    if wants.run and wants.run == other.run:
        return wants.part == other.part == "engine"
    return any(may_be_one(mine, its) for mine in wants.ports for its in other.ports)


def _folder() -> Path:
    return state_folder() / FOLDER


@contextmanager
def _alone() -> Iterator[None]:
    """One process at a time looks and writes; one that hangs there holds nobody up for long."""
    with ExitStack() as stack:
        with suppress(BusyError):
            stack.enter_context(locked(_folder()))
        yield


def _kept(holder: Holder) -> TextIO:
    """A new file of a holder, locked: others that look wait outside."""
    path = _folder() / f"{holder.pid}-{os.urandom(4).hex()}.json"
    file = path.open("x", encoding="utf-8")
    try:
        if not takes(file.fileno()):
            raise OSError(None, "it was locked by another program")
        json.dump(holder._asdict(), file)
        file.flush()
    except OSError:
        with suppress(OSError):
            file.close()
        path.unlink(missing_ok=True)
        raise
    return file


def _there() -> Iterator[Holder]:
    for path in sorted(_folder().glob("*.json")):
        with suppress(OSError, ValueError, LookupError, TypeError, RecursionError):
            found = _read(path)
            if found is not None:
                yield found


def _read(path: Path) -> Holder | None:
    """What a holder wrote; None where its process is gone, and its file with it."""
    with path.open("r+" if os.access(path, os.W_OK) else "r", encoding="utf-8") as file:
        said = file.read()
        if not takes(file.fileno()):
            return _holder(json.loads(said))
        lets_go(file.fileno())
    if said:  # one without words has not yet locked it
        path.unlink()
    return None


def _holder(said: dict[str, Any]) -> Holder:
    """ValueError, LookupError or TypeError where the words are none of ours."""
    made = Holder(**{**said, "ports": tuple(said["ports"])})
    words = (*made[:4], *made.ports, made.slug, made.run)
    ours = made.doing in get_args(Doing) and made.part in get_args(Part) and type(made.pid) is int
    if not ours or not all(isinstance(word, str) for word in words):
        raise ValueError("no holder")
    return made
