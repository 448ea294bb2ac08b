"""What a rehearsal is of, and how it is run: as fast as it goes, or in its own time over real or no ports."""

import queue
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import click

from showrunner.cli.common import trouble
from showrunner.cli.replaying import asked
from showrunner.live.patching import Patch
from showrunner.live.ports import Hears, PortError, System
from showrunner.live.rehearsing import Rehearsal
from showrunner.model.nearest import did_you_mean
from showrunner.planning.changeover import changeovers
from showrunner.state.events import Asked, Heard, Jump, PortFound, PortLost
from showrunner.state.moments import Piece, prepare
from showrunner.state.rehearsal import Change, Part, again, play_change, play_show, play_song
from showrunner.state.script import Script, script_of_show
from showrunner.takes.take import Take

if TYPE_CHECKING:
    from showrunner.model.library import Book

LOOKS_EVERY_S = 0.25
WAITS_S = 0.02
"""The longest that playing waits at once, so that takes are kept and ports are looked at."""


class Plan(NamedTuple):
    """What is rehearsed: the script, the clock's part, the song it is filed under and planned pauses by pair."""

    script: Script
    part: Part
    song: str
    pauses_s: dict[tuple[str, str], float]


def song_plan(book: "Book", song: str, rig: str, start: str | None, stop: str | None, times: int) -> Plan:
    """A song, or from one of its cues to another, so many times; Trouble for a cue it does not have."""
    piece = prepare(song, book.songs[song], book.rigs[rig])
    script = Script(book.rigs[rig], {song: piece}, (song,))
    first = None if start is None else _cue(piece, start)
    last = None if stop is None else _cue(piece, stop)
    if first is not None and last is not None and last <= first:
        raise trouble(f'"{stop}" does not come after "{start}" in {piece.song.title}')
    part = _times(times, lambda at_s: play_song(piece, at_s, start=first, stop=last))
    return Plan(script, part, song, {})


def show_plan(book: "Book", show: str, rig: str) -> Plan:
    """A whole show, with what it plans between songs."""
    script, pauses_s = _show(book, show, rig)
    if not script.order:
        raise trouble("the show has no songs")
    pieces = [script.pieces[slug] for slug in script.order]
    gaps = [_pause_s(script, pauses_s, (a.slug, b.slug)) for a, b in pairwise(pieces)]
    return Plan(script, play_show(pieces, gaps, 0.0), script.order[0], pauses_s)


def change_plan(book: "Book", show: str, rig: str, into: str, times: int) -> Plan:
    """The changeover into a song of a show, so many times; Trouble where the show has none into it."""
    script, pauses_s = _show(book, show, rig)
    later = script.order[1:]
    if into not in later:
        raise trouble(f'no changeover of this show leads to "{into}"', did_you_mean(into, later, f"to {_list(later)}"))
    before = script.pieces[script.order[script.order.index(into) - 1]]
    change = Change(before, script.pieces[into], _pause_s(script, pauses_s, (before.slug, into)))
    return Plan(script, _times(times, lambda at_s: play_change(change, at_s)), into, pauses_s)


def _show(book: "Book", show: str, rig: str) -> tuple[Script, dict[tuple[str, str], float]]:
    the_show, the_rig = book.shows[show], book.rigs[rig]
    found = changeovers(book, the_show, the_rig)
    return script_of_show(book, the_show, the_rig), {(one.before, one.after): one.has_s for one in found}


def _pause_s(script: Script, pauses_s: dict[tuple[str, str], float], pair: tuple[str, str]) -> float | None:
    then = script.then.get(pair[0])
    return None if then is not None and then.kind == "segue" else pauses_s.get(pair, 0.0)


def _times(times: int, play: Callable[[float], Part]) -> Part:
    parts = [play(0.0)]
    while len(parts) < times:
        parts.append(play(parts[-1].ends_s))
    return again(parts) if times > 1 else parts[0]


def _cue(piece: Piece, word: str) -> int:
    names = {moment.name: moment.number for moment in piece.moments}
    if word not in names:
        raise trouble(f'{piece.song.title} has no cue "{word}"', did_you_mean(word, names, f"it has {_list(names)}"))
    return names[word]


def _list(names: Iterable[str]) -> str:
    return ", ".join(names)


def run_fast(rehearsal: Rehearsal) -> None:
    """As fast as it goes."""
    while (next_s := rehearsal.next_s) is not None:
        rehearsal.until(next_s)
    rehearsal.end(rehearsal.part.ends_s)


def run_take(rehearsal: Rehearsal, take: Take, wait: Callable[[float], object]) -> None:
    """With a take as the player; `wait` is called with the second of the take that comes next."""
    script = rehearsal.script
    for at_s, step in sorted(_played(script, take), key=lambda row: row[0]):
        wait(at_s)
        rehearsal.until(at_s)
        if isinstance(step, Heard):
            rehearsal.heard(*step)
        else:
            rehearsal.ask(step)
    rehearsal.end(rehearsal.part.ends_s)


def _played(script: Script, take: Take) -> Iterator[tuple[float, Heard | Asked | Jump]]:
    for event in take.events:
        if event.direction == "in":
            yield event.at_s, Heard(event.at_s, event.port, event.data)
    for ask in take.asks:
        step = asked(script, ask)
        if isinstance(step, Asked | Jump):
            yield ask.at_s, step


class Room:
    """A rehearsal in its own time: ports as they come and go, and Enter on the keyboard as next."""

    def __init__(self, script: Script, system: System | None) -> None:
        self._heard: queue.SimpleQueue[tuple[float, str, bytes]] = queue.SimpleQueue()
        self._patch = None if system is None else Patch(system, script.rig, self._hears)
        self._broken: list[str] = []
        self._said = False
        if self._patch is not None:
            self._patch.look(time.perf_counter())
        self._began_s = time.perf_counter()

    def send(self, port: str, message: bytes) -> None:
        """Send to a port of the rig; one that is not there is told when it is looked at."""
        if self._patch is None:
            return
        try:
            self._patch.sends[port](message)
        except PortError:
            self._patch.drop(port, time.perf_counter())
            self._broken.append(port)

    def wait(self, at_s: float) -> None:
        """Wait until a second of the rehearsal."""
        left_s = at_s - self.now_s
        if left_s > 0:
            time.sleep(left_s)

    @property
    def now_s(self) -> float:
        """Seconds since it began."""
        return time.perf_counter() - self._began_s

    def run(self, rehearsal: Rehearsal) -> None:
        """Play to the end, or until it is broken off."""
        if sys.stdin.isatty():
            threading.Thread(target=self._keys, daemon=True).start()
        self._broken += sorted(self._patch.lost) if self._patch is not None else ()
        looked_s = 0.0
        try:
            while (next_s := rehearsal.next_s) is not None:
                rehearsal.until(self.now_s)
                while self._broken:
                    rehearsal.ported(PortLost(self.now_s, self._broken.pop(0)))
                if self._patch is not None and self.now_s - looked_s >= LOOKS_EVERY_S:
                    looked_s = self.now_s
                    for event in self._look(self._patch):
                        rehearsal.ported(event._replace(at_s=self.now_s))
                self._hear(rehearsal, max(0.0, min(next_s - self.now_s, WAITS_S)))
        except KeyboardInterrupt:
            click.echo()
        rehearsal.end(self.now_s)

    def close(self) -> None:
        """Let go of the ports."""
        if self._patch is not None:
            self._patch.close()

    def _look(self, patch: Patch) -> list[PortLost | PortFound]:
        """Which ports came and went; a system that stops answering is said once, and playing goes on."""
        try:
            return patch.look(time.perf_counter())
        except PortError as error:
            if not self._said:
                self._said = True
                click.echo(f"{error}; playing goes on without it", err=True)
            return []

    def _hear(self, rehearsal: Rehearsal, wait_s: float) -> None:
        try:
            at_s, port, message = self._heard.get(timeout=wait_s) if wait_s > 0 else self._heard.get_nowait()
        except queue.Empty:
            return
        if port:
            rehearsal.heard(at_s - self._began_s, port, message)
        else:
            rehearsal.ask(Asked(at_s - self._began_s, "back" if message.strip() == b"b" else "next"))

    def _hears(self, port: str) -> Hears:
        return lambda message: self._heard.put((time.perf_counter(), port, bytes(message)))

    def _keys(self) -> None:
        for line in sys.stdin:
            self._heard.put((time.perf_counter(), "", line.encode()))
