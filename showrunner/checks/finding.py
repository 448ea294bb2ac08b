"""What a check reports, and the rule that found it."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from showrunner.checks.context import Context, Facts
    from showrunner.state.moments import Moment

Level = Literal["error", "warning", "note"]
LEVELS: tuple[Level, ...] = ("error", "warning", "note")
"""It will fail; it may be heard or missed; worth knowing."""

Key = tuple[str | int, ...]
"""The path of a value inside its file."""


class Finding(NamedTuple):
    """One thing that is wrong, where, what it does on stage and what mends it."""

    rule: str
    level: Level
    kind: str
    slug: str
    key: Key
    song: str | None
    cue: str | None
    what: str
    why: str
    mend: str
    silenced: str | None = None


class Rule(NamedTuple):
    """One rule: its name, its level, the function that finds, and the page that explains it."""

    name: str
    level: Level
    find: "Callable[[Context], Iterator[Finding]]"
    looks_for: str
    because: str
    such_as: str
    fix: str

    @property
    def page(self) -> tuple[tuple[str, str], ...]:
        """Its page: four headings, the same for every rule, each with its text."""
        return (
            ("Looked for", self.looks_for),
            ("Because", self.because),
            ("Such as", self.such_as),
            ("Fix", self.fix),
        )

    def in_song(self, facts: "Facts", key: Key, *, what: str, why: str, mend: str, cue: str | None = None) -> Finding:
        """A finding in a song's file, or in the show's where tonight changes that part of the song."""
        kind, slug, place = facts.place(key)
        return Finding(self.name, self.level, kind, slug, place, facts.slug, cue, what, why, mend)

    def at_cue(self, facts: "Facts", moment: "Moment", *inside: str, what: str, why: str, mend: str) -> Finding:
        """A finding at a cue, or at the start, of a song: at what it says under these keys, the whole of it if none."""
        key = facts.cue_key(moment, *inside)
        return self.in_song(facts, key, what=what, why=why, mend=mend, cue=moment.name)

    def in_file(
        self, kind: str, slug: str, key: Key, *, what: str, why: str, mend: str, song: str | None = None
    ) -> Finding:
        """A finding in any file."""
        return Finding(self.name, self.level, kind, slug, key, song, None, what, why, mend)
