"""`replay`: a take through tonight's book, with no hardware."""

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from showrunner.cli.common import Call, as_path, command, find, open_book, trouble
from showrunner.cli.comparing import difference_lines
from showrunner.cli.output import columns, number, paragraph, plural, print_json, print_lines, width, working
from showrunner.cli.plain import WORDS
from showrunner.model.library import Book, title_of
from showrunner.model.nearest import did_you_mean
from showrunner.model.rig import Rig
from showrunner.model.units import format_length
from showrunner.takes.comparing import NOTHING, differences, drawn, traces
from showrunner.takes.replaying import (
    Sent,
    Step,
    UnknownTakeError,
    differs_from_then,
    replay_steps,
    script_for,
    sent_then,
)
from showrunner.takes.smf import TakeError, read_take
from showrunner.takes.take import Take

if TYPE_CHECKING:
    from showrunner.book.read import Reading

BEGINS = {"changeover": "changeover to {song}", "song": "song {song}", "over": "the show is over", "start": "before"}

BANK = {0: "bank MSB", 32: "bank LSB"}


@command(
    examples=(
        "showrunner replay saltmarsh-signal/2026-11-14",
        "showrunner replay saltmarsh-signal/2026-11-14 --rig small",
        "showrunner replay saltmarsh-signal/2026-11-14 --against ../book-before",
        "showrunner replay saltmarsh-signal/2026-11-14 --rig small --plot",
    )
)
@click.argument("take")
@click.option("--rig", metavar="RIG", help="Replay on this rig instead of the one the take was played on.")
@click.option("--against", metavar="BOOK", help="Compare with what this other book sends, not with what was sent then.")
@click.option("--plot", is_flag=True, help="Draw each target that differs over time.")
def replay(call: Call, take: str, rig: str | None, against: str | None, plot: bool) -> None:
    """Run what was played through the book as it is now, and print what would go out at each step.

    TAKE is a Standard MIDI File that Showrunner wrote, or the name of one under the book's takes, as SONG/NAME.
    """
    reading = open_book(call)
    path = take_file(reading, take)
    played = read(path)
    rig_slug = rig_of(reading, played, rig)
    steps = steps_of(reading.book, played, rig_slug, path.parent.name)
    the_rig = reading.book.rigs[rig_slug]
    if against is None:
        beside = _then(reading.book, played, the_rig)
    else:
        beside = _there(open_book(call._replace(book=against)), played, rig, path.parent.name)
    now = _sents(steps)
    found = differences(beside.sent, now, (beside.rig, the_rig), played.ends_s) if beside.sent else ()
    if call.json:
        data = replay_data(take, played, rig_slug, steps)
        print_json({**data, "against": against, "differences": [one._asdict() for one in found]})
        return
    print_lines(replay_lines(reading.book, path.name, played, rig_slug, steps, told=against is None))
    if against is not None and not found:
        click.echo("\nEvery target stands as with the other book, all the time.")
    if found:
        click.echo()
        print_lines(difference_lines(found, steps, reading.book.songs, beside.words))
    if plot:
        print_lines(_plots([one.target for one in found], beside, now, the_rig, played.ends_s))


class _Beside(NamedTuple):
    """What a replay is compared with: the messages, the rig they went to, and what the two times are called."""

    sent: tuple[Sent, ...]
    rig: Rig
    words: tuple[str, str]


def _then(book: Book, take: Take, rig: Rig) -> _Beside:
    """What went out then, read by the rig it was played on if the book still has it."""
    rig = book.rigs.get(take.rig or "", rig)
    return _Beside(sent_then(take, rig), rig, ("then", "now"))


def _there(other: "Reading", take: Take, rig: str | None, song: str) -> _Beside:
    """What another book makes of it."""
    slug = rig_of(other, take, rig)
    return _Beside(_sents(steps_of(other.book, take, slug, song)), other.book.rigs[slug], ("there", "here"))


def _plots(names: Sequence[str], beside: _Beside, now: Sequence[Sent], rig: Rig, ends_s: float) -> Iterator[str]:
    """The targets over time, all of them where none differs."""
    before, after = traces(beside.sent), traces(now)
    for name in names or after:
        if name in rig.targets:
            pair = (before.get(name, NOTHING), after.get(name, NOTHING))
            yield ""
            yield from drawn(name, *pair, rig, ends_s, beside.words, width())


def _sents(steps: Sequence[Step]) -> tuple[Sent, ...]:
    return tuple(sent for step in steps for sent in step.sent)


def take_file(reading: "Reading", word: str) -> Path:
    """The file a word names: a path, or SONG/NAME under the book's takes; else Trouble with the nearest."""
    takes = reading.root / "takes"
    for path in (as_path(word), takes / word, takes / f"{word}.mid"):
        if path.is_file() or (path.suffix == ".mid" and path.exists()):
            return path
    known = sorted(path.relative_to(takes).with_suffix("").as_posix() for path in takes.glob("*/*.mid"))
    there = f"there are: {', '.join(known[:5])}" if known else f"the book has no takes; they belong in {takes}/SONG"
    raise trouble(f'no take "{word}"', did_you_mean(word, known, there))


def read(path: Path) -> Take:
    """The take in a file; Trouble where it can't be read."""
    try:
        return read_take(path)
    except TakeError as error:
        raise trouble(error.what, error.mend, file=str(error.path)) from error


def rig_of(reading: "Reading", take: Take, word: str | None) -> str:
    """The rig asked for, else the take's, its show's or the book's usual one; Trouble where that isn't there."""
    show = reading.book.shows.get(take.show) if take.show is not None else None
    slug = word or take.rig or reading.book.rig_of(show)
    if slug is None:
        raise trouble("nothing says which rig this take was played on", "name one with --rig RIG")
    return find(reading, slug, "rig")[1]


def steps_of(book: Book, take: Take, rig: str, song: str | None = None) -> tuple[Step, ...]:
    """The take's steps on a rig; Trouble where the book has neither its show nor its song."""
    try:
        with working("replaying"):
            return replay_steps(script_for(book, take, book.rigs[rig], song), take)
    except UnknownTakeError as error:
        raise trouble(str(error), "name the book it belongs to with --book PATH") from error


def replay_data(name: str, take: Take, rig: str, steps: Sequence[Step]) -> dict[str, Any]:
    """A replay as JSON; `as_then` is null where the take kept nothing of what went out."""
    difference = differs_from_then(steps, take)
    return {
        "take": name,
        "show": take.show,
        "rig": rig,
        "as_then": None if difference == "nothing kept" else difference is None,
        "steps": [
            {
                "at_s": step.at_s,
                "kind": step.kind,
                "song": step.song,
                "cue": step.cue,
                "shown": [{"kind": notice.kind, "say": notice.say} for notice in step.shown],
                "sent": [_sent(sent) for sent in step.sent],
            }
            for step in steps
        ],
    }


def _sent(sent: Sent) -> dict[str, Any]:
    fields = ("target", "value", "unit", "number", "program")
    known = {name: getattr(sent, name) for name in fields if getattr(sent, name) is not None}
    return {"at_s": sent.at_s, "port": sent.port, "bytes": sent.data.hex(" "), **known}


def replay_lines(
    book: Book, name: str, take: Take, rig: str, steps: Sequence[Step], *, told: bool = True
) -> Iterator[str]:
    """A replay as text: each step with what it set at once and what the controls moved until the next.

    `told` adds whether that is what went out then.
    """
    count = sum(event.direction == "in" for event in take.events)
    yield f"{name} on {book.rigs[rig].title}: {plural(count, 'message')} in, {plural(len(steps), 'step')}"
    yield ""
    yield from steps_lines(book, book.rigs[rig], steps)
    difference = differs_from_then(steps, take) if told else "nothing kept"
    if difference != "nothing kept":
        yield ""
    if difference is None:
        yield "All of it is what went out then."
    elif isinstance(difference, Sent):
        what = f"{difference.target} {value_of(difference)}" if difference.target else difference.data.hex(" ")
        yield f"Not what went out then: the first to differ is {what}, at {format_length(difference.at_s)}."
    elif difference == "fewer":
        yield "Less than what went out then: the take has more at the end."


def steps_lines(book: Book, rig: Rig, steps: Sequence[Step]) -> Iterator[str]:
    """Steps as text."""
    for index, step in enumerate(steps):
        if index:
            yield ""
        say = f'  "{step.say}"' if step.say else ""
        yield f"{format_length(step.at_s):>7}  {_named_step(book, step)}{say}"
        yield from _shown(step)
        yield from _went_out(step.sent, rig)


def _named_step(book: Book, step: Step) -> str:
    if step.kind == "cue":
        return f"cue {step.cue}"
    return BEGINS[step.kind].format(song=title_of(book.songs, step.song or ""))


def _shown(step: Step) -> Iterator[str]:
    """What was said besides, and how often."""
    told = (notice for notice in step.shown if notice.kind not in ("changeover", "song", "cue", "over", "program"))
    said = Counter(WORDS[one.kind].format(song=one.song or "", cue=one.cue or "", say=one.say) for one in told)
    if said:
        often = (words if count == 1 else f"{words} ({count} times)" for words, count in said.items())
        yield from paragraph("; ".join(often), 9)


def _went_out(sent: Sequence[Sent], rig: Rig) -> Iterator[str]:
    if not sent:
        yield " " * 9 + "nothing to send"
    by_target: dict[str, list[Sent]] = {}
    first: list[str] = []
    for one in sent:
        if one.program is not None:
            first.append(f"program {one.program + rig.ports[one.port].programs_count_from} to {one.port}")
        elif one.target is None:
            first.append(f"{_named(one.data)} to {one.port}")
        else:
            by_target.setdefault(one.target, []).append(one)
    moved = {name: messages for name, messages in by_target.items() if len({m.value for m in messages}) > 2}
    first += [f"{name} {value_of(messages[-1])}" for name, messages in by_target.items() if name not in moved]
    if first:
        yield from paragraph(", ".join(first), 9)
    rows = []
    for name, messages in moved.items():
        values = [message.value or 0.0 for message in messages]
        least, most = (number(round(value, 1)) for value in (min(values), max(values)))
        reach = f"{plural(len(messages), 'message')} between {least} and {most}"
        rows.append((name, reach, f"ends at {value_of(messages[-1])}"))
    yield from columns(rows, indent=9)


def _named(data: bytes) -> str:
    """A message that is no target's, in words where it is a bank select (MIDI 1.0, pp. 13–14), else its bytes."""
    if len(data) == 3 and data[0] & 0xF0 == 0xB0 and data[1] in BANK:
        return f"{BANK[data[1]]} {data[2]}"
    return data.hex(" ")


def value_of(sent: Sent) -> str:
    """A value with its unit, to a tenth."""
    return f"{number(round(sent.value or 0.0, 1))} {sent.unit}"
