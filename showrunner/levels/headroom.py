"""Levels along the gain chain: how far a song's loudest moment stays below clipping, and which stage goes first."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from showrunner.levels.gain import Remark, Trims, volume_stage
from showrunner.model.rig import Rig
from showrunner.model.song import Song

INPUT_PEAK_OVER_NOMINAL_DB = 6.0
"""Common practice: working at −18 dBFS, a guitar peaks at −12."""

INPUT_HEADROOM_DB = 6.0
"""Common practice: warn where the input peaks above −6 dBFS, since a show runs 3 dB over its soundcheck."""

CEILING_DBTP = -3.0
"""Common practice: no output over −3 dBTP."""

SOLO_LIFT_DB = 4.0
"""Common practice: a solo is lifted 3 to 4 dB over the rest of its song."""


FINEST = 9
"""Decimals that are kept of headroom in dB, so that none left is 0 and no rest of a sum."""

INPUT_GAIN, IN_HOST, INTERFACE_VOLUME = "the input gain", "the song in the host", "the interface volume"


class StageLevel(NamedTuple):
    """One stage in a song: working level, peaks of its loudest and quietest moment, and what is left below clipping.

    `measured` is false where a figure of common practice stands in for the song's own.
    """

    stage: str
    working_dbfs: float
    loudest_dbfs: float
    quietest_dbfs: float
    headroom_db: float
    needed_db: float
    measured: bool

    @property
    def spare_db(self) -> float:
        """Headroom beyond what should be kept; negative where it is too little."""
        return self.headroom_db - self.needed_db


class Moved(NamedTuple):
    """How far tonight moves a song's loudest moment by the values it sends, dB, against the rig's reference trims.

    `host_db` is by its level targets, `volume_db` what the interface volume adds. `swing_db` is how far its quietest
    moment lies below its loudest; None where its values don't say.
    """

    host_db: float
    volume_db: float
    swing_db: float | None = None


def along_chain(rig: Rig, song: Song, trims: Trims, moved: Moved | None = None) -> tuple[StageLevel, ...]:
    """Levels at the output of each stage in turn; without `moved` as for a song that sends no level of its own."""
    by = moved or Moved(0.0, trims.interface_volume.set_db - rig.trims.interface_volume_db)
    swing = SOLO_LIFT_DB if by.swing_db is None else by.swing_db
    source, output = _source(rig), volume_stage(rig)
    at_reference = _at_reference(rig, song, source)
    input_shift = _input_shift_db(rig, song, trims)
    levels = []
    for index, stage in enumerate(rig.gain):
        shift = input_shift + (by.host_db if index > 0 else 0.0)
        shift += by.volume_db if output is not None and index >= output else 0.0
        if index == 0:
            working, loudest, measured = stage.nominal_dbfs, stage.nominal_dbfs + INPUT_PEAK_OVER_NOMINAL_DB, False
            quietest, needed = loudest, INPUT_HEADROOM_DB
        else:
            nominal = stage.nominal_dbfs - rig.gain[source].nominal_dbfs
            working, loudest = (level + nominal for level in at_reference)
            measured = song.level is not None and song.level.true_peak_dbtp is not None
            quietest, needed = loudest - swing, -CEILING_DBTP
        headroom = round(stage.clip_dbfs - loudest - shift, FINEST) + 0.0
        levels.append(
            StageLevel(stage.stage, working + shift, loudest + shift, quietest + shift, headroom, needed, measured)
        )
    return tuple(levels)


def first_to_clip(levels: Iterable[StageLevel]) -> StageLevel | None:
    """The stage with the least headroom to spare; None for no stages."""
    return min(levels, key=lambda level: level.spare_db, default=None)


def advice(rig: Rig, levels: Sequence[StageLevel]) -> Remark | None:
    """What to turn and by how much where a stage keeps too little headroom; None where all keep enough."""
    first = first_to_clip(levels)
    if first is None or first.spare_db >= -1e-9:
        return None
    by, turn = -first.spare_db, what_to_turn(rig, levels.index(first))
    left = f"{first.headroom_db:.1f} dB of headroom" if first.headroom_db > 0 else "no headroom: it clips"
    seen = "" if first.measured else " (by common practice; the song's own level is not measured there)"
    what = f"{first.stage} has {left}, {first.needed_db:g} dB should be kept{seen}"
    return Remark("warning" if first.headroom_db > 0 else "error", what, f"turn {turn} down {by:.1f} dB")


def what_to_turn(rig: Rig, index: int) -> str:
    """What makes a song louder or quieter at a stage of the chain, by its index: `INPUT_GAIN` and its like."""
    output = volume_stage(rig)
    if index == 0:
        return INPUT_GAIN
    return IN_HOST if output is None or index < output else INTERFACE_VOLUME


def _source(rig: Rig) -> int:
    """Index of the stage whose output a song's measured level was taken at: the last before the interface volume."""
    output = volume_stage(rig)
    last = len(rig.gain) - 1 if output is None else output - 1
    return max(min(1, len(rig.gain) - 1), last)


def _at_reference(rig: Rig, song: Song, source: int) -> tuple[float, float]:
    """Working level and true peak at the source stage at the rig's reference trims; LUFS count as dBFS there."""
    nominal = rig.gain[source].nominal_dbfs if rig.gain else 0.0
    level = song.level
    working = level.integrated_lufs if level is not None and level.integrated_lufs is not None else nominal
    peak = level.true_peak_dbtp if level is not None and level.true_peak_dbtp is not None else CEILING_DBTP
    return working, peak


def _input_shift_db(rig: Rig, song: Song, trims: Trims) -> float:
    """How far tonight moves the chain's input from where it stood at the reference trims, in dB."""
    guitar = rig.instruments.get(song.instrument) if song.instrument is not None else None
    reference = rig.trims.input_gain_db + (guitar.trim_db if guitar is not None else 0.0)
    return trims.input_gain.set_db - reference
