"""The operating system's MIDI through RtMidi, by whichever of its two bindings this Python has wheels for."""

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from typing import Any, TypeVar

from showrunner.live.jack import Server, library
from showrunner.live.ports import Hears, PortError
from showrunner.model.visible import visible_line

T = TypeVar("T")

CLIENT = "Showrunner"
OWN = "Showrunner engine"
"""How our own ends of other programs' ports are named, so that a pattern never finds them."""
JACK = "SHOWRUNNER_JACK"
"""Set to 1 to reach a JACK server instead of the system's own MIDI; Linux without a sequencer does so by itself."""
ALSA = "install ALSA's library, on Debian libasound2t64 (before Debian 13 libasound2)"
"""What both bindings need on Linux and their wheels do not bring."""
CONNECTS_WITHIN_S = 0.05
"""How long a JACK server may need before it passes on what a new connection sends: on a busy machine without real-time
priority 3 of 64 messages sent at once were lost, and none that were sent this much later."""


class RtMidiSystem:
    """Real ports. Names are RtMidi's own: on Linux the client's and the port's with a colon between."""

    def __init__(self) -> None:
        self._lists: tuple[Any, Any] | None = None
        self._server = Server() if _wants_jack() else None

    def alive(self) -> bool:
        """Whether the sound server still answers."""
        return self._server is None or not self._server.gone

    def renew(self) -> None:
        self.close()
        if self._server is not None:
            self._server.leave()
            self._server = Server()

    def ready(self) -> bool:
        """Whether there is a server to open ports on; its clients may be made once there is."""
        return self._server is None or self._server.join()

    def inputs(self) -> tuple[str, ...]:
        return self._named(0, "the system's inputs")

    def outputs(self) -> tuple[str, ...]:
        return self._named(1, "the system's outputs")

    def open_input(self, name: str, hears: Hears) -> "_Open":
        opened = _Open(name, _attempt(name, lambda: _new_input(f"{OWN} in")))
        with opened.or_closed() as client:
            _listen(client, hears)
            client.open_port(_index(name, client), "in")
        return opened

    def open_output(self, name: str) -> "RtMidiOutput":
        opened = RtMidiOutput(name, _attempt(name, lambda: _new_output(f"{OWN} out")))
        with opened.or_closed() as client:
            client.open_port(_index(name, client), "out")
        if self._server is not None:
            time.sleep(CONNECTS_WITHIN_S)
        return opened

    def make_output(self, name: str) -> "RtMidiOutput":
        if sys.platform == "win32":
            raise PortError(name, "Windows has no virtual ports; install a loopback driver and name its port as output")
        opened = RtMidiOutput(name, _attempt(name, lambda: _new_output(CLIENT)))
        with opened.or_closed() as client:
            client.open_virtual_port(name)
        return opened

    def close(self) -> None:
        for client in self._lists or ():
            client.delete()
        self._lists = None

    def _named(self, which: int, what: str) -> tuple[str, ...]:
        if not self.ready():
            return ()
        if self._lists is None:
            self._lists = _attempt(what, lambda: (_new_input(f"{OWN} list"), _new_output(f"{OWN} list")))
        return tuple(name for name in _names(self._lists[which], what) if not name.startswith(OWN))


class _Open:
    """One client of the system with its one port."""

    def __init__(self, name: str, client: Any) -> None:
        self.name, self._client = name, client

    def close(self) -> None:
        client, self._client = self._client, None
        if client is not None:
            with suppress(Exception):
                client.close_port()
            client.delete()

    @contextmanager
    def or_closed(self) -> Iterator[Any]:
        """The client, closed again if what is done with it fails."""
        try:
            yield self._client
        except PortError:
            self.close()
            raise
        except Exception as error:
            self.close()
            raise PortError(self.name, _said(error)) from error


class RtMidiOutput(_Open):
    """An open output; `send` is the binding's own function, since a call between costs as much as the message."""

    def __init__(self, name: str, client: Any) -> None:
        super().__init__(name, client)
        self.send: Callable[[bytes], object] = client.send_message


def _names(client: Any, what: str) -> list[str]:
    """The system's names of ports, each on one line, with what steers a terminal visible."""
    return [visible_line(name) for name in _attempt(what, client.get_ports)]


def _index(name: str, client: Any) -> int:
    names = _names(client, name)
    if name not in names:
        raise PortError(name, "it is not plugged in")
    return int(names.index(name))


def _attempt(port: str, make: Callable[[], T]) -> T:
    try:
        return make()
    except Exception as error:
        raise PortError(port, _said(error)) from error


def _said(error: Exception) -> str:
    said = " ".join(str(error).split()) or type(error).__name__
    return f"{said}; {ALSA}" if isinstance(error, ImportError) and sys.platform.startswith("linux") else said


def _wants_jack() -> bool:
    return os.environ.get(JACK) == "1" or (sys.platform.startswith("linux") and not os.path.exists("/dev/snd/seq"))


@cache
def _binding() -> Any:
    """The binding that this Python has wheels for; ImportError where a library of the system that it needs is missing.

    The system's own libjack is loaded before the older one in the wheels of the second.
    """
    if sys.version_info < (3, 13):
        import rtmidi

        return rtmidi
    if _wants_jack():
        library()
    import supriya_midi

    return supriya_midi


if sys.version_info < (3, 13):

    def _new_input(name: str) -> Any:
        return _binding().MidiIn(_api(), name=name)

    def _new_output(name: str) -> Any:
        return _binding().MidiOut(_api(), name=name)

    def _listen(client: Any, hears: Hears) -> None:
        client.ignore_types(sysex=False, timing=False, active_sense=False)
        client.set_callback(lambda event, _data: hears(event[0]))

    def _api() -> Any:
        return _binding().API_UNIX_JACK if _wants_jack() else _binding().API_UNSPECIFIED

else:

    def _new_input(name: str) -> Any:
        return _binding().MidiIn(_api(), name)

    def _new_output(name: str) -> Any:
        return _binding().MidiOut(_api(), name)

    def _listen(client: Any, hears: Hears) -> None:
        client.ignore_types(False, False, False)
        client.set_callback(lambda message, _delta, _data: hears(message))

    def _api() -> Any:
        apis = _binding().RtMidiAPI
        return apis.UNIX_JACK if _wants_jack() else apis.UNSPECIFIED
