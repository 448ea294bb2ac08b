"""The page that tells users of templates which names there are."""

import re
from pathlib import Path
from typing import Any, get_args

from showrunner.model.library import Book
from showrunner.sheets.render import Audience, content


def names(value: Any) -> set[str]:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return set(value if isinstance(value, dict) else ()).union(*(names(part) for part in inner))


def test_every_name_is_there_and_every_name_there_is_is_told(book: Book, templates: list[Path]) -> None:
    readme = (templates[0] / "sheets" / "README.md").read_text(encoding="utf-8")
    told = set(re.findall(r"`(\w+)`", readme.split("## The names")[1]))
    assert told == set().union(*(names(content(book, "dock", audience)) for audience in get_args(Audience)))
