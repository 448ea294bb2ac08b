"""A whole book in memory: every document by kind and slug."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from pydantic import Field

from showrunner.model.checklist import Checklist
from showrunner.model.document import Document, Format, Line
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.model.song import Song
from showrunner.model.venue import Venue


class BookFile(Document):
    """`book.toml`."""

    format: Format
    name: Line = Field(description="the book's name")
    rig: Line | None = Field(None, description="the usual rig's slug")


KINDS: Mapping[str, type[Document]] = MappingProxyType(
    {"song": Song, "rig": Rig, "venue": Venue, "show": Show, "checklist": Checklist}
)
"""Kind, as on the command line, to its document; each lives in the folder of its plural."""


class Book(NamedTuple):
    """Every document that could be read, by slug."""

    name: str = ""
    rig: str | None = None
    songs: Mapping[str, Song] = MappingProxyType({})
    rigs: Mapping[str, Rig] = MappingProxyType({})
    venues: Mapping[str, Venue] = MappingProxyType({})
    shows: Mapping[str, Show] = MappingProxyType({})
    checklists: Mapping[str, Checklist] = MappingProxyType({})

    def rig_of(self, show: Show | None = None) -> str | None:
        """Slug of the rig a show is played on: its own, else the book's usual one, else the only one."""
        if show is not None and show.rig is not None:
            return show.rig
        return self.rig if self.rig is not None else next(iter(self.rigs)) if len(self.rigs) == 1 else None

    def full_house_db(self, show: str) -> float:
        """What the interface volume gets in a show's room with an audience in, dB; 0 where no room says so."""
        venue = self.shows[show].venue
        return self.venues[venue].trims.full_house_db if venue is not None and venue in self.venues else 0.0


def title_of(songs: Mapping[str, Song], slug: str) -> str:
    """A song's title; its slug where the book no longer has it."""
    return songs[slug].title if slug in songs else slug
