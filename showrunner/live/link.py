"""The way from a screen to the running show: the user's own socket file, or loopback where there is none."""

import socket
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showrunner.live.folder import LINK, read_json, where_run
from showrunner.live.frames import Frames, pack
from showrunner.live.freeze import from_json
from showrunner.live.greeting import StrangerError, get_in
from showrunner.live.holding import of_run
from showrunner.live.orders import KEPT, Orders
from showrunner.live.pipes import STARTS_WITHIN_S
from showrunner.live.seen import Sight
from showrunner.live.uptime import uptime_s

if TYPE_CHECKING:
    from showrunner.live.night import Night
    from showrunner.live.picture import Picture, What
    from showrunner.state.events import Notice
    from showrunner.state.script import Script

ANSWERS_WITHIN_S = 2.0
TRIES_AGAIN_S = 0.1
SILENT_AFTER_S = 1.5
"""Without a word for this long the show counts as not answering."""

ASKS_AGAIN_S = 0.1
"""A sight asked for this long ago is asked for once more."""


class LinkError(Exception):
    """No running show can be reached, and why."""


def connect(folder: Path) -> socket.socket:
    """A connection to the run in a folder, which has proved that it is; LinkError if none answers."""
    where = read_json(folder / LINK)
    if where is None:
        raise LinkError("the show is not running")
    until_s = time.perf_counter() + ANSWERS_WITHIN_S
    try:
        link = _reached(where, until_s)
    except (OSError, LookupError, TypeError, ValueError, OverflowError) as error:
        raise LinkError("the show is not running") from error
    try:
        get_in(link, str(where.get("key")), until_s)
    except StrangerError as error:
        link.close()
        raise LinkError("the show does not answer") from error
    return link


def _reached(where: dict[str, Any], until_s: float) -> socket.socket:
    """A connection by the way that a watcher wrote; OSError where nobody takes it in time, others where it is none."""
    while True:
        link = socket.socket(socket.AF_UNIX if "path" in where else socket.AF_INET, socket.SOCK_STREAM)
        try:
            link.settimeout(max(0.01, until_s - time.perf_counter()))
            link.connect(where["path"] if "path" in where else ("127.0.0.1", where["port"]))
            return link
        except BlockingIOError:  # as many wait as the system keeps
            link.close()
            if time.perf_counter() > until_s:
                raise
            time.sleep(TRIES_AGAIN_S)
        except BaseException:
            link.close()
            raise


def running_show(root: Path, word: str) -> Path | None:
    """The run's folder of the show that a word names, if it runs now: found without reading the book."""
    kind, _, slug = word.rpartition("/")
    if kind not in ("", "show", "shows") or Path(slug).name != slug:
        return None
    folder = where_run(root, slug)
    return folder if running(folder) else None


def answers(folder: Path) -> bool:
    """Whether a watcher answers for the run in a folder."""
    try:
        connect(folder).close()
    except LinkError:
        return False
    return True


def running(folder: Path) -> bool:
    """Whether the run in a folder is played: a process of it lives, or answers. A way in that leads nowhere is removed.

    A watcher that is there all the same writes its way in again.
    """
    if of_run(folder) or answers(folder):
        return True
    with suppress(OSError):
        (folder / LINK).unlink(missing_ok=True)
    return False


def _picture(frozen: Any, before: "tuple[Any, Picture] | None") -> "Picture":
    """The picture as it was sent; an empty one that does not answer where another version of the program sent it.

    One that stands as the picture `before` is that one at its own time.
    """
    from showrunner.live.picture import Picture
    from showrunner.state.values import State

    try:
        if before is not None and _still(frozen, before[0]):
            at_s, unix_s = (frozen[Picture._fields.index(name)] for name in ("at_s", "unix_s"))
            return before[1]._replace(at_s=at_s, unix_s=unix_s)
        return from_json(Picture, frozen)
    except (ValueError, LookupError, TypeError):
        return Picture(0.0, State(), engine="not answering")


def _still(frozen: Any, before: Any) -> bool:
    """Whether two pictures as they were sent differ in nothing but times of the whole show."""
    if not isinstance(frozen, list) or not isinstance(before, list):
        return False
    now, then = ([part for part in of if not isinstance(part, float)] for of in (frozen, before))
    return now == then


def _nothing() -> None:
    """Nobody wants to know."""


class RemoteShow:
    """The running show as a screen sees it; connects again by itself when the watcher was started anew.

    Its documents are read when they are first asked for, on whatever thread asks.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._link: socket.socket | None = connect(folder)
        self._frozen: tuple[Night, Script] | None = None
        self._reading = threading.Lock()
        self._sight: Sight | None = None
        self._asked_s: float | None = None
        self.simulated = False
        self.changed = threading.Event()
        self._stir: Callable[[], object] = _nothing
        self._orders, self._dropped_s, self._anew = Orders(), deque[float](maxlen=KEPT), False
        self._open = True
        self._heard_s = time.perf_counter()
        self._ended = False
        self._newest: Any = None
        self._zero_s = 0.0
        self._gone = False
        self._picture: tuple[Any, Picture] | None = None
        self._first, self._greeted = threading.Event(), False
        threading.Thread(target=self._listen, name="link", daemon=True).start()
        if not self._first.wait(ANSWERS_WITHIN_S) and not (self._greeted and self._first.wait(STARTS_WITHIN_S)):
            self.close()
            raise LinkError("the show does not answer")

    @property
    def night(self) -> "Night":
        """The documents that the run was frozen with; ValueError, KeyError or OSError if they can't be read."""
        return self._read_frozen()[0]

    @property
    def script(self) -> "Script":
        """The script made of them; errors as for `night`."""
        return self._read_frozen()[1]

    @property
    def ready(self) -> bool:
        """Whether they have been read."""
        return self._frozen is not None

    def sight(self) -> Sight | None:
        """What the watcher said last to show; a newer one is asked for. Never waits."""
        now_s, link = time.perf_counter(), self._link
        if link is not None and (self._asked_s is None or now_s - self._asked_s > ASKS_AGAIN_S):
            self._asked_s = now_s
            with suppress(OSError):
                link.sendall(pack({"sight": True}))
        return self._sight

    def picture(self) -> "Picture":
        """The newest picture, its time moved on to now; never waits."""
        now_s, newest = time.perf_counter(), self._newest
        if self._picture is None or self._picture[0] is not newest:
            self._picture = newest, _picture(newest, self._picture)
        moved = self._picture[1].moved_to(self._run_s())
        if self._dropped_s:
            moved = moved._replace(notices=(*moved.notices, *_not_taken(self._dropped_s)))
        if self._ended:
            return moved._replace(engine="ended")
        silent = self._gone or now_s - self._heard_s > SILENT_AFTER_S
        return moved._replace(engine="not answering") if silent else moved

    def wait(self, for_s: float) -> bool:
        """Wait for something new; whether it came."""
        came = self.changed.wait(for_s)
        self.changed.clear()
        return came

    def on_stir(self, call: Callable[[], object]) -> bool:
        """Have this called, on a thread of this show's, whenever it stands otherwise than before."""
        self._stir = call
        return True

    def ask(self, what: "What") -> None:
        """Ask for a step."""
        self._send({"ask": what})

    def jump(self, song: str, moment: int) -> None:
        """Ask to play from a moment of a song in tonight's order."""
        self._send({"jump": [song, moment]})

    def move(self, control: str, raw: int) -> None:
        """Move a control of a simulated rig."""
        self._send({"move": [control, raw]})

    def trim(self, name: str, value: float) -> None:
        """Put one of tonight's trims somewhere else, in its unit."""
        self._send({"trim": [name, value]})

    def withhold(self, control: str) -> None:
        """Pass nothing on from a control until it was moved for two seconds."""
        self._send({"withhold": control})

    def end(self) -> None:
        """End the show; ports are closed, and its log with it."""
        self._send({"end": True})

    def close(self) -> None:
        """Let go of the show, which plays on."""
        self._open, self._stir = False, _nothing
        link = self._link
        if link is not None:
            with suppress(OSError):
                link.shutdown(socket.SHUT_RDWR)
            link.close()

    def _read_frozen(self) -> "tuple[Night, Script]":
        from showrunner.live.night import read_night

        with self._reading:
            if self._frozen is None:
                night = read_night(self._folder)
                self._frozen = night, night.script()
            return self._frozen

    def _send(self, message: dict[str, Any]) -> None:
        """Send an order; where that can't be, or nothing comes of it, it is sent again when the show is back."""
        self._pass_on(self._orders.new(message))

    def _pass_on(self, message: dict[str, Any]) -> None:
        link = self._link
        if link is not None:
            with suppress(OSError):
                link.sendall(pack(message))

    def _listen(self) -> None:
        while self._open and not self._ended:
            link = self._link
            if link is None:
                time.sleep(TRIES_AGAIN_S)
                with suppress(LinkError):
                    self._link = connect(self._folder)
                continue
            with suppress(Exception):  # what can't be read is as good as nothing; the way is made anew
                link.settimeout(SILENT_AFTER_S)
                self._read(link)
            self._link = None
            link.close()
            self._gone = self._anew = True
            self.changed.set()
            self._stir()
        if self._link is not None:  # made after this show was let go
            self._link.close()

    def _ask_again(self) -> None:
        late, dropped = self._orders.late()
        for message in late:
            self._pass_on(message)
        self._dropped_s.extend([self._run_s()] * dropped)

    def _run_s(self) -> float:
        """Seconds of the run now."""
        return uptime_s() - self._zero_s

    def _read(self, link: socket.socket) -> None:
        frames = Frames()
        while data := link.recv(1 << 16):
            for message in frames.feed(data):
                before = self._newest, self._gone
                self._heard_s, self._greeted = time.perf_counter(), True
                if "sight" in message:
                    self._sight, self._asked_s = from_json(Sight, message["sight"]), None
                if "gone" in message:  # the picture beside it is the last that there was
                    self._gone = self._anew = True
                if "picture" in message:
                    self.simulated = bool(message.get("simulated", self.simulated))
                    self._zero_s = float(message.get("zero_s", 0.0))
                    self._newest, self._gone = message["picture"], "gone" in message
                    self._orders.done(message.get("done", ()))
                    if self._anew and not self._gone:
                        self._anew = False
                        self._ask_again()
                    self._first.set()
                self._ended = self._ended or "ended" in message
                self.changed.set()
                if self._ended or self._gone != before[1] or not _still(self._newest, before[0]):
                    self._stir()


def _not_taken(dropped_s: Iterable[float]) -> "list[tuple[float, Notice]]":
    """That keys were lost with the watcher or the engine, as a screen says it."""
    from showrunner.state.events import Notice

    return [(at_s, Notice("nothing", say="that key was not taken; press it again")) for at_s in list(dropped_s)]
