"""One run's frozen ground: the show and every document it rests on, as they were when the run began."""

import json
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from showrunner.live.folder import keep_json, read_json, read_object
from showrunner.model.library import KINDS, Book
from showrunner.model.show import Show
from showrunner.plain_file import read_file
from showrunner.state.script import Script, script_of_show

FILE = "night.json"
VERSION = 1
"""Of what is kept of a night; what was kept before had no number. Raise it where the form of `Night` changes."""
_PLURALS = {kind: f"{kind}s" for kind in KINDS}


class NightError(ValueError):
    """The night that a run's folder keeps can't be read, and why."""


class Night(NamedTuple):
    """A show to be played: the book it is from, cut down to what it needs, its slug, its rig's, and where runs go."""

    book: Book
    show: str
    rig: str
    log: str = ""
    simulated: bool = False
    full_house: bool = False

    @property
    def the_show(self) -> Show:
        """The show's document."""
        return self.book.shows[self.show]

    def script(self) -> Script:
        """The script, made anew from the documents."""
        return script_of_show(self.book, self.the_show, self.book.rigs[self.rig], full_house=self.full_house)


def night_of(
    book: Book, show: str, rig: str, *, log: str = "", simulated: bool = False, full_house: bool = False
) -> Night:
    """The night of a show; KeyError if the book lacks the show or the rig."""
    the_show = book.shows[show]
    venues = {the_show.venue} if the_show.venue is not None else set()
    kept = Book(
        book.name,
        book.rig,
        songs=_only(book.songs, set(the_show.songs)),
        rigs=_only(book.rigs, {rig}),
        venues=_only(book.venues, venues),
        shows={show: the_show},
    )
    return Night(kept, show, rig, log, simulated, full_house) if rig in book.rigs else _no_rig(rig)


def freeze(night: Night) -> dict[str, Any]:
    """The night as JSON."""
    frozen = {
        kind: {slug: document.model_dump(mode="json", exclude_unset=True) for slug, document in of_kind.items()}
        for kind, of_kind in ((kind, getattr(night.book, plural)) for kind, plural in _PLURALS.items())
    }
    book = {"name": night.book.name, "rig": night.book.rig, "documents": frozen}
    return {**night._asdict(), "version": VERSION, "book": book}


def documents(night: Night) -> dict[tuple[str, str], dict[str, Any]]:
    """What every document of a night says, by its kind and slug, whatever of it is written and whatever is usual."""
    return {
        (kind, slug): document.model_dump(mode="json")
        for kind, plural in _PLURALS.items()
        for slug, document in getattr(night.book, plural).items()
    }


def thaw(data: Mapping[str, Any]) -> Night:
    """The night back from JSON; NightError if it is no night, or one of another version of the program."""
    version = data.get("version")
    if version != VERSION:
        of = "an older version" if version is None else f"version {version}"
        raise NightError(f"its night was kept by {of} of the program, this one reads version {VERSION}")
    try:
        return _thawed({name: value for name, value in data.items() if name != "version"})
    except (LookupError, TypeError, ValueError, AttributeError):
        raise NightError("its night is damaged") from None


def _thawed(data: Mapping[str, Any]) -> Night:
    book, written = data["book"], data["book"]["documents"]
    thawed: dict[str, Any] = {
        _PLURALS[kind]: {slug: model.model_validate_json(json.dumps(of)) for slug, of in written[kind].items()}
        for kind, model in KINDS.items()
    }
    night = Night(**{**data, "book": Book(book["name"], book["rig"], **thawed)})
    _ = night.the_show, night.book.rigs[night.rig]
    return night


def write_night(night: Night, folder: Path) -> None:
    """Keep the night in a run's folder, on disk before this returns; SaveError where it can't be."""
    keep_json(folder, FILE, lambda _: freeze(night))


def read_night(folder: Path) -> Night:
    """The night that a run's folder keeps; NightError if it can't be read."""
    try:
        kept = read_object(read_file(folder / FILE))
    except OSError as error:
        raise NightError(f"its night can't be read ({(error.strerror or 'no reason given').lower()})") from error
    if kept is None:
        raise NightError("its night is damaged")
    return thaw(kept)


def begun_last(folder: Path) -> Path | None:
    """The log of the run that was begun last in a folder; None where there is none, or no hardware was played."""
    data = read_json(folder / FILE)
    log = None if data is None or data.get("simulated") else data.get("log")
    return Path(log) if isinstance(log, str) and log else None


def _only(documents: Mapping[str, Any], slugs: set[str]) -> Mapping[str, Any]:
    return MappingProxyType({slug: document for slug, document in documents.items() if slug in slugs})


def _no_rig(rig: str) -> Night:
    raise KeyError(rig)
