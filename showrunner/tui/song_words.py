"""What the song's screen says in its tables: a curve's rows, the start, the cues, and signs of what is found."""

from collections.abc import Mapping, Sequence

from showrunner.checks.finding import LEVELS, Finding
from showrunner.curves.laws import to_number
from showrunner.curves.shapes import columns, row_in
from showrunner.curves.steps import in_db, largest_step
from showrunner.model.keys import KeyPath
from showrunner.model.rig import Rig
from showrunner.model.song import Cue, Curve, Song, Start, rehearsal_letter
from showrunner.model.units import format_length

SIGNS = {"error": "✗", "warning": "!", "note": "·"}
"""A finding's level beside what it is about."""


def head(song: Song, the: tuple[str, str] | None, places: Sequence[tuple[str, str]]) -> str:
    """The song and its facts, and which of its curves is shown."""
    which = "no curves"
    if the is not None and the in places:
        which = f'{the[1]} in the set "{the[0]}" ({places.index(the) + 1} of {len(places)})'
        which += f", {song.curves[the[0]][the[1]].entry}"
    facts = (song.key, f"{song.tempo_bpm:g} bpm" if song.tempo_bpm else None, str(song.meter), song.tuning)
    about = ", ".join(fact for fact in facts if fact)
    return f"{song.title} · {format_length(song.duration)} · {about} · {which}"


def travels_of(curve: Curve) -> list[float]:
    """Every column of any row and of the curve, rising."""
    return sorted({*curve.travel, *(travel for name in curve.moves for travel in columns(curve, name))})


def row_cells(curve: Curve, control: str, name: str, rig: Rig | None, travel: float, found: str) -> list[str]:
    """A target's values at each column, then value, number and the largest step with the control at a travel, %."""
    values = dict(zip(columns(curve, name), curve.moves[name].values, strict=True))
    target = rig.targets.get(name) if rig is not None else None
    now = row_in(curve, name)(travel)
    unit = f" {target.unit}" if target is not None else ""
    number = str(to_number(target, now)) if target is not None else ""
    cells = [f"{values[each]:g}" if each in values else "" for each in travels_of(curve)]
    shape = curve.moves[name].shape
    said = " ".join(part for part in (name, f"({shape})" if shape != "straight" else "", found) if part)
    return [said, *cells, f"{now:.1f}{unit}", number, step_words(curve, control, name, rig)]


def step_words(curve: Curve, control: str, name: str, rig: Rig | None) -> str:
    """The largest step in loudness on the way, and whether it will be heard; nothing where it is none."""
    target = rig.targets.get(name) if rig is not None else None
    moved_by = rig.controls.get(control) if rig is not None else None
    if target is None:
        return "not in this rig"
    if moved_by is None or moved_by.by_hand or not in_db(target):
        return ""
    step = largest_step(moved_by, curve, name, target)
    if step is None:
        return ""
    from showrunner.checks.audible import heard

    worst = heard(moved_by, curve, name, target)
    return f"{step.size:.2f} dB" if worst is None else f"{worst.size:.2f} dB, heard at {worst.travel:.0f} %"


def start_cells(song: Song, found: str) -> tuple[str, str, str, str, str]:
    """The row of how everything stands before the first note."""
    return found, "", "start", song.start_set or "", _stands(song.start)


def cue_cells(number: int, cue: Cue, at_s: float | None, found: str) -> tuple[str, str, str, str, str]:
    """A cue's row: its rehearsal letter, where it is, its name, its set of curves and what stands then."""
    when = format_length(at_s) if at_s is not None else f"bar {cue.bar}" if cue.bar is not None else "anywhere"
    said = [_stands(cue)]
    said += [f"back to {cue.back_to}"] if cue.back_to is not None else ["open"] if cue.open else []
    said += ["holds"] if cue.hold else []
    said += [f"stop by {cue.stop.by}, driver {cue.stop.driver}"] if cue.stop is not None else []
    said += [f"“{cue.say}”"] if cue.say is not None else []
    return (
        f"{rehearsal_letter(number)} {found}".strip(),
        when,
        cue.name,
        cue.curves or "",
        "; ".join(part for part in said if part),
    )


def sign(found: Sequence[Finding], key: KeyPath) -> str:
    """The sign of the worst finding at or below a key of the song's file, nothing where there is none."""
    levels = {one.level for one in found if one.kind == "song" and one.key[: len(key)] == key}
    return next((SIGNS[level] for level in LEVELS if level in levels), "")


def _stands(moment: Start | Cue) -> str:
    hands = [f"{name} {to}" for name, to in moment.by_hand.items()]
    pedals = [f"{name} {travel:g} %" for name, travel in moment.controls.items()]
    return ", ".join([*hands, *pedals, *_values(moment.targets)])


def _values(targets: Mapping[str, float]) -> list[str]:
    return [f"{name} → {value:g}" for name, value in targets.items()]
