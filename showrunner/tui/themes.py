"""Colours of our own: dark for the stage, light for daylight, and one of the greatest contrast."""

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
    variables={"footer-key-foreground": "#d9a441", "text-muted": "#b9b4a6"},
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
    variables={"footer-key-foreground": "#7a4b00", "text-muted": "#4c4a42"},
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
    variables={"footer-key-foreground": "#ffff00", "text-muted": "#ffffff"},
)
THEMES = (DARK, LIGHT, CONTRAST)
