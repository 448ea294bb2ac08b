"""The crew's sheet: guitars, tunings and capos, who does what between songs, batteries, checklists and times."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from showrunner.model.cautions import LIFTING, MAINS
from showrunner.model.checklist import Checklist
from showrunner.model.library import Book
from showrunner.model.rig import Battery, Rig
from showrunner.model.show import Show
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.sheets.changes import guitar_changes, hands_at_start, pedals_at_start, tuning_of
from showrunner.sheets.cues import CueLine, cue_lines
from showrunner.sheets.head import Head, head
from showrunner.sheets.order import RESERVE, Entry, Part, entries, parts
from showrunner.sheets.top import Top, top
from showrunner.sheets.words import capo_at, follows, joined, number, places, settings, with_unit
from showrunner.state.moments import Piece

CREW, PLAYER = "crew", "player"


class Step(NamedTuple):
    """One thing to do before a song, and who does it: crew, player, or the limb that moves the control."""

    who: str
    what: str


class CrewSong(NamedTuple):
    """A song, what comes before it and leaves how much time, what has to be done in that, and its cues.

    `takes` is the changeover's seconds in words, `too_short` by how much, empty where there is time.
    """

    head: Head
    time_before: str
    before_kind: str
    takes: str
    too_short: str
    needs_s: float | None
    has_s: float | None
    steps: tuple[Step, ...]
    cues: tuple[CueLine, ...]


class CrewPart(NamedTuple):
    """A set, the encore or the reserve."""

    title: str
    kind: str
    songs: tuple[CrewSong, ...]


class Tuned(NamedTuple):
    """One tuning of a guitar: its strings from the lowest, and the songs that need it, with the capo."""

    tuning: str
    strings: str
    songs: tuple[str, ...]


class Guitar(NamedTuple):
    """A guitar the show needs, its spare, its battery, and the controls on it."""

    name: str
    rest_tuning: str
    tunings: tuple[Tuned, ...]
    spare: str
    battery: str
    carries: tuple[str, ...]


class Cell(NamedTuple):
    """A battery: what it is in, what it holds and feeds, since when, and for how long it has been used."""

    name: str
    guitars: str
    capacity: str
    load: str
    fitted: str
    used: str


class Ask(NamedTuple):
    """One item of a checklist."""

    ask: str
    answer: str
    critical: bool
    who: str


class List(NamedTuple):
    """A checklist."""

    title: str
    when: str
    items: tuple[Ask, ...]


class Crew(NamedTuple):
    """The crew's sheet; `mains` and `lifting` are cautions."""

    top: Top
    mains: str
    lifting: str
    guitars: tuple[Guitar, ...]
    parts: tuple[CrewPart, ...]
    batteries: tuple[Cell, ...]
    checklists: tuple[List, ...]


def crew(
    book: Book, show: Show, rig: Rig, starts: Mapping[str, float] | None = None, finish: float | None = None
) -> Crew:
    """What the crew's sheet says; `starts` by song and `finish` in minutes after the midnight that starts the date."""
    order = parts(book, show, rig, starts)
    return Crew(
        top=top(book, show, rig, finish),
        mains=f"Mains: {MAINS}",
        lifting=f"Lifting: {LIFTING}",
        guitars=_guitars(rig, list(entries(order))),
        parts=tuple(_parts(book, show, order, {one.after: one for one in changeovers(book, show, rig)})),
        batteries=tuple(_cell(name, battery, rig) for name, battery in rig.batteries.items()),
        checklists=tuple(_list(book.checklists[slug]) for slug in show.checklists if slug in book.checklists),
    )


def _parts(book: Book, show: Show, order: Sequence[Part], changes: Mapping[str, Changeover]) -> Iterator[CrewPart]:
    before = kind = ""
    for part in order:
        songs = []
        for entry in part.entries:
            cues = cue_lines(entry.piece) if entry.piece is not None else ()
            change = changes.get(entry.slug) if entry.before is not None else None
            time = (before, kind, *_time(change)) if part.kind != RESERVE else ("", "", *_time(None))
            songs.append(CrewSong(head(book, show, entry), *time, tuple(steps(entry)), cues))
            before, kind = follows(entry.pause, entry.pause_s), entry.pause
        yield CrewPart(part.title, part.kind, tuple(songs))


def _time(change: Changeover | None) -> tuple[str, str, float | None, float | None]:
    """A changeover's seconds in words, by how much it is too short, what it needs and what there is, in seconds."""
    if change is None:
        return "", "", None, None
    takes = f"takes {_seconds(change.needs_s)}, there are {_seconds(change.has_s)}"
    short = f"TOO SHORT by {_seconds(change.short_s)}" if change.short_s > 0 else ""
    return takes, short, change.needs_s, change.has_s


def _seconds(seconds: float) -> str:
    return f"{number(seconds)} s"


def steps(entry: Entry) -> Iterator[Step]:
    """What has to be done before a song; the crew prepare a guitar that waits, the player the one that is worn."""
    piece = entry.piece
    if piece is None:
        return
    rig, song = piece.rig, piece.song
    changes = guitar_changes(entry)
    handed = song.instrument is not None and (entry.before is None or entry.before.song.instrument != song.instrument)
    if handed:
        ready = joined(song.instrument or "", tuning_of(piece), capo_at(song.capo))
        yield Step(CREW, f"{'have ready' if entry.before is None else 'hand over'}: {ready}")
    else:
        yield from (Step(PLAYER, change) for change in changes)
    for name, to in hands_at_start(entry).items():
        yield Step(_who(rig, name), settings(rig, {name: to})[0])
    for name, travel in pedals_at_start(entry).items():
        yield Step(_who(rig, name), places(rig, {name: travel})[0])


def _who(rig: Rig, control: str) -> str:
    known = rig.controls.get(control)
    return known.limb if known is not None and known.limb is not None else PLAYER


def _guitars(rig: Rig, of_show: Sequence[Entry]) -> tuple[Guitar, ...]:
    played: dict[str, dict[str, list[str]]] = {}
    for entry in of_show:
        piece = entry.piece
        if piece is not None and piece.song.instrument is not None:
            tunings = played.setdefault(piece.song.instrument, {})
            tunings.setdefault(tuning_of(piece), []).append(_song_with_capo(entry.label, piece))
    return tuple(_guitar(rig, name, tunings) for name, tunings in played.items())


def _song_with_capo(label: str, piece: Piece) -> str:
    capo = capo_at(piece.song.capo)
    return f"{label} {piece.song.title}" + (f" ({capo})" if capo else "")


def _guitar(rig: Rig, name: str, tunings: Mapping[str, Sequence[str]]) -> Guitar:
    guitar = rig.instruments.get(name)
    strings = guitar.tunings if guitar is not None else {}
    return Guitar(
        name=name if guitar is not None else f"{name} (not on this rig)",
        rest_tuning=guitar.home_tuning if guitar is not None else "",
        tunings=tuple(Tuned(t, " ".join(strings.get(t, ())), tuple(songs)) for t, songs in tunings.items()),
        spare=(guitar.spare or "") if guitar is not None else "",
        battery=(guitar.battery or "") if guitar is not None else "",
        carries=guitar.carries if guitar is not None else (),
    )


def _cell(name: str, battery: Battery, rig: Rig) -> Cell:
    capacity = battery.capacity_mah
    holds = (
        with_unit(capacity, "mAh")
        if isinstance(capacity, int | float)
        else ", ".join(f"{number(mah)} mAh at {number(ma)} mA" for ma, mah in capacity)
    )
    return Cell(
        name=name,
        guitars=", ".join(g for g, guitar in rig.instruments.items() if guitar.battery == name),
        capacity=holds,
        load=with_unit(battery.load_ma, "mA"),
        fitted="" if battery.fitted is None else battery.fitted.isoformat(),
        used=with_unit(battery.used_h, "h") if battery.used_h else "",
    )


def _list(checklist: Checklist) -> List:
    items = tuple(Ask(item.ask, item.answer or "", item.critical, item.who or "") for item in checklist.items)
    return List(checklist.title, checklist.when or "", items)
