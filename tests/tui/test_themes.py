"""Contrast of our themes against WCAG 2."""

import pytest
from textual.color import Color
from textual.theme import Theme

from showrunner.tui.themes import THEMES


def luminance(color: Color) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [part / 255 for part in (color.r, color.g, color.b)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """(L1 + 0.05) / (L2 + 0.05), the lighter above (WCAG 2.2, definition of contrast ratio)."""
    lights = sorted((luminance(Color.parse(one)), luminance(Color.parse(other))))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def test_contrast_is_reckoned_as_published() -> None:
    # #0000FF on white is 8.59, #767676 on white 4.54 (WCAG 2).
    assert contrast("#0000ff", "#ffffff") == pytest.approx(8.59, abs=0.005)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("ink", ["foreground", "primary", "secondary"])
def test_text_has_the_contrast_of_the_stricter_level(theme: Theme, ink: str) -> None:
    # 7 is level AAA for text of any size (WCAG 2.2, 1.4.6).
    assert contrast(getattr(theme, ink), theme.background or "") >= 7


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("ground", ["error", "warning"])
def test_trouble_stands_out_of_its_own_colour(theme: Theme, ground: str) -> None:
    # Big letters in the background's colour on the trouble's; 4.5 is level AAA for large text (WCAG 2.2, 1.4.6).
    assert contrast(theme.background or "", getattr(theme, ground)) >= 4.5


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_muted_text_can_still_be_read(theme: Theme) -> None:
    assert contrast(theme.variables["text-muted"], theme.background or "") >= 4.5
