"""How a sheet puts things: numbers, places of controls, what the hands do, tempo and what follows a song."""

from collections.abc import Mapping

from showrunner.model.rig import Control, Rig
from showrunner.model.song import CountIn, Song
from showrunner.model.units import format_length

ENDS: Mapping[str, tuple[str, str]] = {"pedal": ("heel", "toe"), "switch": ("off", "on")}
"""What the ends of travel, 0 and 100 %, are called."""

FOLLOWS = {
    "segue": "segue, straight on",
    "gap": "gap",
    "talk": "talk",
    "applause": "applause",
    "break": "break, off stage",
}


def number(value: float) -> str:
    """A value as a person writes it: at most two decimals, none that say nothing."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def with_unit(value: float, unit: str) -> str:
    """A value and its unit, `9 dB`."""
    return f"{number(value)} {unit}".rstrip()


def signed(value: float, unit: str) -> str:
    """A value with its sign and its unit, `+1.5 dB`; 0 has none."""
    return ("+" if value > 0 else "") + with_unit(value, unit)


def standing(control: Control | None, travel: float) -> str:
    """Where a control stands: `heel`, `toe`, `on`, else its travel, `40 %`."""
    heel, toe = ENDS.get(control.kind if control is not None else "pedal", ("", ""))
    word = heel if travel == 0 else toe if travel == 100 else ""
    return word or with_unit(travel, "%")


def on_this_rig(rig: Rig, control: str) -> str:
    """The control's name, with a word if tonight's rig lacks it."""
    return control if control in rig.controls else f"{control} (not on this rig)"


def places(rig: Rig, controls: Mapping[str, float]) -> tuple[str, ...]:
    """Where the named controls should be, `swell: toe`."""
    return tuple(
        f"{on_this_rig(rig, name)}: {standing(rig.controls.get(name), travel)}" for name, travel in controls.items()
    )


def settings(rig: Rig, by_hand: Mapping[str, str]) -> tuple[str, ...]:
    """What the hands set, `octave switch: octave`."""
    return tuple(f"{on_this_rig(rig, name)}: {to}" for name, to in by_hand.items())


def capo_at(fret: int) -> str:
    """`capo 2`, nothing without one."""
    return f"capo {fret}" if fret else ""


def tempo(song: Song) -> str:
    """The starting tempo, `92`, nothing where the song has none."""
    return "" if song.tempo_bpm is None else number(song.tempo_bpm)


def tempo_changes(song: Song) -> tuple[str, ...]:
    """Later tempos and meters, `bar 41: 104, 4/4`."""
    return tuple(
        f"bar {change.bar}: "
        + joined("" if change.tempo_bpm is None else number(change.tempo_bpm), str(change.meter or ""))
        for change in song.tempo_changes
    )


def counting(count_in: CountIn | None) -> str:
    """`2 bars, drums`."""
    if count_in is None:
        return ""
    bars = f"{count_in.bars} bar" + ("s" if count_in.bars != 1 else "")
    return f"{bars}, {count_in.by}" if count_in.by is not None else bars


def music(song: Song) -> str:
    """`starts on Dm, tempo 92, 7/8, count-in 2 bars, drums`, as far as the song says."""
    named = (("starts on ", song.first_chord or ""), ("tempo ", tempo(song)), ("", str(song.meter)))
    count_in = ("count-in ", counting(song.count_in))
    return joined(*(word + said for word, said in (*named, count_in) if said))


def follows(kind: str, seconds: float) -> str:
    """What comes after a song, `talk 1:30`; nothing after the last."""
    word = FOLLOWS.get(kind, "")
    return f"{word} {format_length(seconds)}" if kind in ("gap", "talk") else word


def joined(*parts: str) -> str:
    """The parts that say something, with commas."""
    return ", ".join(part for part in parts if part)
