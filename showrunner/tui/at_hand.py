"""What is at hand once the book was read anew: the same wherever it can be told, else what is beside it."""

from collections.abc import Sequence
from typing import TypeVar

from showrunner.book.read import Reading

T = TypeVar("T")


def still(was: Sequence[T], now: Sequence[T], at: int) -> int:
    """Where in a list what stood at a place in it before is now; the same place where that is gone."""
    if 0 <= at < len(was) and was[at] in now and was[at] not in now[at : at + 1]:
        return now.index(was[at])
    return max(0, min(at, len(now) - 1))


class AtHand:
    """The document of one kind that the screens are on, while files go, come back or get another name."""

    def __init__(self, kind: str) -> None:
        self._kind = kind
        self._left: str | None = None
        self._instead: str | None = None

    def kept(self, slug: str | None, before: Reading, now: Reading) -> str | None:
        """The slug at hand from now on: the one that had to be left, once it is back and no other was chosen since."""
        wanted = self._left if self._left is not None and slug == self._instead else slug
        if wanted is not None and now.has(self._kind, wanted):
            self._left = None
            return wanted
        if slug is not None and now.has(self._kind, slug):
            return slug
        self._left, self._instead = wanted, self._renamed(slug, before, now) or self._beside(slug, before, now)
        return self._instead

    def _renamed(self, slug: str | None, before: Reading, now: Reading) -> str | None:
        """The one new file that holds what the one at hand held."""
        held = before.sources.get((self._kind, slug or ""))
        new = now.sources.keys() - before.sources.keys()
        found = [name for kind, name in new if kind == self._kind and now.sources[kind, name] == held]
        return found[0] if len(found) == 1 else None

    def _beside(self, slug: str | None, before: Reading, now: Reading) -> str | None:
        """The next one in the book that is there, else the one before."""
        slugs = before.slugs(self._kind)
        at = slugs.index(slug) if slug in slugs else 0
        there = [one for one in (*slugs[at:], *reversed(slugs[:at])) if now.has(self._kind, one)]
        return next(iter(there or now.slugs(self._kind)), None)
