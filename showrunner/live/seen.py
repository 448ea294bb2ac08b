"""What the playing screen shows, as plain values: a screen that gets them from the watcher loads no documents."""

from typing import Literal, NamedTuple

from showrunner.curves.ruler import Span

Wordings = tuple[str, ...]
"""The same said in several ways, the fullest first."""

SIMULATED = "SIMULATED"
"""What is said wherever a show is seen in which no hardware is played."""

Mode = Literal["song", "changeover", "choosing", "over", "empty"]
Arrival = tuple[str, int, str]
"""A song, one of its moments, and a control that has been where that moment wants it."""


class Count(NamedTuple):
    """Where a count-in is: bars that are left, this one among them, the beat in the bar, and whether it is lit."""

    bars_left: int
    beat: int
    lit: bool


class Trouble(NamedTuple):
    """One trouble: in big letters, and a sentence. `grave` is what keeps the show from sounding as it should."""

    big: Wordings
    words: str
    grave: bool = True


class Row(NamedTuple):
    """One target on a ruler: what moves where, and the value and number the receiver has, None for unknown.

    `wants` is the curve's value where that is not in force yet.
    """

    target: str
    spans: tuple[Span, ...]
    value: float | None
    unit: str
    number: int | None
    wants: float | None = None


class Standing(NamedTuple):
    """A control in play: where it stands and should go, travel in %, None for unknown or anywhere.

    `assumed` is where it is taken to stand while it has not been heard.
    """

    control: str
    travel: float | None
    wanted: float | None
    columns: tuple[float, ...]
    rows: tuple[Row, ...]
    assumed: float | None = None


class Sight(NamedTuple):
    """The playing screen in words. `do` is what hands and feet must do, each in the only words for it.

    `counted_in` is the beat of the count-in while that lasts. `beside` stands with the head; `titled` is whether that
    is the song's title, which nothing else is larger than.
    """

    mode: Mode
    head: Wordings
    label: str
    do: tuple[str, ...]
    after: Wordings
    aside: Wordings
    status: str
    standing: tuple[Standing, ...]
    trouble: tuple[Trouble, ...]
    counted_in: Count | None = None
    beside: Wordings = ("",)
    titled: bool = False
