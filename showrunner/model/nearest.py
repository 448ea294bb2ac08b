"""The known word that a misspelt one probably meant."""

import difflib
from collections.abc import Iterable
from typing import NamedTuple


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like `word`, whatever its case and separators; None where none is near."""
    by_form = {_form(name): name for name in sorted(known, reverse=True)}
    close = difflib.get_close_matches(_form(word[:200]), by_form, n=1, cutoff=0.6)
    return by_form[close[0]] if close else None


def did_you_mean(word: str, known: Iterable[str], otherwise: str) -> str:
    """A mend: the nearest known word as a question, else `otherwise`."""
    near = nearest(word, known)
    return otherwise if near is None else f'did you mean "{near}"?'


class Hint(NamedTuple):
    """What `did_you_mean` says, looked for only once it is wanted as text."""

    word: str
    known: Iterable[str]
    otherwise: str

    def __str__(self) -> str:
        return did_you_mean(*self)


def _form(word: str) -> str:
    return word.casefold().replace("-", "_").replace(" ", "_")
