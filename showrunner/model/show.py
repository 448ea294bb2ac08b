"""A show: its sets in order, what comes between songs, and what is different tonight."""

import datetime
from typing import Annotated, Any, Literal, NamedTuple, Self

from pydantic import BeforeValidator, Field, PlainSerializer, model_validator
from pydantic.json_schema import WithJsonSchema

from showrunner.model.document import (
    Bpm,
    ClockTime,
    Decibels,
    Document,
    Format,
    Length,
    Line,
    PartError,
    Row,
    Table,
    Value,
    no_entries,
)
from showrunner.model.units import format_length, parse_length


class Then(NamedTuple):
    """What follows a song: straight on, a pause or talk, with its length in seconds."""

    kind: Literal["segue", "gap", "talk"]
    seconds: int

    def __str__(self) -> str:
        return "segue" if self.kind == "segue" else f"{self.kind} {format_length(self.seconds)}"


class Pin(NamedTuple):
    """Where a song must stand in its set; `song` is named for after and not after."""

    kind: Literal["first", "last", "here", "after", "not after"]
    song: str | None = None

    def __str__(self) -> str:
        return self.kind if self.song is None else f"{self.kind} {self.song}"


_PAUSES: tuple[Literal["gap", "talk"], ...] = ("gap", "talk")
_PLACES: tuple[Literal["first", "last", "here"], ...] = ("first", "last", "here")
_NEIGHBOURS: tuple[Literal["after", "not after"], ...] = ("after", "not after")


def _read_then(value: Any) -> Then:
    if isinstance(value, str):
        kind, _, length = value.partition(" ")
        if value == "segue":
            return Then("segue", 0)
        for pause in _PAUSES:
            if kind == pause:
                return Then(pause, parse_length(length.strip()))
    raise ValueError(f'{value!r} is not what follows a song; write "segue", "gap 0:20" or "talk 1:30"')


def _read_pin(value: Any) -> Pin:
    if isinstance(value, str):
        for place in _PLACES:
            if value == place:
                return Pin(place)
        for kind in _NEIGHBOURS:
            if value.startswith(kind + " ") and value.removeprefix(kind).strip():
                return Pin(kind, value.removeprefix(kind).strip())
    raise ValueError(f'{value!r} is not a pin; write "first", "last", "here", "after SONG" or "not after SONG"')


ThenField = Annotated[
    Then,
    BeforeValidator(_read_then),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "examples": ["segue", "gap 0:20", "talk 1:30"]}),
]
PinField = Annotated[
    Pin,
    BeforeValidator(_read_pin),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "examples": ["first", "last", "here", "after SONG", "not after SONG"]}),
]


class Slot(Document):
    """A song's place in a set."""

    song: Line = Field(description="the song's slug")
    then: ThenField | None = Field(None, description="what follows it; applause alone if left out")
    optional: bool = Field(False, description="may be dropped when it gets late")
    pin: PinField | None = Field(None, description="where it must stand when the order is worked on")


class SetOfSongs(Document):
    """Songs played without leaving the stage."""

    title: Line | None = Field(None, description="the set's name")
    slot: Length | None = Field(None, description="time agreed for this set, first note to last, s; written m:ss")
    songs: Row[Slot] = Field((), description="in order")


class ShowTrims(Document):
    """What tonight adds to the trims."""

    input_gain_db: Decibels = Field(0.0, description="on the interface input gain, dB")
    interface_volume_db: Decibels = Field(0.0, description="on the interface volume, dB")
    targets: Table[Line, Value] = Field(default_factory=no_entries, description="offsets on targets, in their units")


class Tonight(Document):
    """What is different about a song tonight."""

    capo: int | None = Field(None, ge=0, le=24, description="fret the capo is on; 0 is none")
    tuning: Line | None = Field(None, description="the guitar's name for the tuning")
    instrument: Line | None = Field(None, description="the rig's name for the guitar")
    tempo_bpm: Bpm | None = Field(None, description="quarter notes a minute")
    trim_db: Decibels | None = Field(None, description="the song's trim on the interface volume, dB")
    duration: Length | None = Field(None, description="how long it plays tonight, s; written m:ss")


class Show(Document):
    """One night's performance."""

    format: Format
    title: Line = Field(description="the show's name")
    date: datetime.date | None = Field(None, description="the night; clock times before 06:00 are the night after")
    venue: Line | None = Field(None, description="the venue's slug")
    rig: Line | None = Field(None, description="the rig's slug; the book's usual one if left out")
    start: ClockTime | None = Field(None, description="when the first song starts; written hh:mm")
    slot: Length | None = Field(None, description="time on stage that was agreed, s; written m:ss or h:mm:ss")
    checklists: Row[Line] = Field((), description="checklists for this show, by slug")
    sets: Row[SetOfSongs] = Field((), description="in order")
    reserve: Row[Line] = Field((), description="songs ready if wanted")
    encore: Row[Line] = Field((), description="songs after the last set")
    trims: ShowTrims = Field(default_factory=lambda: ShowTrims.model_construct(), description="tonight's trims")
    stand_ins: Table[Line, Table[Line, Line]] = Field(
        default_factory=no_entries, description="song, then the control it wants = the control that does it"
    )
    tonight: Table[Line, Tonight] = Field(default_factory=no_entries, description="what is different, by song")

    @model_validator(mode="after")
    def _once(self) -> Self:
        places: list[tuple[str, tuple[str | int, ...]]] = [
            (slot.song, ("sets", number, "songs", place))
            for number, part in enumerate(self.sets)
            for place, slot in enumerate(part.songs)
        ]
        places += [(song, (of, place)) for of in ("encore", "reserve") for place, song in enumerate(getattr(self, of))]
        seen: set[str] = set()
        for song, place in places:
            if song in seen:
                raise PartError(f'the song "{song}" is in this show twice', *place)
            seen.add(song)
        return self

    @property
    def set_songs(self) -> tuple[str, ...]:
        """Slugs of the songs of all sets, in order."""
        return tuple(slot.song for part in self.sets for slot in part.songs)

    @property
    def songs(self) -> tuple[str, ...]:
        """Slugs of all songs it may need: sets, encore, reserve."""
        return (*self.set_songs, *self.encore, *self.reserve)
