"""What stands beside a song's tables: what its curve does in words, where the row at hand goes, and the keys."""

from showrunner.model.rig import Rig
from showrunner.model.song import Curve, Song
from showrunner.model.tempo import cue_at_s
from showrunner.sheets.travel import said, stretches
from showrunner.tui.about import filled
from showrunner.tui.rig_words import about_target
from showrunner.tui.song_words import cue_cells, start_cells

CURVE_KEYS = (
    "enter types another value, a adds a row, + a column",
    ", and . move the pedal, s changes a row's shape",
    "v has the other curves, tab goes to the cues",
)
"""How a curve is changed, for whoever sees one for the first time."""


def curve_lines(curve: Curve, control: str, rig: Rig | None, at_hand: str | None, width: int) -> list[str]:
    """What a curve does from heel to toe in words, where the row at hand goes out, and the keys that change it."""
    targets = rig.targets if rig is not None else {}
    lines = [f"{control} from heel to toe:"]
    for number, name in enumerate(curve.moves, 1):
        unit = targets[name].unit if name in targets else ""
        lines += filled(f"{number} {name} {said(stretches(curve, name), unit)}", width)
    if at_hand is not None and at_hand in targets:
        lines += ["", *filled(about_target(at_hand, targets[at_hand]), width)]
    return [*lines, "", *(part for line in CURVE_KEYS for part in filled(line, width))]


def _cells(song: Song, number: int) -> tuple[str, str, str, str, str]:
    cue = song.cues[number]
    return cue_cells(number, cue, cue_at_s(song, cue), "")


def cue_line(song: Song, number: int | None) -> str:
    """The start, or a cue, in one line."""
    cells = start_cells(song, "") if number is None else _cells(song, number)
    _, at, name, curves, stands = cells
    told = "; ".join(part for part in (f'curves "{curves}"' if curves else "", stands) if part)
    return f"{name}{f' at {at}' if at else ''}: {told or 'nothing changes'}"
