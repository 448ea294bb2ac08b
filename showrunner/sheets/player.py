"""The player's own sheet: everything of the songs, with what each pedal moves along its travel."""

from collections.abc import Mapping
from typing import NamedTuple

from showrunner.curves.shapes import columns, row_in
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Curve, Program
from showrunner.sheets.cues import CueLine, cue_lines, sends
from showrunner.sheets.head import Head, head
from showrunner.sheets.order import Entry, parts
from showrunner.sheets.top import Top, top
from showrunner.sheets.travel import line, said, stretches, strip
from showrunner.sheets.words import joined, number, on_this_rig, tempo_changes, with_unit
from showrunner.state.moments import Piece


class CurveRow(NamedTuple):
    """One target under one control.

    `values` at each of the table's columns, `points` at its own; `moves` what it does along the travel in words,
    `ruler` in signs, `line` as points x,y of a drawing: x travel, %, y from 0 (its highest) to 10 (its lowest).
    """

    target: str
    unit: str
    shape: str
    values: tuple[str, ...]
    points: tuple[str, ...]
    moves: str
    ruler: str
    line: str


class CurveView(NamedTuple):
    """How one control moves its targets, a column for each travel, %, that any row turns at."""

    control: str
    limb: str
    entry: str
    travel: tuple[str, ...]
    rows: tuple[CurveRow, ...]


class SetView(NamedTuple):
    """A curve set and where it comes into force."""

    name: str
    used: tuple[str, ...]
    curves: tuple[CurveView, ...]


class PlayerSong(NamedTuple):
    """Everything of a song."""

    head: Head
    program: str
    tempo_changes: tuple[str, ...]
    trim: str
    start_curves: str
    start_sends: tuple[str, ...]
    cues: tuple[CueLine, ...]
    sets: tuple[SetView, ...]


class PlayerPart(NamedTuple):
    """A set, the encore or the reserve."""

    title: str
    kind: str
    songs: tuple[PlayerSong, ...]


class Player(NamedTuple):
    """The player's sheet."""

    top: Top
    parts: tuple[PlayerPart, ...]


def player(
    book: Book, show: Show, rig: Rig, starts: Mapping[str, float] | None = None, finish: float | None = None
) -> Player:
    """What the player's sheet says; `starts` by song and `finish`, minutes after the midnight that starts the date."""
    return Player(
        top(book, show, rig, finish),
        tuple(
            PlayerPart(part.title, part.kind, tuple(_song(book, show, entry) for entry in part.entries))
            for part in parts(book, show, rig, starts)
        ),
    )


def _song(book: Book, show: Show, entry: Entry) -> PlayerSong:
    piece = entry.piece
    if piece is None:
        return PlayerSong(head(book, show, entry), "", (), "", "", (), (), ())
    song = piece.song
    return PlayerSong(
        head=head(book, show, entry),
        program=_program(song.program, piece.rig),
        tempo_changes=tempo_changes(song),
        trim=with_unit(song.trim_db, "dB") if song.trim_db else "",
        start_curves=song.start_set or "",
        start_sends=sends(piece, song.start.targets),
        cues=cue_lines(piece),
        sets=tuple(_set(piece, name) for name in song.curves),
    )


def _program(program: Program | None, rig: Rig) -> str:
    """The program as the host's own screen counts it."""
    if program is None:
        return ""
    port = rig.ports.get(program.port)
    shown = program.number + (port.programs_count_from if port is not None else 0)
    bank = [
        f"{word} {value}"
        for word, value in (("bank", program.bank_msb), ("low bank", program.bank_lsb))
        if value is not None
    ]
    return joined(f"program {shown} on {program.port}", *bank, f"channel {program.channel}")


def _set(piece: Piece, name: str) -> SetView:
    used = ["from the start"] if piece.song.start_set == name else []
    used += [f"from {cue.name}" for cue in piece.song.cues if cue.curves == name]
    return SetView(
        name, tuple(used), tuple(_view(piece, control, curve) for control, curve in piece.song.curves[name].items())
    )


def _view(piece: Piece, control: str, curve: Curve) -> CurveView:
    at = sorted({travel for target in curve.moves for travel in columns(curve, target)})
    known = piece.rig.controls.get(control)
    glide = f" over {number(curve.glide_ms)} ms" if curve.entry == "glide" else ""
    return CurveView(
        control=on_this_rig(piece.rig, control),
        limb=(known.limb or "") if known is not None else "",
        entry=curve.entry + glide,
        travel=tuple(number(travel) for travel in at),
        rows=tuple(_row(piece.rig, curve, target, at) for target in curve.moves),
    )


def _row(rig: Rig, curve: Curve, target: str, at: list[float]) -> CurveRow:
    known = rig.targets.get(target)
    unit = known.unit if known is not None else ""
    row, own = row_in(curve, target), columns(curve, target)
    return CurveRow(
        target=target if known is not None else f"{target} (not on this rig)",
        unit=unit,
        shape=curve.moves[target].shape,
        values=tuple(number(row(travel)) for travel in at),
        points=tuple(f"{number(travel)} %: {with_unit(row(travel), unit)}" for travel in own),
        moves=said(stretches(curve, target), unit),
        ruler=strip(curve, target),
        line=line(row),
    )
