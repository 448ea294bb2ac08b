"""Run every rule over a book, or over one show of it."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from showrunner.checks.context import Context, SystemPorts, show_context, song_context
from showrunner.checks.finding import LEVELS, Finding, Key
from showrunner.checks.rules import RULES
from showrunner.collector import paused
from showrunner.model.library import Book
from showrunner.model.nearest import nearest

__all__ = ["SystemPorts", "check", "check_song"]

_NAMES = frozenset(rule.name for rule in RULES)


def check(
    book: Book, *, show: str | None = None, rig: str | None = None, ports: SystemPorts | None = None
) -> tuple[Finding, ...]:
    """Every finding on a show and its rig, or on all songs and shows; by level, then the show's order, then place.

    `rig` is a slug that takes the place of the show's own and the book's usual one. ValueError if the book lacks
    the show or the rig that was asked for.
    """
    _known("show", show, book.shows)
    _known("rig", rig, book.rigs)
    with paused():
        found = _findings(book, _contexts(book, show, rig), ports)
    places = {slug: place for place, slug in enumerate(book.shows[show].songs)} if show is not None else {}
    return tuple(sorted(found, key=lambda finding: _rank(finding, places)))


def check_song(book: Book, song: str) -> tuple[Finding, ...]:
    """What `check` finds in one song, on the usual rig and in the shows it is in, without going through all others."""
    _known("song", song, book.songs)
    with paused():
        found = _findings(book, _with_song(book, song), None)
    return tuple(sorted((each for each in found if each.song == song), key=lambda finding: _rank(finding, {})))


def _findings(book: Book, of: Iterator[Context], ports: SystemPorts | None) -> dict[Finding, None]:
    """Each finding once, in no order."""
    fired: set[tuple[str, str]] = set()
    contexts = [replace(context, ports=ports, rules=_NAMES, fired=fired) for context in of]
    found: dict[Finding, None] = {}
    for rule in RULES:
        for context in contexts:
            for finding in rule.find(context):
                found[_silenced(finding, book)] = None
                if finding.song is not None:
                    fired.add((finding.song, finding.rule))
    return found


def _contexts(book: Book, show: str | None, rig: str | None) -> Iterator[Context]:
    """All songs on the rig asked for or the usual one, and each show on the rig asked for or its own."""
    if show is None:
        yield song_context(book, rig or book.rig_of() or "")
    for slug in sorted(book.shows) if show is None else (show,):
        yield show_context(book, slug, rig or book.rig_of(book.shows[slug]) or "")


def _with_song(book: Book, song: str) -> Iterator[Context]:
    """One song alone on the usual rig, and each show it is in on the show's own."""
    yield song_context(book, book.rig_of() or "", (song,))
    for slug in sorted(book.shows):
        if song in book.shows[slug].songs:
            yield show_context(book, slug, book.rig_of(book.shows[slug]) or "")


def _silenced(finding: Finding, book: Book) -> Finding:
    song = book.songs.get(finding.song) if finding.song is not None else None
    reason = song.quiet.get(finding.rule) if song is not None else None
    return finding if reason is None else finding._replace(silenced=reason)


def _rank(finding: Finding, places: Mapping[str, int]) -> tuple[object, ...]:
    place = -1 if finding.song is None else places.get(finding.song, len(places))
    return (
        LEVELS.index(finding.level),
        place,
        finding.kind,
        finding.slug,
        _path(finding.key),
        *finding[:1],
        finding.what,
    )


def _path(key: Key) -> tuple[tuple[int, str], ...]:
    return tuple((part, "") if isinstance(part, int) else (-1, part) for part in key)


def _known(kind: str, slug: str | None, documents: Mapping[str, object]) -> None:
    if slug is not None and slug not in documents:
        near = nearest(slug, sorted(documents))
        hint = f'; did you mean "{near}"?' if near is not None else ""
        raise ValueError(f'this book has no {kind} "{slug}"{hint}')
