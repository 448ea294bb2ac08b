import tomllib
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showrunner.book.change import CannotChangeError, Edit, StaleEditError, applied, apply, edit, insertion
from showrunner.book.data import ABSENT, same, value_at
from showrunner.model.keys import KeyPath

SLOW = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
BOM = b"\xef\xbb\xbf"
SONG = b"""\
#:schema ../.showrunner/schemas/song.json
format = 1
title = "Saltmarsh Signal"
tempo_bpm = 92        # quarter notes
tempo_changes = [{ bar = 41, tempo_bpm = 104 }]

# the band waits
[start]
curves = "verse"      # the first
controls = { swell = 0 }

[curves.verse.swell]
travel = [0, 50, 100]
[curves.verse.swell.moves]
drive       = [3, 3, 12]      # still until half way
"delay mix" = [0, 20, 45]

[[cues]]
# the theme
name = "Theme"
stop.by = "hand"

# the long one
[[cues]]
name = "Solo"
open = true
"""
SHOW = b"""\
format = 1
title = "Friday"

[[sets]]
songs = [
    { song = "a" },                   # opener
    # the slow one
    { song = "b", then = "segue" },
    { song = "c" }    # last
]
"""

NEW_VALUES = st.recursive(
    st.one_of(st.integers(-9, 200), st.sampled_from([0.5, True, "x", 'a "b" # c', "\n", 1e300])),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["a", "b c", "x.y", ""]), inner, max_size=3)
    ),
    max_leaves=8,
)


def changed(source: bytes, key: KeyPath, after: Any) -> str:
    return apply(source, edit("songs/a.toml", source, key, after)).decode()


def lines_changed(before: bytes, after: str) -> list[tuple[str, str]]:
    old, new = before.decode().split("\n"), after.split("\n")
    assert len(old) == len(new)
    return [(a, b) for a, b in zip(old, new, strict=True) if a != b]


def data(source: bytes) -> Any:
    return tomllib.loads(source.removeprefix(BOM).decode())


def scalars(value: Any, path: KeyPath = ()) -> list[KeyPath]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else None
    return [path] if inner is None else [found for step, item in inner for found in scalars(item, (*path, step))]


def tables(value: Any, path: KeyPath = ()) -> list[KeyPath]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    own = [path] if isinstance(value, dict) else []
    return own + [found for step, item in inner for found in tables(item, (*path, step))]


def lists(value: Any, path: KeyPath = ()) -> list[KeyPath]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    own = [path] if isinstance(value, list) else []
    return own + [found for step, item in inner for found in lists(item, (*path, step))]


@SLOW
@given(st.data())
def test_one_changed_value_changes_nothing_but_its_own_characters(written_documents: Any, data_: st.DataObject) -> None:
    text = data_.draw(written_documents).text
    source = (
        data_.draw(st.sampled_from([b"", BOM]))
        + text.replace("\n", data_.draw(st.sampled_from(["\n", "\r\n"]))).encode()
    )
    keys = [key for key in scalars(data(source)) if key and not isinstance(value_at(data(source), key), str)]
    if not keys:
        return
    key = data_.draw(st.sampled_from(keys))
    new = apply(source, edit("a", source, key, 12345))
    assert value_at(data(new), key) == 12345
    assert new.startswith(BOM) == source.startswith(BOM)
    assert new.count(b"\r\n") == source.count(b"\r\n")
    assert len(lines_changed(source, new.decode())) == 1
    back = apply(new, edit("a", source, key, 12345).inverse)
    assert same(data(back), data(source))


@SLOW
@given(st.data())
def test_any_value_goes_to_any_table_and_comes_out_again(written_documents: Any, data_: st.DataObject) -> None:
    source = data_.draw(written_documents).text.encode()
    table = data_.draw(st.sampled_from(tables(data(source))))
    name = data_.draw(
        st.sampled_from(["new", "new key", "x.y"]).filter(lambda n: n not in value_at(data(source), table))
    )
    made = edit("a", source, (*table, name), data_.draw(NEW_VALUES))
    new = apply(source, made)
    assert same(value_at(data(new), (*table, name)), made.after)
    assert _comments(new) == _comments(source)
    assert same(data(apply(new, made.inverse)), data(source))


@SLOW
@given(st.data())
def test_anything_can_be_taken_out(written_documents: Any, data_: st.DataObject) -> None:
    document = data_.draw(written_documents)
    source = document.text.encode()
    keys = [key for key in document.lines if isinstance(key[-1], str)]
    if not keys:
        return
    key = data_.draw(st.sampled_from(keys))
    new = apply(source, edit("a", source, key, ABSENT))
    assert value_at(data(new), key) is ABSENT


@SLOW
@given(st.data())
def test_a_list_takes_any_order_and_any_new_items(written_documents: Any, data_: st.DataObject) -> None:
    source = data_.draw(written_documents).text.encode()
    keys = lists(data(source))
    if not keys:
        return
    key = data_.draw(st.sampled_from(keys))
    items = value_at(data(source), key)
    under_headers = any(isinstance(item, dict) for item in items)
    fresh = NEW_VALUES.filter(lambda value: not under_headers or isinstance(value, dict))
    order = data_.draw(st.permutations([*items, *data_.draw(st.lists(fresh, max_size=2))]))
    made = edit("a", source, key, order[: data_.draw(st.integers(0, len(order)))])
    new = apply(source, made)
    assert same(value_at(data(new), key), made.after)


def _comments(source: bytes) -> int:
    return source.count(b"# why") + source.count(b"# [no]") + source.count(b"# item")


def test_a_save_without_a_change_is_the_same_byte_for_byte() -> None:
    for source in (SONG, BOM + SONG.replace(b"\n", b"\r\n")):
        assert apply(source, edit("songs/a.toml", source, ("tempo_bpm",), 92)) == source


@pytest.mark.parametrize(
    ("key", "after", "line"),
    [
        (("tempo_bpm",), 104, "tempo_bpm = 104       # quarter notes"),
        (("start", "curves"), "le#ad", 'curves = "le#ad"      # the first'),
        (("start", "controls", "swell"), 50, "controls = { swell = 50 }"),
        (("start", "controls", "strip"), 50, "controls = { swell = 0, strip = 50 }"),
        (
            ("curves", "verse", "swell", "moves", "drive", 1),
            4.5,
            "drive       = [3, 4.5, 12]    # still until half way",
        ),
        (
            ("curves", "verse", "swell", "moves", "drive"),
            [3, 6, 12],
            "drive       = [3, 6, 12]      # still until half way",
        ),
        (("curves", "verse", "swell", "moves", "delay mix"), [0, 45], '"delay mix" = [0, 45]'),
        (("tempo_changes", 0, "bar"), 33, "tempo_changes = [{ bar = 33, tempo_bpm = 104 }]"),
        (("cues", 0, "stop"), {"by": "limb"}, 'stop.by = "limb"'),
    ],
)
def test_a_change_is_made_on_its_line(key: KeyPath, after: Any, line: str) -> None:
    ((_, new),) = lines_changed(SONG, changed(SONG, key, after))
    assert new == line


@pytest.mark.parametrize(
    ("key", "value", "after", "line"),
    [
        (("duration",), "4:00", "tempo_changes = [{ bar = 41, tempo_bpm = 104 }]", 'duration = "4:00"'),
        (("cues", 1, "targets"), {"drive": 3}, "open = true", "targets = { drive = 3 }"),
        (("cues", 0, "stop", "driver"), "off", 'stop.by = "hand"', 'stop.driver = "off"'),
        (("curves", "verse", "swell", "moves", "tone"), [1], '"delay mix" = [0, 20, 45]', "tone = [1]"),
    ],
)
def test_a_new_key_is_a_new_line_at_the_end_of_its_table(key: KeyPath, value: Any, after: str, line: str) -> None:
    new = changed(SONG, key, value)
    assert f"{after}\n{line}\n" in new
    assert new.replace(f"{line}\n", "", 1) == SONG.decode()


def test_a_new_curve_set_gets_headers_after_the_last_one() -> None:
    curve = {"travel": [0, 100], "moves": {"drive": {"values": [1, 2], "shape": "smooth"}}}
    new = changed(SONG, ("curves", "lead", "swell"), curve)
    assert new == SONG.decode().replace(
        "[[cues]]\n# the theme",
        "[curves.lead.swell]\ntravel = [0, 100]\n\n[curves.lead.swell.moves]\n"
        'drive = { values = [1, 2], shape = "smooth" }\n\n[[cues]]\n# the theme',
    )


def test_the_first_cue_of_a_song_gets_a_header() -> None:
    assert changed(b"format = 1\n", ("cues",), [{"name": "Theme"}]) == 'format = 1\n\n[[cues]]\nname = "Theme"\n'


def test_items_under_headers_move_with_the_comments_above_and_inside_them() -> None:
    cues = data(SONG)["cues"]
    new = changed(SONG, ("cues",), cues[::-1])
    assert new.endswith(
        '# the long one\n[[cues]]\nname = "Solo"\nopen = true\n\n'
        '[[cues]]\n# the theme\nname = "Theme"\nstop.by = "hand"\n'
    )


def test_items_in_brackets_move_with_their_comments() -> None:
    songs = data(SHOW)["sets"][0]["songs"]
    new = changed(SHOW, ("sets", 0, "songs"), [songs[2], {"song": "new"}, songs[1], songs[0]])
    assert new.partition("songs = [\n")[2] == (
        '    { song = "c" },    # last\n'
        '    { song = "new" },\n'
        "    # the slow one\n"
        '    { song = "b", then = "segue" },\n'
        '    { song = "a" }                   # opener\n'
        "]\n"
    )


def test_an_item_is_put_in_and_taken_out_at_its_place() -> None:
    made = insertion("songs/a.toml", ("cues", 1), {"name": "Bridge"})
    new = apply(SONG, made)
    assert [cue["name"] for cue in data(new)["cues"]] == ["Theme", "Bridge", "Solo"]
    assert apply(new, made.inverse) == SONG


def test_a_table_taken_out_leaves_its_neighbours_as_they_were() -> None:
    new = changed(SONG, ("start",), ABSENT)
    gone = '# the band waits\n[start]\ncurves = "verse"      # the first\ncontrols = { swell = 0 }\n\n'
    assert new == SONG.decode().replace(gone, "")


def test_two_character_line_ends_are_kept_and_used() -> None:
    source = SHOW.replace(b"\n", b"\r\n")
    new = apply(source, edit("a", source, ("venue",), "hall"))
    assert new == source.replace(b'"Friday"\r\n', b'"Friday"\r\nvenue = "hall"\r\n')


def test_a_file_whose_last_line_has_no_end_takes_a_new_key() -> None:
    assert changed(b"format = 1", ("title",), "x") == 'format = 1\ntitle = "x"\n'


def test_a_change_made_for_another_value_is_refused() -> None:
    made = Edit("songs/a.toml", ("tempo_bpm",), 90, 104)
    with pytest.raises(StaleEditError, match=r"tempo_bpm in songs/a.toml is no longer what it was"):
        apply(SONG, made)


def test_an_item_goes_into_a_list_that_is_long_enough_only() -> None:
    with pytest.raises(StaleEditError):
        apply(SONG, insertion("songs/a.toml", ("cues", 3), {"name": "Coda"}))


@pytest.mark.parametrize("before", [92.0, "92", ABSENT, True])
def test_a_value_written_otherwise_is_another_value(before: Any) -> None:
    with pytest.raises(StaleEditError):
        apply(SONG, Edit("songs/a.toml", ("tempo_bpm",), before, 104))


def test_a_change_is_taken_back_only_where_it_still_stands() -> None:
    made = edit("songs/a.toml", SONG, ("tempo_bpm",), 104)
    new = apply(SONG, made)
    assert apply(new, made.inverse) == SONG
    with pytest.raises(StaleEditError):
        apply(new.replace(b"104", b"105"), made.inverse)


def test_taking_back_a_deep_new_key_leaves_no_empty_tables() -> None:
    made = edit("songs/a.toml", SONG, ("level", "deep", "integrated_lufs"), -18.2)
    assert made.key == ("level",)
    assert data(apply(apply(SONG, made), made.inverse)) == data(SONG)


def test_a_list_whose_items_stand_apart_is_not_reordered() -> None:
    source = b"[[a]]\nx = 1\n[b]\n[[a]]\nx = 2\n"
    with pytest.raises(CannotChangeError, match=r"a in songs/a.toml can't be changed in place; change it in a text"):
        changed(source, ("a",), [{"x": 2}, {"x": 1}])
    assert changed(source, ("a", 1, "x"), 3) == source.decode().replace("2", "3")


@pytest.mark.parametrize(
    ("source", "key", "after"),
    [
        (b"a = ", ("a",), 1),
        (b"\xff", ("a",), 1),
        (b"a = 1\n", ("a", "b"), 1),
        (b"a = 1\n", (), {}),
        (b"a = 1\n", ("a",), None),
        (b"a = " + b"[" * 5000, ("a",), 1),
    ],
)
def test_what_can_not_be_done_is_refused_in_words(source: bytes, key: KeyPath, after: Any) -> None:
    with pytest.raises(CannotChangeError, match="can't be"):
        changed(source, key, after)


def test_what_a_removal_took_comes_back_byte_for_byte() -> None:
    made = edit("a", SONG, ("start",), ABSENT)
    new = apply(SONG, made)
    assert applied(new, [made.inverse], new, SONG) == SONG


@pytest.mark.parametrize(
    "key", [("start",), ("start", "controls"), ("curves", "verse"), ("cues", 0), ("cues", 1), ("cues",)]
)
def test_comments_come_back_into_a_file_that_was_changed_elsewhere_meanwhile(key: KeyPath) -> None:
    made = edit("a", SONG, key, ABSENT)
    new = apply(SONG, made)
    outside = new.replace(b"tempo_bpm = 92 ", b"tempo_bpm = 93 ")
    assert applied(outside, [made.inverse], new, SONG) == SONG.replace(b"tempo_bpm = 92 ", b"tempo_bpm = 93 ")


def test_what_was_put_elsewhere_into_the_lines_themselves_stays() -> None:
    made = edit("a", SHOW, ("sets", 0, "songs"), [{"song": "a"}, {"song": "c"}])
    new = apply(SHOW, made)
    outside = new.replace(b'{ song = "c" }', b'{ song = "c" }, { song = "d" }')
    with pytest.raises(StaleEditError):
        applied(outside, [made.inverse], new, SHOW)


@SLOW
@given(st.data())
def test_anything_taken_out_comes_back_as_it_was_beside_an_outside_edit(
    written_documents: Any, data_: st.DataObject
) -> None:
    document = data_.draw(written_documents)
    source = document.text.encode()
    keys = [key for key in document.lines if isinstance(key[-1], str)]
    if not keys:
        return
    made = edit("a", source, data_.draw(st.sampled_from(keys)), ABSENT)
    new = apply(source, made)
    assert applied(new, [made.inverse], new, source) == source
    beside = b"# from outside\n" + new
    assert same(data(applied(beside, [made.inverse], new, source)), data(source))
