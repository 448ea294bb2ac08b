"""A sheet as comma-separated values (RFC 4180): a row for each song's start and for each of its cues."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from showrunner.sheets.escape import for_csv
from showrunner.sheets.words import number

_SONG = ("part", "label", "slug", "title", "optional", "clock", "duration")
_OUTFIT = ("guitar", "tuning", "capo")
_MUSIC = ("key", "first_chord", "tempo", "meter", "count_in", "program")
_CUE = ("number", "name", "place", "at_s", "bar")
_DOES = ("hands", "pedals", "holds", "stop", "open", "back_to", "say")

COLUMNS: Mapping[str, tuple[str, ...]] = {
    "floor": (*_SONG, *_OUTFIT, "first_chord", "tempo", "count_in", *_CUE, *_DOES, "follows"),
    "player": (*_SONG, *_OUTFIT, *_MUSIC, *_CUE, *_DOES, "curves", "sends", "tonight", "follows"),
    "crew": (*_SONG, *_OUTFIT, "time_before", "changes", *_CUE, "hands", "pedals", "follows"),
    "desk": (*_SONG, "count_in", "loudness", "mark", *_CUE, "levels", "follows"),
}
"""What each audience's table has, in order; a song's own columns are filled in every one of its rows."""

_ONLY_AT_START = ("changes", "time_before", "tonight", "follows", "program")


def to_csv(audience: str, data: Mapping[str, Any]) -> bytes:
    """The table of a sheet's plain data, UTF-8, lines ended with CR LF, the first naming the columns."""
    columns = COLUMNS[audience]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in _rows(data):
        writer.writerow([for_csv(_cell(row.get(column))) for column in columns])
    return out.getvalue().encode("utf-8")


def _rows(data: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    for part in data["parts"]:
        for song in part["songs"]:
            common = {**song, "part": part["title"]}
            start = {"number": 0, "name": "start", "at_s": 0.0}
            yield {**common, **start, "sends": song.get("start_sends"), "levels": song.get("start_levels")}
            later = {**common, **dict.fromkeys(("hands", "pedals", *_ONLY_AT_START))}
            yield from ({**later, **cue} for cue in song["cues"])


def _cell(value: Any) -> str:
    if isinstance(value, bool) or value is None:
        return "yes" if value else ""
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "; ".join(value)
    return value if isinstance(value, str) else number(value)
