"""A show played in the process that shows it, nothing plugged in: for trying, and for tests with their own clock."""

import time
from collections.abc import Callable

from showrunner.live.fake import FakeSystem, plain
from showrunner.live.night import Night
from showrunner.live.picture import Picture, What
from showrunner.live.player import Player
from showrunner.state.events import Withhold
from showrunner.state.script import Script


class LocalShow:
    """The same interface as the running show's, without a process, a socket or a thread; time passes by `picture`."""

    simulated = True
    ready = True

    def __init__(
        self, script: Script, clock: Callable[[], float] = time.perf_counter, *, night: Night | None = None
    ) -> None:
        self.script, self.night = script, night
        self.system = FakeSystem.simulated(script.rig)
        self._clock = clock
        self._player = Player(script, self.system, clock)

    def picture(self) -> Picture:
        """The show now, with everything done that has fallen due."""
        self._player.look()
        self._player.engine.beat()
        self._player.compile_ahead()
        return self._player.picture(time.time())

    def on_stir(self, _call: Callable[[], object]) -> bool:
        """Never: it moves as it is looked at."""
        return False

    def sight(self) -> None:
        """Nobody has to be asked: the documents are here."""

    def ask(self, what: What) -> None:
        """Take a step."""
        self._player.ask(what)

    def jump(self, song: str, moment: int) -> None:
        """Play from a moment of a song in tonight's order."""
        self._player.jump(song, moment)

    def move(self, control: str, raw: int) -> None:
        """Move a control."""
        self._player.move(control, raw)

    def trim(self, name: str, value: float) -> None:
        """Put one of tonight's trims somewhere else."""
        self._player.trim(name, value)

    def withhold(self, control: str) -> None:
        """Pass nothing on from a control until it was moved for two seconds."""
        self._player.do(Withhold(self._clock(), control))

    def pull(self, port: str) -> None:
        """A port of the rig goes away."""
        for name in self._names(port):
            self.system.pull(name)
        self._player.look()

    def plug(self, port: str) -> None:
        """A port of the rig comes back."""
        the = self.script.rig.ports[port]
        if the.input is not None:
            self.system.plug_input(plain(the.input))
        if the.output is not None:
            self.system.plug_output(plain(the.output))
        self._player.look()

    def close(self) -> None:
        """Nothing plays on."""
        self._player.patch.close()

    def _names(self, port: str) -> list[str]:
        the = self.script.rig.ports[port]
        return [plain(pattern) for pattern in (the.input, the.output) if pattern is not None]
