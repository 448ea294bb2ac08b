"""A rehearsal set up: where its take goes, what writes it, and what plays it."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from showrunner.live.rehearsing import Rehearsal, Told
from showrunner.planning.rehearsals import Plan, Wanted
from showrunner.takes.recorder import Recorder


class Staged:
    """A rehearsal and the take that is written of it, begun; OSError where the take can't be."""

    def __init__(
        self,
        plan: Plan,
        wanted: Wanted,
        takes: Path,
        send: Callable[[str, bytes], object],
        tell: Callable[[Told], object],
    ) -> None:
        self.path = take_path(takes / plan.filed, datetime.now())
        song = plan.filed if wanted.song is not None else None
        self._recorder = Recorder(self.path, show=wanted.show, rig=wanted.rig, song=song)
        try:
            self.rehearsal = Rehearsal(
                plan, send, tell, recorder=self._recorder, by_foot=wanted.by_foot, clock_to=wanted.clock_to
            )
        except BaseException:
            self.discard()
            raise

    @property
    def troubles(self) -> dict[str, str]:
        """What is wrong with the take, for a screen, by what is in trouble; nothing while all is well."""
        return {"take": self._recorder.trouble} if self._recorder.trouble else {}

    @property
    def trouble(self) -> str:
        """The same as a sentence."""
        return f"the take {self._recorder.trouble}" if self._recorder.trouble else ""

    def close(self) -> Path:
        """Put the take in order; its file."""
        return self._recorder.close()

    def discard(self) -> None:
        """Leave no take."""
        self._recorder.discard()


def take_path(folder: Path, now: datetime) -> Path:
    """A file that is not there yet, named by the date and the minute."""
    stem = now.strftime("%Y-%m-%d-%H%M")
    path, number = folder / f"{stem}.mid", 2
    while path.exists():
        path, number = path.with_stem(f"{stem}-{number}"), number + 1
    return path
