"""The link's first words: who lacks the key is read a few hundred bytes at most, and leaves the door as it was."""

import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from showrunner.live import door as module
from showrunner.live.door import UNPROVED, Door
from showrunner.live.folder import LINK, read_json, write_json
from showrunner.live.frames import FrameError, Frames, pack
from showrunner.live.greeting import LONGEST, StrangerError, get_in, let_in
from showrunner.live.link import LinkError, answers, connect, running

KEY = "0123456789abcdef"


class Counted:
    """A connection that counts what is read from it."""

    def __init__(self, link: socket.socket) -> None:
        self._link, self.read = link, 0

    def recv(self, count: int) -> bytes:
        data = self._link.recv(count)
        self.read += len(data)
        return data

    def __getattr__(self, name: str) -> Any:
        return getattr(self._link, name)


@pytest.fixture
def ends() -> Iterator[tuple[socket.socket, socket.socket]]:
    """Both ends of a connection: the show's and the screen's."""
    here, there = socket.socketpair()
    with here, there:
        yield here, there


def soon(within_s: float = 30.0) -> float:
    return time.perf_counter() + within_s


@pytest.mark.parametrize(
    "said",
    [
        (1 << 22).to_bytes(4, "big") + b"x" * 100_000,
        b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n",
        pack({"greets": "1", "proof": "0" * 64}),
        pack({"greets": "1"}),
        pack({"greets": ["1"], "proof": ["0"]}),
        pack({"greets": "\udc80", "proof": "\udc80"}),
        (3).to_bytes(4, "big") + b"[1]",
        (LONGEST).to_bytes(4, "big") + b"[" * LONGEST,
        bytes(4),
    ],
)
def test_who_lacks_the_key_is_read_a_greeting_at_most(ends: tuple[socket.socket, socket.socket], said: bytes) -> None:
    show, stranger = ends
    threading.Thread(target=stranger.sendall, args=(said,), daemon=True).start()
    counted = Counted(show)
    with pytest.raises(StrangerError):
        let_in(counted, KEY, soon())  # type: ignore[arg-type]
    assert counted.read <= 4 + LONGEST
    show.shutdown(socket.SHUT_RDWR)


def test_who_says_its_greeting_byte_by_byte_has_no_longer_for_it(ends: tuple[socket.socket, socket.socket]) -> None:
    show, stranger = ends
    done = threading.Event()

    def drips() -> None:
        while not done.wait(0.02):
            stranger.send(b"\0")

    said = threading.Thread(target=drips)
    said.start()
    stranger.sendall((LONGEST).to_bytes(4, "big"))
    with pytest.raises(StrangerError):
        let_in(show, KEY, soon(0.2))
    done.set()
    said.join()


@pytest.mark.parametrize(
    "said", [pack({"greets": "1"}), pack({"greets": "1"}) + pack({"proof": "0" * 64}), b"HTTP/1.1"]
)
def test_a_screen_takes_nobody_for_the_show_who_lacks_the_key(
    ends: tuple[socket.socket, socket.socket], said: bytes
) -> None:
    other, screen = ends
    other.sendall(said)
    other.shutdown(socket.SHUT_WR)
    with pytest.raises(StrangerError):
        get_in(screen, KEY, soon())


def test_what_a_screen_said_is_no_proof_for_the_show(ends: tuple[socket.socket, socket.socket]) -> None:
    """One who sends a screen's own words back to it has not got the key."""
    other, screen = ends

    def echoes() -> None:
        other.sendall(pack({"greets": "1"}))
        other.sendall(other.recv(1000))

    thread = threading.Thread(target=echoes)
    thread.start()
    with pytest.raises(StrangerError):
        get_in(screen, KEY, soon())
    thread.join()


def test_both_who_have_the_key_go_on_with_what_follows(ends: tuple[socket.socket, socket.socket]) -> None:
    show, screen = ends

    def greets() -> None:
        let_in(show, KEY, soon())
        show.sendall(b"follows")

    thread = threading.Thread(target=greets)
    thread.start()
    get_in(screen, KEY, soon())
    assert screen.recv(100) == b"follows"
    thread.join()


@pytest.fixture(params=["socket file", "loopback"])
def entered(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Any]]:
    """A door in the folder, both ways that there are; those who were let in, the door last."""
    if request.param == "loopback":
        monkeypatch.setattr(module, "LONGEST_PATH", 0)
    came: list[Any] = []

    def serve(link: socket.socket) -> None:
        came.insert(0, link)
        link.sendall(b"welcome")

    door = Door(tmp_path, serve)
    write_json(tmp_path / LINK, door.way)
    came.append(door)
    yield came
    for one in came:
        one.close()


def reached(folder: Path) -> socket.socket:
    """A connection to the door that shows no key."""
    where = read_json(folder / LINK) or {}
    link = socket.socket(socket.AF_UNIX if "path" in where else socket.AF_INET)
    link.connect(where["path"] if "path" in where else ("127.0.0.1", where["port"]))
    return link


def greeting() -> int:
    return sum(thread.name == "greet" for thread in threading.enumerate())


def test_a_way_in_is_for_the_user_alone(entered: list[Any], tmp_path: Path) -> None:
    assert (tmp_path / LINK).stat().st_mode & 0o077 == 0
    way = entered[-1].way
    assert "port" in way or Path(way["path"]).stat().st_mode & 0o077 == 0


def test_whoever_floods_the_door_is_sent_away_and_screens_get_in(
    entered: list[Any], tmp_path: Path, waits: Callable[..., Any]
) -> None:
    strangers = [reached(tmp_path) for _ in range(40)]
    link = connect(tmp_path)
    assert link.recv(100) == b"welcome"
    assert greeting() <= UNPROVED + 1
    gone = 0
    for stranger in strangers[: -UNPROVED - 1]:
        stranger.settimeout(30)
        gone += stranger.recv(1000) != b"" and stranger.recv(1000) == b""
    assert gone == len(strangers) - UNPROVED - 1
    for each in (*strangers, link):
        each.close()
    waits(lambda: greeting() == 0, "the strangers to be forgotten")
    assert len(entered) == 2


def test_who_says_nothing_is_sent_away(entered: list[Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "PROVES_WITHIN_S", 0.1)
    with reached(tmp_path) as stranger:
        stranger.settimeout(30)
        assert stranger.recv(1000)
        assert stranger.recv(1000) == b""
    assert len(entered) == 1


@pytest.mark.parametrize("trouble", [OSError(24, "Too many open files"), MemoryError(), RuntimeError("no thread")])
def test_a_door_that_could_not_take_one_takes_the_next(
    entered: list[Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: Exception
) -> None:
    troubles = [trouble] * 3
    start = threading.Thread.start

    def starts(thread: threading.Thread) -> None:
        if thread.name == "greet" and troubles:
            raise troubles.pop()
        start(thread)

    monkeypatch.setattr(threading.Thread, "start", starts)
    for _ in range(3):
        with pytest.raises(LinkError):
            connect(tmp_path)
    link = connect(tmp_path)
    assert link.recv(100) == b"welcome"
    link.close()
    assert len(entered) == 2


class Foreign:
    """Another program's listener, that says the same to everybody, or nothing."""

    def __init__(self, says: bytes) -> None:
        self._server, self._says, self._links = socket.create_server(("127.0.0.1", 0)), says, list[socket.socket]()
        self.port = self._server.getsockname()[1]
        threading.Thread(target=self._serve, daemon=True).start()

    def close(self) -> None:
        self._server.shutdown(socket.SHUT_RDWR)
        for link in (self._server, *self._links):
            link.close()

    def _serve(self) -> None:
        while True:
            try:
                self._links.append(self._server.accept()[0])
            except OSError:
                return
            self._links[-1].sendall(self._says)


@pytest.mark.parametrize("says", [b"", b"SSH-2.0-other\r\n", pack({"greets": "1"}), pack({"picture": []})])
def test_a_stale_way_in_that_leads_to_another_program_is_no_running_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, says: bytes
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setattr("showrunner.live.link.ANSWERS_WITHIN_S", 0.3)
    foreign = Foreign(says)
    write_json(tmp_path / LINK, {"port": foreign.port, "key": KEY})
    assert not answers(tmp_path)
    assert not running(tmp_path)
    assert not (tmp_path / LINK).exists()
    foreign.close()


@pytest.mark.parametrize("where", [{}, {"port": 0}, {"port": 1 << 20}, {"port": "x"}, {"path": 1}, {"path": "no/such"}])
def test_a_way_in_that_leads_nowhere_is_no_running_show(tmp_path: Path, where: dict[str, Any]) -> None:
    write_json(tmp_path / LINK, where)
    with pytest.raises(LinkError):
        connect(tmp_path)


def test_a_frame_longer_than_is_agreed_is_no_frame() -> None:
    with pytest.raises(FrameError):
        list(Frames(10).feed((11).to_bytes(4, "big")))
