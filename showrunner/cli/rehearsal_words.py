"""What a rehearsal says as it goes, a line each."""

import sys
from collections.abc import Iterator

import click

from showrunner.cli.output import plural
from showrunner.cli.plain import WORDS
from showrunner.live.rehearsing import Told
from showrunner.model.units import format_length
from showrunner.planning.rehearsals import Plan
from showrunner.state.events import Notice
from showrunner.state.rehearsal import Due, stretch_of


class Says:
    """Says what happens, a line each, as it happens."""

    def __init__(self, plan: Plan, *, quiet: bool, by_foot: bool) -> None:
        self._plan, self._quiet, self._by_foot = plan, quiet, by_foot
        self._counting = False
        self._jumps = bool(plan.part.dues) and plan.part.dues[0].what == "jump"

    def tell(self, one: Told) -> None:
        """Something happened."""
        self._jumps = self._jumps and isinstance(one.what, Notice)
        if self._quiet or self._jumps:
            return
        for line in self._notice(one.what, one.by_hand) if isinstance(one.what, Notice) else self._due(one.what):
            click.echo(f"{format_length(one.at_s):>7}  {line}")
        sys.stdout.flush()

    def _due(self, due: Due) -> Iterator[str]:
        counted, self._counting = self._counting, due.what == "count"
        if due.what == "round":
            yield f"time {due.bar}" + (f" of {self._plan.times}" if self._plan.times is not None else "")
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

    def _notice(self, notice: Notice, by_hand: tuple[tuple[str, str], ...]) -> Iterator[str]:
        if notice.kind in ("program", "muted", "sounding"):
            return
        piece = self._plan.script.pieces.get(notice.song or "")
        title = piece.song.title if piece is not None else notice.song or ""
        if notice.kind in ("over", "nothing") and len(self._plan.script.order) == 1:
            yield from () if notice.kind == "nothing" else (f"the end of {title}",)
            return
        yield WORDS[notice.kind].format(song=title, cue=notice.cue or "", say=notice.say)
        if piece is None or notice.kind not in ("changeover", "song", "cue"):
            return
        if notice.kind == "changeover":
            song = piece.song
            for what, value in (("guitar", song.instrument), ("tuning", song.tuning), ("capo", song.capo or None)):
                if value is not None:
                    yield f"  {what}: {value}"
        for name, to in by_hand:
            yield f"  {name}: {to}"
        if notice.kind == "cue" and notice.say:
            yield f"  {notice.say}"
