"""Two times through the same playing: where the targets differ, by how much, for how long, and drawn over time."""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from showrunner.curves.laws import to_value
from showrunner.model.library import title_of
from showrunner.model.rig import Rig, Target
from showrunner.model.song import Song
from showrunner.model.units import format_length
from showrunner.takes.replaying import Sent, Step

BARS = "▁▂▃▄▅▆▇█"
UNKNOWN = " "
SAME_S = 0.001
"""A difference shorter than this is none: a file's times are whole ticks."""
SETTLES_S = 1.0
"""First set so much later than the other time is no difference: one host settles for longer; our own figure."""


class Difference(NamedTuple):
    """A target that did not get the same: seconds it differed, and where most, with both values.

    A value is None where that time never set the target, or differed only before it did.
    """

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


def differences(
    then: Sequence[Sent], now: Sequence[Sent], rigs: tuple[Rig, Rig], ends_s: float
) -> tuple[Difference, ...]:
    """Every target that stood otherwise for a time, those that differ longest first; `rigs` are what the two went to.

    A target that one of the two never set is the same until the other sets it, and differs from then on. Of two rigs
    that number a target otherwise values are compared, as near as the coarser can come.
    """
    before, after = traces(then), traces(now)
    found = (
        _difference(before.get(name, NOTHING), after.get(name, NOTHING), _Alike(name, rigs), ends_s)
        for name in {**before, **after}
    )
    return tuple(sorted((one for one in found if one is not None), key=lambda one: -one.seconds))


class _Apart(NamedTuple):
    """From one second to another the two times stand otherwise; None for one that has not set the target."""

    at_s: float
    until_s: float
    then: Sent | None
    now: Sent | None

    @property
    def by(self) -> float:
        """How far they are apart; nothing is known where one has not set the target."""
        if self.then is None or self.now is None:
            return -1.0
        return abs((self.then.value or 0.0) - (self.now.value or 0.0))


class _Alike:
    """Whether two messages set a target to the same on the rig that each went to."""

    def __init__(self, target: str, rigs: tuple[Rig, Rig]) -> None:
        self.target = target
        self._on = [rig.targets.get(target) for rig in rigs]

    def __call__(self, then: Sent | None, now: Sent | None) -> bool:
        one, other = self._on
        if then is None or now is None or one is None or other is None:
            return then is now
        if _numbers(one) == _numbers(other):
            return then.number == now.number
        near = max(_grain(one, then.number or 0), _grain(other, now.number or 0))
        return abs((then.value or 0.0) - (now.value or 0.0)) <= near


def _numbers(target: Target) -> tuple[object, ...]:
    """What a target's numbers stand for."""
    return target.bits, target.range, target.law, target.table


def _grain(target: Target, number: int) -> float:
    """How far a number's value is from its neighbours'."""
    here = to_value(target, number)
    near = (other for other in (number - 1, number + 1) if 0 <= other <= target.top)
    return max(abs(to_value(target, other) - here) for other in near)


def _difference(then: Trace, now: Trace, alike: _Alike, ends_s: float) -> Difference | None:
    apart = list(_apart(then, now, alike, ends_s))
    if not apart:
        return None
    most = max(apart, key=lambda one: one.by)
    values = [None if sent is None else sent.value for sent in (most.then, most.now)]
    unit = next(sent.unit or "" for sent in (most.then, most.now) if sent is not None)
    seconds = sum(one.until_s - one.at_s for one in apart)
    return Difference(alike.target, unit, seconds, apart[0].at_s, most.at_s, *values)


def _apart(then: Trace, now: Trace, alike: _Alike, ends_s: float) -> Iterator[_Apart]:
    times = sorted({*then.times_s, *now.times_s})
    for at_s, until_s in zip(times, [*times[1:], max(ends_s, times[-1])], strict=True):
        one, other = then.at(at_s), now.at(at_s)
        lasts = until_s - at_s >= SAME_S or at_s == times[-1]
        if lasts and at_s >= _both_set_s(then, now) and not alike(one, other):
            yield _Apart(at_s, until_s, one, other)


def _both_set_s(then: Trace, now: Trace) -> float:
    """From when on a target is compared: once both have set it, where the later does so soon after the other."""
    firsts = [trace.times_s[0] for trace in (then, now) if trace.times_s]
    return max(firsts) if len(firsts) == 2 and max(firsts) - min(firsts) < SETTLES_S else 0.0


def difference_row(
    one: Difference, steps: Sequence[Step], songs: Mapping[str, Song], words: tuple[str, str]
) -> tuple[str, str, str]:
    """A difference in words: the target, how long, and where most; `words` are what the two times are called."""
    then, now = (_value(value, one.unit) for value in (one.then, one.now))
    step = next((step for step in reversed(steps) if step.at_s <= one.most_s), None)
    where = "" if step is None else f", {_place(step, steps, songs)}"
    return (
        one.target,
        f"differs for {round(one.seconds, 1):g} s, from {format_length(one.from_s)} on",
        f"most at {format_length(one.most_s)}{where}: {words[0]} {then}, {words[1]} {now}",
    )


def _place(step: Step, steps: Sequence[Step], songs: Mapping[str, Song]) -> str:
    """A step by its cue, with its song where there are several."""
    if step.song is None or len({each.song for each in steps} - {None}) < 2:
        return step.cue or ""
    return ", ".join(word for word in (title_of(songs, step.song), step.cue) if word)


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
