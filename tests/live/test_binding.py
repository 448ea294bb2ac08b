"""The binding to the system's MIDI where a library of the system's that it needs is missing."""

import sys
from collections.abc import Iterator

import pytest

from showrunner.live import binding
from showrunner.live.ports import PortError


@pytest.fixture
def _without_library(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    for name in ("rtmidi", "supriya_midi"):
        monkeypatch.setitem(sys.modules, name, None)
    binding._binding.cache_clear()
    yield
    binding._binding.cache_clear()


@pytest.mark.usefixtures("_without_library")
def test_without_a_library_of_the_system_each_port_says_what_to_install() -> None:
    with pytest.raises(PortError, match="import of") as raised:
        binding.RtMidiSystem().open_input("Floor", lambda _message: None)
    assert (binding.ALSA in str(raised.value)) == sys.platform.startswith("linux")
