"""Colours of our own: dark for the stage, light for daylight, and one of the greatest contrast.

A terminal of sixteen colours would draw them in whatever comes nearest, so that each has a version in those sixteen.
"""

from dataclasses import replace
from typing import Any

from textual.theme import Theme

DARK = Theme(
    name="stage",
    primary="#d9a441",
    secondary="#8fb6c4",
    accent="#d9a441",
    warning="#e9c46a",
    error="#ff7b6b",
    success="#9cc98a",
    foreground="#ece7db",
    background="#0a0b0d",
    surface="#121418",
    panel="#1c1f25",
    dark=True,
    variables={
        "text-muted": "#b9b4a6",
        "text-disabled": "#a19c8f",
        "scrollbar": "#8f887a",
        "scrollbar-background": "#1c1f25",
    },
)
LIGHT = Theme(
    name="daylight",
    primary="#7a4b00",
    secondary="#1f5266",
    accent="#7a4b00",
    warning="#8a4b00",
    error="#a3160c",
    success="#28591a",
    foreground="#1a1a17",
    background="#fbf9f3",
    surface="#f1eee5",
    panel="#e4e0d4",
    dark=False,
    variables={
        "text-muted": "#4c4a42",
        "text-disabled": "#5f5c52",
        "scrollbar": "#726e61",
        "scrollbar-background": "#e4e0d4",
    },
)
CONTRAST = Theme(
    name="contrast",
    primary="#ffffff",
    secondary="#ffffff",
    accent="#ffff00",
    warning="#ffff00",
    error="#ffff00",
    success="#ffffff",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#000000",
    dark=True,
    variables={
        "text-muted": "#ffffff",
        "text-disabled": "#ffffff",
        "scrollbar": "#ffffff",
        "scrollbar-background": "#000000",
    },
)
THEMES = (DARK, LIGHT, CONTRAST)
ABOUT = {DARK.name: "dark, for the stage", LIGHT.name: "light, for daylight", CONTRAST.name: "black and white"}
"""What each is for, in words."""

BLACK, RED, BLUE, MAGENTA, GREY, WHITE = "#000000", "#aa0000", "#0000aa", "#aa00aa", "#aaaaaa", "#ffffff"
BRIGHT_RED, BRIGHT_GREEN, BRIGHT_YELLOW, BRIGHT_CYAN = "#ff5555", "#55ff55", "#ffff55", "#55ffff"
"""As the terminal library knows the sixteen, so that each is sent as itself."""


def _in_sixteen(theme: Theme, blurred: str, muted: str, **colours: Any) -> Theme:
    """A theme in colours of the sixteen only; `blurred` is the ground of a cursor that has not the keys."""
    ground = colours["background"]
    variables = {
        "text-muted": muted,
        "text-disabled": muted,
        "scrollbar": muted,
        "scrollbar-background": ground,
        "block-cursor-blurred-background": blurred,
    }
    return replace(theme, surface=ground, panel=ground, variables=variables, **colours)


SIXTEEN = (
    _in_sixteen(
        DARK,
        BLUE,
        GREY,
        primary=BRIGHT_YELLOW,
        secondary=BRIGHT_CYAN,
        accent=BRIGHT_YELLOW,
        warning=BRIGHT_YELLOW,
        error=BRIGHT_RED,
        success=BRIGHT_GREEN,
        foreground=WHITE,
        background=BLACK,
    ),
    _in_sixteen(
        LIGHT,
        GREY,
        BLACK,
        primary=BLUE,
        secondary=MAGENTA,
        accent=BLUE,
        warning=RED,
        error=RED,
        success=BLUE,
        foreground=BLACK,
        background=WHITE,
    ),
    _in_sixteen(
        CONTRAST,
        BLUE,
        WHITE,
        primary=WHITE,
        secondary=WHITE,
        accent=BRIGHT_YELLOW,
        warning=BRIGHT_YELLOW,
        error=BRIGHT_YELLOW,
        success=WHITE,
        foreground=WHITE,
        background=BLACK,
    ),
)


def themes_of(color_system: str | None) -> tuple[Theme, ...]:
    """The themes by what colours a terminal has, as the terminal library names them; their names are the same."""
    return SIXTEEN if color_system in ("standard", "windows") else THEMES
