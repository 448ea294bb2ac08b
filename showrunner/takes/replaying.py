"""A take through the show machine: what would go out at each step, and whether that is what went out then."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple, get_args

from showrunner.curves.laws import to_value
from showrunner.model.library import Book
from showrunner.model.midi import lsb_of
from showrunner.model.rig import Rig
from showrunner.state.events import Asked, Event, Heard, Jump, Notice, Out, PortFound, PortLost, Tick
from showrunner.state.machine import open_show, run
from showrunner.state.moments import prepare_song
from showrunner.state.script import Script, script_of_show
from showrunner.state.values import State
from showrunner.takes.take import BY_CLOCK, LONGEST_TICK_S, Take, TakeAsk, TakeCue

REAL_TIME = b"\xf8"

STEPS = frozenset({"changeover", "song", "cue", "over"})
"""Notices that begin a step; all others belong to the step they fall in."""


class Sent(NamedTuple):
    """One message that goes out, and what it sets: a target's value and number, or a program; else None."""

    at_s: float
    port: str
    data: bytes
    target: str | None = None
    value: float | None = None
    unit: str | None = None
    number: int | None = None
    program: int | None = None


class Step(NamedTuple):
    """From one step to the next: what it is, what was shown in it, and what went out."""

    at_s: float
    kind: str
    song: str | None
    cue: str | None
    say: str
    shown: tuple[Notice, ...]
    sent: tuple[Sent, ...]


class UnknownTakeError(Exception):
    """A take of a show and a song that the book doesn't have."""


def script_for(book: Book, take: Take, rig: Rig, song: str | None = None) -> Script:
    """The script a take is played by: its show's, else that of its song alone; UnknownTakeError if there is neither."""
    show = book.shows.get(take.show) if take.show is not None else None
    if show is not None:
        return script_of_show(book, show, rig)
    slug = take.song or song
    if slug is None or slug not in book.songs:
        names = " or ".join(f'"{name}"' for name in (take.show, slug) if name)
        raise UnknownTakeError(f"the book has nothing that this take is of: {names or 'it names no show and no song'}")
    return Script(rig=rig, pieces={slug: prepare_song(book, slug, rig)}, order=(slug,))


def replay_steps(script: Script, take: Take) -> tuple[Step, ...]:
    """Every step the take leads to, in order, with all that the machine answers."""
    reader, steps = _Reader(script.rig), list[Step]()
    for at_s, _, out in answers(script, take):
        begins = next((notice for notice in reversed(out.shows) if notice.kind in STEPS), None)
        sent = tuple(reader.read(at_s, send.port, send.message) for send in out.sends)
        if begins is not None or not steps:
            kind, song, cue, say = begins[:4] if begins is not None else ("start", None, None, "")
            steps.append(Step(at_s, kind, song, cue, say, out.shows, sent))
        else:
            last = steps[-1]
            steps[-1] = last._replace(shown=last.shown + out.shows, sent=last.sent + sent)
    return tuple(steps)


def differs_from_then(steps: Sequence[Step], take: Take) -> Sent | str | None:
    """The first message that is not what went out on its port then; None if all are, a word where nothing was kept.

    Real-time messages (MIDI 1.0: status F8 and up) came from the rehearsal's clock, and nothing is held against them.
    """
    then: dict[str, list[bytes]] = {}
    for event in take.events:
        if event.direction == "out" and event.data[:1] < REAL_TIME:
            then.setdefault(event.port, []).append(event.data)
    if not then:
        return "nothing kept"
    place: dict[str, int] = dict.fromkeys(then, 0)
    for sent in (sent for step in steps for sent in step.sent):
        index = place.get(sent.port, 0)
        if index >= len(then.get(sent.port, ())) or then[sent.port][index] != sent.data:
            return sent
        place[sent.port] = index + 1
    return None if all(place[port] == len(messages) for port, messages in then.items()) else "fewer"


def sent_then(take: Take, rig: Rig) -> tuple[Sent, ...]:
    """What the take kept of what went out, read by a rig."""
    reader = _Reader(rig)
    return tuple(reader.read(event.at_s, event.port, event.data) for event in take.events if event.direction == "out")


def answers(script: Script, take: Take) -> Iterator[tuple[float, State, Out]]:
    """What the machine makes of a take: the state after each event and tick, and what went out and was shown.

    One that was broken off goes on to its last event, so that what was under way then is there as well.
    """
    events: list[tuple[float, int, Event | TakeCue]] = [
        (event.at_s, 0, Heard(event.at_s, event.port, event.data)) for event in take.events if event.direction == "in"
    ]
    events += [(ask.at_s, 1, event) for ask in take.asks if (event := asked(script, ask)) is not None]
    for at_s, port, there, side in take.ports:
        events.append((at_s, 1, (PortFound if there else PortLost)(at_s, port, side)))
    events += [(cue.at_s, 2, cue) for cue in take.cues]
    events.sort(key=lambda row: row[:2])
    state, out = open_show(script, 0.0)
    yield 0.0, state, out
    for _, _, played in events:
        event = _to(script, state, played) if isinstance(played, TakeCue) else played
        if event is not None:
            for folded, after, answer in run(script, state, [event]):
                state = after
                yield folded.at_s, state, answer
    if not any(ask.what == "end" for ask in take.asks):
        for folded, after, answer in run(script, state, [Tick(take.ends_s + LONGEST_TICK_S / 2)]):
            yield folded.at_s, after, answer


def asked(script: Script, ask: TakeAsk) -> Event | None:
    """The step that a take says was taken without a message; None for words that are none, or a place that is gone."""
    what = ask.what.removesuffix(BY_CLOCK)
    if what == "end":
        return Tick(ask.at_s)
    if what in get_args(Asked.__annotations__["what"]):
        return Asked(ask.at_s, what)  # type: ignore[arg-type]
    song, _, cue = ask.what.removeprefix("jump ").partition(" / ")
    if not ask.what.startswith("jump ") or song not in script.pieces:
        return None
    moment = next((m.number for m in script.pieces[song].moments if m.name == cue), None)
    return None if moment is None else Jump(ask.at_s, song, moment)


def _to(script: Script, state: State, cue: TakeCue) -> Event | None:
    """The jump to a cue that was reached then by other means than a switch; None where the switches led there."""
    if cue.song not in state.order:
        return None
    names = {moment.name: moment.number for moment in script.pieces[cue.song].moments}
    moment = names.get(cue.cue)
    if moment is None or (cue.song, moment) in _places(script, state, cue.at_s):
        return None
    return Jump(cue.at_s, cue.song, moment)


def _places(script: Script, state: State, at_s: float) -> set[tuple[str | None, int]]:
    """Where the show stands, and where it gets by itself by a time that a file keeps as the nearest tick."""
    then = (after for _, after, _ in run(script, state, [Tick(at_s + LONGEST_TICK_S)]))
    return {(one.song, one.moment) for one in (state, *then)}


class _Reader:
    """Reads messages back into targets and values, fine parts joined to their coarse ones."""

    def __init__(self, rig: Rig) -> None:
        self._coarse = {(t.port, t.channel, t.cc): name for name, t in rig.targets.items()}
        self._fine = {(t.port, t.channel, lsb_of(t.cc)): name for name, t in rig.targets.items() if t.bits == 14}
        self._rig = rig
        self._msb: dict[str, int] = {}

    def read(self, at_s: float, port: str, data: bytes) -> Sent:
        sent = Sent(at_s, port, data)
        status, channel = data[0] & 0xF0, (data[0] & 0x0F) + 1
        if status == 0xC0 and len(data) == 2:
            return sent._replace(program=data[1])
        if status != 0xB0 or len(data) != 3:
            return sent
        name = self._fine.get((port, channel, data[1]))
        number = (self._msb.get(name, 0) << 7) + data[2] if name is not None else data[2]
        if name is None:
            name = self._coarse.get((port, channel, data[1]))
            if name is None:
                return sent
            if self._rig.targets[name].bits == 14:
                self._msb[name] = data[2]
                number = data[2] << 7
        target = self._rig.targets[name]
        return sent._replace(target=name, value=to_value(target, number), unit=target.unit, number=number)
