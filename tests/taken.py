"""Pictures of a scene in every look, taken once for all tests that look at them."""

import asyncio
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from driving import offers
from scenes import REOPENED, SCENES
from stage import Scene, settled, shown
from textpicture import Grid, grid_of
from textual.geometry import Region
from textual.pilot import Pilot
from textual.widgets import Static

from showrunner.tui.themes import SIXTEEN, THEMES

NONE = "none"


HEADS = ("where", "clock", "head", "tonight", "list", "status", "label", "words")


class Taken(NamedTuple):
    """A scene's screen in every look.

    `live` is where what can be used now stands, since under a question nothing else can; `heads` the rows of its
    head lines, `foot` the words in its footer.
    """

    looks: dict[str, Grid]
    live: Sequence[Region]
    heads: Sequence[int]
    foot: Sequence[str]


@cache
def taken(name: str, size: tuple[int, int]) -> Taken:
    """A scene at a size, in columns and rows: each theme, each in sixteen colours (`stage 16`), and `none`."""
    return asyncio.run(_taken(SCENES[name], size, reopened=name in REOPENED))


async def _taken(scene: Scene, size: tuple[int, int], *, reopened: bool) -> Taken:
    looks: dict[str, Grid] = {}
    async with shown(scene, size, plain=True) as pilot:
        for theme in (*THEMES[1:], THEMES[0]):
            # Every look is drawn after a change of theme, so that all are drawn from the same state.
            pilot.app.theme = theme.name
            await pilot.pause()
        await settled(pilot)
        looks[NONE], parts = grid_of(pilot.app), _parts(pilot)
    if reopened:
        for colours, ending in (("truecolor", ""), ("standard", " 16")):
            for theme in THEMES:
                async with shown(scene, size, theme.name, colours=colours) as pilot:
                    looks[theme.name + ending] = grid_of(pilot.app)
    else:
        async with shown(scene, size) as pilot:
            for themes, ending in ((THEMES, ""), (SIXTEEN, " 16")):
                for theme in themes:
                    pilot.app.register_theme(theme)
                for theme in (*themes[1:], themes[0]):
                    pilot.app.theme = theme.name
                    await pilot.pause()
                    looks[theme.name + ending] = grid_of(pilot.app)
    order = [*(theme.name for theme in THEMES), NONE, *(f"{theme.name} 16" for theme in SIXTEEN)]
    return Taken({look: looks[look] for look in order}, *parts)


def _parts(pilot: Pilot[None]) -> tuple[list[Region], list[int], list[str]]:
    screen = pilot.app.screen
    heads = [head.region for head in screen.query(Static) if head.id in HEADS and head.display]
    return (
        [widget.region for widget in screen.children if widget.display],
        sorted({row for head in heads for row in range(head.y, min(head.bottom, screen.size.height))}),
        [offer.words for offer in offers(pilot.app)],
    )
