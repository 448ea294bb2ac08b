"""Garbage collection put off while much is made that holds no cycles."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def paused() -> Iterator[None]:
    """Pauses garbage collection, which goes over a growing book again and again: a quarter of reading 1,000 songs."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            if gc.get_freeze_count() == 0:
                # as old at once, so that what was made isn't gone over by the next collection of what is young
                gc.freeze()
                gc.unfreeze()
            gc.enable()


def go_on() -> None:
    """Collects again where it was put off; what was made until then is there to stay and is never gone over."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()
