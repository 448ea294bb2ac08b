"""A venue: what the room allows, and what it needed on earlier visits."""

import datetime
from typing import Literal

from pydantic import Field

from showrunner.model.document import (
    ClockTime,
    Decibels,
    Document,
    Format,
    Length,
    Line,
    Positive,
    Row,
    Table,
    Value,
    Words,
    no_entries,
)


class SoundLimit(Document):
    """What the room or the law there allows."""

    laeq_db: Positive = Field(description="equivalent level, dB(A)")
    over: Length = Field(description="time it is averaged over, s; written m:ss")


class RoomTrims(Document):
    """What this room adds to the rig's trims."""

    input_gain_db: Decibels = Field(0.0, description="on the interface input gain, dB")
    interface_volume_db: Decibels = Field(0.0, description="on the interface volume, dB")
    full_house_db: Decibels = Field(0.0, description="on the interface volume with an audience in, dB")
    targets: Table[Line, Value] = Field(default_factory=no_entries, description="offsets on targets, in their units")


class Visit(Document):
    """One earlier night here, with the trims as they ended."""

    date: datetime.date = Field(description="the night")
    show: Line | None = Field(None, description="the show that was played")
    trims: RoomTrims = Field(default_factory=lambda: RoomTrims.model_construct(), description="trims as they ended")
    temperature_c: float | None = Field(None, ge=-40, le=60, description="air temperature, °C")
    note: Words | None = Field(None, description="what to remember")


class Venue(Document):
    """A room."""

    format: Format
    title: Line = Field(description="the venue's name")
    kind: Literal["club", "hall", "theatre", "open air", "studio"] | None = Field(None, description="sort of room")
    capacity: int | None = Field(None, ge=1, description="people it holds")
    curfew: ClockTime | None = Field(None, description="when the music must stop; written hh:mm")
    sound_limit: SoundLimit | None = Field(None, description="how loud it may be")
    depth_m: Positive | None = Field(None, description="from the stage to the back wall, m")
    trims: RoomTrims = Field(default_factory=lambda: RoomTrims.model_construct(), description="what the room adds")
    visits: Row[Visit] = Field((), description="earlier nights")
