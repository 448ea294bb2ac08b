"""Reads recordings block by block: all that soundfile reads, plain WAV without it."""

import shlex
import sys
import wave
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from showrunner.cli.common import trouble
from showrunner.cli.output import steer
from showrunner.model.visible import visible_line
from showrunner.plain_file import check_plain

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PACKAGES = ("numpy", "soundfile")
BLOCK_FRAMES = 1 << 16
FORMATS = "WAV, RF64, AIFF, CAF, AU, FLAC, Ogg Vorbis, Opus, MP3 and what else libsndfile reads"
"""What can be read where soundfile is there; its library goes by what is in a file, not by the file's name."""


class Recording(NamedTuple):
    """A recording being read: its rate, channels, length in frames, and its blocks of (frames, channels)."""

    rate_hz: int
    channels: int
    frames: int
    blocks: "Iterator[NDArray[np.float64]]"


def install(*packages: str) -> str:
    """The command that puts packages into the Python that runs this program, never the program's own name."""
    return f"install with: {shlex.quote(sys.executable or 'python')} -m pip install {' '.join(packages)}"


def need_numpy() -> None:
    """Trouble that says what to install where numpy is missing."""
    if find_spec("numpy") is None:
        raise trouble("measuring recordings needs numpy, and soundfile for all but plain WAV", install(*PACKAGES))


@contextmanager
def recording(path: Path) -> Iterator[Recording]:
    """Opens a recording; Trouble with the file's name for what can't be read."""
    check_plain(path)
    with ExitStack() as stack:
        reader = _through_soundfile if find_spec("soundfile") is not None else _plain_wav
        yield reader(path, stack)


def progress(path: Path, opened: Recording) -> "Iterator[NDArray[np.float64]]":
    """The recording's blocks, with the share done on standard error if that is a terminal."""
    shown, done = -1, 0
    for block in opened.blocks:
        yield block
        done += len(block)
        percent = min(100, 100 * done // max(1, opened.frames))
        if percent != shown and sys.stderr.isatty():
            steer("\r")
            click.echo(f"measuring {visible_line(path.name)} … {percent} %", err=True, nl=False)
            shown = percent
    if shown >= 0:
        steer("\r" + " " * (len(path.name) + 20) + "\r")


def _through_soundfile(path: Path, stack: ExitStack) -> Recording:
    import soundfile

    try:
        path.open("rb").close()
        file = stack.enter_context(soundfile.SoundFile(path))
    except (soundfile.SoundFileError, TypeError):  # the second for a name that soundfile takes for raw samples
        raise trouble("this is no recording that can be read", f"{FORMATS} can", file=str(path)) from None
    return Recording(file.samplerate, file.channels, file.frames, _soundfile_blocks(path, file))


def _soundfile_blocks(path: Path, file: Any) -> "Iterator[NDArray[np.float64]]":
    import soundfile

    try:
        yield from file.blocks(BLOCK_FRAMES, dtype="float64", always_2d=True)
    except soundfile.SoundFileError:
        raise trouble("the recording breaks off or is damaged", file=str(path)) from None


def _plain_wav(path: Path, stack: ExitStack) -> Recording:
    try:
        file = stack.enter_context(wave.open(str(path), "rb"))  # noqa: SIM115
    except (wave.Error, EOFError):
        mend = "only plain WAV can without soundfile; " + install("soundfile")
        raise trouble("this is no recording that can be read", mend, file=str(path)) from None
    rate, channels, width = file.getframerate(), file.getnchannels(), file.getsampwidth()
    if width not in _DECODERS:
        raise trouble(f"samples of {width} bytes can't be read without soundfile", install("soundfile"), file=str(path))
    return Recording(rate, channels, file.getnframes(), _wav_blocks(file, channels, _DECODERS[width]))


def _wav_blocks(file: wave.Wave_read, channels: int, decode: "Decoder") -> "Iterator[NDArray[np.float64]]":
    frame = channels * file.getsampwidth()
    while data := file.readframes(BLOCK_FRAMES):
        yield decode(data[: len(data) // frame * frame]).reshape(-1, channels)


Decoder = Callable[[bytes], Any]


def _of_8_bits(data: bytes) -> Any:
    import numpy as np

    return (np.frombuffer(data, np.uint8) - 128.0) / 128


def _of_16_bits(data: bytes) -> Any:
    import numpy as np

    return np.frombuffer(data, "<i2") / 32768.0


def _of_24_bits(data: bytes) -> Any:
    import numpy as np

    wide = np.zeros((len(data) // 3, 4), np.uint8)
    wide[:, 1:] = np.frombuffer(data, np.uint8).reshape(-1, 3)
    return wide.reshape(-1).view("<i4") / 2147483648.0


def _of_32_bits(data: bytes) -> Any:
    import numpy as np

    return np.frombuffer(data, "<i4") / 2147483648.0


_DECODERS: dict[int, Decoder] = {1: _of_8_bits, 2: _of_16_bits, 3: _of_24_bits, 4: _of_32_bits}
