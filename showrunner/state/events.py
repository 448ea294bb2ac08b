"""What happens to the show machine, and what it answers with."""

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from showrunner.curves.tables import Send
    from showrunner.model.rig import Side


class Heard(NamedTuple):
    """A complete MIDI message that came in on a port of the rig."""

    at_s: float
    port: str
    data: bytes


class Moved(NamedTuple):
    """A control's raw value, whole: 0–127, or 0–16383 from a control of 14 bits."""

    at_s: float
    control: str
    raw: int


class Tick(NamedTuple):
    """Time passing; sent when `wakes_at` says so, more often does no harm."""

    at_s: float


class PortLost(NamedTuple):
    """A side of a port of the rig is gone; every side that it has where none is named."""

    at_s: float
    port: str
    side: "Side | None" = None


class PortFound(NamedTuple):
    """A side of a port of the rig is back; every side that it has where none is named."""

    at_s: float
    port: str
    side: "Side | None" = None


class Asked(NamedTuple):
    """A step asked for by key, script or clock instead of by foot."""

    at_s: float
    what: Literal["next", "back", "choose", "take", "cancel", "mute", "program"]


class Jump(NamedTuple):
    """Go to a moment of a song in tonight's order and play from there."""

    at_s: float
    song: str
    moment: int = 0


class Trimmed(NamedTuple):
    """One of tonight's trims is put somewhere else, in its unit: by the name of the trim, by whom."""

    at_s: float
    trim: str
    value: float
    who: str = "soundcheck"


class Withhold(NamedTuple):
    """Pass nothing on from a control for a moment, to hear whether the host hears it by itself."""

    at_s: float
    control: str


Event = Heard | Moved | Tick | PortLost | PortFound | Asked | Jump | Trimmed | Withhold


class Trim(NamedTuple):
    """A trim that was moved: by whom, its name, tonight's value before and after, its unit, whether hands set it."""

    who: str
    target: str
    before: float
    after: float
    unit: str
    by_hand: bool


class Notice(NamedTuple):
    """Something to show or log: what kind, in which song and cue, and the words for it."""

    kind: Literal[
        "changeover", "song", "cue", "over", "too soon", "choosing", "taken", "cancelled",
        "muted", "sounding", "port lost", "port found", "program", "program owed", "nothing", "restarted", "loop",
        "trimmed", "withheld", "passed on",
    ]  # fmt: skip
    song: str | None = None
    cue: str | None = None
    say: str = ""
    trim: Trim | None = None


class Out(NamedTuple):
    """What the machine answers an event with: bytes to send, in order, and things to show."""

    sends: "tuple[Send, ...]" = ()
    shows: tuple[Notice, ...] = ()
