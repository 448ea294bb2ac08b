"""What can be typed of a song: its facts, how it stands at the start, each of its cues, how a curve comes in."""

from typing import Any

from showrunner.book.data import ABSENT
from showrunner.model.keys import KeyPath
from showrunner.model.rig import Rig
from showrunner.model.song import Cue, Song, Start
from showrunner.model.units import parse_meter
from showrunner.tui.cue_edits import renamed
from showrunner.tui.fields import NOTHING, YES_NO, Changes, Field, length, number, whole, yes

ENTRIES = {
    "jump": "jump: the curve holds at once, wherever the pedal is",
    "meet": "meet: nothing moves until the pedal meets the value that stands",
    "glide": "glide: from the value that stands to the curve's, over glide ms",
}
SHAPES = {
    "straight": "straight: from column to column in a line",
    "smooth": "smooth: rounded, never past a column's value",
    "step": "step: holds until the next column",
    "equal-power": "equal-power: for two that cross-fade",
}


def of_song(rig: Rig | None, song: Song) -> list[Field]:
    """What a song is played with."""
    guitars = rig.instruments if rig is not None else {}
    known = [guitar for name, guitar in guitars.items() if song.instrument in (None, name)]
    tunings = {name: name for guitar in known for name in guitar.tunings}
    return [
        Field("duration", ("duration",), length, "how long it plays, such as 6:40"),
        Field("short title", ("short",), hint="what fits in big letters", usual=song.short_title),
        Field("key", ("key",), hint="such as D minor"),
        Field("first chord", ("first_chord",), hint="such as Dm"),
        Field("tempo", ("tempo_bpm",), number, "quarter notes a minute"),
        Field("meter", ("meter",), _meter, "such as 7/8", usual="4/4"),
        Field("guitar", ("instrument",), choices=NOTHING | {name: name for name in guitars}),
        Field("tuning", ("tuning",), choices=NOTHING | tunings, usual="the guitar's own"),
        Field("capo", ("capo",), whole, "fret; 0 is none", usual="0"),
        Field("trim", ("trim_db",), number, "dB on the interface volume", usual="0"),
    ]


def of_start(rig: Rig | None, song: Song) -> list[Field]:
    """How everything stands before the first note."""
    sets = NOTHING | {name: name for name in song.curves}
    return [
        Field("curves", ("start", "curves"), choices=sets, usual=song.start_set or ""),
        *_of_moment(rig, song.start, ("start",)),
    ]


def of_cue(rig: Rig | None, song: Song, at: int, raw: dict[str, Any]) -> list[Field]:
    """Everything of one cue, by its number from 0."""
    cue, key = song.cues[at], ("cues", at)
    earlier = NOTHING | {each.name: each.name for each in song.cues[:at]}
    stop: KeyPath = (*key, "stop")
    return [
        Field("name", (*key, "name"), hint="what you call it", follows=lambda _, new: renamed(raw, at, new)),
        Field("at", (*key, "at"), length, "from the start, such as 1:12", follows=_instead((*key, "bar"), cue.bar)),
        Field("bar", (*key, "bar"), whole, "counted from 1; instead of a time", follows=_instead((*key, "at"), cue.at)),
        Field("curves", (*key, "curves"), choices=NOTHING | {name: name for name in song.curves}),
        Field("say", (*key, "say"), hint="what you want to be told"),
        Field("open", (*key, "open"), yes, "lasts as long as it lasts", YES_NO, "no"),
        Field("back to", (*key, "back_to"), choices=earlier, hint="an earlier cue; needs open"),
        Field("hold", (*key, "hold"), yes, "a driven note starts to ring here", YES_NO, "no"),
        Field("stop by", (*stop, "by"), hint="what damps the held note", prunes=1, follows=_whole(stop)),
        Field(
            "driver", (*stop, "driver"), choices=NOTHING | {"off": "off", "on": "on"}, hint="if stop by is", prunes=1
        ),
        *_of_moment(rig, cue, key),
    ]


def of_curve(at: KeyPath) -> list[Field]:
    """How a curve comes in when its set does."""
    return [
        Field("entry", (*at, "entry"), choices=NOTHING | ENTRIES, usual="jump"),
        Field("glide", (*at, "glide_ms"), number, "ms, where the entry is glide", usual="250"),
    ]


def _of_moment(rig: Rig | None, moment: Start | Cue, key: KeyPath) -> list[Field]:
    """States of the hands first, then where pedals belong, then values sent; what is written before what could be."""
    controls = rig.controls if rig is not None else {}
    hands = {name: control for name, control in controls.items() if control.by_hand}
    pedals = [name for name, control in controls.items() if not control.by_hand and control.kind != "switch"]
    targets = rig.targets if rig is not None else {}
    fields = []
    for name in _written_first(moment.by_hand, hands):
        positions = hands[name].positions if name in hands else ()
        choices = NOTHING | {each: each for each in positions} if positions else None
        fields.append(Field(f"{name}, by hand", (*key, "by_hand", name), choices=choices, prunes=1))
    fields += [
        Field(name, (*key, "controls", name), number, "travel: heel 0, toe 100 %", prunes=1)
        for name in _written_first(moment.controls, pedals)
    ]
    for name in _written_first(moment.targets, targets):
        low, high = sorted(targets[name].range) if name in targets else (0.0, 0.0)
        hint = f"{targets[name].unit}, from {low:g} to {high:g}" if name in targets else "not in this rig"
        fields.append(Field(f"{name} →", (*key, "targets", name), number, hint, prunes=1))
    return fields


def _written_first(written: Any, known: Any) -> list[str]:
    return [*written, *(name for name in known if name not in written)]


def _instead(key: KeyPath, now: Any) -> Any:
    """The other of two keys goes when this one is written."""

    def follows(_: Any, after: Any) -> Changes:
        return {key: ABSENT} if after is not ABSENT and now is not None else {}

    return follows


def _whole(key: KeyPath) -> Any:
    """The whole table goes when this key does."""

    def follows(before: Any, after: Any) -> Changes:
        return {key: ABSENT} if after is ABSENT and before is not ABSENT else {}

    return follows


def _meter(typed: str) -> str:
    return str(parse_meter(typed))
