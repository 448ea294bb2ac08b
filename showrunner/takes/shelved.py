"""All takes of a book, read and reviewed once, and again only where a take or what it was played from has changed."""

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from showrunner.model.library import Book
from showrunner.planning.practice import Review, Spot, spots
from showrunner.takes.reviewing import Kept, reviewed, take_files
from showrunner.takes.smf import TakeError, read_take

Going = Callable[[int, int], bool]
"""Called with how many takes are done of how many; False stops."""


class Practised(NamedTuple):
    """All takes as they were read, oldest first: themselves, what each showed, every place, what can't be read."""

    kept: tuple[Kept, ...] = ()
    reviews: Mapping[str, Review] = MappingProxyType({})
    spots: tuple[Spot, ...] = ()
    broken: tuple[str, ...] = ()


class Takes:
    """Reads and reviews takes, and remembers them."""

    def __init__(self) -> None:
        self._read: dict[Path, tuple[tuple[int, int], Kept | TakeError]] = {}
        self._reviewed: dict[Path, tuple[Kept, tuple[Any, ...], Review | None]] = {}

    def of(self, root: Path, book: Book, going: Going = lambda _done, _of: True) -> Practised:
        """Every take that goes through a song or a show of the book, as they are now."""
        wanted, files = {*book.songs, *book.shows}, take_files(root)
        kept, reviews, broken = list[Kept](), dict[str, Review](), list[str]()
        for number, path in enumerate(files):
            if not going(number, len(files)):
                break
            one = self._take(path)
            if isinstance(one, TakeError):
                broken.append(f"{path.relative_to(root).as_posix()}: {one.what}")
            elif wanted & {*one.songs, path.parent.name}:
                kept.append(one)
                review = self._review(book, one)
                if review is not None:
                    reviews[one.name] = review
        return Practised(tuple(kept), reviews, spots(reviews.values()), tuple(broken))

    def _take(self, path: Path) -> Kept | TakeError:
        try:
            stat = path.stat()
            stamp = (stat.st_mtime_ns, stat.st_size)
        except OSError:
            stamp = (0, 0)
        if path not in self._read or self._read[path][0] != stamp:
            found: Kept | TakeError
            try:
                found = Kept(path, f"{path.parent.name}/{path.stem}", read_take(path))
            except TakeError as error:
                found = error
            self._read[path] = (stamp, found)
        return self._read[path][1]

    def _review(self, book: Book, one: Kept) -> Review | None:
        rests_on = _rests_on(book, one)
        if one.path in self._reviewed:
            of, before, review = self._reviewed[one.path]
            if of is one and before == rests_on:
                return review
        found = reviewed(book, [one])
        review = found[0][1] if found else None
        self._reviewed[one.path] = (one, rests_on, review)
        return review


def _rests_on(book: Book, one: Kept) -> tuple[Any, ...]:
    """The documents that a review of a take is made from."""
    show = book.shows.get(one.take.show or "")
    songs = show.songs if show is not None else (one.take.song or one.path.parent.name,)
    rig = book.rigs.get(one.take.rig or book.rig_of(show) or "")
    venue = book.venues.get(show.venue or "") if show is not None else None
    return (rig, show, venue, *(book.songs.get(song) for song in songs))
