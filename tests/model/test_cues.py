"""What a song says of its cues."""

import pytest

from showrunner.model.song import rehearsal_letter


@pytest.mark.parametrize(
    ("number", "letter"), [(0, "A"), (1, "B"), (25, "Z"), (26, "AA"), (27, "BB"), (51, "ZZ"), (52, "AAA")]
)
def test_cues_have_the_letters_of_a_score(number: int, letter: str) -> None:
    """Common practice, no source: after Z letters are doubled."""
    assert rehearsal_letter(number) == letter
