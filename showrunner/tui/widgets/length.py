"""A song's cues along its length, as text."""

from showrunner.model.cells import fit
from showrunner.model.song import Song, rehearsal_letter
from showrunner.model.tempo import cues_at_s
from showrunner.model.units import format_length


def along(song: Song, width: int) -> list[str]:
    """The song from its first beat to its last with each cue's rehearsal letter, and what the letters mean.

    A cue without a time stands right after the one before it.
    """
    room = max(10, width - 2)
    line, names, last = ["─"] * room, [], 0
    for number, (cue, at_s) in enumerate(zip(song.cues, cues_at_s(song), strict=True)):
        letter = rehearsal_letter(number)
        end = room - len(letter)
        cell = last + 2 if at_s is None else round(min(1.0, at_s / max(1, song.duration)) * (room - 1))
        cell = min(cell, end)
        while cell < end and set(line[cell : cell + len(letter)]) != {"─"}:
            cell += 1
        line[cell : cell + len(letter)], last = letter, cell
        when = "wherever the band is" if at_s is None else format_length(at_s)
        marks = (" open" if cue.open else "") + (" holds" if cue.hold else "")
        curves = f" → {cue.curves}" if cue.curves is not None else ""
        hands = "".join(f", {name} {to}" for name, to in cue.by_hand.items())
        names.append(f"{letter} {when} {cue.name}{marks}{curves}{hands}")
    return ["├" + "".join(line) + "┤", *_in_columns(names, width)]


def _in_columns(names: list[str], width: int) -> list[str]:
    across = max(1, width // 40)
    room = width // across
    rows = (names[start : start + across] for start in range(0, len(names), across))
    return ["".join(fit(name, room - 1) + " " for name in row).rstrip() for row in rows]
