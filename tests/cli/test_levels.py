"""Recordings measured from the command line."""

import io
import math
import re
import shlex
import sys
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

import showrunner
from showrunner.cli import recording

RATE = 8000
PROJECT = Path(showrunner.__file__).parent
TEXTS = [PROJECT.parent / name for name in ("README.md", "DEVELOPERS.md")]


def tone(seconds: float, dbfs: float, channels: int = 2) -> np.ndarray:
    """A sine of 400 Hz, its peak in dBFS."""
    sine = 10 ** (dbfs / 20) * np.sin(2 * np.pi * 400 * np.arange(round(seconds * RATE)) / RATE)
    return np.stack([sine] * channels, axis=1)


@pytest.fixture
def file(tmp_path: Path) -> Callable[..., Path]:
    """Writes a recording and says where it is."""

    def make(name: str, samples: np.ndarray, subtype: str = "PCM_24") -> Path:
        soundfile.write(tmp_path / name, samples, RATE, subtype=subtype)
        return tmp_path / name

    return make


@pytest.fixture
def without(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Makes a library look as if it were not installed."""

    def hide(library: str) -> None:
        monkeypatch.setattr(recording, "find_spec", lambda name: None if name == library else object())

    return hide


def test_json_holds_every_figure_of_every_file(run_json, file):
    data = run_json("levels", file("a.wav", tone(4, -20)), file("b.wav", tone(4, -26)))
    first, second = data["files"]
    assert list(first) == [
        "file",
        "integrated_lufs",
        "short_term_max_lufs",
        "momentary_max_lufs",
        "range_lu",
        "true_peak_dbtp",
    ]
    assert first["file"].endswith("a.wav")
    assert first["true_peak_dbtp"] == pytest.approx(-20, abs=0.1)
    assert first["integrated_lufs"] - second["integrated_lufs"] == pytest.approx(6, abs=0.01)


SPOKEN = {
    "WAV": ("wav", "WAV", "PCM_24"),
    "RF64": ("rf64", "RF64", "PCM_24"),
    "AIFF": ("aiff", "AIFF", "PCM_24"),
    "CAF": ("caf", "CAF", "PCM_24"),
    "AU": ("au", "AU", "PCM_24"),
    "FLAC": ("flac", "FLAC", "PCM_24"),
    "Ogg Vorbis": ("ogg", "OGG", "VORBIS"),
    "Opus": ("opus", "OGG", "OPUS"),
    "MP3": ("mp3", "MP3", "MPEG_LAYER_III"),
}
"""Each format that help and errors speak of, with its usual ending and soundfile's names for it."""


def test_help_speaks_of_the_formats_that_are_read(run):
    words = " ".join(run("levels", "--help").stdout.split())
    assert recording.FORMATS in words
    assert recording.FORMATS.partition(" and ")[0].split(", ") == list(SPOKEN)


@pytest.mark.parametrize("name", SPOKEN)
def test_every_format_that_is_spoken_of_measures_alike(run_json, tmp_path, name: str):
    ending, kind, subtype = SPOKEN[name]
    path = tmp_path / f"a.{ending}"
    soundfile.write(path, tone(4, -20), RATE, format=kind, subtype=subtype)
    data = run_json("levels", path)
    assert data["files"][0]["integrated_lufs"] == pytest.approx(-20.8, abs=0.5)


@pytest.mark.parametrize("name", ["a.txt", "a.raw", "a.wav"])
def test_what_is_no_recording_is_said_with_what_can_be_read(run, tmp_path, name: str):
    (tmp_path / name).write_bytes(bytes(range(256)))
    result = run("levels", tmp_path / name)
    assert result.exit_code == 2
    assert result.stderr == f"{tmp_path / name}: this is no recording that can be read; {recording.FORMATS} can\n"


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32"])
def test_plain_wav_measures_alike_without_soundfile(run_json, file, without, subtype: str):
    path = file("a.wav", tone(4, -20), subtype)
    with_it = run_json("levels", path)["files"][0]
    without("soundfile")
    alone = run_json("levels", path)["files"][0]
    assert [alone[key] for key in list(alone)[1:]] == pytest.approx([with_it[key] for key in list(alone)[1:]], abs=1e-6)


def test_another_format_without_soundfile_says_how_to_install_it(run, file, without):
    path = file("a.flac", tone(1, -20))
    without("soundfile")
    result = run("levels", path)
    assert result.exit_code == 2
    assert f"install with: {shlex.quote(sys.executable)} -m pip install soundfile\n" in result.stderr


def test_without_numpy_what_to_install_is_named(run, file, without):
    path = file("a.wav", tone(1, -20))
    without("numpy")
    result = run("levels", path)
    assert result.exit_code == 2
    assert f"install with: {shlex.quote(sys.executable)} -m pip install numpy soundfile\n" in result.stderr


def test_nothing_advises_to_install_the_project_by_its_name():
    advice = re.compile(r"pip install (-\S+ )*\W?showrunner\b|showrunner\[")
    files = [file for file in PROJECT.rglob("*") if file.suffix in (".py", ".toml", ".txt", ".md", ".typ", ".html")]
    shown = [*files, *TEXTS]
    assert len(files) > 100
    assert [file for file in shown if advice.search(file.read_text(encoding="utf-8"))] == []


def test_a_short_or_silent_recording_has_null_figures(run, run_json, file):
    path = file("a.wav", np.zeros((1000, 2)))
    assert run_json("levels", path)["files"][0]["integrated_lufs"] is None
    assert "too short or too quiet" in run("levels", path).stdout


def test_text_has_a_plot_over_time(run, file):
    text = run("levels", file("a.wav", np.concatenate([tone(8, -50), tone(8, -20)]))).stdout
    bars = text.splitlines()[-1].strip()
    assert bars.endswith("█")
    assert not bars.startswith("█")


def test_match_proposes_trims_that_keep_below_the_ceiling(run, run_json, file):
    files = [file("a.wav", tone(4, -10)), file("b.wav", tone(4, -20))]
    data = run_json("levels", *files, "--match", "--target", -2)
    loud = data["match"][0]
    assert -3.5 < data["files"][0]["true_peak_dbtp"] + loud["trim_db"] <= -3
    assert loud["short_db"] > 0
    assert "its peaks are in the way" in run("levels", *files, "--match", "--target", -2).stdout


def test_write_puts_the_level_into_the_song_and_leaves_the_rest(run_json, file, book: Path):
    song = book / "songs/low-lantern.toml"
    before = song.read_text()
    data = run_json("levels", file("a.wav", tone(4, -20)), "--song", "low-lantern", "--write", "--book", book)
    assert data["wrote"] == "songs/low-lantern.toml"
    after = run_json("read", "low-lantern", "--book", book)["document"]["level"]
    assert after["true_peak_dbtp"] == pytest.approx(-20, abs=0.1)
    assert after["integrated_lufs"] == pytest.approx(data["files"][0]["integrated_lufs"], abs=0.01)
    assert set(before.splitlines()) <= set(song.read_text().splitlines())


def test_a_song_without_write_only_says_so(run, file, book: Path):
    before = (book / "songs/low-lantern.toml").read_bytes()
    result = run("levels", file("a.wav", tone(4, -20)), "--song", "low-lantern", "--book", book)
    assert "--write puts it into the song low-lantern" in result.stdout
    assert (book / "songs/low-lantern.toml").read_bytes() == before


def test_silence_is_never_written(run, file, book: Path):
    path = file("a.wav", np.zeros((RATE, 2)))
    result = run("levels", path, "--song", "low-lantern", "--write", "--book", book)
    assert result.exit_code == 2
    assert "too quiet" in result.stderr


def test_a_song_that_is_not_there_exits_2(run, file, book: Path):
    path = file("a.wav", tone(1, -20))
    assert run("levels", path, "--song", "low-latern", "--write", "--book", book).exit_code == 2


def test_more_channels_than_can_be_measured_are_told_with_the_file(run, file):
    result = run("levels", file("a.wav", tone(1, -20, channels=8)))
    assert result.exit_code == 2
    assert "a.wav: 8 channels can't be measured" in result.stderr


def test_samples_that_are_no_numbers_are_told_with_the_file(run, file):
    samples = tone(1, -20)
    samples[100] = math.nan
    result = run("levels", file("a.wav", samples, "FLOAT"))
    assert result.exit_code == 2
    assert "a.wav: there are samples that are no numbers" in result.stderr


@pytest.mark.parametrize("content", [b"", b"RIFF", b"fLaC\x00\x00", b"not a recording\n", bytes(range(256)) * 9])
@pytest.mark.parametrize("library", ["soundfile", "none"])
def test_a_file_of_any_bytes_is_told_to_be_no_recording(run, tmp_path: Path, without, content: bytes, library: str):
    without(library)
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    result = run("levels", path)
    assert result.exit_code == 2
    assert "no recording that can be read" in result.stderr


@pytest.mark.parametrize("library", ["soundfile", "none"])
def test_a_recording_that_breaks_off_is_measured_as_far_as_it_goes_or_told(run, file, without, library: str):
    path = file("a.wav", tone(4, -20), "PCM_16")
    path.write_bytes(path.read_bytes()[:-20001])
    without(library)
    result = run("levels", path)
    assert result.exit_code == 0
    assert "-20.7 LUFS" in result.stdout
    assert "over 3 s" in result.stdout


def test_a_wav_of_odd_width_without_soundfile_is_told(run, tmp_path: Path, without):
    path = tmp_path / "a.wav"
    with wave.open(str(path), "wb") as made:
        made.setparams((1, 2, RATE, 0, "NONE", ""))
        made.writeframes(b"\0\0" * 100)
    data = bytearray(path.read_bytes())
    data[32:36] = (8).to_bytes(2, "little") + (64).to_bytes(2, "little")
    path.write_bytes(data)
    without("soundfile")
    result = run("levels", path)
    assert result.exit_code == 2
    assert "samples of 8 bytes" in result.stderr


def test_on_a_terminal_the_share_done_is_shown_and_wiped(file, monkeypatch: pytest.MonkeyPatch):
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    path, terminal = file("a.wav", tone(20, -20)), Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with recording.recording(path) as opened:
        frames = sum(len(block) for block in recording.progress(path, opened))
    assert frames == 20 * RATE
    assert "measuring a.wav … 40 %" in terminal.getvalue()
    assert terminal.getvalue().endswith(" \r")


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["a.wav", "--write"],
        ["a.wav", "b.wav", "--song", "low-lantern"],
        ["a.wav", "--target", "-18"],
        ["a.wav", "--match", "--target", "5"],
        ["a.wav", "--match", "--target", "nan"],
    ],
)
def test_what_makes_no_sense_is_wrong_usage(run, words: list[str]):
    assert run("levels", *words).exit_code == 2


@pytest.mark.parametrize("name", ["nowhere.wav", "."])
def test_a_file_that_is_not_there_exits_2(run, tmp_path: Path, name: str):
    assert run("levels", tmp_path / name).exit_code == 2
