"""What stands in for the controls that tonight's rig lacks: least lost over the whole show, and each loss in words."""

from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import NamedTuple

from showrunner.model.library import Book
from showrunner.model.rig import Rig
from showrunner.model.show import Show
from showrunner.planning.standin_costs import CHANGES_OVER_SHOW, ROW_LOST
from showrunner.planning.standin_losses import Loss, at_cues, clash, losses
from showrunner.planning.standin_need import UNKNOWN, Need, guitar_carries, in_hand, lacking, need
from showrunner.planning.standin_search import assign
from showrunner.planning.standin_song import Choices, Pair
from showrunner.state.moments import Piece, prepare_song
from showrunner.state.tonight import at_home

OFF = "off"
"""The position at which a string driver does nothing."""


class Work(NamedTuple):
    """One control doing the work of a missing one, with what is lost."""

    wanted: str
    used: str
    losses: tuple[Loss, ...]


class SongStandIns(NamedTuple):
    """One song: who does whose work, what nothing can do, and what the show's file has that stays as it is."""

    song: str
    title: str
    work: tuple[Work, ...]
    unplayable: Mapping[str, str]
    """Wanted controls and by-hand states that nothing does, with the reason."""
    kept: Mapping[str, str]

    @property
    def stand_ins(self) -> dict[str, str]:
        """The song's table under `stand_ins`: wanted control to the one that does its work."""
        return {**self.kept, **{work.wanted: work.used for work in self.work}}

    @property
    def losses(self) -> Iterator[str]:
        """Each loss as a sentence."""
        for work in self.work:
            for loss in work.losses:
                yield f"in {self.title} the {work.used} takes {work.wanted}: {loss.why}"
        for name, why in self.unplayable.items():
            yield f"in {self.title} nothing takes {name}: {why}"


class _Song(NamedTuple):
    piece: Piece
    needs: tuple[Need, ...]
    kept: Mapping[str, str]
    able: tuple[str, ...]


def stand_ins(book: Book, show: Show, rig: Rig) -> tuple[SongStandIns, ...]:
    """For every song of the show that the book has, the stand-ins on this rig that lose least over the whole show.

    What the show's file has for controls that the rig does not lack stays, and is counted as done.
    """
    songs = [_prepared(book, show, rig, slug) for slug in show.songs if slug in book.songs]
    picks = assign([_choices(song) for song in songs], CHANGES_OVER_SHOW)
    return tuple(_told(song, picked) for song, picked in zip(songs, picks, strict=True))


def choices(book: Book, show: Show, rig: Rig) -> tuple[Choices, ...]:
    """What each song's stand-ins would cost, as the search takes it, in the show's order."""
    return tuple(_choices(_prepared(book, show, rig, slug)) for slug in show.songs if slug in book.songs)


def _prepared(book: Book, show: Show, rig: Rig, slug: str) -> _Song:
    plain = prepare_song(book, slug, rig, show.model_copy(update={"stand_ins": {}}))
    missing = lacking(plain)
    written = show.stand_ins.get(slug, {})
    kept = {wanted: used for wanted, used in written.items() if wanted not in missing and in_hand(plain, used)}
    piece = prepare_song(book, slug, rig, show.model_copy(update={"stand_ins": {slug: kept}})) if kept else plain
    needs = tuple(need(piece, name, at_home(book, name, rig) or UNKNOWN) for name in missing)
    taken = _of_the_show(rig) | set(kept.values())
    able = tuple(name for name in rig.controls if name not in taken and in_hand(piece, name))
    return _Song(piece, needs, kept, able)


def _of_the_show(rig: Rig) -> set[str]:
    """Switches that move through the show and mute: no song may have them."""
    names = {rig.steps.next, rig.steps.back} if rig.steps is not None else set()
    names |= {rig.mute.switch} if rig.mute is not None else set()
    return {name for name in names if name is not None}


def _choices(song: _Song) -> Choices:
    costs: dict[str, Mapping[str | None, int]] = {}
    for wanted in song.needs:
        by_used: dict[str | None, int] = {None: ROW_LOST * wanted.rows}
        by_used |= {used: sum(loss.points for loss in losses(wanted, used)) for used in song.able}
        costs[wanted.name] = by_used
    clashes: dict[frozenset[Pair], int] = {}
    for one, other in combinations(song.needs, 2):
        for used_one in song.able:
            for used_other in song.able:
                points = sum(loss.points for loss in clash(one, used_one, other, used_other))
                if points and used_one != used_other:
                    clashes[frozenset(((one.name, used_one), (other.name, used_other)))] = points
    return Choices(costs, clashes)


def _told(song: _Song, picked: Mapping[str, str]) -> SongStandIns:
    work, unplayable = [], {}
    done = [(wanted, picked[wanted.name]) for wanted in song.needs if wanted.name in picked]
    for place, (wanted, used) in enumerate(done):
        meeting = [loss for other, by in done[place + 1 :] for loss in clash(wanted, used, other, by)]
        work.append(Work(wanted.name, used, (*losses(wanted, used), *meeting)))
    for wanted in song.needs:
        if wanted.name not in picked:
            why = "whatever could would lose more of its own" if song.able else "the rig has nothing left that could"
            unplayable[wanted.name] = why
    unplayable |= _by_hand(song.piece)
    return SongStandIns(song.piece.slug, song.piece.song.title, tuple(work), unplayable, song.kept)


def _by_hand(piece: Piece) -> dict[str, str]:
    """By-hand states that are wanted and not there, with the reason; what isn't there is off as well as can be."""
    found: dict[str, str] = {}
    for moment in piece.moments:
        states = piece.song.start.by_hand if moment.cue is None else moment.cue.by_hand
        at = "at the start" if moment.cue is None else at_cues([moment])
        for name, state in states.items():
            lacks = _lacks_state(piece, name, state)
            if lacks is not None:
                found.setdefault(name, f'a hand should set it to "{state}" {at}, and {lacks}')
    return found


def _lacks_state(piece: Piece, name: str, state: str) -> str | None:
    control, guitar = piece.rig.controls.get(name), piece.song.instrument
    if control is not None and guitar_carries(piece.rig, name, guitar):
        return "it has no such position" if control.positions and state not in control.positions else None
    if state == OFF:
        return None
    return "the rig has none" if control is None else f"{guitar or 'the guitar'} has none"
