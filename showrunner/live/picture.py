"""What a screen gets of the running show, and the Protocol of whoever it gets it from."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple, Protocol

from showrunner.live.seen import Sight
from showrunner.state.events import Notice
from showrunner.state.values import State

if TYPE_CHECKING:
    from showrunner.live.night import Night
    from showrunner.state.script import Script

What = Literal["next", "back", "choose", "take", "cancel", "mute", "program"]
Health = Literal["playing", "restarted", "not answering", "ended"]
Answer = Literal["sent", "answered", "no answer"]

NOTHING: Mapping[str, Answer] = MappingProxyType({})
NO_NAMES: Mapping[str, Mapping[str, str]] = MappingProxyType({})
NO_TROUBLES: Mapping[str, str] = MappingProxyType({})


class Picture(NamedTuple):
    """The show as it stood at one time, frozen; times are seconds of the run's clock.

    `began_s` is when the first song began, `began_unix_s` the time of day then as the machine had it, `notices` what
    was said last with its time, `answers` says of each output that was sent to whether its host has answered, `loops`
    are the ports whose path was stopped, `plugged` the system's name of each open side (`input`, `output`) of the
    rig's ports, `troubles` why one can't be opened. `realtime` is whether the system gave the engine priority,
    `unix_s` the time of day at `at_s`, `simulated` whether no hardware is played.
    """

    at_s: float
    state: State
    began_s: float | None = None
    notices: tuple[tuple[float, Notice], ...] = ()
    engine: Health = "playing"
    answers: Mapping[str, Answer] = NOTHING
    loops: tuple[str, ...] = ()
    plugged: Mapping[str, Mapping[str, str]] = NO_NAMES
    troubles: Mapping[str, str] = NO_TROUBLES
    realtime: bool = False
    unix_s: float = 0.0
    simulated: bool = False
    began_unix_s: float | None = None

    def moved_to(self, now_s: float) -> "Picture":
        """The same show at a later time."""
        return self._replace(at_s=max(self.at_s, now_s), unix_s=self.unix_s + max(0.0, now_s - self.at_s))

    def as_shown(self, *, simulated: bool) -> "Picture":
        """What a screen shows of it: a simulated host answers nobody, and isn't said to be silent."""
        if not simulated:
            return self
        return self._replace(answers=dict.fromkeys(self.answers, "sent"), simulated=True)


class Client(Protocol):
    """A way to the running show: the one in another process (`live.link.RemoteShow`), or `live.local.LocalShow`."""

    @property
    def script(self) -> "Script":
        """The show as it was frozen when the run began; read when first asked for."""

    @property
    def night(self) -> "Night | None":
        """The documents behind the script, None where it was made without a book."""

    @property
    def ready(self) -> bool:
        """Whether script and night are at hand, so that asking for them reads no file."""

    def sight(self) -> Sight | None:
        """The show in words as the show itself said it last, for a screen without documents; asks for a newer one.

        None where nothing was said yet, or where there is nobody to ask. Never waits.
        """

    @property
    def simulated(self) -> bool:
        """Whether keys may move the controls, since no hardware does."""

    def picture(self) -> Picture:
        """The newest picture; never waits."""

    def on_stir(self, call: Callable[[], object]) -> bool:
        """Have this called, on any thread, whenever the show stands otherwise than before; one is called at a time.

        False where it only moves as it is looked at.
        """

    def ask(self, what: What) -> None:
        """Ask for a step; never waits."""

    def jump(self, song: str, moment: int) -> None:
        """Ask to play from a moment of a song in tonight's order; never waits."""

    def move(self, control: str, raw: int) -> None:
        """Move a control of a simulated rig; never waits."""

    def trim(self, name: str, value: float) -> None:
        """Put one of tonight's trims somewhere else, in its unit; never waits."""

    def withhold(self, control: str) -> None:
        """Pass nothing on from a control until it was moved for two seconds; never waits."""

    def close(self) -> None:
        """Let go of the show, which plays on."""
