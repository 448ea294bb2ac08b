"""A screen that is being left: what was still under way for it has nothing left to show it on."""

from typing import Any

from textual.events import Callback, Timer
from textual.message import Message
from textual.screen import Screen, ScreenResultType
from textual.worker import Worker, WorkerState


class LeavingScreen(Screen[ScreenResultType]):
    """Once it is taken away its widgets go one by one, and timers, callbacks and workers find only some of them."""

    @property
    def leaving(self) -> bool:
        """Whether it is being taken away."""
        return not self.display

    async def _dispatch_message(self, message: Message) -> None:
        if not (self.leaving and isinstance(message, Callback | Timer | Worker.StateChanged)):
            await super()._dispatch_message(message)
        elif isinstance(message, Worker.StateChanged) and message.state is WorkerState.SUCCESS:
            let_go(message.worker.result)

    async def _invoke_and_clear_callbacks(self) -> None:
        if self.leaving:
            self._callbacks.clear()
        await super()._invoke_and_clear_callbacks()


def let_go(found: Any) -> None:
    """Close what a worker found, where nobody takes it: a way to a running show would go on hearing of it."""
    if hasattr(found, "close"):
        found.close()
