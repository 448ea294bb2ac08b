"""What the soundcheck screen says: moments to play, trims beside the last visit's, headroom stage by stage."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from showrunner.levels.headroom import StageLevel
from showrunner.levels.kept import GAIN, KEYS, VOLUME, as_ended
from showrunner.levels.newroom import Spread, Start
from showrunner.model.cells import fit
from showrunner.model.keys import KeyPath
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.units import format_length
from showrunner.model.venue import RoomTrims, Venue, Visit
from showrunner.planning import handwork
from showrunner.planning.soundcheck import Soundcheck, Step
from showrunner.planning.trims import SongTrims
from showrunner.state.trimming import signed

NAME_CELLS, FIGURE_CELLS = 17, 9
SHOWN_DB = 40.0
"""How far below clipping the bar of a stage begins."""
FULL, EMPTY, KEPT = "█", "░", "┃"


class TrimRow(NamedTuple):
    """One trim: what tonight adds to what the room adds, both together, and what it was last time; None if unknown."""

    name: str
    unit: str
    tonight: float
    room: float
    together: float
    last: float | None
    rooms_like_it: Spread | None = None


class Moment(NamedTuple):
    """A moment of the plan: when it comes, s, what to do with the hands to get there, what is heard there first."""

    at_s: float
    step: Step
    hands: str
    new: tuple[str, ...]


def trim_rows(
    rig: Rig,
    show: Show,
    venue: Venue | None,
    visit: Visit | None,
    start: Start | None,
    at_hand: str,
    *,
    full_house: bool = False,
) -> tuple[TrimRow, ...]:
    """Volume and gain, the full house if it is counted, the targets that room, night or last visit move, and at hand.

    What a full house needs is added to the interface volume.
    """
    room = venue.trims if venue is not None else RoomTrims()
    last = visit.trims if visit is not None else None
    together = as_ended(venue if venue is not None else _nowhere(), show)
    like = {VOLUME: start.interface_volume, GAIN: start.input_gain} if start is not None else {}
    rows = [
        TrimRow(
            name,
            "dB",
            getattr(show.trims, key),
            getattr(room, key),
            getattr(together, key),
            None if last is None else getattr(last, key),
            like.get(name),
        )
        for name, key in KEYS.items()
    ]
    if full_house:
        adds = room.full_house_db
        rows.append(TrimRow("full house", "dB", 0.0, adds, adds, None if last is None else last.full_house_db))
    moved = {*room.targets, *show.trims.targets, *(last.targets if last is not None else ()), at_hand}
    for name in adjustable(rig)[len(KEYS) :]:
        if name in moved:
            before = None if last is None else last.targets.get(name, 0.0)
            tonight, of_room = show.trims.targets.get(name, 0.0), room.targets.get(name, 0.0)
            both = together.targets.get(name, 0.0)
            rows.append(TrimRow(name, rig.targets[name].unit, tonight, of_room, both, before))
    return tuple(rows)


def adjustable(rig: Rig) -> tuple[str, ...]:
    """Every trim there is: volume, gain, and each target but the one that sets the volume."""
    return (*KEYS, *(name for name in rig.targets if name != rig.trims.volume_target))


def step_of(unit: str) -> float:
    """How far one key moves a trim: half a dB, or one of any other unit."""
    return 0.5 if unit == "dB" else 1.0


def trim_lines(rows: Sequence[TrimRow], at_hand: str, last: str) -> list[str]:
    """The trims as lines under a heading; `last` is when the last visit was."""
    unit = next((row.unit for row in rows if row.name == at_hand), "dB")
    words = "".join(f"{fit(word, FIGURE_CELLS)} " for word in ("tonight", "room", "together"))
    lines = [f"  {fit(f'by {step_of(unit):g} {unit}', NAME_CELLS)}{words}{last}"]
    for row in rows:
        figures = [_figure(value, row.unit) for value in (row.tonight, row.room, row.together)]
        if row.rooms_like_it is not None:
            like = row.rooms_like_it
            before = f"{like.middle_db:+g} ({like.low_db:+g} to {like.high_db:+g}) in rooms like it"
        else:
            before = "" if row.last is None else _figure(row.last, row.unit)
        sign = "▸" if row.name == at_hand else " "
        told = "".join(f"{fit(figure, FIGURE_CELLS)} " for figure in figures)
        lines.append(f"{sign} {fit(row.name, NAME_CELLS)}{told}{before}")
    return lines


def song_cells(book: Book, song: SongTrims) -> tuple[str, ...]:
    """A song as a row of the table."""
    number = "" if song.interface_volume_number is None else str(song.interface_volume_number)
    gain, volume = song.trims.input_gain.set_db, song.trims.interface_volume.set_db
    least = min(song.stages, key=lambda stage: stage.spare_db, default=None)
    spare = "" if least is None else f"{least.spare_db:+z.1f} {least.stage}"
    mark = " !" if least is not None and least.spare_db < 0 else ""
    return book.songs[song.song].title, f"{gain:+.1f}", f"{volume:+.1f}", number, spare + mark


def song_words(book: Book, song: SongTrims) -> str:
    """A song's gain and volume, with the number that sets it."""
    gain, volume = song.trims.input_gain.set_db, song.trims.interface_volume.set_db
    number = "" if song.interface_volume_number is None else f" ({song.interface_volume_number})"
    return f"{book.songs[song.song].title}: gain {gain:+.1f} dB, volume {volume:+.1f} dB{number}"


def key_of(name: str) -> KeyPath:
    """Where a trim is in the show's file."""
    return ("trims", KEYS[name]) if name in KEYS else ("trims", "targets", name)


def head_words(title: str, plan: Soundcheck | None, heard: str, *, locked: bool, full: bool) -> str:
    """What is soundchecked, what is `heard` of a running show, and how much there is to play."""
    parts = (
        title,
        heard,
        "locked: K unlocks" if locked else "",
        "full house" if full else "empty room",
        plan_words(plan) if plan is not None else "working out what to play …",
    )
    return " · ".join(part for part in parts if part)


def left_words(left: Mapping[str, tuple[float, float]]) -> str:
    """What a run has moved and the show's file does not say yet."""
    moves = ", ".join(f"{name} {signed(before)} to {signed(after)}" for name, (before, after) in left.items())
    return f"the run moved {moves}: w keeps it for tonight"


def detail_lines(
    left: Mapping[str, tuple[float, float]], said: str, song: SongTrims | None, moment: Moment | None, note: str | None
) -> list[str]:
    """What a run left, what was `said` last, the song's remarks, the moment's hands, and the last visit's note."""
    lines = [line for line in (left_words(left) if left else "", said) if line]
    lines += [f"{each.level}: {each.what}. {each.mend}" for each in song.remarks] if song is not None else []
    if moment is not None:
        lines.append("; ".join(part for part in (moment.hands, ", ".join(moment.new)) if part))
    return [*lines, *([f"last time: {note}"] if note else [])]


def stage_lines(stages: Sequence[StageLevel], width: int) -> list[str]:
    """How near each stage comes to clipping in a song's loudest moment; the mark is where it should stay below."""
    room = max(6, min(40, width - NAME_CELLS - 30))
    lines = []
    for stage in stages:
        short = stage.headroom_db < stage.needed_db - 1e-9
        kept, reached = _cell(stage.needed_db, room), _cell(stage.headroom_db, room)
        bar = [FULL if cell < reached else EMPTY for cell in range(room)]
        bar[min(kept, room - 1)] = KEPT
        word = ": too little" if short else ""
        guess = "" if stage.measured else "~"
        told = f"{guess}{stage.headroom_db:z.1f} dB left, keep {stage.needed_db:g}{word}"
        lines.append(f"{'!' if short else ' '} {fit(stage.stage, NAME_CELLS)}{''.join(bar)} {told}")
    return lines


def moments(plan: Soundcheck) -> tuple[Moment, ...]:
    """The plan's moments in order."""
    found: list[Moment] = []
    at_s, heard = 0.0, frozenset[str]()
    for step in plan.steps:
        at_s += step.getting_s
        found.append(Moment(at_s, step, _hands(step.hands), tuple(sorted(step.spot.covers - heard))))
        at_s, heard = at_s + step.spot.seconds, heard | step.spot.covers
    return tuple(found)


def moment_cells(book: Book, moment: Moment, *, here: bool) -> tuple[str, ...]:
    """A moment as a row of the table."""
    spot = moment.step.spot
    song = book.songs.get(spot.song)
    title = song.title if song is not None else spot.song
    return (
        "◆" if here else "",
        format_length(moment.at_s),
        f"{spot.seconds:.0f} s",
        f"{title}: {spot.name} → {spot.to}",
        moment.hands,
        ", ".join(moment.new),
    )


def plan_words(plan: Soundcheck) -> str:
    """How much there is to play, and what stays unheard."""
    count = len(plan.steps)
    said = f"{count} moment{'s' if count != 1 else ''} in {format_length(plan.total_s)}"
    return f"{said}, not heard: {', '.join(plan.uncovered)}" if plan.uncovered else f"{said}, all is heard"


def _hands(todo: Iterable[handwork.Step]) -> str:
    """What hands and feet do to get from one moment to the next."""
    parts = list[str]()
    for step in todo:
        if step.what in ("guitar", "tuning"):
            parts.append(str(step.after))
        elif step.what == "capo":
            parts.append(f"capo {step.after:g}" if isinstance(step.after, int | float) and step.after else "capo off")
        else:
            to = step.after if isinstance(step.after, str) else f"{step.after or 0:g} %"
            parts.append(f"{step.what} {to}")
    return ", ".join(parts)


def _figure(value: float, unit: str) -> str:
    return f"{signed(value)} {unit}"


def _cell(below_clip_db: float, room: int) -> int:
    return round(min(1.0, max(0.0, 1 - below_clip_db / SHOWN_DB)) * room)


def _nowhere() -> Venue:
    return Venue(format=1, title="no venue")
