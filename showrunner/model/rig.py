"""A rig: what is plugged in, what each control sends, how far it reaches, and the guitars."""

import datetime
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from showrunner.model.document import (
    Bits,
    Channel,
    Decibels,
    Document,
    Format,
    Line,
    NoteName,
    NotNegative,
    Number,
    Pair,
    PartError,
    Percent,
    Positive,
    Row,
    Table,
    Value,
    Whole,
    no_entries,
)

Kind = Literal["pedal", "strip", "switch", "knob", "selector"]
Limb = Literal["left foot", "right foot", "fretting hand", "picking hand"]
Side = Literal["input", "output"]
Law = Literal["linear", "log", "gm-volume", "table"]


class Answers(Document):
    """A controller that a live host echoes, so that «sent» can become «answered»."""

    cc: Number = Field(description="controller number")
    channel: Channel = Field(description="MIDI channel, 1–16")
    within_ms: Positive = Field(500, description="silence after which the host counts as gone, ms")


class Port(Document):
    """A MIDI port by a name of our own."""

    input: Line | None = Field(None, description="pattern on the system's input port name, * and ? allowed")
    output: Line | None = Field(None, description="pattern on the system's output port name")
    virtual: Line | None = Field(None, description="name of an output that Showrunner makes itself")
    wire: Literal["din", "usb", "software"] = Field("software", description="what carries it; din is 31,250 baud")
    unmapped: Annotated[Line, Field(pattern=r"^(drop|pass \S.*)$")] = Field(
        "drop", description='what no control owns: "drop", or "pass NAME" to send it on to the output NAME'
    )
    programs_count_from: Annotated[Literal[0, 1], Whole] = Field(
        0, description="how the host numbers programs on its own screen"
    )
    settle_ms: NotNegative = Field(300, description="wait after a program change before values are sent, ms")
    answers: Answers | None = Field(None, description="a controller the host echoes, if it does")

    @model_validator(mode="after")
    def _one_output(self) -> Self:
        if self.output is not None and self.virtual is not None:
            raise PartError("a port has output or virtual, not both", "virtual")
        if self.input is None and self.output is None and self.virtual is None:
            raise ValueError("a port needs input, output or virtual")
        return self

    @property
    def sends(self) -> bool:
        """Whether anything can be sent to it."""
        return self.output is not None or self.virtual is not None

    @property
    def sides(self) -> tuple[Side, ...]:
        """The sides that it has."""
        return (*(("input",) if self.input is not None else ()), *(("output",) if self.sends else ()))

    @property
    def pass_to(self) -> str | None:
        """Name of the output that unmapped messages go to, None if they are dropped."""
        return None if self.unmapped == "drop" else self.unmapped.removeprefix("pass ").strip()


class Release(Document):
    """What a strip does when the finger leaves it."""

    to: Percent = Field(description="travel it returns to, %")
    after_ms: NotNegative = Field(60, description="silence that counts as the finger gone, ms")
    over_ms: NotNegative = Field(250, description="how long the return takes, ms")


class Control(Document):
    """A thing the player moves; without a port only a person can read or set it."""

    kind: Kind = Field(description="what it is")
    limb: Limb | None = Field(None, description="what moves it")
    port: Line | None = Field(None, description="the port it is heard on; none: by hand")
    channel: Channel | None = Field(None, description="MIDI channel it sends on, 1–16")
    cc: Number | None = Field(None, description="controller number it sends; with 14 bits the MSB's")
    bits: Bits = Field(7, description="resolution: 7, or 14 with the LSB on cc + 32")
    calibration: Row[Pair[float]] = Field((), description="pairs of raw value and travel %, both rising")
    on_release: Release | None = Field(None, description="what follows when the finger leaves; default: it stays")
    sends: Literal["momentary", "latching"] = Field("momentary", description="how a switch reports a press")
    positions: Row[Line] = Field((), description="a selector's positions")
    rest: Line | Percent | None = Field(None, description="where it belongs: a position, or travel %")
    seconds: NotNegative | None = Field(None, description="how long it takes to set by hand, s")

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.port is not None and (self.channel is None or self.cc is None):
            raise PartError("a control on a port needs channel and cc", "port")
        if self.port is None and (self.channel is not None or self.cc is not None):
            raise PartError("a control with channel or cc needs a port", "channel" if self.cc is None else "cc")
        if self.positions and isinstance(self.rest, str) and self.rest not in self.positions:
            raise PartError(f'rest "{self.rest}" is not one of its positions: {", ".join(self.positions)}', "rest")
        if len(self.calibration) == 1:
            raise PartError("a calibration needs two pairs at least", "calibration")
        for place, ((raw, travel), (next_raw, next_travel)) in enumerate(pairwise(self.calibration), 1):
            if next_raw <= raw or next_travel < travel:
                raise PartError("calibration must rise in raw value and not fall in travel", "calibration", place)
        for place, (raw, travel) in enumerate(self.calibration):
            if not (0 <= raw <= self.top and 0 <= travel <= 100):
                what = f"calibration pair [{raw:g}, {travel:g}] is outside raw 0–{self.top}, travel 0–100"
                raise PartError(what, "calibration", place)
        return self

    @property
    def by_hand(self) -> bool:
        """Whether only a person can move or read it."""
        return self.port is None

    @property
    def top(self) -> int:
        """Largest raw value it can send."""
        return 127 if self.bits == 7 else 16383


class Target(Document):
    """A parameter on the receiving end that a MIDI controller sets."""

    port: Line = Field(description="the port it is sent to")
    channel: Channel = Field(description="MIDI channel, 1–16")
    cc: Number = Field(description="controller number; with 14 bits the MSB's")
    bits: Bits = Field(7, description="resolution: 7, or 14 with the LSB on cc + 32")
    unit: Line = Field("%", description="unit its values are written in")
    range: Pair[Value] = Field(description="values at the lowest and the highest controller number")
    law: Law = Field("linear", description="how value and controller number go together")
    table: Row[Pair[Value]] = Field((), description="pairs of number and value, both rising, for the law table")
    level: bool = Field(False, description="whether a step in it is a step in loudness")
    rest: Value | None = Field(None, description="where it belongs when nothing else says, in its unit")

    @model_validator(mode="after")
    def _whole(self) -> Self:
        low, high = self.range
        if low == high:
            raise PartError("range needs two different ends", "range")
        if self.law == "log" and low * high <= 0:
            raise PartError("the law log needs a range of one sign without zero", "range")
        if self.law == "gm-volume" and not low < high:
            raise PartError("the law gm-volume needs a rising range in dB", "range")
        if (self.law == "table") != (len(self.table) >= 2):
            raise PartError(
                "the law table needs a table of two pairs at least, and only it has one",
                "table" if self.table else "law",
            )
        for place, ((number, value), (next_number, next_value)) in enumerate(pairwise(self.table), 1):
            if next_number <= number or next_value <= value:
                raise PartError("table must rise in number and in value", "table", place)
        if self.table and not (self.table[0][0] >= 0 and self.table[-1][0] <= self.top):
            raise PartError(f"table numbers must lie in 0–{self.top}", "table")
        if self.rest is not None and not min(low, high) <= self.rest <= max(low, high):
            raise PartError(f"rest {self.rest:g} is outside its range {low:g} to {high:g}", "rest")
        return self

    @property
    def top(self) -> int:
        """Largest controller number, over all its bits."""
        return 127 if self.bits == 7 else 16383


class Steps(Document):
    """Moving through the show by foot."""

    next: Line = Field(description="the switch that steps on")
    back: Line | None = Field(None, description="the switch that steps back")
    guard_ms: NotNegative = Field(300, description="time in which a second press is ignored, ms")
    hold_ms: Positive = Field(700, description="how long a press becomes a hold, ms")


class Mute(Document):
    """Silence between songs and for tuning."""

    target: Line = Field(description="the target that is turned down")
    value: Value = Field(description="its value when muted, in its unit")
    switch: Line | None = Field(None, description="a switch that mutes and unmutes at any time")


class Instrument(Document):
    """A guitar."""

    tunings: Annotated[Table[Line, Row[NoteName]], Field(min_length=1)] = Field(
        description="name, then strings from the lowest"
    )
    rest_tuning: Line | None = Field(None, description="tuning it is in between songs; the first if left out")
    trim_db: Decibels = Field(0.0, description="this guitar's trim on the input gain, dB")
    carries: Row[Line] = Field((), description="controls that live on this guitar")
    battery: Line | None = Field(None, description="the battery in it")
    spare: Line | None = Field(None, description="the guitar that stands in when a string breaks")
    swap_s: NotNegative = Field(30, description="time to change to it, s")
    retune_s_per_string: NotNegative = Field(8, description="time to retune one string, s")
    capo_s: NotNegative = Field(10, description="time to set or move the capo, s")

    @model_validator(mode="after")
    def _rest(self) -> Self:
        if self.rest_tuning is not None and self.rest_tuning not in self.tunings:
            what = f'rest_tuning "{self.rest_tuning}" is not one of its tunings: {", ".join(self.tunings)}'
            raise PartError(what, "rest_tuning")
        return self

    @property
    def home_tuning(self) -> str:
        """The tuning it is in between songs."""
        return self.rest_tuning if self.rest_tuning is not None else next(iter(self.tunings))


class Battery(Document):
    """A battery, what it holds and what it feeds."""

    capacity_mah: Positive | Row[Pair[Positive]] = Field(description="mAh, or pairs of load in mA and capacity in mAh")
    load_ma: Positive = Field(description="what it feeds draws, mA")
    fitted: datetime.date | None = Field(None, description="day it was put in")
    used_h: NotNegative = Field(0.0, description="hours used since then that no run has logged")


class Stage(Document):
    """One stage of the gain chain."""

    stage: Line = Field(description="its name")
    range_db: Pair[Decibels] = Field(description="least and most gain it can be set to, dB")
    nominal_dbfs: Decibels = Field(-18, description="working level at its output, dBFS")
    clip_dbfs: Decibels = Field(0, description="level at which it clips, dBFS")

    @model_validator(mode="after")
    def _rising(self) -> Self:
        if self.range_db[0] > self.range_db[1]:
            raise PartError("range_db goes from the least gain to the most", "range_db")
        return self


class RigTrims(Document):
    """Reference trims of the rig."""

    input_gain_db: Decibels = Field(0.0, description="interface input gain, dB")
    interface_volume_db: Decibels = Field(0.0, description="interface volume, dB")
    volume_target: Line | None = Field(None, description="the target that sets the interface volume")


class Rig(Document):
    """The hardware of a gig."""

    format: Format
    title: Line = Field(description="the rig's name")
    routing: Literal["through", "beside"] = Field(
        "through", description="through: pedals pass through Showrunner; beside: the host hears them itself"
    )
    ports: Table[Line, Port] = Field(default_factory=no_entries, description="MIDI ports")
    controls: Table[Line, Control] = Field(default_factory=no_entries, description="things the player moves")
    targets: Table[Line, Target] = Field(default_factory=no_entries, description="parameters on the receiving end")
    steps: Steps | None = Field(None, description="moving through the show by foot")
    mute: Mute | None = Field(None, description="what mutes the output between songs")
    instruments: Table[Line, Instrument] = Field(default_factory=no_entries, description="guitars")
    batteries: Table[Line, Battery] = Field(default_factory=no_entries, description="batteries")
    gain: Row[Stage] = Field((), description="the gain chain, in order")
    trims: RigTrims = Field(default_factory=lambda: RigTrims.model_construct(), description="reference trims")

    def driver_of(self, instrument: str | None) -> str | None:
        """The string driver's switch on a guitar: the first control it carries that is set by hand and can be off."""
        guitar = self.instruments.get(instrument) if instrument is not None else None
        for name in guitar.carries if guitar is not None else ():
            control = self.controls.get(name)
            if control is not None and control.by_hand and "off" in control.positions:
                return name
        return None
