"""What a checklist's items look like to the program: ports and controls as they come, the rest in a thread."""

import time
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from showrunner.curves.travel import travel_of
from showrunner.live.doubling import Reading, Trial, in_show
from showrunner.live.picture import Client
from showrunner.live.ports import System
from showrunner.live.verifying import Facts, Names, Verdict, needs_ports, verified
from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.tui.plugged import Plugged, seen_in_show

LASTING = ("findings", "battery", "trims")
"""What can only change when the book does; the rest is looked at again and again."""


class Looking:
    """Looks at one show's rig: over the running show, or on ports of its own that it only hears."""

    def __init__(self, root: Path, book: Book, show: str | None, rig: Rig | None) -> None:
        self._facts = Facts(root, book, show, rig)
        self._plugged: Plugged | None = None
        self._system_of: Callable[[], System] | None = None
        self._client: Client | None = None
        self._reach: dict[str, tuple[float, float]] = {}
        self._lasting: dict[str, Verdict] = {}
        self._stood: int | None = None

    def listen(self, system_of: Callable[[], System]) -> None:
        """Open the rig's ports, at once or as soon as it can be read."""
        self._system_of = system_of
        if self._facts.rig is not None:
            self._plugged = Plugged(self._facts.rig, system_of)
            self._plugged.start()

    def follow(self, client: Client) -> None:
        """Look at the show that plays instead."""
        self._client = client

    def take(self, book: Book) -> None:
        """Go on with what the book says now; ports are opened anew only where something about them has changed."""
        if book is self._facts.book:
            return
        of_show = book.rigs.get(book.rig_of(book.shows.get(self._facts.show or "")) or "")
        rig = self._facts.rig if of_show is None else of_show
        self._facts, self._lasting = self._facts._replace(book=book, rig=rig), {}
        if self._system_of is None or rig is None or (self._plugged is not None and self._plugged.take(rig)):
            return
        if self._plugged is not None:
            self._plugged.stop()
        self.listen(self._system_of)

    def close(self) -> None:
        """Let go of ports and show."""
        if self._plugged is not None:
            self._plugged.stop()
        if self._client is not None:
            self._client.close()

    @property
    def rig(self) -> Rig | None:
        """The rig that is looked at."""
        return self._facts.rig

    def withhold(self, control: str) -> Trial:
        """Have nothing passed on from a control for a moment; without a show nothing is in any case."""
        if self._client is not None:
            self._client.withhold(control)
        self._stood = self._plugged.seen.raws.get(control) if self._plugged is not None else None
        return Trial(control, time.monotonic())

    def tried(self, trial: Trial) -> Trial:
        """A try with what is read of its control now."""
        if self._client is not None:
            reading = in_show(self._client.picture().state, trial.control)
        else:
            raw = self._plugged.seen.raws.get(trial.control) if self._plugged is not None else None
            reading = Reading(self._plugged is not None, raw != self._stood)
        return trial.read(reading, time.monotonic())

    def at_once(self, wanted: Iterable[str]) -> dict[str, Verdict]:
        """Verdicts on what is plugged in and heard now."""
        names, playing = self._look()
        facts = self._facts._replace(names=names, reach=dict(self._reach), playing=playing)
        return {verify: verified(verify, facts) for verify in wanted if needs_ports(verify)}

    def in_time(self, wanted: Iterable[str]) -> dict[str, Verdict]:
        """Verdicts on everything else; may take a while."""
        facts, lasting = self._facts, self._lasting
        found = {}
        for verify in wanted:
            if not needs_ports(verify):
                found[verify] = lasting.get(verify) or verified(verify, facts)
        lasting.update({verify: verdict for verify, verdict in found.items() if verify.startswith(LASTING)})
        return found

    def _look(self) -> tuple[Names | None, bool]:
        rig = self._facts.rig
        if self._client is not None:
            seen = seen_in_show(self._client.picture())
            self._heard(seen.travels)
            return seen.names, True
        if self._plugged is None or rig is None:
            return None, False
        while self._plugged.readings:
            _, name, raw = self._plugged.readings.popleft()
            self._heard({name: travel_of(rig.controls[name], raw)})
        seen = self._plugged.seen
        return (seen.names if seen.ready or seen.troubles else None), False

    def _heard(self, travels: Mapping[str, float]) -> None:
        for name, travel in travels.items():
            low, high = self._reach.get(name, (travel, travel))
            self._reach[name] = min(low, travel), max(high, travel)
