"""A JACK server's coming and going, which RtMidi reports neither of."""

import ctypes
import sys
import threading
from typing import Any

LIBRARY = "libjack.0.dylib" if sys.platform == "darwin" else "libjack.so.0"
NO_START = 1
"""JackNoStartServer: never start a server that is not there (JACK API, types.h)."""

_SHUTDOWN = ctypes.CFUNCTYPE(None, ctypes.c_void_p)


class Server:
    """Watches the server through a client of its own that has no ports."""

    def __init__(self) -> None:
        self._library = library()
        self._lost = threading.Event()
        self._shutdown = _SHUTDOWN(lambda _data: self._lost.set())
        self._client: int | None = None

    @property
    def gone(self) -> bool:
        """Whether a server that was there has ended."""
        return self._lost.is_set()

    def join(self) -> bool:
        """Whether the server is there; where it can't be watched it is taken to be."""
        if self.gone:
            return False
        if self._library is None or self._client is not None:
            return True
        self._client = self._library.jack_client_open(b"Showrunner engine watch", NO_START, None)
        if self._client is None:
            return False
        client = ctypes.c_void_p(self._client)
        self._library.jack_on_shutdown(client, self._shutdown, None)
        self._library.jack_activate(client)
        return True

    def leave(self) -> None:
        """Let go of the server, which may have ended; the last client to be closed, as the next server wants it."""
        if self._library is not None and self._client is not None:
            self._library.jack_client_close(ctypes.c_void_p(self._client))
        self._client = None


def library() -> Any:
    """The system's own libjack, None where there is none.

    Its names are made known to all that is loaded after it: the older one in supriya-midi's wheels gives way to it
    so, and does not reach a server otherwise.
    """
    try:
        library = ctypes.CDLL(LIBRARY, mode=ctypes.RTLD_GLOBAL)
    except OSError:
        return None
    library.jack_client_open.restype = ctypes.c_void_p
    library.jack_set_error_function(_quiet())
    library.jack_set_info_function(_quiet())
    return library


def _quiet() -> Any:
    """What the library's messages go to: a function of C that reads a text and does nothing with it.

    The library calls it in the midst of our own calls. Were it Python's, a Ctrl-C that came meanwhile would be raised
    in there, where no exception gets out, and be lost.
    """
    return ctypes.CDLL(None).strlen
