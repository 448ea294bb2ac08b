"""What can be typed of a show: its night, one of its sets, a song in it, and what is different about a song tonight."""

from datetime import date

from showrunner.book.read import Reading
from showrunner.model.keys import KeyPath, quoted
from showrunner.model.library import Book
from showrunner.model.show import Show
from showrunner.model.units import format_length, parse_clock
from showrunner.tui.fields import NOTHING, YES_NO, Field, length, number, whole, yes
from showrunner.tui.unread import titles

LENGTH = "such as 1:10:00, 45:00 or 1h10m; nothing takes it out"


def of_show(reading: Reading) -> list[Field]:
    """When and where a show is."""
    book = reading.book
    rig = book.rigs.get(book.rig or "")
    return [
        Field("date", ("date",), _date, "the night, such as 2026-12-05"),
        Field("venue", ("venue",), choices=NOTHING | titles(reading, "venue")),
        Field("rig", ("rig",), choices=NOTHING | titles(reading, "rig"), usual="" if rig is None else rig.title),
        Field("start", ("start",), _clock, "when the first song starts, such as 20:45"),
        Field("slot", ("slot",), length, f"time on stage that was agreed, {LENGTH}"),
    ]


def of_set(number_: int) -> list[Field]:
    """A set's name and the time agreed for it."""
    key: KeyPath = ("sets", number_)
    return [
        Field("name", (*key, "title"), hint="what the set is called"),
        Field("slot", (*key, "slot"), length, f"time agreed for this set alone, {LENGTH}"),
    ]


def of_slot(book: Book, show: Show, song: str, key: KeyPath) -> list[Field]:
    """What follows a song of a set, where it must stand, and whether it may be dropped."""
    others = {slug: _title(book, slug) for slug in show.set_songs if slug != song}
    pins = NOTHING | {place: f"{place} in its set" for place in ("first", "last")} | {"here": "here, where it is now"}
    pins |= {f"after {slug}": f"after {title}" for slug, title in others.items()}
    pins |= {f"not after {slug}": f"not after {title}" for slug, title in others.items()}
    return [
        Field("then", (*key, "then"), then, "segue, gap 0:20 or talk 1:30", usual="applause"),
        Field("pin", (*key, "pin"), choices=pins, usual="may go anywhere"),
        Field("optional", (*key, "optional"), yes, choices=YES_NO, usual="no"),
    ]


def of_tonight(book: Book, show: Show, song: str) -> list[Field]:
    """What may be different about a song tonight, with what its own file says."""
    the, tonight = book.songs.get(song), show.tonight.get(song)
    rig = book.rigs.get(book.rig_of(show) or "")
    known = rig.instruments if rig is not None else {}
    usually = the.instrument if the is not None else None
    guitar = tonight.instrument if tonight is not None and tonight.instrument is not None else usually
    of_guitar = [known[guitar]] if guitar is not None and guitar in known else list(known.values())
    guitars = {name: name for name in known}
    tunings = {name: name for each in of_guitar for name in each.tunings}
    usual = {
        "capo": "0" if the is None else str(the.capo),
        "tuning": the.tuning or "the guitar's own" if the is not None else "",
        "guitar": the.instrument or "" if the is not None else "",
        "tempo": f"{the.tempo_bpm:g} bpm" if the is not None and the.tempo_bpm is not None else "",
        "trim": "" if the is None else f"{the.trim_db:g} dB",
        "duration": "" if the is None else format_length(the.duration),
    }
    key: KeyPath = ("tonight", song)
    return [
        Field("capo", (*key, "capo"), whole, "fret; 0 is none", usual=usual["capo"], prunes=2),
        Field("tuning", (*key, "tuning"), choices=NOTHING | tunings, usual=usual["tuning"], prunes=2),
        Field("guitar", (*key, "instrument"), choices=NOTHING | guitars, usual=usual["guitar"], prunes=2),
        Field("tempo", (*key, "tempo_bpm"), number, "quarter notes a minute", usual=usual["tempo"], prunes=2),
        Field("trim", (*key, "trim_db"), number, "dB on the interface volume", usual=usual["trim"], prunes=2),
        Field("duration", (*key, "duration"), length, "such as 3:05", usual=usual["duration"], prunes=2),
    ]


def then(typed: str) -> str:
    """What follows a song as the file writes it, from `segue`, `gap 20s`, `talk 1:30`; ValueError for else."""
    kind, _, rest = typed.partition(" ")
    if typed == "segue":
        return typed
    if kind in ("gap", "talk") and rest.strip():
        return f"{kind} {length(rest.strip())}"
    raise ValueError(f"{quoted(typed)} is not what follows a song; write segue, gap 0:20 or talk 1:30")


def _date(typed: str) -> date:
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise ValueError(f"{quoted(typed)} is not a date; write it as in 2026-12-05") from None


def _clock(typed: str) -> str:
    parse_clock(typed)
    return typed


def _title(book: Book, song: str) -> str:
    return book.songs[song].title if song in book.songs else song
