"""Each kind of document as text: one line for a list, and the whole on a page."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from showrunner.cli.describe_song import song_line, song_page
from showrunner.cli.output import columns, number, paragraph, plural
from showrunner.model.checklist import Checklist
from showrunner.model.library import Book
from showrunner.model.rig import Control, Rig, Target
from showrunner.model.show import Show, Slot, Tonight
from showrunner.model.units import format_clock, format_length
from showrunner.model.venue import RoomTrims, Venue


def list_lines(book: Book, kind: str, documents: Mapping[str, Any]) -> Iterator[str]:
    """A line for each document of one kind."""
    line, right = _LINES[kind]
    yield from columns([(slug, *line(book, document)) for slug, document in documents.items()], indent=0, right=right)


def page(book: Book, kind: str, document: Any) -> Iterator[str]:
    """All that a document says, as a page of text."""
    yield from _PAGES[kind](book, document)


def _song_line(_book: Book, song: Any) -> tuple[str, ...]:
    return song_line(song)


def _song_page(_book: Book, song: Any) -> Iterator[str]:
    return song_page(song)


def _rig_line(_book: Book, rig: Rig) -> tuple[str, ...]:
    parts = (
        plural(len(rig.controls), "control"),
        plural(len(rig.targets), "target"),
        plural(len(rig.instruments), "guitar"),
    )
    return rig.title, rig.routing, ", ".join(parts)


def _venue_line(_book: Book, venue: Venue) -> tuple[str, ...]:
    curfew = f"curfew {format_clock(venue.curfew)}" if venue.curfew is not None else ""
    return venue.title, venue.kind or "", curfew, plural(len(venue.visits), "earlier visit")


def _show_line(book: Book, show: Show) -> tuple[str, ...]:
    rig = book.rig_of(show)
    return show.title, str(show.date or ""), plural(len(show.set_songs), "song"), f"{rig} rig" if rig else ""


def _checklist_line(_book: Book, checklist: Checklist) -> tuple[str, ...]:
    return checklist.title, plural(len(checklist.items), "item"), checklist.when or ""


_LINES: Mapping[str, tuple[Callable[[Book, Any], tuple[str, ...]], tuple[int, ...]]] = {
    "song": (_song_line, (2,)),
    "rig": (_rig_line, ()),
    "venue": (_venue_line, ()),
    "show": (_show_line, ()),
    "checklist": (_checklist_line, ()),
}


def _rig_page(_book: Book, rig: Rig) -> Iterator[str]:
    yield f"{rig.title}: routing {rig.routing}"
    if rig.ports:
        yield "\nPorts"
        yield from columns([(name, _port(port)) for name, port in rig.ports.items()])
    if rig.controls:
        yield "\nControls"
        yield from columns([(n, c.kind, c.limb or "", *_wire(c)) for n, c in rig.controls.items()])
    if rig.targets:
        yield "\nTargets"
        yield from columns([(name, *_target(target)) for name, target in rig.targets.items()])
    if rig.instruments:
        yield "\nGuitars"
        yield from columns([(name, _guitar(guitar)) for name, guitar in rig.instruments.items()])
    if rig.steps is not None:
        back = f", back {rig.steps.back}" if rig.steps.back else ""
        yield from ("", f"Steps: next {rig.steps.next}{back}")


def _port(port: Any) -> str:
    ways = [f"hears {port.input}"] if port.input else []
    ways += [f"sends to {port.output}"] if port.output else []
    ways += [f"makes the output {port.virtual}"] if port.virtual else []
    return ", ".join([*ways, port.wire])


def _wire(control: Control) -> tuple[str, str]:
    if control.by_hand:
        return "by hand", ", ".join(control.positions)
    return f"{control.port} {control.channel}", f"cc {control.cc}" + (", 14 bits" if control.bits == 14 else "")


def _target(target: Target) -> tuple[str, str, str]:
    low, high = target.range
    law = f", {target.law}" if target.law != "linear" else ""
    rest = f", rests at {number(target.rest)}" if target.rest is not None else ""
    bits = ", 14 bits" if target.bits == 14 else ""
    span = f"{number(low)} to {number(high)} {target.unit}{law}{rest}"
    return f"{target.port} {target.channel}", f"cc {target.cc}{bits}", span


def _guitar(guitar: Any) -> str:
    parts = [", ".join(guitar.tunings) or "no tunings"]
    parts += [f"carries {', '.join(guitar.carries)}"] if guitar.carries else []
    parts += [f"spare: {guitar.spare}"] if guitar.spare else []
    return "; ".join(parts)


def _venue_page(_book: Book, venue: Venue) -> Iterator[str]:
    facts = [venue.kind or "", f"holds {venue.capacity}" if venue.capacity else ""]
    facts += [f"curfew {format_clock(venue.curfew)}"] if venue.curfew is not None else []
    if venue.sound_limit is not None:
        limit = venue.sound_limit
        facts.append(f"at most {number(limit.laeq_db)} dB(A) over {format_length(limit.over)}")
    yield from paragraph(f"{venue.title}: " + ", ".join(fact for fact in facts if fact), hang=2)
    yield from paragraph(f"Trims: {_room(venue.trims)}", hang=2)
    for visit in venue.visits:
        warm = f", {number(visit.temperature_c)} °C" if visit.temperature_c is not None else ""
        said = warm + (f": {visit.note}" if visit.note else "")
        played = f"{visit.show}: " if visit.show else ""
        yield from paragraph(f"{visit.date}  {played}{_room(visit.trims)}{said}", 2, 14)


def _room(trims: RoomTrims) -> str:
    parts = [f"input gain {trims.input_gain_db:+g} dB", f"interface volume {trims.interface_volume_db:+g} dB"]
    parts += [f"full house {trims.full_house_db:+g} dB"] if trims.full_house_db else []
    return ", ".join([*parts, *(f"{name} {by:+g}" for name, by in trims.targets.items())])


def _show_page(book: Book, show: Show) -> Iterator[str]:
    facts = [str(show.date or ""), f"at {show.venue}" if show.venue else "", f"rig {book.rig_of(show) or 'not said'}"]
    facts += [f"starts {format_clock(show.start)}"] if show.start is not None else []
    facts += [f"slot {format_length(show.slot)}"] if show.slot is not None else []
    yield from paragraph(f"{show.title}: " + ", ".join(fact for fact in facts if fact), hang=2)
    place = 0
    for part in show.sets:
        yield from ("", part.title or "Set")
        rows = [_slot(book, slot, place + index) for index, slot in enumerate(part.songs, 1)]
        place += len(rows)
        yield from columns(rows, right=(0, 2))
    for name, songs in (("Encore", show.encore), ("Reserve", show.reserve)):
        if songs:
            yield from ("", name)
            yield from columns([_slot(book, Slot(song=slug), None) for slug in songs], right=(0, 2))
    if show.tonight:
        yield "\nDifferent tonight"
        yield from columns([(slug, _changes(changes)) for slug, changes in show.tonight.items()])
    if show.stand_ins:
        yield "\nStand-ins"
        rows = [(slug, ", ".join(f"{b} for {a}" for a, b in of.items())) for slug, of in show.stand_ins.items()]
        yield from columns(rows)


def _changes(changes: Tonight) -> str:
    said = changes.model_dump(mode="json", exclude_none=True)
    return ", ".join(f"{k} {number(v) if isinstance(v, float) else v}" for k, v in said.items())


def _slot(book: Book, slot: Slot, place: int | None) -> tuple[str, ...]:
    song = book.songs.get(slot.song)
    length = format_length(song.duration) if song is not None else "?"
    notes = [str(slot.then)] if slot.then is not None else []
    notes += ["optional"] if slot.optional else []
    notes += [f"pinned {slot.pin}"] if slot.pin is not None else []
    return str(place or ""), song.title if song is not None else slot.song, length, ", ".join(notes)


def _checklist_page(_book: Book, checklist: Checklist) -> Iterator[str]:
    yield from paragraph(f"{checklist.title}" + (f": {checklist.when}" if checklist.when else ""), hang=2)
    rows = []
    for index, item in enumerate(checklist.items, 1):
        notes = [f"answer: {item.answer}"] if item.answer else []
        notes += [item.who] if item.who else []
        notes += [f"verified by {item.verify}"] if item.verify else []
        said = item.ask + (f" ({'; '.join(notes)})" if notes else "")
        rows.append((str(index), "critical" if item.critical else "", said))
    yield from columns(rows, right=(0,))


_PAGES: Mapping[str, Callable[[Book, Any], Iterator[str]]] = {
    "song": _song_page,
    "rig": _rig_page,
    "venue": _venue_page,
    "show": _show_page,
    "checklist": _checklist_page,
}
