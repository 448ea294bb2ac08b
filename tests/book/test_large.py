"""Large documents: what reading and checking costs grows no faster than they do, and what is too large is said."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from counted import assert_linear, calls

from showrunner.book.read import LARGEST_BYTES, read_book
from showrunner.checks.run import check
from showrunner.model.document import MOST_ENTRIES

RIG = """format = 1
title = "R"
[ports.floor]
input = "F*"
[ports.host]
output = "H*"
[controls.swell]
kind = "pedal"
limb = "right foot"
port = "floor"
channel = 1
cc = 11
[targets.drive]
port = "host"
channel = 1
cc = 70
unit = "dB"
range = [-12, 12]
rest = 3
"""
SONG = 'format = 1\ntitle = "S"\nduration = "4:00"\ntempo_bpm = 100\n'
SHOW = 'format = 1\ntitle = "N"\nrig = "r"\n'
ONE_SET = '[[sets]]\nsongs = [{ song = "s" }]\n'


def each(line: Callable[[int], str]) -> Callable[[int], str]:
    return lambda count: "".join(line(number) for number in range(count))


def listed(line: Callable[[int], str]) -> Callable[[int], str]:
    return lambda count: "[" + ", ".join(line(number) for number in range(count)) + "]"


TEMPOS = each(lambda i: f"[[tempo_changes]]\nbar = {i + 2}\ntempo_bpm = 300\n")
CURVE = "travel = [0, 100]\nmoves = { drive = [0, 1] }\n"
ROWS = each(lambda i: f"t{i} = [0]\n")
WORDS = listed(lambda _: '"x"')
PINNED = listed(lambda i: f'{{ song = "s{i}", pin = "after z{i}" }}')
VISITS = each(lambda _: "[[visits]]\ndate = 2026-01-01\n")
PEDAL = 'kind = "pedal"\nlimb = "right foot"\nport = "floor"\n'
GROWS: dict[str, tuple[str, Callable[[int], str]]] = {
    "tempo changes and cues at bars": (
        "songs/s",
        lambda n: SONG + TEMPOS(n) + each(lambda i: f'[[cues]]\nname = "c{i}"\nbar = {i + 1}\n')(n),
    ),
    "cues": (
        "songs/s",
        lambda n: SONG + each(lambda i: f'[[cues]]\nname = "c{i}"\nopen = true\nback_to = "c{i // 2}"\n')(n),
    ),
    "curve sets": ("songs/s", lambda n: SONG + each(lambda i: f"[curves.s{i}.swell]\n{CURVE}")(n)),
    "curves on one target": (
        "songs/s",
        lambda n: SONG + each(lambda i: f"[curves.s.c{i}]\n{CURVE}")(n),
    ),
    "columns": (
        "songs/s",
        lambda n: (
            f"{SONG}[curves.s.swell]\ntravel = {[100 * i / n for i in range(n)]}\n"
            f"moves = {{ drive = {[i % 12 for i in range(n)]} }}\n"
        ),
    ),
    "columns that are no numbers": (
        "songs/s",
        lambda n: f"{SONG}[curves.s.swell]\ntravel = {WORDS(n)}\nmoves = {{ drive = [0] }}\n",
    ),
    "rows for targets that are missing": (
        "songs/s",
        lambda n: f"{SONG}[curves.s.swell]\ntravel = [0]\n[curves.s.swell.moves]\n{ROWS(n)}",
    ),
    "unknown keys": ("songs/s", lambda n: SONG + each(lambda i: f"k{i} = 1\n")(n)),
    "controls": (
        "rigs/r",
        lambda n: RIG + each(lambda i: f"[controls.c{i}]\n{PEDAL}channel = {i // 100 + 1}\ncc = {i % 100}\n")(n),
    ),
    "targets": (
        "rigs/r",
        lambda n: (
            RIG + each(lambda i: f'[targets.t{i}]\nport = "host"\nchannel = 1\ncc = 1\nunit = "%"\nrange = [0, 1]\n')(n)
        ),
    ),
    "stages of gain": (
        "rigs/r",
        lambda n: RIG + each(lambda i: f'[[gain]]\nstage = "s{i}"\nrange_db = [0, 60]\nnominal_dbfs = -18\n')(n),
    ),
    "songs that are missing, and pins": (
        "shows/n",
        lambda n: f"{SHOW}[[sets]]\nsongs = {PINNED(n)}\n",
    ),
    "songs tonight": ("shows/n", lambda n: SHOW + ONE_SET + each(lambda i: f"[tonight.x{i}]\ncapo = 1\n")(n)),
    "items to check": (
        "checklists/c",
        lambda n: 'format = 1\ntitle = "C"\n' + each(lambda i: f'[[items]]\nask = "a{i}"\nverify = "port x{i}"\n')(n),
    ),
    "visits": (
        "venues/v",
        lambda n: 'format = 1\ntitle = "V"\n' + each(lambda _: "[[visits]]\ndate = 2026-01-01\n")(n),
    ),
}
"""Kinds of large documents: the file each is, and its text with so many of what it has many of."""


@pytest.fixture
def root(tmp_path: Path) -> Path:
    written = {"book": 'format = 1\nname = "b"\nrig = "r"\n', "rigs/r": RIG, "songs/s": SONG, "shows/n": SHOW + ONE_SET}
    for name, text in written.items():
        path = tmp_path / f"{name}.toml"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
    return tmp_path


def written(root: Path, file: str, text: str) -> Path:
    path = root / f"{file}.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text)
    return root


@pytest.mark.parametrize("kind", GROWS)
def test_what_is_twice_as_large_takes_at_most_some_twice_the_calls_to_read_and_check(root: Path, kind: str) -> None:
    file, text = GROWS[kind]
    taken = []
    for size in (60, 120, 240):
        written(root, file, text(size))
        taken.append(calls(lambda: check(read_book(root).book)))
    assert_linear(taken)


TEXTS: dict[str, Callable[[int], str]] = {
    "dots in a comment": lambda n: "# " + "." * n,
    "words with dots in a comment": lambda n: "# " + "a." * (n // 2),
    "a word after many dots": lambda n: f"# {'.' * 1500}\n# {'a' * n}",
    "a key of many parts": lambda n: "a" + ".a" * (n // 2) + " = 1",
    "a key of many parts in quotes": lambda n: '"a b"' + '."a b"' * (n // 6) + " = 1",
    "a header of many parts": lambda n: "[a" + ".a" * (n // 2) + "]",
    "brackets": lambda n: "a = " + "[" * n,
    "brackets that close": lambda n: "a = [" + "[]," * (n // 3) + "]",
    "braces": lambda n: "a = " + "{a=" * (n // 3),
    "quotes": lambda n: "a = " + '"' * n,
    "single quotes": lambda n: "a = " + "'" * n,
    "quotes that are escaped": lambda n: 'a = "' + '\\"' * (n // 2),
    "triple quotes after dots": lambda n: f"# {'.' * 1500}\na = " + '"""\\' * (n // 4),
    "digits that are too few to be too many": lambda n: 'a = "' + ("1" * 4299 + "a") * (n // 4300),
}
"""Texts of so many characters that go by a pattern rather than by calls."""


@pytest.mark.parametrize("kind", TEXTS)
def test_a_text_sixteen_times_as_long_takes_no_more_than_some_sixteen_times_as_long(root: Path, kind: str) -> None:
    """Quadratic would be 256 times; the bound of 64 leaves room for a busy machine, and for what any read takes."""

    def seconds(size: int) -> float:
        written(root, "songs/s", SONG + TEXTS[kind](size))
        taken = []
        for _ in range(3):
            began = time.process_time()
            read_book(root)
            taken.append(time.process_time() - began)
        return min(taken)

    short = seconds(10_000)
    assert seconds(160_000) <= 64 * max(short, 0.005)


def problems(root: Path) -> Iterator[str]:
    return map(str, read_book(root).problems)


def test_forty_thousand_unknown_keys_are_one_line_and_a_count(root: Path) -> None:
    written(root, "songs/s", SONG + each(lambda i: f"k{i} = 1\n")(40_000))
    (said,) = (line for line in problems(root) if line.startswith("songs/"))
    assert said.startswith('songs/s.toml:5: k0: there is no key "k0" here, and 39,999 more like it; known here are ')


def test_a_few_unknown_keys_are_a_line_each(root: Path) -> None:
    written(root, "songs/s", SONG + each(lambda i: f"k{i} = 1\n")(20))
    assert len([line for line in problems(root) if line.startswith("songs/")]) == 20


def test_many_wrong_values_and_many_names_that_point_at_nothing_are_one_line_and_a_count(root: Path) -> None:
    written(root, "songs/s", SONG + each(lambda _: "[[cues]]\nname = 1\n")(500))
    assert [line for line in problems(root) if line.startswith("songs/")] == [
        "songs/s.toml:6: cues[0].name: 1 is a number, and 499 more like it; write text in quotes"
    ]
    written(root, "songs/s", SONG + "[start.targets]\n" + each(lambda i: f"t{i} = 1\n")(500))
    (said,) = (line for line in problems(root) if line.startswith("songs/"))
    assert said.startswith('songs/s.toml:6: start.targets.t0: no rig has a target "t0", and 499 more like it; ')


@pytest.mark.parametrize(
    ("file", "text", "said"),
    [
        ("songs/s", SONG + TEMPOS(MOST_ENTRIES + 1), f"write {MOST_ENTRIES} at most"),
        ("songs/s", SONG + TEMPOS(15_000), f"write {MOST_ENTRIES} at most"),
        (
            "songs/s",
            SONG + "[start.targets]\n" + each(lambda i: f"t{i} = 1\n")(MOST_ENTRIES + 1),
            f"write {MOST_ENTRIES} at most",
        ),
        (
            "songs/s",
            SONG + each(lambda i: f'[[cues]]\nname = "c{i}"\ntargets = {{ a{i} = 1, b{i} = 1 }}\n')(600),
            "the song names 1,200 targets; name 1,000 at most",
        ),
        ("songs/s", SONG + "#" * LARGEST_BYTES, "the file is larger than 1 MiB"),
        ("songs/s", f"{SONG}# {'.' * 1000}\na{'.a' * 16} = 1\n", "the keys nest too deep; a key may have 16 parts at"),
        ("songs/s", SONG + '[[cues]]\nname = "c"\nbar = 1000000000000\n', "1000000000000 is too large"),
    ],
)
def test_what_is_too_large_is_refused_with_the_limit(root: Path, file: str, text: str, said: str) -> None:
    written(root, file, text)
    assert [said in line for line in problems(root) if line.startswith(file)] == [True]


def test_a_key_is_only_too_deep_where_it_is_a_key(root: Path) -> None:
    dots = "a.b." * 500
    texts = f'# {dots}\n[[cues]]\nname = "x"\nsay = "{dots[:400]}"\n[[cues]]\nname = \'{dots[:400]}\'\n'
    written(root, "songs/s", SONG + texts)
    assert list(problems(root)) == []


def test_as_many_entries_as_are_allowed_are_read(root: Path) -> None:
    written(root, "songs/s", SONG + TEMPOS(MOST_ENTRIES))
    assert list(problems(root)) == []
