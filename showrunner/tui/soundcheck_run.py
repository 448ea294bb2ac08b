"""A soundcheck through the running show: its trims as they stand, moved, and taken back."""

import time
from collections.abc import Callable

from showrunner.curves.laws import to_value
from showrunner.levels.kept import VOLUME, moved
from showrunner.live.night import Night
from showrunner.live.picture import Client, Picture
from showrunner.live.seen import SIMULATED
from showrunner.model.show import Show
from showrunner.state.trimming import by_hand, tonight

TAKEN_WITHIN_S = 2.0
"""A move that the show has not taken after this long is asked for no more."""


class Run:
    """The show that plays; `look` takes a new picture of it."""

    def __init__(self, client: Client, night: Night, clock: Callable[[], float] = time.monotonic) -> None:
        self._client, self.night, self._clock = client, night, clock
        self.picture: Picture = client.picture()
        self._wanted: dict[str, tuple[float, float]] = {}
        self._done: list[tuple[str, float, float]] = []
        self._undone: list[tuple[str, float, float]] = []

    @property
    def show(self) -> Show:
        """The show as it was when the run began, with tonight's trims where they stand now."""
        return moved(self.night.the_show, self.picture.state.trims)

    @property
    def heard(self) -> str:
        """What is heard of it, in words."""
        simulated = f"the running show is {SIMULATED}: nothing is heard"
        return simulated if self.night.simulated else f"through the running show, {self.picture.state.sound}"

    @property
    def stands(self) -> tuple[str, int] | None:
        """The song and moment that are played; None between songs."""
        state = self.picture.state
        return (state.song, state.moment) if state.song is not None and state.phase == "song" else None

    @property
    def ended(self) -> bool:
        """Whether the show was ended."""
        return self.picture.engine == "ended"

    def look(self) -> bool:
        """Take a new picture; whether trims, or whether it plays and sounds, are different in it."""
        before, self.picture = self.picture, self._client.picture()
        now_s = self._clock()
        for name, (value, until_s) in list(self._wanted.items()):
            if now_s > until_s or self._now(name) == value:
                del self._wanted[name]
        old, new = before.state, self.picture.state
        return (old.trims, old.sound, before.engine) != (new.trims, new.sound, self.picture.engine)

    def move(self, name: str, by: float) -> None:
        """Move a trim by so much, from where it stands or was last asked to stand."""
        before = self._stands_at(name)
        after = round(before + by, 6)
        self._ask(name, after)
        self._done.append((name, before, after))
        self._undone.clear()

    def again(self, *, back: bool) -> str | None:
        """Take the last move of a trim back, or make it once more, and give its name; None if there is none."""
        from_, to = (self._done, self._undone) if back else (self._undone, self._done)
        if not from_:
            return None
        name, before, after = from_.pop()
        to.append((name, before, after))
        self._ask(name, before if back else after)
        return name

    def play(self, song: str, moment: int) -> bool:
        """Play from a moment; whether the song is in tonight's order."""
        if song not in self.picture.state.order:
            return False
        self._client.jump(song, moment)
        return True

    def said(self, name: str) -> str:
        """What was last sent to the target of a trim, in its unit and as it is on the wire; or that hands set it."""
        rig = self._client.script.rig
        if by_hand(rig, name):
            return f"{name}: set by hand"
        target = rig.trims.volume_target if name == VOLUME else name
        number = self.picture.state.known.get(target or "")
        if number is None or target not in rig.targets or target is None:
            return ""
        return f"{target} has {to_value(rig.targets[target], number):.4g} {rig.targets[target].unit} ({number}) now"

    def close(self) -> None:
        """Let go of the show, which plays on."""
        self._client.close()

    def _ask(self, name: str, value: float) -> None:
        self._wanted[name] = value, self._clock() + TAKEN_WITHIN_S
        self._client.trim(name, value)

    def _stands_at(self, name: str) -> float:
        return self._wanted[name][0] if name in self._wanted else self._now(name)

    def _now(self, name: str) -> float:
        return tonight(self._client.script, self.picture.state.trims, name)
