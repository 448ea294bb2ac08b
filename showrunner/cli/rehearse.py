"""`rehearse`: a song, a part of one, a changeover or a whole show by the clock, kept as a take."""

import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import click

from showrunner.cli.common import Call, command, find, find_show, open_book, trouble
from showrunner.cli.output import plural, print_json, print_lines
from showrunner.cli.plain import WORDS
from showrunner.cli.rehearsal import Plan, Room, change_plan, run_fast, run_take, show_plan, song_plan
from showrunner.cli.replay import read, take_file
from showrunner.cli.reviewing import review_data, review_lines, review_of
from showrunner.live.rehearsing import Rehearsal, Told
from showrunner.model.rig import Rig
from showrunner.model.units import format_length
from showrunner.state.events import Notice
from showrunner.state.rehearsal import Due, Part, stretch_of, with_pulses
from showrunner.takes.recorder import Recorder
from showrunner.takes.smf import read_take
from showrunner.takes.take import Take

if TYPE_CHECKING:
    from showrunner.book.read import Reading


@command(
    examples=(
        "showrunner rehearse saltmarsh-signal --simulated --fast",
        "showrunner rehearse saltmarsh-signal --from Theme --to Solo --times 5",
        "showrunner rehearse pellmarsh-hall --loop heron-clock --times 5 --foot",
        "showrunner rehearse low-lantern --take low-lantern/2026-11-14 --fast",
    )
)
@click.argument("what", metavar="SHOW|SONG")
@click.option("--rig", metavar="RIG", help="The rig; else the show's, or the book's usual one.")
@click.option("--from", "start", metavar="CUE", help="Start at this cue of the song.")
@click.option("--to", "stop", metavar="CUE", help="Stop as this cue is taken.")
@click.option("--loop", "into", metavar="SONG", help="Only the changeover of the show that leads to this song.")
@click.option("--times", type=click.IntRange(1, 100), default=1, show_default=True, help="So many times through.")
@click.option("--foot", is_flag=True, help="Cues are taken by foot, or with Enter; the clock only counts.")
@click.option("--take", metavar="TAKE", help="A take plays, instead of anybody.")
@click.option("--simulated", is_flag=True, help="Without hardware: nothing is sent, and nothing heard.")
@click.option("--fast", is_flag=True, help="As fast as it goes, without hardware; kept only with --keep.")
@click.option("--keep/--no-keep", default=None, help="Whether the take is kept in the book.")
@click.option("--clock", metavar="PORT", help="Send MIDI clock, start and stop to this port of the rig.")
def rehearse(
    call: Call,
    what: str,
    rig: str | None,
    start: str | None,
    stop: str | None,
    into: str | None,
    times: int,
    foot: bool,
    take: str | None,
    simulated: bool,
    fast: bool,
    keep: bool | None,
    clock: str | None,
) -> None:
    """Rehearse by the clock: count-in, cues at their places, changeovers; and say how it went.

    What came in and went out is kept as a take, which replay, takes and progress read.
    """
    reading = open_book(call)
    kind, slug = find(reading, what, "show", "song")
    if kind == "show":
        find_show(reading, what)
    rig_slug = _rig(reading, kind, slug, rig)
    plan = _plan(reading, kind, slug, rig_slug, start=start, stop=stop, into=into, times=times)
    the_rig = reading.book.rigs[rig_slug]
    if clock is not None:
        _check_port(the_rig, clock)
        plan = plan._replace(part=with_pulses(plan.part, plan.script.pieces))
    player = None if take is None else read(take_file(reading, take))
    keeps = keep if keep is not None else not (fast or take is not None)
    show = slug if kind == "show" else None
    with TemporaryDirectory() as scratch:
        path = _path(reading.root / "takes" if keeps else Path(scratch), plan.song)
        recorder = Recorder(path, show=show, rig=rig_slug, song=plan.song)
        told: list[Told] = []
        room = Room(plan.script, None if simulated or fast else _system())
        says = _Says(plan, quiet=call.json, by_foot=foot)

        def tell(one: Told) -> None:
            told.append(one)
            says.tell(one)

        part = plan.part if player is None else Part((), _ends_s(player))
        try:
            rehearsal = Rehearsal(plan.script, part, room.send, tell, recorder=recorder, by_foot=foot, clock_to=clock)
            if player is not None:
                run_take(rehearsal, player, room.wait if not fast else lambda _at_s: None)
            elif fast:
                run_fast(rehearsal)
            else:
                room.run(rehearsal)
        finally:
            room.close()
            recorder.close()
        played = read_take(path)
        found = review_of(reading.book, played, rig_slug, plan.song)
    name = f"{plan.song}/{path.stem}" if keeps else None
    if call.json:
        steps = [_told(one) for one in told if isinstance(one.what, Notice)]
        print_json({"of": slug, "rig": rig_slug, "take": name, "steps": steps, **review_data(found)})
        return
    click.echo()
    print_lines(review_lines(reading.book, found))
    if name is not None:
        click.echo(f"kept as {name}")


def _rig(reading: "Reading", kind: str, slug: str, word: str | None) -> str:
    show = reading.book.shows[slug] if kind == "show" else None
    found = word or reading.book.rig_of(show)
    if found is None:
        raise trouble("nothing says which rig to rehearse on", "name one with --rig RIG")
    return find(reading, found, "rig")[1]


def _plan(
    reading: "Reading",
    kind: str,
    slug: str,
    rig: str,
    *,
    start: str | None,
    stop: str | None,
    into: str | None,
    times: int,
) -> Plan:
    if kind == "song":
        if into is not None:
            raise click.UsageError("--loop is for a show; a song is looped with --from, --to and --times")
        return song_plan(reading.book, slug, rig, start, stop, times)
    if start is not None or stop is not None:
        raise click.UsageError("--from and --to are for a song; name the song instead of the show")
    if into is not None:
        return change_plan(reading.book, slug, rig, find(reading, into, "song")[1], times)
    if times > 1:
        raise click.UsageError("--times is for a song, or for a changeover named with --loop")
    return show_plan(reading.book, slug, rig)


def _check_port(rig: Rig, name: str) -> None:
    if name not in rig.ports or not rig.ports[name].sends:
        there = ", ".join(port for port, of in rig.ports.items() if of.sends)
        raise trouble(f'{rig.title} sends nothing to a port "{name}"', f"it sends to {there or 'none'}")


def _system() -> Any:
    from showrunner.live.binding import RtMidiSystem

    return RtMidiSystem()


def _path(folder: Path, song: str) -> Path:
    """A file that is not there yet, by the date and the minute."""
    stem = datetime.now().strftime("%Y-%m-%d-%H%M")
    path, number = folder / song / f"{stem}.mid", 2
    while path.exists():
        path, number = path.with_stem(f"{stem}-{number}"), number + 1
    return path


def _ends_s(take: Take) -> float:
    return max((row.at_s for rows in (take.events, take.cues, take.asks) for row in rows), default=0.0)


def _told(one: Told) -> dict[str, Any]:
    notice = one.what
    assert isinstance(notice, Notice)
    return {"at_s": one.at_s, **notice._asdict()}


class _Says:
    """Says what happens, a line each, as it happens."""

    def __init__(self, plan: Plan, *, quiet: bool, by_foot: bool) -> None:
        self._plan, self._quiet, self._by_foot = plan, quiet, by_foot
        self._rounds = sum(due.what == "round" for due in plan.part.dues)
        self._round, self._counting = 0, False
        self._jumps = plan.part.dues[0].what in ("round", "jump")

    def tell(self, one: Told) -> None:
        """Something happened."""
        self._jumps = self._jumps and isinstance(one.what, Notice)
        if self._quiet or self._jumps:
            return
        for line in self._notice(one.what) if isinstance(one.what, Notice) else self._due(one.what):
            click.echo(f"{format_length(one.at_s):>7}  {line}")
        sys.stdout.flush()

    def _due(self, due: Due) -> Iterator[str]:
        counted, self._counting = self._counting, due.what == "count"
        if due.what == "round":
            self._round += 1
            yield f"time {self._round} of {self._rounds}"
        elif due.what == "count" and not counted:
            piece = self._plan.script.pieces[due.song]
            stretch = stretch_of(piece, due)
            if stretch is not None:
                who = piece.song.count_in.by if piece.song.count_in is not None else None
                by = f", {who}" if who is not None else ""
                yield f"count-in, {plural(due.bar, 'bar')} of {stretch.meter} at {stretch.tempo_bpm:g}{by}"
        elif due.what in ("cue", "begin", "end") and self._by_foot:
            piece = self._plan.script.pieces[due.song]
            words = {"cue": piece.moments[due.moment].name, "begin": piece.song.title, "end": "the end"}
            yield f"now: {words[due.what]}"

    def _notice(self, notice: Notice) -> Iterator[str]:
        if notice.kind in ("program", "muted", "unmuted"):
            return
        piece = self._plan.script.pieces.get(notice.song or "")
        title = piece.song.title if piece is not None else notice.song or ""
        yield WORDS[notice.kind].format(song=title, cue=notice.cue or "", say=notice.say)
        if piece is None or notice.kind not in ("changeover", "song", "cue"):
            return
        number = next((m.number for m in piece.moments if m.name == notice.cue), 0)
        if notice.kind == "changeover":
            song = piece.song
            for what, value in (("guitar", song.instrument), ("tuning", song.tuning), ("capo", song.capo or None)):
                if value is not None:
                    yield f"  {what}: {value}"
        if notice.kind != "song":
            for name, to in piece.changed_by_hand(number).items():
                yield f"  {name}: {to}"
        if notice.kind == "cue" and notice.say:
            yield f"  {notice.say}"
