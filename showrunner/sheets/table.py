"""A sheet as comma-separated values (RFC 4180): one value a cell, its unit in the heading, a row for each thing said.

The column `row` says what a row is, one of `KINDS`. Cells of columns that do not belong to it are empty. Values of
targets stand in the column of their unit.
"""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain
from typing import Any, NamedTuple

from showrunner.curves.shapes import columns, row_in
from showrunner.levels.gain import target_offsets, trims
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.units import format_clock
from showrunner.planning.changeover import Changeover, changeovers
from showrunner.sheets.changes import guitar_changes, hands_at_start, pedals_at_start, tuning_of
from showrunner.sheets.crew import steps
from showrunner.sheets.desk import marks, reach
from showrunner.sheets.escape import for_csv
from showrunner.sheets.head import tonight
from showrunner.sheets.order import Entry, parts
from showrunner.sheets.plain import clean
from showrunner.sheets.top import clocks
from showrunner.sheets.travel import stretches
from showrunner.state.moments import Moment, Piece

Row = Mapping[str, Any]

_SONG = ("part", "label", "slug", "title")
_CUE = (*_SONG, "number", "name")
_OF_SONG = ("optional", "clock", "duration (s)", "guitar", "tuning", "capo (fret)", "key", "first chord")
_MUSIC = ("tempo (bpm)", "meter (beats)", "meter (note)", "count-in (bars)", "count-in by")
_PROGRAM = ("program port", "program channel", "bank MSB", "bank LSB", "program number")
_DESK = ("loudness (LUFS)", "true peak (dBTP)", "mark", "input gain (dB)", "interface volume (dB)", "trim (dB)")
_CHANGEOVER = ("changeover needs (s)", "changeover has (s)", "changeover too short (s)")
_LIMIT = ("sound limit (dB(A))", "sound limit over (s)", "full house (dB)")

KINDS: Mapping[str, tuple[str, ...]] = {
    "show": ("title", "date", "venue", "rig", "start", "finish", "curfew", "slot (s)", *_LIMIT),
    "offset": ("target", "value"),
    "song": (*_SONG, *_OF_SONG, *_MUSIC, *_PROGRAM, *_DESK, *_CHANGEOVER, "follows", "pause (s)"),
    "tempo": (*_SONG, "bar", *_MUSIC[:3]),
    "tonight": (*_SONG, "what"),
    "change": (*_SONG, "what"),
    "step": (*_SONG, "who", "what"),
    "cue": (*_CUE, "at (s)", "bar", "open", "holds", "damp by", "driver", "back to", "say", "curve set"),
    "hand": (*_CUE, "control", "to"),
    "pedal": (*_CUE, "control", "travel (%)"),
    "send": (*_CUE, "target", "value"),
    "reach": (*_CUE, "control", "target", "lowest", "highest"),
    "point": (*_SONG, "curve set", "control", "target", "shape", "travel (%)", "value"),
    "ruler": (*_SONG, "curve set", "control", "target", "way", "from (%)", "to (%)", "from value", "to value"),
    "guitar": ("guitar", "rest tuning", "spare", "battery"),
    "string": ("guitar", "tuning", "string", "note"),
    "battery": ("battery", "capacity (mAh)", "at (mA)", "load (mA)", "fitted", "used (h)"),
    "check": ("checklist", "when", "ask", "answer", "critical", "who"),
}
"""What each kind of row fills, in order. `value`, `lowest`, `highest`, `from value` and `to value` have a unit each."""

VALUES = ("value", "lowest", "highest", "from value", "to value")

AUDIENCE_KINDS: Mapping[str, tuple[str, ...]] = {
    "floor": ("show", "song", "tonight", "change", "cue", "hand", "pedal"),
    "player": ("show", "song", "tempo", "tonight", "change", "cue", "hand", "pedal", "send", "point", "ruler"),
    "crew": (
        *("show", "song", "tonight", "change", "step", "cue", "hand", "pedal"),
        *("guitar", "string", "battery", "check"),
    ),
    "desk": ("show", "offset", "song", "tempo", "tonight", "cue", "send", "reach"),
}


class Night(NamedTuple):
    """What a table is of; `starts` by song and `finish` are minutes after the midnight that starts the date."""

    book: Book
    show: Show
    rig: Rig
    starts: Mapping[str, float]
    finish: float | None


def to_csv(audience: str, night: Night) -> bytes:
    """An audience's table, UTF-8, lines ended with CR LF, the first with the headings; text in quotes, numbers bare."""
    kinds = AUDIENCE_KINDS[audience]
    rows = [row for row in _rows(night, audience) if row["row"] in kinds]
    filled, units = set[str]().union(*rows), dict.fromkeys(target.unit for target in night.rig.targets.values())
    plain = dict.fromkeys(("row", *(name for kind in kinds for name in KINDS[kind])))
    names = [one for name in plain for one in ([f"{name} ({u})" for u in units] if name in VALUES else [name])]
    names = [name for name in names if name in plain or name in filled]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(map(for_csv, names))
    writer.writerows([_cell(row.get(name)) for name in names] for row in rows)
    return out.getvalue().encode("utf-8")


def _cell(value: Any) -> str | float:
    if value is None or value is False:
        return ""
    if value is True:
        return "yes"
    if isinstance(value, int | float):
        return int(value) if value == int(value) else round(value, 6)
    return for_csv(clean(str(value)))


def _rows(night: Night, audience: str) -> Iterator[Row]:
    book, show, rig = night.book, night.show, night.rig
    order = parts(book, show, rig, night.starts)
    changes = {one.after: one for one in changeovers(book, show, rig)}
    marked = marks(order)
    yield from _of_show(night)
    for part in order:
        for entry in part.entries:
            song = {"part": part.title, "label": entry.label, "slug": entry.slug, "title": entry.slug}
            if entry.piece is None:
                yield {"row": "song", **song}
                yield {"row": "tonight", **song, "what": "not in the book"}
                continue
            song["title"] = entry.piece.song.title
            change = changes.get(entry.slug) if entry.before is not None else None
            yield {**song, **_of_song(night, entry, entry.piece, change), "mark": marked.get(entry.slug)}
            said = (_words(night, entry, entry.piece.song), _of_cues(entry, entry.piece, audience))
            yield from ({**song, **row} for row in chain(*said))
    yield from _of_rig(rig)
    for slug in show.checklists:
        listed = book.checklists.get(slug)
        for item in listed.items if listed is not None else ():
            yield {"row": "check", "checklist": listed.title, "when": listed.when, **item.model_dump()}  # type: ignore[union-attr]


def _of_show(night: Night) -> Iterator[Row]:
    show, venue = night.show, night.book.venues.get(night.show.venue or "")
    limit = venue.sound_limit if venue is not None else None
    finish, curfew = clocks(night.finish, venue.curfew if venue is not None else None)
    yield {
        "row": "show",
        "title": show.title,
        "date": show.date,
        "venue": venue.title if venue is not None else show.venue,
        "rig": night.rig.title,
        "start": None if show.start is None else format_clock(show.start),
        "finish": finish,
        "curfew": curfew,
        "slot (s)": show.slot,
        "sound limit (dB(A))": limit.laeq_db if limit is not None else None,
        "sound limit over (s)": limit.over if limit is not None else None,
        "full house (dB)": venue.trims.full_house_db if venue is not None else None,
    }
    for name, by in target_offsets(night.rig, venue, show).items():
        yield {"row": "offset", "target": name, **_in_unit(night.rig, name, value=by)}


def _of_song(night: Night, entry: Entry, piece: Piece, change: Changeover | None) -> Row:
    song, venue = piece.song, night.book.venues.get(night.show.venue or "")
    found, level, program = trims(piece.rig, song, venue, night.show), song.level, song.program
    return {
        "row": "song",
        "optional": entry.optional,
        "clock": entry.clock,
        "duration (s)": song.duration,
        "guitar": song.instrument,
        "tuning": tuning_of(piece),
        "capo (fret)": song.capo,
        "key": song.key,
        "first chord": song.first_chord,
        **_tempo(song.tempo_bpm, song.meter),
        "count-in (bars)": song.count_in.bars if song.count_in is not None else None,
        "count-in by": song.count_in.by if song.count_in is not None else None,
        "program port": program.port if program is not None else None,
        "program channel": program.channel if program is not None else None,
        "bank MSB": program.bank_msb if program is not None else None,
        "bank LSB": program.bank_lsb if program is not None else None,
        "program number": _program_number(song, piece.rig),
        "loudness (LUFS)": level.integrated_lufs if level is not None else None,
        "true peak (dBTP)": level.true_peak_dbtp if level is not None else None,
        "input gain (dB)": found.input_gain.set_db,
        "interface volume (dB)": found.interface_volume.set_db,
        "trim (dB)": song.trim_db,
        "changeover needs (s)": change.needs_s if change is not None else None,
        "changeover has (s)": change.has_s if change is not None else None,
        "changeover too short (s)": change.short_s or None if change is not None else None,
        "follows": entry.pause,
        "pause (s)": entry.pause_s if entry.pause else None,
    }


def _words(night: Night, entry: Entry, song: Song) -> Iterator[Row]:
    """What is said of a song in words, and its later tempos."""
    for later in song.tempo_changes:
        yield {"row": "tempo", "bar": later.bar, **_tempo(later.tempo_bpm, later.meter)}
    yield from ({"row": "tonight", "what": what} for what in tonight(night.book, night.show, entry.slug, song))
    yield from ({"row": "change", "what": what} for what in guitar_changes(entry))
    yield from ({"row": "step", "who": step.who, "what": step.what} for step in steps(entry))


def _tempo(tempo_bpm: float | None, meter: Any) -> Row:
    beats, note = (meter.beats, meter.unit) if meter is not None else (None, None)
    return {"tempo (bpm)": tempo_bpm, "meter (beats)": beats, "meter (note)": note}


def _program_number(song: Song, rig: Rig) -> int | None:
    """The program as the host's own screen counts it."""
    if song.program is None:
        return None
    port = rig.ports.get(song.program.port)
    return song.program.number + (port.programs_count_from if port is not None else 0)


def _of_cues(entry: Entry, piece: Piece, audience: str) -> Iterator[Row]:
    start = piece.moments[0]
    hands, pedals = hands_at_start(entry), pedals_at_start(entry)
    yield {"row": "cue", "number": 0, "name": "start", "at (s)": 0, "curve set": piece.song.start_set}
    yield from _of_moment(piece, start, hands, pedals, piece.song.start.targets, audience)
    for moment in piece.moments[1:]:
        cue = moment.cue
        assert cue is not None
        stop, first = cue.stop, moment.number == piece.first
        yield {
            "row": "cue",
            "number": moment.number,
            "name": cue.name,
            "at (s)": moment.at_s,
            "bar": cue.bar,
            "open": cue.open,
            "holds": cue.hold,
            "damp by": stop.by if stop is not None else None,
            "driver": stop.driver if stop is not None else None,
            "back to": cue.back_to,
            "say": cue.say,
            "curve set": cue.curves,
        }
        hands, pedals = ({}, {}) if first else (piece.changed_by_hand(moment.number), dict(cue.controls))
        yield from _of_moment(piece, moment, hands, pedals, cue.targets, audience)
    yield from _of_curves(piece)


def _of_moment(
    piece: Piece,
    moment: Moment,
    hands: Mapping[str, str],
    pedals: Mapping[str, float],
    sends: Mapping[str, float],
    audience: str,
) -> Iterator[Row]:
    where, targets = {"number": moment.number, "name": moment.name}, piece.rig.targets
    yield from ({"row": "hand", **where, "control": name, "to": to} for name, to in hands.items())
    yield from ({"row": "pedal", **where, "control": name, "travel (%)": to} for name, to in pedals.items())
    for name, value in sends.items():
        if name in targets and (audience != "desk" or (targets[name].level and moment.cue is not None)):
            yield {"row": "send", **where, "target": name, **_in_unit(piece.rig, name, value=value)}
    for control, name, low, high in reach(piece, moment):
        ends = _in_unit(piece.rig, name, lowest=low, highest=high)
        yield {"row": "reach", **where, "control": control, "target": name, **ends}


def _of_curves(piece: Piece) -> Iterator[Row]:
    """Every curve's columns, and every ruler's stretches from heel to toe."""
    for of_set, curves in piece.song.curves.items():
        for control, curve in curves.items():
            for name, move in curve.moves.items():
                where = {"curve set": of_set, "control": control, "target": name}
                row = row_in(curve, name)
                for at in columns(curve, name):
                    value = _in_unit(piece.rig, name, value=row(at))
                    yield {"row": "point", **where, "shape": move.shape, "travel (%)": at, **value}
                for one in stretches(curve, name):
                    ends = {"from value": one.start_value, "to value": one.end_value}
                    travel = {"way": one.way, "from (%)": one.start, "to (%)": one.end}
                    yield {"row": "ruler", **where, **travel, **_in_unit(piece.rig, name, **ends)}


def _of_rig(rig: Rig) -> Iterator[Row]:
    for name, guitar in rig.instruments.items():
        rest = {"rest tuning": guitar.home_tuning, "spare": guitar.spare, "battery": guitar.battery}
        yield {"row": "guitar", "guitar": name, **rest}
        for tuning, strings in guitar.tunings.items():
            for number, note in enumerate(strings, 1):
                yield {"row": "string", "guitar": name, "tuning": tuning, "string": number, "note": note}
    for name, battery in rig.batteries.items():
        holds: Sequence[tuple[float | None, float]] = (
            [(None, float(battery.capacity_mah))]
            if isinstance(battery.capacity_mah, int | float)
            else battery.capacity_mah
        )
        for at_ma, mah in holds:
            fed = {"load (mA)": battery.load_ma, "fitted": battery.fitted, "used (h)": battery.used_h}
            yield {"row": "battery", "battery": name, "capacity (mAh)": mah, "at (mA)": at_ma, **fed}


def _in_unit(rig: Rig, target: str, **values: float) -> Row:
    """Values of a target in the columns of its unit; of one that the rig lacks the unit isn't known."""
    known = rig.targets.get(target)
    return {} if known is None else {f"{name} ({known.unit})": value for name, value in values.items()}
