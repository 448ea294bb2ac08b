"""A song as text: its facts, how it starts, its curves and its cues."""

from collections.abc import Iterator, Mapping

from showrunner.cli.output import columns, number, paragraph
from showrunner.model.song import Cue, Curve, Song, Start
from showrunner.model.tempo import cues_at_s
from showrunner.model.units import format_length


def song_line(song: Song) -> tuple[str, ...]:
    """Title, length, and guitar with its tuning."""
    guitar = ", ".join(part for part in (song.instrument, song.tuning) if part)
    return song.title, format_length(song.duration), guitar


def song_page(song: Song) -> Iterator[str]:
    """All that a song says."""
    yield from paragraph(f"{song.title}: " + ", ".join(_facts(song)), hang=2)
    if song.program is not None:
        program = song.program
        bank = [f"bank {program.bank_msb or 0}/{program.bank_lsb or 0}"] if program.bank_msb is not None else []
        where = f"on {program.port}, channel {program.channel}"
        yield from paragraph("Recalls " + ", ".join([*bank, f"program {program.number} {where}"]), hang=2)
    for rule, reason in song.quiet.items():
        yield from paragraph(f"Silenced here: {rule}, because {reason}", hang=2)
    stands = _stands(song.start)
    curve_set = [f"curves {song.start_set}"] if song.start_set is not None else []
    if stands or curve_set:
        yield ""
        yield from paragraph("Start: " + "; ".join([*curve_set, *stands]), hang=2)
    for set_name, by_control in song.curves.items():
        for control, curve in by_control.items():
            yield from ("", f"{control}, in {set_name} (comes in by {curve.entry})")
            yield from _curve(curve)
    if song.cues:
        yield from ("", "Cues")
        rows = [
            (str(i), _place(cue, at_s), cue.name, _cue(cue))
            for i, (cue, at_s) in enumerate(zip(song.cues, cues_at_s(song), strict=True), 1)
        ]
        yield from columns(rows, right=(0, 1))


def _facts(song: Song) -> Iterator[str]:
    yield format_length(song.duration)
    if song.key:
        yield song.key
    if song.first_chord:
        yield f"starts on {song.first_chord}"
    yield (f"{number(song.tempo_bpm)} bpm " if song.tempo_bpm else "") + f"in {song.meter}"
    for change in song.tempo_changes:
        tempo = f" {number(change.tempo_bpm)} bpm" if change.tempo_bpm else ""
        yield f"from bar {change.bar}{tempo}" + (f" in {change.meter}" if change.meter else "")
    if song.instrument:
        yield song.instrument + (f" in {song.tuning}" if song.tuning else "")
    if song.capo:
        yield f"capo {song.capo}"


def _curve(curve: Curve) -> Iterator[str]:
    rows = [("travel", *(number(at) for at in curve.travel), "")]
    apart = []
    for target, move in curve.moves.items():
        shape = move.shape if move.shape != "straight" else ""
        if move.travel is None:
            rows.append((target, *(number(value) for value in move.values), shape))
        else:
            points = ", ".join(f"{number(v)} at {number(t)}" for t, v in zip(move.travel, move.values, strict=True))
            apart.append(f"{target}: {points}" + (f", {shape}" if shape else ""))
    if len(rows) > 1:
        yield from columns(rows, right=range(1, len(curve.travel) + 1))
    for line in apart:
        yield from paragraph(line, 2, 4)


def _stands(moment: Start | Cue) -> list[str]:
    pedals = [f"{name} at {number(travel)} %" for name, travel in moment.controls.items()]
    return pedals + _pairs(moment.targets) + [f"{name}: {state}" for name, state in moment.by_hand.items()]


def _pairs(targets: Mapping[str, float]) -> list[str]:
    return [f"{name} {number(value)}" for name, value in targets.items()]


def _place(cue: Cue, at_s: float | None) -> str:
    return format_length(at_s) if at_s is not None else f"bar {cue.bar}" if cue.bar is not None else ""


def _cue(cue: Cue) -> str:
    parts = [f"curves {cue.curves}"] if cue.curves else []
    parts += _stands(cue)
    parts += ["a note starts to ring"] if cue.hold else []
    parts += [f"{cue.stop.by} damps the note, driver {cue.stop.driver}"] if cue.stop is not None else []
    parts += ["open"] if cue.open else []
    parts += [f"may go back to {cue.back_to}"] if cue.back_to else []
    return "; ".join([*parts, *([f'"{cue.say}"'] if cue.say else [])])
