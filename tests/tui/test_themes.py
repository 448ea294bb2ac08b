"""Contrast of our themes against WCAG 2."""

import pytest
from contrast import VGA, contrast
from textpicture import in_sixteen
from textual.theme import Theme

from showrunner.tui.themes import SIXTEEN, THEMES, themes_of


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


def test_a_terminal_of_sixteen_colours_has_every_theme_in_those_alone() -> None:
    assert [theme.name for theme in SIXTEEN] == [theme.name for theme in THEMES]
    for theme in SIXTEEN:
        used = [theme.primary, theme.secondary, theme.foreground, theme.background, theme.error, theme.warning]
        assert [VGA[in_sixteen(colour)] for colour in used] == used
    assert themes_of("standard") == SIXTEEN
    assert themes_of("truecolor") == themes_of("256") == THEMES
