"""Rehearsing a song or one changeover, looped, on a simulated or the real rig, kept as takes."""

from typing import ClassVar

from showrunner.tui.screens.book import BookScreen


class RehearseScreen(BookScreen):
    """Rehearsing a song or one changeover, looped, on a simulated or the real rig, kept as takes."""

    place: ClassVar[str] = "rehearse"
