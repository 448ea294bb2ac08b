"""Garbage collection is put off, and on again afterwards as it was."""

import gc
import weakref

from showrunner.collector import paused


class Knot:
    """Holds itself."""

    def __init__(self) -> None:
        self.self = self


def test_collection_is_off_inside_and_on_after() -> None:
    with paused():
        with paused():
            pass
        assert not gc.isenabled()
    assert gc.isenabled()


def test_what_was_made_inside_is_collected_once_nobody_has_it() -> None:
    with paused():
        knot = weakref.ref(Knot())
    assert knot() is not None
    gc.collect()
    assert knot() is None


def test_what_was_made_inside_is_not_young_any_more() -> None:
    with paused():
        made = [[number] for number in range(1000)]
    assert not any(young is one for young in gc.get_objects(generation=0) for one in made[:3])
