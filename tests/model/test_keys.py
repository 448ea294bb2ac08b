import tomllib

from hypothesis import given
from hypothesis import strategies as st

from showrunner.model.keys import bare_or_quoted, dotted, quoted


def test_a_path_is_written_with_dots_list_items_in_brackets_and_quotes_where_needed() -> None:
    assert dotted(("cues", 0, "targets", "delay mix")) == 'cues[0].targets."delay mix"'
    assert dotted(()) == ""


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20))
def test_any_text_in_quotes_reads_back_as_itself_and_stays_on_its_line(text: str) -> None:
    written = quoted(text)
    assert tomllib.loads(f"k = {written}") == {"k": text}
    assert not any(ord(character) < 32 or 127 <= ord(character) < 160 for character in written)


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20))
def test_any_key_reads_back_as_itself(key: str) -> None:
    assert tomllib.loads(f"{bare_or_quoted(key)} = 1") == {key: 1}
