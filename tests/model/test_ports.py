"""Patterns on the system's port names."""

from hypothesis import given
from hypothesis import strategies as st

from showrunner.model.ports import matching


def test_a_star_stands_for_any_text_and_a_question_mark_for_one_character() -> None:
    names = ("Floor 1", "Floor 12", "The Floor")
    assert matching("Floor*", names) == ("Floor 1", "Floor 12")
    assert matching("Floor ?", names) == ("Floor 1",)
    assert matching("*Floor*", names) == names


def test_brackets_and_dots_stand_for_themselves() -> None:
    assert matching("In [1].x", ("In [1].x", "In 1.x", "In [1]-x")) == ("In [1].x",)


@given(st.text(max_size=20))
def test_a_name_without_stars_and_question_marks_fits_itself(name: str) -> None:
    plain = name.replace("*", "").replace("?", "")
    assert matching(plain, (plain,)) == (plain,)
