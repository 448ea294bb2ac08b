"""Two times through the same playing: where the targets differ, by how much, for how long, and drawn over time."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from showrunner.model.rig import Rig
from showrunner.model.units import format_length
from showrunner.takes.replaying import Sent, Step

BARS = "▁▂▃▄▅▆▇█"
UNKNOWN = " "
SAME_S = 0.001
"""A difference shorter than this is none: a file's times are whole ticks."""


class Difference(NamedTuple):
    """A target that did not get the same: seconds it differed, and where most, with both values; None before any."""

    target: str
    unit: str
    seconds: float
    from_s: float
    most_s: float
    then: float | None
    now: float | None


class Trace(NamedTuple):
    """A target's numbers over time, as the receiver has them."""

    times_s: tuple[float, ...]
    sents: tuple[Sent, ...]

    def at(self, at_s: float) -> Sent | None:
        """The last that was sent by a time."""
        index = bisect_right(self.times_s, at_s) - 1
        return self.sents[index] if index >= 0 else None


NOTHING = Trace((), ())
"""A target that was never set."""


def traces(sents: Sequence[Sent]) -> dict[str, Trace]:
    """Each target's messages in order."""
    found: dict[str, list[Sent]] = {}
    for sent in sents:
        if sent.target is not None:
            found.setdefault(sent.target, []).append(sent)
    return {name: Trace(tuple(s.at_s for s in mine), tuple(mine)) for name, mine in found.items()}


def differences(then: Sequence[Sent], now: Sequence[Sent], rig: Rig, ends_s: float) -> tuple[Difference, ...]:
    """Every target that stood otherwise for a time, those that differ longest first.

    A target that one of the two never set is the same until the other sets it, and differs from then on.
    """
    before, after = traces(then), traces(now)
    found = (_difference(name, before.get(name), after.get(name), rig, ends_s) for name in {**before, **after})
    return tuple(sorted((one for one in found if one is not None), key=lambda one: -one.seconds))


def _difference(name: str, then: Trace | None, now: Trace | None, rig: Rig, ends_s: float) -> Difference | None:
    then, now = then or NOTHING, now or NOTHING
    times = sorted({*then.times_s, *now.times_s})
    low, high = rig.targets[name].range if name in rig.targets else (0.0, 1.0)
    seconds, first, most, most_s = 0.0, None, -1.0, 0.0
    for at_s, until_s in zip(times, [*times[1:], max(ends_s, times[-1])], strict=True):
        one, other = then.at(at_s), now.at(at_s)
        if (one.number if one else None) == (other.number if other else None):
            continue
        last = at_s == times[-1]
        if until_s - at_s < SAME_S and not last:
            continue
        seconds += until_s - at_s
        first = at_s if first is None else first
        apart = abs(high - low) if one is None or other is None else abs((one.value or 0.0) - (other.value or 0.0))
        if apart > most:
            most, most_s = apart, at_s
    if first is None:
        return None
    one, other = then.at(most_s), now.at(most_s)
    unit = next(sent.unit or "" for sent in (one, other) if sent is not None)
    return Difference(name, unit, seconds, first, most_s, one.value if one else None, other.value if other else None)


def difference_row(one: Difference, steps: Sequence[Step], words: tuple[str, str]) -> tuple[str, str, str]:
    """A difference in words: the target, how long, and where most; `words` are what the two times are called."""
    then, now = (_value(value, one.unit) for value in (one.then, one.now))
    where = next((step.cue or "" for step in reversed(steps) if step.at_s <= one.most_s), "")
    return (
        one.target,
        f"differs for {round(one.seconds, 1):g} s, from {format_length(one.from_s)} on",
        f"most at {format_length(one.most_s)}, {where}: {words[0]} {then}, {words[1]} {now}",
    )


def drawn(
    name: str, then: Trace, now: Trace, rig: Rig, ends_s: float, words: tuple[str, str], width: int
) -> Iterator[str]:
    """A target over time, twice: bars from the low end of its range to the high; lines of at most `width`."""
    target = rig.targets[name]
    low, high = min(target.range), max(target.range)
    yield f"{name}, {low:g} to {high:g} {target.unit}"
    label = max(len(word) for word in words) + 1
    room = max(10, width - label - 4)
    for word, trace in zip(words, (then, now), strict=True):
        yield f"  {word:<{label}} {''.join(_bar(trace.at(ends_s * (n + 0.5) / room), low, high) for n in range(room))}"
    end = format_length(ends_s)
    yield f"  {'':<{label}} 0:00{end:>{room - 4}}"


def _bar(sent: Sent | None, low: float, high: float) -> str:
    if sent is None or sent.value is None:
        return UNKNOWN
    share = (min(max(sent.value, low), high) - low) / (high - low)
    return BARS[round(share * (len(BARS) - 1))]


def _value(value: float | None, unit: str) -> str:
    return "nothing" if value is None else f"{round(value, 1):g} {unit}"
