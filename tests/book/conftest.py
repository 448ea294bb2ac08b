"""TOML documents made by Hypothesis in every way they can be written, with the line that each key was written on."""

import tomllib
from collections.abc import Iterator
from typing import Any, NamedTuple

import pytest
from hypothesis import strategies as st

from showrunner.model.keys import KeyPath, bare_or_quoted, quoted

NAMES = st.one_of(
    st.sampled_from(["a", "b-1", "_", "007"]), st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=4)
)
SCALARS = st.one_of(
    st.sampled_from(["1", "-0x1F".removeprefix("-"), "1e3", "-0.5", "inf", "true", "2026-11-28", "20:45:00"]),
    st.sampled_from(["2026-11-28 20:45:00", "'lit # eral'", '"a, ] } \\" # b"', "'''x'''", '""', '"""q"""""']),
)
LONG = st.sampled_from(['"""\n[not]\na = 1\n"""', "'''\n# no comment\n\n'''", '"""a \\\n   b"""'])


class Written(NamedTuple):
    """A document's text and the line on which each of its keys was written."""

    text: str
    lines: dict[KeyPath, int]


class Writer:
    """Writes one document, drawing how at every step."""

    def __init__(self, draw: Any) -> None:
        self.draw = draw
        self.text = ""
        self.lines: dict[KeyPath, int] = {}

    def note(self, path: KeyPath) -> None:
        self.lines.setdefault(path, self.text.count("\n") + 1)

    def add(self, text: str) -> None:
        self.text += text

    def chance(self) -> bool:
        return bool(self.draw(st.booleans()))

    def name(self, taken: set[str]) -> str:
        name = str(self.draw(NAMES.filter(lambda name: name not in taken)))
        taken.add(name)
        return name

    def key(self, name: str) -> str:
        if "'" not in name and self.chance():
            return f"'{name}'"
        return quoted(name) if self.chance() else bare_or_quoted(name)

    def filler(self) -> None:
        self.add(self.draw(st.sampled_from(["", "", "\n", "# [no] = header\n", "  # x = 1\n\n"])))

    def table(self, path: KeyPath, header: str, depth: int) -> None:
        taken: set[str] = set()
        for _ in range(self.draw(st.integers(0, 3))):
            self.filler()
            self.statement(path, taken, depth)
            self.add(self.draw(st.sampled_from(["\n", " # why\n", "\t\n"])))
        for _ in range(self.draw(st.integers(0, 2)) if depth else 0):
            name = self.name(taken)
            inner = f"{header}{' . ' if header and self.chance() else '.' if header else ''}{self.key(name)}"
            if self.chance():
                self.filler()
                self.note((*path, name))
                self.add(f"[ {inner} ]\n")
                self.table((*path, name), inner, depth - 1)
                continue
            for number in range(self.draw(st.integers(1, 3))):
                self.filler()
                self.note((*path, name))
                self.note((*path, name, number))
                self.add(f"[[{inner}]] # item\n")
                self.table((*path, name, number), inner, depth - 1)

    def statement(self, path: KeyPath, taken: set[str], depth: int) -> None:
        name = self.name(taken)
        self.note((*path, name))
        self.add(self.key(name))
        if self.chance():
            path, name = (*path, name), self.name(set())
            self.note((*path, name))
            self.add("." + self.key(name))
        self.add(self.draw(st.sampled_from(["=", " = ", "   = "])))
        self.value((*path, name), depth, on_one_line=False)

    def value(self, path: KeyPath, depth: int, *, on_one_line: bool) -> None:
        form = self.draw(st.sampled_from(["scalar", "scalar", "long", "list", "table"])) if depth else "scalar"
        if form == "list":
            self.list(path, depth - 1, on_one_line=on_one_line)
        elif form == "table":
            self.braces(path, depth - 1)
        else:
            self.add(self.draw(LONG if form == "long" and not on_one_line else SCALARS))

    def list(self, path: KeyPath, depth: int, *, on_one_line: bool) -> None:
        spaces = st.sampled_from(["", " "] if on_one_line else ["", " ", "\n  ", " # ] why\n  "])
        self.add("[" + self.draw(spaces))
        for number in range(count := self.draw(st.integers(0, 3))):
            self.note((*path, number))
            self.value((*path, number), depth, on_one_line=on_one_line)
            self.add(self.draw(spaces))
            self.add(("," + self.draw(spaces)) if number < count - 1 or self.chance() else "")
        self.add("]")

    def braces(self, path: KeyPath, depth: int) -> None:
        taken: set[str] = set()
        self.add("{ ")
        for number in range(self.draw(st.integers(0, 2))):
            self.add(" , " if number else "")
            name = self.name(taken)
            self.note((*path, name))
            self.add(f"{self.key(name)} = ")
            self.value((*path, name), depth, on_one_line=True)
        self.add(" }")


def paths(value: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    """Every key path in data, the root's own left out."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, item in inner:
        yield (*path, step)
        yield from paths(item, (*path, step))


@st.composite
def _documents(draw: Any) -> Written:
    writer = Writer(draw)
    writer.table((), "", 3)
    writer.filler()
    assert set(paths(tomllib.loads(writer.text))) == writer.lines.keys()
    return Written(writer.text, writer.lines)


@pytest.fixture(scope="session")
def written_documents() -> st.SearchStrategy[Written]:
    """Documents with what was written where."""
    return _documents()
