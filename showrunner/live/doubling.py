"""One try of whether the host hears a control by itself as well: it is moved, nothing is passed on, an ear judges."""

from typing import Literal, NamedTuple

from showrunner.state.values import State
from showrunner.state.withholding import WAITS_FOR_S, WITHHELD_S

Phase = Literal["waits", "no answer", "move", "moving", "listen", "not heard"]

ANSWERS_WITHIN_S = 2.0
HOST_HEARS = "left: the host hears it too"
"""The answer kept where the sound moved although nothing was passed on."""


class Reading(NamedTuple):
    """Whether nothing is passed on from a control now, and whether it has moved since that began."""

    held: bool
    moved: bool


def in_show(state: State, control: str) -> Reading:
    """The same of a running show."""
    withheld = state.withheld.get(control)
    return Reading(withheld is not None, withheld is not None and withheld.moved_s is not None)


class Trial(NamedTuple):
    """A try: the control, since when, whether nothing is passed on, and when it was first seen to move; times in s."""

    control: str
    began_s: float
    held: bool = False
    moved_s: float | None = None

    def read(self, reading: Reading, now_s: float) -> "Trial":
        """The try with what is read of the control now."""
        if not self.held:
            return self._replace(held=True, began_s=now_s) if reading.held else self
        return self._replace(moved_s=now_s) if self.moved_s is None and reading.moved else self

    def phase(self, now_s: float) -> Phase:
        """What is to be done: move it, go on moving it, say what was heard; or it was never heard."""
        if not self.held:
            return "waits" if now_s < self.began_s + ANSWERS_WITHIN_S else "no answer"
        if self.moved_s is None:
            return "move" if now_s < self.began_s + WAITS_FOR_S else "not heard"
        return "moving" if now_s < self.moved_s + WITHHELD_S else "listen"

    def words(self, now_s: float) -> str:
        """The same as it is asked of a player."""
        phase = self.phase(now_s)
        if phase in ("waits", "no answer"):
            return "the show has not answered yet" if phase == "waits" else "the show did not answer: nothing was tried"
        if phase == "not heard":
            return f"{self.control} was not heard in {WAITS_FOR_S:g} s: nothing was tried"
        if phase == "listen":
            return f"{self.control} moved and was not passed on: did the sound move?"
        return f"move {self.control} for {WITHHELD_S:g} seconds and listen: nothing is passed on"


def judged(control: str, *, moved: bool) -> str:
    """What it means that the sound moved, or that it stayed."""
    if not moved:
        return f"the host does not hear {control} itself"
    return f"the host hears {control} itself, too: switch its port off there, or every value comes twice"
