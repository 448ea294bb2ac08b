"""The operating system's MIDI through RtMidi, by whichever of its two bindings this Python has wheels for."""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any, TypeVar

from showrunner.live.ports import Hears, PortError

T = TypeVar("T")

CLIENT = "Showrunner"
JACK = "SHOWRUNNER_JACK"
"""Set to 1 to reach a JACK server instead of the system's own MIDI; Linux without a sequencer does so by itself."""


class RtMidiSystem:
    """Real ports. Names are RtMidi's own: on Linux the client's and the port's with a colon between."""

    def __init__(self) -> None:
        self._lists: tuple[Any, Any] | None = None
        self._open: list[_Open] = []

    def inputs(self) -> tuple[str, ...]:
        return self._named(0, "the system's inputs")

    def outputs(self) -> tuple[str, ...]:
        return self._named(1, "the system's outputs")

    def open_input(self, name: str, hears: Hears) -> "_Open":
        client = _attempt(name, lambda: _new_input(f"{CLIENT} in"))
        with self._keep(name, client) as opened:
            _listen(client, hears)
            client.open_port(_index(name, client), name)
        return opened

    def open_output(self, name: str) -> "RtMidiOutput":
        client = _attempt(name, lambda: _new_output(f"{CLIENT} out"))
        with self._keep(name, client):
            client.open_port(_index(name, client), name)
        return RtMidiOutput(name, client)

    def make_output(self, name: str) -> "RtMidiOutput":
        if sys.platform == "win32":
            raise PortError(name, "Windows has no virtual ports; install a loopback driver and name its port as output")
        client = _attempt(name, lambda: _new_output(CLIENT))
        with self._keep(name, client):
            client.open_virtual_port(name)
        return RtMidiOutput(name, client)

    def close(self) -> None:
        for opened in self._open:
            opened.close()
        for client in self._lists or ():
            client.delete()
        self._open, self._lists = [], None

    def _named(self, which: int, what: str) -> tuple[str, ...]:
        if self._lists is None:
            self._lists = _attempt(what, lambda: (_new_input(f"{CLIENT} list"), _new_output(f"{CLIENT} list")))
        return tuple(_attempt(what, self._lists[which].get_ports))

    @contextmanager
    def _keep(self, name: str, client: Any) -> Iterator["_Open"]:
        opened = _Open(client)
        self._open.append(opened)
        try:
            yield opened
        except PortError:
            opened.close()
            raise
        except Exception as error:
            opened.close()
            raise PortError(name, _said(error)) from error


class _Open:
    """One client of the system with its one port."""

    def __init__(self, client: Any) -> None:
        self._client = client

    def close(self) -> None:
        client, self._client = self._client, None
        if client is not None:
            with suppress(Exception):
                client.close_port()
            client.delete()


class RtMidiOutput(_Open):
    """An open output; `send` is what the message path calls."""

    def __init__(self, name: str, client: Any) -> None:
        super().__init__(client)
        self.name = name

    def send(self, message: bytes) -> None:
        try:
            self._client.send_message(message)
        except Exception as error:
            raise PortError(self.name, _said(error)) from error


def _index(name: str, client: Any) -> int:
    names = client.get_ports()
    if name not in names:
        raise PortError(name, "it is not plugged in")
    return int(names.index(name))


def _attempt(port: str, make: Callable[[], T]) -> T:
    try:
        return make()
    except Exception as error:
        raise PortError(port, _said(error)) from error


def _said(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__


def _wants_jack() -> bool:
    return os.environ.get(JACK) == "1" or (sys.platform.startswith("linux") and not os.path.exists("/dev/snd/seq"))


if sys.version_info < (3, 13):
    import rtmidi

    def _new_input(name: str) -> Any:
        return rtmidi.MidiIn(rtmidi.API_UNIX_JACK if _wants_jack() else rtmidi.API_UNSPECIFIED, name=name)

    def _new_output(name: str) -> Any:
        return rtmidi.MidiOut(rtmidi.API_UNIX_JACK if _wants_jack() else rtmidi.API_UNSPECIFIED, name=name)

    def _listen(client: Any, hears: Hears) -> None:
        client.ignore_types(sysex=False, timing=False, active_sense=False)
        client.set_callback(lambda event, _data: hears(event[0]))

else:
    import supriya_midi

    def _new_input(name: str) -> Any:
        return supriya_midi.MidiIn(_api(), name)

    def _new_output(name: str) -> Any:
        return supriya_midi.MidiOut(_api(), name)

    def _listen(client: Any, hears: Hears) -> None:
        client.ignore_types(False, False, False)
        client.set_callback(lambda message, _delta, _data: hears(message))

    def _api() -> Any:
        apis = supriya_midi.RtMidiAPI
        return apis.UNIX_JACK if _wants_jack() else apis.UNSPECIFIED
