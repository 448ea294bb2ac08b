"""A take written as it is played: a Standard MIDI File that opens at any moment, put in order when it is over.

While it grows all of it is one track. New events are put behind its end; then its length is made to hold them; then
the old end of the track is made an empty text. Whenever the program is ended, the file holds all that was kept before.
So it does where the disk is full, and what is played goes on without it.
"""

from io import FileIO
from pathlib import Path

from showrunner.takes.chunks import HEADER, TRACK, channel_data_length
from showrunner.takes.decode import CUE_POINT, MARKER, SEQUENCER_SPECIFIC, TEXT, TRACK_NAME
from showrunner.takes.encode import GROWING, LONGEST_DELTA, RAW, port_words, tempo_messages
from showrunner.takes.smf import read_take, write_take
from showrunner.takes.take import DIVISION, TakeAsk, TakeCue, TakeEvent, TakePort, TempoMap, TempoMark

KEEPS_EVERY_S = 0.05
"""How often what was played goes to the file; a crash loses what is younger, and must lose less than 0.1 s."""

END = bytes((0xFF, 0x2F, 0x00))
_LENGTH_AT, _BODY_AT = 18, 22


class Recorder:
    """Writes a take; times must not go back. OSError where the file can't be made.

    `trouble` says what is wrong with the take, as "can't be written on: …"; empty while all is well.
    """

    def __init__(self, path: Path, *, show: str | None = None, rig: str | None = None, song: str | None = None) -> None:
        self.path = path
        self._tempo, self._tick, self._kept_s = TempoMap(DIVISION), 0, 0.0
        self._port: tuple[str, str] | None = None
        self._stamped = -1
        path.parent.mkdir(parents=True, exist_ok=True)
        start = _meta(0, TRACK_NAME, GROWING)
        for kind, slug in (("show", show), ("rig", rig), ("song", song)):
            start += _meta(0, TEXT, f"{kind} {slug}") if slug is not None else b""
        body = start + b"\0" + END
        self.trouble = ""
        self._length, self._waiting = len(body), bytearray()
        self._file = FileIO(str(path), "xb")
        try:
            header = HEADER + _four(6) + bytes((0, 1, 0, 1)) + DIVISION.to_bytes(2, "big")
            self._at(0, header + TRACK + _four(len(body)) + body)
        except OSError:
            self.discard()
            raise

    def stamp(self, at_s: float) -> float:
        """The time, s, that an event gets in the file: whole ticks, each later than the one before.

        What the show is played with must be this time, so that a replay is of the same times.
        """
        self._stamped = max(self._tempo.tick(max(0.0, at_s)), self._stamped + 1)
        return self._tempo.seconds(self._stamped)

    def event(self, event: TakeEvent) -> None:
        """A message came in or went out."""
        place = (event.direction, event.port)
        if place != self._port:
            self._port = place
            self._put(event.at_s, _meta(0, TEXT, f"{event.direction} {event.port}")[1:])
        self._put(event.at_s, _message(event.data))

    def cue(self, cue: TakeCue) -> None:
        """A moment was arrived at."""
        self._put(cue.at_s, _meta(0, MARKER, f"{cue.song} / {cue.cue}")[1:])

    def ask(self, ask: TakeAsk) -> None:
        """A step was taken that no message led to."""
        self._put(ask.at_s, _meta(0, CUE_POINT, ask.what)[1:])

    def port(self, port: TakePort) -> None:
        """A port went away or came back."""
        self._put(port.at_s, _meta(0, TEXT, port_words(port))[1:])

    def tempo(self, mark: TempoMark) -> None:
        """From here on another tempo or meter; its time must not be before that of any event."""
        tick = max(self._tempo.tick(mark.at_s), self._tick)
        self._tempo.add_at(self._tempo.seconds(tick), mark.us_per_quarter)
        for message in tempo_messages(mark):
            self._put(self._tempo.seconds(tick), bytes(message.bytes()))

    def keep(self, now_s: float) -> None:
        """Put what waits into the file, if some has waited long enough; call it at least every few hundredths."""
        if self._waiting and now_s - self._kept_s >= KEEPS_EVERY_S:
            self._kept_s = now_s
            self.keep_all()

    def keep_all(self) -> None:
        """Put all that waits into the file now."""
        if not self._waiting or self.trouble:
            return
        added = bytes(self._waiting) + b"\0" + END
        self._waiting.clear()
        end_at = _BODY_AT + self._length
        try:
            self._at(end_at, added)
            self._length += len(added)
            self._at(_LENGTH_AT, _four(self._length))
            self._at(end_at - 2, bytes((TEXT,)))
        except OSError as error:
            self.trouble = f"can't be written on: {error.strerror or error}; what was played before is kept"

    def stop(self) -> None:
        """Write no more, and leave the file as it is, which is as a crash would."""
        self._file.close()

    def close(self) -> Path:
        """End the take: the file is written anew with a track for each port and way, or stays as it came."""
        self.keep_all()
        self.stop()
        take = read_take(self.path)
        try:
            write_take(self.path, take)
        except OSError as error:
            why = error.strerror or error
            self.trouble = self.trouble or f"is kept, but all in one track as it came: {why}"
        return self.path

    def discard(self) -> None:
        """Leave nothing of it."""
        self.stop()
        self.path.unlink(missing_ok=True)

    def _put(self, at_s: float, data: bytes) -> None:
        if self.trouble:
            return
        tick = max(self._tempo.tick(at_s), self._tick)
        while tick - self._tick > LONGEST_DELTA:
            self._waiting += _meta(LONGEST_DELTA, TEXT, "")
            self._tick += LONGEST_DELTA
        self._waiting += _quantity(tick - self._tick) + data
        self._tick = tick

    def _at(self, place: int, data: bytes) -> None:
        self._file.seek(place)
        while data:
            data = data[self._file.write(data) or 0 :]


def _message(data: bytes) -> bytes:
    """A message as a track holds it (SMF 1.0): itself, an exclusive with its length, or wrapped as our own event."""
    status = data[0] if data else 0
    if 0x80 <= status < 0xF0 and len(data) == 1 + channel_data_length(status) and max(data[1:]) < 0x80:
        return data
    if status == 0xF0 and data[-1] == 0xF7 and max(data[1:-1], default=0) < 0x80:
        return b"\xf0" + _quantity(len(data) - 1) + data[1:]
    return bytes((0xFF, SEQUENCER_SPECIFIC)) + _quantity(len(RAW) + len(data)) + RAW + data


def _meta(delta: int, kind: int, text: str) -> bytes:
    data = text.encode()
    return _quantity(delta) + bytes((0xFF, kind)) + _quantity(len(data)) + data


def _quantity(value: int) -> bytes:
    """A variable-length quantity: seven bits a byte, the highest first, bit 7 set on all but the last (SMF 1.0)."""
    found = [value & 0x7F]
    while value := value >> 7:
        found.append(value & 0x7F | 0x80)
    return bytes(reversed(found))


def _four(value: int) -> bytes:
    return value.to_bytes(4, "big")
