"""Tonight's input gain and interface volume: a sum that can be read line by line, held to what the stages can do."""

import math
from collections.abc import Mapping
from typing import Literal, NamedTuple

from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue

VOLUME_STAGE = "interface output"
"""Name of the stage of the chain that the interface volume sets; the input gain sets the first."""


NEGLIGIBLE_DB = 1e-9


class Line(NamedTuple):
    """One addend of a trim: where it is written, and how many dB."""

    where: str
    db: float


class Setting(NamedTuple):
    """A trim: what was asked for, line by line, and what is set once its stage's range is respected."""

    lines: tuple[Line, ...]
    asked_db: float
    set_db: float


class Remark(NamedTuple):
    """Something about a level that the player should know, with its mend."""

    level: Literal["error", "warning", "note"]
    what: str
    mend: str


class Trims(NamedTuple):
    """A song's input gain and interface volume tonight, and what is added to targets, in their units."""

    input_gain: Setting
    interface_volume: Setting
    targets: Mapping[str, float]
    remarks: tuple[Remark, ...]


def trims(
    rig: Rig, song: Song, venue: Venue | None = None, show: Show | None = None, full_house: bool = False
) -> Trims:
    """The song's trims tonight: rig + guitar + venue + full house + show + song, clamped to the rig's ranges.

    `song` is the song as played tonight. What a range cuts off is never made louder: a trim that can't go low enough is
    made up for by the other.
    """
    gain_lines = _gain_lines(rig, song, venue, show)
    volume_lines = _volume_lines(rig, song, venue, show, full_house)
    gain_asked, volume_asked = total_db(gain_lines), total_db(volume_lines)
    gain, volume, too_loud = clamped(gain_asked, volume_asked, gain_range(rig), volume_range(rig))
    return Trims(
        Setting(gain_lines, gain_asked, gain),
        Setting(volume_lines, volume_asked, volume),
        target_offsets(rig, venue, show),
        tuple(_remarks(rig, (gain_asked, gain), (volume_asked, volume), too_loud)),
    )


def total_db(lines: tuple[Line, ...]) -> float:
    """Sum of the lines in dB, the same in any order."""
    return math.fsum(line.db for line in lines)


def clamped(
    gain_db: float, volume_db: float, gain_range: tuple[float, float], volume_range: tuple[float, float]
) -> tuple[float, float, float]:
    """Gain and volume inside their ranges, and by how many dB the two together are still louder than asked (0 mostly).

    Where one can't go as low as asked, the other goes lower by as much as it can; nothing is turned up instead.
    """
    gain = min(max(gain_db, gain_range[0]), gain_range[1])
    volume = min(max(volume_db, volume_range[0]), volume_range[1])
    excess = (gain - gain_db) + (volume - volume_db)
    if excess > 0:
        lower = max(volume - excess, volume_range[0])
        excess -= volume - lower
        volume = lower
    if excess > 0:
        lower = max(gain - excess, gain_range[0])
        excess -= gain - lower
        gain = lower
    return gain, volume, max(0.0, excess)


def loudness_lufs(song: Song) -> float | None:
    """Loudness of a song as played tonight, its own trim in it, LUFS; None where it was not measured."""
    level = song.level
    return None if level is None or level.integrated_lufs is None else level.integrated_lufs + song.trim_db


def gain_range(rig: Rig) -> tuple[float, float]:
    """Least and most input gain in dB: the first stage's range, unbounded where the rig describes no chain."""
    return rig.gain[0].range_db if rig.gain else (-math.inf, math.inf)


def volume_range(rig: Rig) -> tuple[float, float]:
    """Least and most interface volume in dB that both its stage and its target allow."""
    low, high = -math.inf, math.inf
    index = volume_stage(rig)
    if index is not None:
        low, high = rig.gain[index].range_db
    target = rig.targets.get(rig.trims.volume_target) if rig.trims.volume_target is not None else None
    if target is not None:
        low, high = max(low, min(target.range)), min(high, max(target.range))
    return low, max(low, high)


def volume_stage(rig: Rig) -> int | None:
    """Index in the chain of the stage that the interface volume sets; None where the rig has none of that name."""
    return next((index for index, stage in enumerate(rig.gain) if stage.stage == VOLUME_STAGE), None)


def target_offsets(rig: Rig, venue: Venue | None = None, show: Show | None = None) -> dict[str, float]:
    """What room and show add to each target the rig has, in its unit; the interface volume's own is left out."""
    wanted = [*(venue.trims.targets.items() if venue else ()), *(show.trims.targets.items() if show else ())]
    names = dict.fromkeys(name for name, _ in wanted if name in rig.targets and name != rig.trims.volume_target)
    return {name: math.fsum(by for other, by in wanted if other == name) for name in names}


def _gain_lines(rig: Rig, song: Song, venue: Venue | None, show: Show | None) -> tuple[Line, ...]:
    guitar = rig.instruments.get(song.instrument) if song.instrument is not None else None
    lines = [Line("rig", rig.trims.input_gain_db)]
    if guitar is not None:
        lines.append(Line(f"guitar {song.instrument}", guitar.trim_db))
    if venue is not None:
        lines.append(Line("venue", venue.trims.input_gain_db))
    if show is not None:
        lines.append(Line("show", show.trims.input_gain_db))
    return tuple(lines)


def _volume_lines(rig: Rig, song: Song, venue: Venue | None, show: Show | None, full_house: bool) -> tuple[Line, ...]:
    target = rig.trims.volume_target
    lines = [Line("rig", rig.trims.interface_volume_db)]
    for where, offsets in (("venue", venue.trims if venue else None), ("show", show.trims if show else None)):
        if offsets is not None:
            lines.append(Line(where, offsets.interface_volume_db))
            if target is not None and target in offsets.targets:
                lines.append(Line(f"{where}, on {target}", offsets.targets[target]))
    if full_house and venue is not None:
        lines.append(Line("full house", venue.trims.full_house_db))
    return (*lines, Line("song", song.trim_db))


def _remarks(rig: Rig, gain: tuple[float, float], volume: tuple[float, float], too_loud_db: float) -> list[Remark]:
    remarks = []
    input_stage = rig.gain[0].stage if rig.gain else "the input"
    for name, stage, (asked, is_set) in (("input gain", input_stage, gain), ("interface volume", VOLUME_STAGE, volume)):
        off = abs(is_set - asked)
        if off < NEGLIGIBLE_DB:
            continue
        what = f"the {name} is {in_db(is_set)} where {in_db(asked)} was asked for"
        if is_set < asked:
            remarks.append(Remark("warning", what, f"turn up {in_db(off)} after {stage}, or ask for less"))
        else:
            remarks.append(Remark("warning", what, f"turn down {in_db(off)} before {stage}"))
    if too_loud_db > NEGLIGIBLE_DB:
        what = f"gain and volume together can't go low enough: {in_db(too_loud_db)} louder than asked for"
        mend = f"take {in_db(too_loud_db)} away by hand, at the guitar or at the desk"
        remarks.append(Remark("error", what, mend))
    return remarks


def in_db(level_db: float) -> str:
    """A level as a person writes it, to a hundredth of a dB."""
    return f"{round(level_db, 2) + 0.0:g} dB"
