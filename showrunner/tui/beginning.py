"""A show that is about to be begun: what it is played with, in the words of the question that comes first."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

from showrunner.book.problems import BookError
from showrunner.live.broken_off import BrokenOff, broken_off, differs
from showrunner.live.folder import run_folder, where_run
from showrunner.live.launch import attach, give_up, played_for_real
from showrunner.live.link import RemoteShow
from showrunner.live.night import Night, NightError, night_of
from showrunner.live.seen import SIMULATED
from showrunner.model.cautions import LOUDER, REAL_PORTS
from showrunner.model.cells import cells, fit
from showrunner.model.units import NIGHT_ENDS_MIN
from showrunner.state.values import Trims
from showrunner.tui.shelf import Shelf


class Beginning(NamedTuple):
    """The night as it will be played: anew, or where the run `before` broke off, with the trims moved until then.

    `beside` is the title of a show that plays on real ports meanwhile. `left` is a run that broke off and is not what
    is asked for, for `why`: beginning gives it up. Without `left` it is one that can't be gone on with.
    """

    night: Night
    before: BrokenOff | None = None
    beside: str | None = None
    left: BrokenOff | None = None
    why: tuple[str, ...] = ()

    @property
    def trims(self) -> Trims:
        """Tonight's trims that were moved before it broke off."""
        return () if self.before is None else self.before.trims

    @property
    def asks(self) -> str:
        """The question."""
        title = self.night.the_show.title
        return f"Try {title} without hardware?" if self.night.simulated else f"Play {title}?"

    @property
    def full_house_db(self) -> float:
        """What the room adds to the interface volume for a full house, dB."""
        return self.night.book.full_house_db(self.night.show)

    @property
    def may_choose(self) -> bool:
        """Whether it can be chosen that a full house is counted."""
        return bool(self.full_house_db) and self.before is None

    def lines(self) -> Iterator[str]:
        """What it is played on and with, each song's gain and volume among it, and the cautions."""
        night, book = self.night, self.night.book
        venue = book.venues.get(night.the_show.venue or "")
        yield f"on {book.rigs[night.rig].title}" + (f", in {venue.title}" if venue is not None else "")
        if night.simulated:
            yield f"{SIMULATED}: nothing is sent to any port, it is no night, and nothing is filed"
        if self.beside is not None:
            yield f"{self.beside} is being played on real ports, and plays on"
        if self.before is not None:
            yield f"it broke off {self.before.when} and goes on there, with the trims that it was played with"
            if self.before.refused:
                yield self.before.refused
        if self.why:
            yield from ("", *self._left(), "")
        yield self._house()
        if not night.simulated:
            yield from ("", REAL_PORTS)
            if night.full_house and self.full_house_db > 0:
                yield LOUDER
        yield ""
        yield from self._songs()

    def _left(self) -> Iterator[str]:
        if self.left is not None:
            yield f"there is {self.left.said}"
        yield from self.why
        yield "r goes on with it as it was begun; beginning anew gives it up" if self.left else "beginning gives it up"

    def _house(self) -> str:
        if not self.full_house_db:
            return "full house: the room has no trim for it"
        said = f"full house: {'counted' if self.night.full_house else 'not counted'}"
        adds = f"{self.full_house_db:+g} dB on the volume"
        if not self.may_choose:
            return f"{said}, {adds}"
        return f"{said}, {adds}; f leaves it out" if self.night.full_house else f"{said}; f counts it, {adds}"

    def _songs(self) -> Iterator[str]:
        script = self.night.script()
        slugs = (*script.order, *script.reserve)
        titles = {slug: script.pieces[slug].song.title for slug in slugs}
        wide = max(map(cells, titles.values()), default=0)
        yield f"{'':{wide}}     gain   volume"
        for slug in slugs:
            levels = script.levels(slug, self.trims)
            gain, volume = (f"{one.set_db:.1f} dB" for one in (levels.input_gain, levels.interface_volume))
            yield f"{fit(titles[slug], wide)} {gain:>8} {volume:>8}"


def join(shelf: Shelf, show: str, *, simulated: bool) -> RemoteShow:
    """The running show, begun if it is not running, or gone on with; LinkError or BookError if it can't be."""
    return attach(run_folder(shelf.root, show), to_play(shelf, show, simulated=simulated))


def begin_anew(shelf: Shelf, show: str, *, simulated: bool) -> RemoteShow:
    """The same, where a run that broke off is given up for it."""
    give_up(run_folder(shelf.root, show))
    return join(shelf, show, simulated=simulated)


def resume(shelf: Shelf, show: str, before: BrokenOff) -> RemoteShow:
    """The run that broke off, gone on with as it was begun; LinkError if it can't be."""
    return attach(run_folder(shelf.root, show), before.night, resumes=True)


def to_play(shelf: Shelf, show: str, *, simulated: bool) -> Night:
    """A show of the book as it would be begun anew now; BookError where it has no rig."""
    book = shelf.book
    rig = book.rig_of(book.shows[show])
    if rig is None or rig not in book.rigs:
        raise BookError(f"the show {show} has no rig that can be read", 'write rig = "…" into it')
    day = (datetime.now() - timedelta(minutes=NIGHT_ENDS_MIN)).strftime("%Y-%m-%d")
    log = str((shelf.root / "runs" / show / f"{day}.jsonl").resolve())
    return night_of(book, show, rig, log=log, simulated=simulated, full_house=show in shelf.full_houses)


def counts_full_house(shelf: Shelf, show: str) -> bool:
    """Whether a show will be played for a full house: as a run was begun that is to be resumed, else as is chosen."""
    begun = begun_for_full_house(shelf, show)
    return show in shelf.full_houses if begun is None else begun


def begun_for_full_house(shelf: Shelf, show: str) -> bool | None:
    """Whether a run was begun for a full house that is gone on with; None where there is none."""
    try:
        before = broken_off(where_run(shelf.root, show))
        if before is None or before.night.simulated or _differs(before, to_play(shelf, show, simulated=False)):
            return None
    except (NightError, BookError):
        return None
    return before.night.full_house


def beginning(shelf: Shelf, show: str, *, simulated: bool) -> Beginning:
    """A show of the book as it would be begun, or gone on with, now; BookError where it has no rig."""
    night = to_play(shelf, show, simulated=simulated)
    try:
        before = broken_off(where_run(shelf.root, show))
    except NightError as error:
        return Beginning(night, why=(f"a run broke off, and can't be gone on with: {error}",))
    why = () if before is None else _differs(before, night)
    if before is not None and not why:
        return Beginning(before.night, before)
    others = [slug for slug in shelf.book.shows if slug != show] if simulated else []
    other = played_for_real(shelf.root, others)
    beside = None if other is None else shelf.book.shows[other].title
    if before is None or not before.began:
        return Beginning(night, beside=beside)
    return Beginning(night, beside=beside, left=before, why=why)


def _differs(before: BrokenOff, night: Night) -> tuple[str, ...]:
    """What is otherwise in a night, but for the full house: that is chosen in the question, and stays as it was."""
    return differs(before, night._replace(full_house=before.night.full_house))
