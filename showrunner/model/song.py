"""A song: its curve sets, its cues, and how everything stands before the first note."""

from itertools import pairwise
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from showrunner.model.document import (
    MOST_ENTRIES,
    Bpm,
    Channel,
    Decibels,
    Document,
    Format,
    Length,
    Line,
    MeterField,
    NotNegative,
    Number,
    PartError,
    Percent,
    Row,
    Table,
    Value,
    no_entries,
)
from showrunner.model.units import Meter

Shape = Literal["straight", "smooth", "step", "equal-power"]
Entry = Literal["jump", "meet", "glide"]


LAST_BAR = 100_000
"""More bars than a day of music has."""


class TempoChange(Document):
    """From this bar on, another tempo or meter."""

    bar: int = Field(gt=1, le=LAST_BAR, description="bar it starts at, counted from 1")
    tempo_bpm: Bpm | None = Field(None, description="quarter notes a minute")
    meter: MeterField | None = Field(None, description="time signature from here on")

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.tempo_bpm is None and self.meter is None:
            raise ValueError("a tempo change needs tempo_bpm, meter or both")
        return self


class CountIn(Document):
    """Who counts the band in, and for how long."""

    bars: int = Field(ge=1, le=16, description="bars counted before the first")
    by: Line | None = Field(None, description="who counts")


class Program(Document):
    """A program change, with its bank, as it goes out on the wire."""

    port: Line = Field(description="the rig's name for the port")
    channel: Channel = Field(description="MIDI channel, 1–16")
    bank_msb: Number | None = Field(None, description="controller 0, 0–127, sent first")
    bank_lsb: Number | None = Field(None, description="controller 32, 0–127, sent second")
    number: int = Field(description="program as on the wire, 0–127")


class Level(Document):
    """How loud the song comes out, measured at the reference trims."""

    integrated_lufs: float | None = Field(None, ge=-120, le=20, description="integrated loudness, LUFS")
    true_peak_dbtp: float | None = Field(None, ge=-120, le=20, description="true peak, dBTP")


class Start(Document):
    """How everything stands before the first note; what is not named stands at the rig's rest."""

    curves: Line | None = Field(None, description="curve set in force; the first in the file if left out")
    controls: Table[Line, Percent] = Field(default_factory=no_entries, description="where controls should be, travel %")
    targets: Table[Line, Value] = Field(default_factory=no_entries, description="values sent on entry, target's unit")
    by_hand: Table[Line, Line] = Field(default_factory=no_entries, description="states only a person can set")


class Move(Document):
    """One target's row: values over travel."""

    values: Row[Value] = Field(min_length=1, description="one value a column, in the target's unit")
    travel: Row[Percent] | None = Field(None, description="columns of its own, travel %; the curve's if left out")
    shape: Shape = Field("straight", description="how values go from column to column")

    @model_validator(mode="before")
    @classmethod
    def _bare_row(cls, value: Any) -> Any:
        return {"values": value} if isinstance(value, list | tuple) else value

    @model_validator(mode="after")
    def _columns(self) -> Self:
        if self.travel is not None:
            _check_columns(self.travel)
            if len(self.travel) != len(self.values):
                what = f"{len(self.values)} values for {len(self.travel)} columns of its own travel"
                raise PartError(what, "values")
        return self


class Curve(Document):
    """How one control moves its targets over its travel."""

    travel: Row[Percent] = Field(min_length=1, description="columns, travel %, rising")
    entry: Entry = Field("jump", description="how values come in when the set does")
    glide_ms: NotNegative = Field(250, description="length of a glide, ms")
    moves: Table[Line, Move] = Field(description="a row per target")

    @model_validator(mode="after")
    def _columns(self) -> Self:
        _check_columns(self.travel)
        for target, move in self.moves.items():
            if move.travel is None and len(move.values) != len(self.travel):
                what = f'"{target}" has {len(move.values)} values for {len(self.travel)} columns of travel'
                mend = "give one value a column, or the row a travel of its own"
                raise PartError(f"{what}; {mend}", "moves", target)
        return self


class Stop(Document):
    """What ends a held note."""

    by: Line = Field(description="the limb or thing that damps the strings")
    driver: Literal["off", "on"] = Field("on", description="what becomes of the string driver")


class Cue(Document):
    """A moment in a song that the player steps to."""

    name: Line = Field(description="what the player calls it; unique in the song")
    at: Length | None = Field(None, description="seconds from the song's first beat; written m:ss")
    bar: int | None = Field(None, ge=1, le=LAST_BAR, description="bar, counted from 1 through tempo changes")
    curves: Line | None = Field(None, description="curve set that comes into force")
    targets: Table[Line, Value] = Field(default_factory=no_entries, description="values sent when taken, target's unit")
    controls: Table[Line, Percent] = Field(default_factory=no_entries, description="where controls should be, travel %")
    by_hand: Table[Line, Line] = Field(default_factory=no_entries, description="what the hands set here")
    hold: bool = Field(False, description="a driven note starts to ring here")
    say: Line | None = Field(None, description="what the player wants to be told")
    open: bool = Field(False, description="lasts as long as it lasts; the song's clock waits")
    back_to: Line | None = Field(None, description="the cue it may go back to")
    stop: Stop | None = Field(None, description="what ends the held note here")

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.at is not None and self.bar is not None:
            raise PartError("a cue is at a time or at a bar, not both", "bar")
        return self


def rehearsal_letter(number: int) -> str:
    """The letter of a song's cue, counted from 0: A to Z, then AA, BB and on, as on a score (common practice)."""
    return chr(ord("A") + number % 26) * (number // 26 + 1)


class Song(Document):
    """Everything the show needs to know of a song."""

    format: Format
    title: Line = Field(description="the song's title")
    short: Line | None = Field(None, max_length=24, description="what fits in big letters; made from the title")
    key: Line | None = Field(None, description="the key that sounds")
    first_chord: Line | None = Field(None, description="the chord it starts on")
    tempo_bpm: Bpm | None = Field(None, description="quarter notes a minute, whatever the meter")
    meter: MeterField = Field(Meter(4, 4), description="time signature at the start")
    tempo_changes: Row[TempoChange] = Field((), description="later tempos and meters, by bar")
    count_in: CountIn | None = Field(None, description="bars counted before the first")
    duration: Length = Field(description="how long it plays, s; written m:ss")
    instrument: Line | None = Field(None, description="the rig's name for the guitar")
    tuning: Line | None = Field(None, description="the guitar's name for the tuning; its rest tuning if left out")
    capo: int = Field(0, ge=0, le=24, description="fret the capo is on; 0 is none")
    program: Program | None = Field(None, description="program recalled when the song comes up")
    trim_db: Decibels = Field(0.0, description="this song's own trim on the interface volume, dB")
    quiet: Table[Line, Line] = Field(default_factory=no_entries, description="rules silenced here, with the reason")
    level: Level | None = Field(None, description="loudness at the reference trims")
    start: Start = Field(default_factory=lambda: Start.model_construct(), description="before the first note")
    curves: Table[Line, Table[Line, Curve]] = Field(default_factory=no_entries, description="set, then control")
    cues: Row[Cue] = Field((), description="in the order they are played")

    @model_validator(mode="after")
    def _few_names(self) -> Self:
        rows = (curve.moves for of_set in self.curves.values() for curve in of_set.values())
        moments: tuple[Start | Cue, ...] = (self.start, *self.cues)
        targets = set[str]().union(*rows, *(moment.targets for moment in moments))
        controls = set[str]().union(*self.curves.values(), *(moment.controls for moment in moments))
        for what, names in (("targets", targets), ("controls", controls)):
            if len(names) > MOST_ENTRIES:
                raise ValueError(f"the song names {len(names):,} {what}; name {MOST_ENTRIES:,} at most")
        return self

    @model_validator(mode="after")
    def _order(self) -> Self:
        for place, (before, after) in enumerate(pairwise(self.tempo_changes), 1):
            if after.bar <= before.bar:
                raise PartError("tempo_changes must go up by bar", "tempo_changes", place)
        return self

    @property
    def short_title(self) -> str:
        """What fits in big letters: `short`, else the title's first words in capitals, at most 12 characters.

        Short words alone, such as THE or OF, would name no song: the first longer word then stands for it.
        """
        if self.short is not None:
            return self.short
        words, short = self.title.upper().split(), ""
        for word in words:
            longer = f"{short} {word}".strip()
            if len(longer) > 12:
                break
            short = longer
        if any(len(word) > 3 for word in short.split()) or short.split() == words:
            return short or self.title
        telling = next((word for word in words if len(word) > 3), self.title.upper())
        return telling if len(telling) <= 12 else f"{telling[:11]}…"

    @property
    def start_set(self) -> str | None:
        """Name of the curve set in force before the first note, None where the song has none."""
        return self.start.curves if self.start.curves is not None else next(iter(self.curves), None)


def _check_columns(travel: tuple[float, ...]) -> None:
    if travel != tuple(sorted(set(travel))):
        raise PartError("travel must rise from column to column", "travel")
