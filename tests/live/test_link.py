"""The way from a screen to a watcher, with a watcher that says what the test wants."""

import socket
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from showrunner.live.door import Door
from showrunner.live.folder import LINK, write_json
from showrunner.live.frames import Frames, pack
from showrunner.live.freeze import to_json
from showrunner.live.link import RemoteShow
from showrunner.live.picture import Picture
from showrunner.state.values import State


def told() -> dict[str, Any]:
    """A picture as a watcher tells it."""
    return {"picture": to_json(Picture(time.perf_counter(), State())), "simulated": True, "done": []}


class Greeter:
    """Greets each screen with what stands in `greets`, and keeps what they ask for."""

    def __init__(self, folder: Path) -> None:
        self.greets: dict[str, Any] = told()
        self.asked: list[Any] = []
        self.links: list[socket.socket] = []
        self._door = Door(folder, self._serve)
        write_json(folder / LINK, self._door.way)

    def say(self, message: dict[str, Any]) -> None:
        self.links[-1].sendall(pack(message))

    def drop(self) -> None:
        self.links[-1].shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        for link in (self._door, *self.links):
            link.close()

    def _serve(self, link: socket.socket) -> None:
        link.sendall(pack(self.greets))
        self.links.append(link)
        frames = Frames()
        while data := link.recv(1 << 16):
            self.asked += frames.feed(data)


@pytest.fixture
def watcher(tmp_path: Path) -> Iterator[Greeter]:
    made = Greeter(tmp_path)
    yield made
    made.close()


@pytest.fixture
def show(watcher: Greeter, tmp_path: Path, waits: Callable[..., Any]) -> Iterator[RemoteShow]:
    made = RemoteShow(tmp_path)
    waits(lambda: len(watcher.links) == 1, "the screen to be let in")
    yield made
    made.close()


def test_a_key_is_asked_for_again_by_a_picture_of_an_engine_that_is_back_and_not_by_the_last_of_one_that_is_gone(
    watcher: Greeter, show: RemoteShow, waits: Callable[..., Any]
) -> None:
    show.ask("next")
    waits(lambda: len(watcher.asked) == 1, "the key")
    watcher.greets = {**told(), "gone": True}
    watcher.drop()
    waits(lambda: len(watcher.links) == 2 and show.picture().engine == "not answering", "the screen to be back")
    watcher.say(told())
    waits(lambda: show.picture().engine == "playing", "the engine to be back")
    show.ask("back")
    waits(lambda: {"ask": "back"}.items() <= watcher.asked[-1].items(), "the next key")
    assert [message["ask"] for message in watcher.asked] == ["next", "next", "back"]
    assert watcher.asked[0] == watcher.asked[1]


def test_a_watcher_whose_engine_has_gone_is_not_said_to_answer_until_there_is_another(
    watcher: Greeter, show: RemoteShow, waits: Callable[..., Any]
) -> None:
    waits(lambda: show.picture().engine == "playing", "the engine")
    watcher.say({"gone": True})
    waits(lambda: show.picture().engine == "not answering", "the engine to be missed")
    watcher.say(told())
    waits(lambda: show.picture().engine == "playing", "the engine to be back")


def test_a_screen_is_stirred_by_what_is_different_alone(
    watcher: Greeter, show: RemoteShow, waits: Callable[..., Any]
) -> None:
    stirs: list[float] = []
    assert show.on_stir(lambda: stirs.append(show.picture().at_s))
    stands = told()
    watcher.say(stands)
    watcher.say({**stands, "picture": to_json(Picture(7.0, State(), unix_s=9.0))})
    waits(lambda: show.picture().unix_s >= 9.0, "the later picture")
    assert stirs == []
    watcher.say({**stands, "picture": to_json(Picture(8.0, State(muted=True)))})
    waits(lambda: len(stirs) == 1, "the other state")
    assert show.picture().state.muted
    watcher.say({**stands, "gone": True})
    waits(lambda: len(stirs) == 2, "that the engine is gone")
