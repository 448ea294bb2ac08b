"""Books with something wrong: each rule points at the line that is marked for it, and at no other."""

import re
from pathlib import Path

import pytest

from showrunner.book.read import read_book
from showrunner.checks.rules import RULES
from showrunner.checks.run import check

BOOKS = Path(__file__).parents[1] / "books"
MARK = re.compile(r"# finds: (.+)$")
TROUBLED = sorted(book.name for book in BOOKS.iterdir() if book.is_dir() and not book.name.startswith("reading-"))

Place = tuple[str, int | None, str]


def marked(book: Path) -> set[Place]:
    return {
        (file.relative_to(book).as_posix(), number, rule)
        for file in book.rglob("*.toml")
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        for mark in MARK.findall(line)
        for rule in mark.split()
    }


@pytest.mark.parametrize("name", TROUBLED)
def test_every_finding_is_on_a_line_marked_for_it(name: str) -> None:
    reading = read_book(BOOKS / name)
    assert not reading.unread
    found = {(reading.file(f.kind, f.slug), reading.line(f.kind, f.slug, f.key), f.rule) for f in check(reading.book)}
    assert found == marked(BOOKS / name)


def test_the_troubled_books_hold_three_quarters_of_the_rules() -> None:
    planted = {rule for name in TROUBLED for _, _, rule in marked(BOOKS / name)}
    assert planted <= {rule.name for rule in RULES}
    assert len(planted) >= 0.75 * len(RULES)
