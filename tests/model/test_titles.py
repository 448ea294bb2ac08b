"""The short title, which stands in big letters where the whole one has no room, still names its song."""

import pytest

from showrunner.model.song import Song


@pytest.mark.parametrize(
    ("title", "short"),
    [
        ("Saltmarsh Signal", "SALTMARSH"),
        ("The Long Sluice", "THE LONG"),
        ("The Exceptionally Long Ballad", "EXCEPTIONAL…"),
        ("The Lamplighters Go Home", "LAMPLIGHTERS"),
        ("Of a Night Without End", "OF A NIGHT"),
        ("All In", "ALL IN"),
        ("Up", "UP"),
        ("It Is As It Is Or So", "IT IS AS IT…"),
        ("Unmistakeable", "UNMISTAKEAB…"),
    ],
)
def test_a_short_title_never_is_only_an_article(title: str, short: str) -> None:
    assert Song.model_validate({"format": 1, "title": title, "duration": "3:00"}).short_title == short
