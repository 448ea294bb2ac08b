import pytest

from showrunner.model.nearest import did_you_mean, nearest


@pytest.mark.parametrize(
    ("word", "meant"),
    [("titel", "title"), ("Title", "title"), ("by-hand", "by_hand"), ("tempo", "tempo_bpm"), ("zzz", None), ("", None)],
)
def test_the_nearest_known_word_is_found(word: str, meant: str | None) -> None:
    assert nearest(word, ["title", "by_hand", "tempo_bpm", "duration"]) == meant


def test_nothing_is_near_where_nothing_is_known() -> None:
    assert nearest("title", []) is None


def test_the_answer_does_not_hang_on_the_order_of_the_known() -> None:
    assert nearest("swel", ["swelt", "swell"]) == nearest("swel", ["swell", "swelt"])


def test_a_mend_asks_or_else_says_what_to_do() -> None:
    assert did_you_mean("drve", ["drive"], "add it") == 'did you mean "drive"?'
    assert did_you_mean("shimmer", ["drive"], "add it") == "add it"
