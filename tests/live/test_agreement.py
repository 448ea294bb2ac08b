"""A run has one engine, and ports one player, whatever is killed, begun or asked at the same time."""

import os
import resource
import shutil
import signal
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from showrunner.book.read import read_book
from showrunner.cli.main import program
from showrunner.live.folder import LINK, STATE, read_json, run_folder
from showrunner.live.holding import Part, holders, of_run
from showrunner.live.launch import attach, end
from showrunner.live.link import LinkError, RemoteShow, answers
from showrunner.live.night import Night, night_of
from showrunner.places import demo_book

SHOW = "pellmarsh-hall"


@pytest.fixture(autouse=True)
def _ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A state folder of its own; whatever plays in it at the end is ended."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    yield
    for run in {one.run for one in holders()}:
        end(Path(run))


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return copied(tmp_path / "book")


def copied(root: Path) -> Path:
    return Path(shutil.copytree(demo_book(), root))


def night(root: Path, *, simulated: bool = True) -> Night:
    log = str(root / "runs" / SHOW / "night.jsonl")
    return night_of(read_book(root).book, SHOW, "full", log=log, simulated=simulated)


def pids(folder: Path, part: Part) -> list[int]:
    return [one.pid for one in of_run(folder) if one.part == part]


def killed(pid: int) -> None:
    os.kill(pid, signal.SIGKILL)


def said(book: Path, *words: str) -> Any:
    result = CliRunner().invoke(program, ["--book", str(book), "play", SHOW, *words], prog_name="showrunner")
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_a_watcher_killed_and_joined_leaves_one_engine_and_the_end_leaves_nothing(
    book: Path, waits: Callable[..., Any]
) -> None:
    folder, of = run_folder(book, SHOW), night(book)
    attach(folder, of).close()
    (engine,) = pids(folder, "engine")
    killed(pids(folder, "watcher")[0])
    attach(folder, of).close()
    waits(lambda: len(pids(folder, "watcher")) == 1, "one watcher")
    assert pids(folder, "engine") == [engine]
    ours = {one.pid for one in of_run(folder)}
    assert end(folder)
    assert of_run(folder) == []
    waits(lambda: not any(Path(f"/proc/{pid}/fd").exists() and os.listdir(f"/proc/{pid}/fd") for pid in ours), "end")
    assert said(book, "--end").output == f"{SHOW} was not running\n"


def test_an_engine_killed_with_its_watcher_while_it_starts_comes_to_terms_with_the_next(book: Path) -> None:
    folder, of = run_folder(book, SHOW), night(book)
    attach(folder, of).close()
    killed(pids(folder, "engine")[0])
    time.sleep(0.1)  # the watcher has started another by now, which holds nothing yet
    killed(pids(folder, "watcher")[0])
    attach(folder, of).close()
    assert len(pids(folder, "engine")) == 1


def test_an_engine_without_a_watcher_is_said_to_run_and_is_ended(
    book: Path, monkeypatch: pytest.MonkeyPatch, waits: Callable[..., Any]
) -> None:
    monkeypatch.setattr("showrunner.cli.status.ANSWERS_WITHIN_S", 0.0)
    monkeypatch.setattr("showrunner.live.link.ANSWERS_WITHIN_S", 0.1)
    monkeypatch.setattr("showrunner.live.launch.HANGS_S", 0.2)
    folder = run_folder(book, SHOW)
    attach(folder, night(book)).close()
    (engine,), (watcher,) = pids(folder, "engine"), pids(folder, "watcher")
    os.kill(engine, signal.SIGSTOP)
    killed(watcher)
    waits(lambda: not pids(folder, "watcher"), "the watcher to be gone")
    status = said(book, "--status")
    assert status.output == f"{SHOW} is running (not answering); processes: engine {engine}\n"
    assert status.exit_code == 0
    assert said(book, "--end").output == f"{SHOW} has ended\n"
    assert of_run(folder) == []
    assert not (folder / STATE).exists()
    assert said(book, "--status").exit_code == 1


def test_an_engine_that_hangs_without_a_watcher_gives_way_to_whoever_plays_on(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, of = run_folder(book, SHOW), night(book)
    attach(folder, of).close()
    (engine,) = pids(folder, "engine")
    os.kill(engine, signal.SIGSTOP)
    killed(pids(folder, "watcher")[0])
    monkeypatch.setattr("showrunner.live.launch.HANGS_S", 0.2)
    show = attach(folder, of)
    assert show.picture().engine == "restarted"
    show.close()
    assert len(pids(folder, "engine")) == 1
    assert pids(folder, "engine") != [engine]


def test_of_two_shows_on_the_same_ports_begun_at_once_one_plays_and_is_named(
    tmp_path: Path, waits: Callable[..., Any]
) -> None:
    books = [copied(tmp_path / name) for name in ("one", "two")]
    begin, got, refused = threading.Barrier(2), list[Path](), list[str]()

    def plays(root: Path) -> None:
        folder, of = run_folder(root, SHOW), night(root, simulated=False)
        begin.wait()
        try:
            attach(folder, of).close()
            got.append(root)
        except LinkError as error:
            refused.append(str(error))

    threads = [threading.Thread(target=plays, args=(root,)) for root in books]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    (root,), (why,) = got, refused
    title = read_book(root).book.shows[SHOW].title
    assert why.startswith(f"{title} is being played on Full rig, from the book {root}; end it with")
    assert {one.book for one in holders()} == {str(root)}
    (other,) = set(books) - set(got)
    assert not (other / "runs" / SHOW / "night.jsonl").exists()
    (engine,), (watcher,) = pids(run_folder(root, SHOW), "engine"), pids(run_folder(root, SHOW), "watcher")
    os.kill(watcher, signal.SIGSTOP)  # it has not yet seen that its engine is gone
    killed(engine)
    waits(lambda: engine not in pids(run_folder(root, SHOW), "engine"), "the engine to be gone")
    with pytest.raises(LinkError, match="is being played on Full rig"):  # its watcher keeps the ports for the next
        attach(run_folder(other, SHOW), night(other, simulated=False))
    os.kill(watcher, signal.SIGCONT)


def test_a_flooded_link_is_answered_and_what_is_no_order_ends_its_own_connection_alone(
    book: Path, waits: Callable[..., Any]
) -> None:
    folder = run_folder(book, SHOW)
    show = attach(folder, night(book))
    (watcher,) = pids(folder, "watcher")
    resource.prlimit(watcher, resource.RLIMIT_NOFILE, (24, 24))
    where = read_json(folder / LINK) or {}
    strangers = []
    for _ in range(400):
        strangers.append(socket.socket(socket.AF_UNIX if "path" in where else socket.AF_INET))
        strangers[-1].setblocking(False)
        try:
            strangers[-1].connect(where["path"] if "path" in where else ("127.0.0.1", where["port"]))
        except BlockingIOError:  # as many as the system keeps
            time.sleep(0.001)
    status = said(book, "--status")
    assert status.output.startswith(f"{SHOW} is running SIMULATED (")
    for stranger in strangers:
        stranger.close()
    assert pids(folder, "watcher") == [watcher]
    for wrong in (b"\xff" * 8, (1 << 20).to_bytes(4, "big"), (2).to_bytes(4, "big") + b"{]"):
        other = RemoteShow(folder)
        link = other._link
        assert link is not None
        link.sendall(wrong)
        waits(lambda other=other, link=link: other._link is not link, "the link to be closed")
        other.close()
    assert show.picture().engine == "playing"
    assert answers(folder)
    show.close()
