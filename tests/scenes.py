"""What pictures are taken of: every screen on the demo book, and the playing screen at every kind of moment."""

from stage import SONG, Clock, DemoShow, Scene, Stage, at, keys, playing, settled, until
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input

from showrunner.live.rehearsal_local import LocalRehearsal
from showrunner.planning.rehearsals import Wanted, plan_of
from showrunner.tui.screens.rehearse_play import RehearsingScreen
from showrunner.tui.settings import Settings

EIGHTH_S = 60 / 92 / 2
"""The beat of the show's first song, in 7/8 at 92 quarter notes a minute."""


def before_the_show(_: DemoShow) -> None:
    """Everything stands ready for the first song."""


def counting_in(show: DemoShow) -> None:
    """On the first song's second beat, which is not lit."""
    show.press(5, "next")
    show.at.now_s = 5 + 1.8 * EIGHTH_S


def counting_in_lit(show: DemoShow) -> None:
    """On the first song's first beat."""
    show.press(5, "next")


def in_a_song(show: DemoShow) -> None:
    """At the second cue, the pedal two fifths of the way."""
    show.press(5, "next")
    show.at.now_s = 100
    show.move("swell", 40)
    show.press(100, "next")
    show.at.now_s = 131


def in_a_changeover(show: DemoShow) -> None:
    """After the first song's last cue."""
    in_a_song(show)
    show.press(410, *["next"] * 5)
    show.at.now_s = 415


def choosing(show: DemoShow) -> None:
    """Looking for another song between two."""
    in_a_changeover(show)
    show.press(416, "choose", "next", "next")


def port_lost(show: DemoShow) -> None:
    """The host's cable is pulled in the middle of a song."""
    in_a_song(show)
    show.pull("host")


def over(show: DemoShow) -> None:
    """After the last song."""
    for at_s in range(5, 3000, 30):
        show.press(at_s, "next")


def rehearsing(stage: Stage, settings: Settings) -> Screen[None]:
    """A song from one cue to another, the pedal on its way, in the first time of five."""
    clock, wanted = Clock(), Wanted("full", song=SONG, start="Theme", stop="Solo", times=5, by_foot=True)
    client = LocalRehearsal(plan_of(stage.shelf.book, wanted), wanted, stage.shelf.root / "takes", clock)
    clock.now_s = 3
    client.move("swell", 90)
    clock.now_s = 58
    return RehearsingScreen(client, by_foot=True, settings=settings)


async def ticked(pilot: Pilot[None], _: Stage) -> None:
    """The first item answered, the rest as the program sees them."""
    await pilot.press("space")


async def pedal_heard(pilot: Pilot[None], stage: Stage) -> None:
    """Ports there, and the swell pedal heard half way."""
    await until(pilot, lambda: bool(pilot.app.screen.seen.names))
    stage.system.play("Floor board", bytes((0xB0, 11, 60)))
    await until(pilot, lambda: "swell" in pilot.app.screen.seen.raws)


async def clashing(pilot: Pilot[None], stage: Stage) -> None:
    """A value typed while somebody writes another into the file."""
    await pilot.press("right", "right", "enter")
    pilot.app.screen.query_one("#value", Input).value = "25"
    file = stage.shelf.root / "songs" / "saltmarsh-signal.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("[0, 20, 45]", "[0, 31, 45]"), encoding="utf-8")
    await pilot.press("enter")
    await pilot.pause()


async def palette(pilot: Pilot[None], _: Stage) -> None:
    """Everything that can be done here."""
    await pilot.press("ctrl+p")
    await settled(pilot)


async def renaming(pilot: Pilot[None], _: Stage) -> None:
    """Another title for a song, and what would change with it."""
    await pilot.press("m", *" 2", "enter")
    await settled(pilot)


SCENES: dict[str, Scene] = {
    "shows": at("shows"),
    "begin": at("shows", keys("p", "f")),
    "set": at("set", keys("down", "down", "down", "down")),
    "songs": at("songs"),
    "song": at("song", keys(*["full_stop"] * 8)),
    "lists": at("lists", ticked),
    "rig": at("rig", pedal_heard),
    "soundcheck": at("soundcheck"),
    "rehearse": at("rehearse"),
    "rehearsing": Scene(rehearsing),
    "after": at("after", keys("down", "down")),
    "closing": at("after", keys("c")),
    "clash": at("song", clashing),
    "question": at("songs", renaming),
    "palette": at("set", palette),
    "before": playing(before_the_show),
    "count-in": playing(counting_in),
    "count-in-lit": playing(counting_in_lit),
    "song-playing": playing(in_a_song),
    "changeover": playing(in_a_changeover),
    "choosing": playing(choosing),
    "trouble": playing(port_lost),
    "over": playing(over),
}
"""By the name of their picture."""

REOPENED = {"palette"}
"""Those that keep the colours they were opened in."""
