"""A screen that is being left: what was still under way for it has nothing left to show it on."""

from textual.events import Callback, Timer
from textual.message import Message
from textual.screen import Screen, ScreenResultType
from textual.worker import Worker


class LeavingScreen(Screen[ScreenResultType]):
    """Once it is taken away its widgets go one by one, and timers, callbacks and workers find only some of them."""

    @property
    def leaving(self) -> bool:
        """Whether it is being taken away."""
        return not self.display

    async def _dispatch_message(self, message: Message) -> None:
        if not (self.leaving and isinstance(message, Callback | Timer | Worker.StateChanged)):
            await super()._dispatch_message(message)

    async def _invoke_and_clear_callbacks(self) -> None:
        if self.leaving:
            self._callbacks.clear()
        await super()._invoke_and_clear_callbacks()
