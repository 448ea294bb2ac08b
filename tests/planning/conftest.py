"""Makers of small books and shows."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue

MakeBook = Callable[..., Book]
MakeShow = Callable[..., Show]


@pytest.fixture
def make_book() -> MakeBook:
    """A book of songs given by slug as tables without format and title."""

    def make(songs: Mapping[str, dict[str, Any]], rig: dict[str, Any] | None = None, curfew: str | None = None) -> Book:
        venue = {"format": 1, "title": "The Ropewalk"} | ({"curfew": curfew} if curfew else {})
        return Book(
            rig="full",
            songs={
                slug: Song.model_validate({"format": 1, "title": slug.title(), "duration": "4:00"} | song)
                for slug, song in songs.items()
            },
            rigs={"full": Rig.model_validate({"format": 1, "title": "Full"} | (rig or {}))},
            venues={"ropewalk": Venue.model_validate(venue)},
        )

    return make


@pytest.fixture
def make_show() -> MakeShow:
    """A show of sets, each a list of slugs or slots."""

    def make(*sets: list[str | dict[str, Any]], **more: Any) -> Show:
        return Show.model_validate(
            {
                "format": 1,
                "title": "Friday",
                "sets": [{"songs": [{"song": s} if isinstance(s, str) else s for s in songs]} for songs in sets],
            }
            | more
        )

    return make
