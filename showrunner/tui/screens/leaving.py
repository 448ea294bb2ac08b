"""A screen that is being left: what was still under way for it has nothing left to show it on, and it is left once."""

from collections.abc import Callable
from functools import partial
from inspect import isawaitable
from typing import Any

from textual import events
from textual.await_complete import AwaitComplete
from textual.message import Message
from textual.screen import ModalScreen, Screen, ScreenResultType
from textual.worker import Worker, WorkerState

Callback = Callable[..., Any]


class LeavingScreen(Screen[ScreenResultType]):
    """Once it is taken away its widgets go one by one, and timers, callbacks and workers find only some of them."""

    @property
    def leaving(self) -> bool:
        """Whether it is being taken away."""
        return not self.display

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Leave it with a result; once it is left nothing is, for another screen would go in its place."""
        return super().dismiss(result) if self.is_active else AwaitComplete()

    async def _dispatch_message(self, message: Message) -> None:
        if not (self.leaving and isinstance(message, events.Callback | events.Timer | Worker.StateChanged)):
            await super()._dispatch_message(message)
        elif isinstance(message, Worker.StateChanged) and message.state is WorkerState.SUCCESS:
            let_go(message.worker.result)

    def call_after_refresh(self, callback: Callback, *args: Any, **kwargs: Any) -> bool:
        """As soon as all is painted, if it is still there: whichever screen is up by then does it."""
        return super().call_after_refresh(self._if_there, partial(callback, *args, **kwargs))

    async def _if_there(self, callback: Callback) -> None:
        if not self.leaving:
            done = callback()
            if isawaitable(done):
                await done


class AskingScreen(ModalScreen[ScreenResultType]):
    """A question over a screen, which is answered once."""

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Leave it with the answer; a second one would take away the screen below."""
        return super().dismiss(result) if self.is_active else AwaitComplete()

    async def _dispatch_message(self, message: Message) -> None:
        """Answered before it was painted it has nothing to fill; what is taken away bears no timers and callbacks."""
        if self.display or not isinstance(message, events.Mount | events.Callback | events.Timer):
            await super()._dispatch_message(message)


def let_go(found: Any) -> None:
    """Close what a worker found, where nobody takes it: a way to a running show would go on hearing of it."""
    if hasattr(found, "close"):
        found.close()
