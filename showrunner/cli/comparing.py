"""Two times through the same playing as text: where the targets differ, and drawn over time."""

from collections.abc import Iterator, Sequence

from showrunner.cli.output import columns, number, width
from showrunner.model.rig import Rig
from showrunner.model.units import format_length
from showrunner.takes.comparing import Difference, Trace
from showrunner.takes.replaying import Sent, Step

BARS = "▁▂▃▄▅▆▇█"
UNKNOWN = " "


def difference_lines(found: Sequence[Difference], steps: Sequence[Step], words: tuple[str, str]) -> Iterator[str]:
    """Differences as text; `words` are what the two times are called."""
    rows = []
    for one in found:
        then, now = (_value(value, one.unit) for value in (one.then, one.now))
        where = next((step.cue or "" for step in reversed(steps) if step.at_s <= one.most_s), "")
        rows.append(
            (
                one.target,
                f"differs for {number(round(one.seconds, 1))} s, from {format_length(one.from_s)} on",
                f"most at {format_length(one.most_s)}, {where}: {words[0]} {then}, {words[1]} {now}",
            )
        )
    yield from columns(rows)


def drawn(name: str, then: Trace, now: Trace, rig: Rig, ends_s: float, words: tuple[str, str]) -> Iterator[str]:
    """A target over time, twice: bars from the low end of its range to the high."""
    target = rig.targets[name]
    low, high = min(target.range), max(target.range)
    yield f"{name}, {number(low)} to {number(high)} {target.unit}"
    label = max(len(word) for word in words) + 1
    room = width() - label - 4
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
    return "nothing" if value is None else f"{number(round(value, 1))} {unit}"
