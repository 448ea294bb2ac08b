"""Recordings measured from the command line."""

import io
import math
import sys
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from showrunner.cli import recording

RATE = 8000


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


@pytest.mark.parametrize("name", ["a.wav", "a.flac", "a.aiff"])
def test_wav_flac_and_aiff_measure_alike(run_json, file, name: str):
    data = run_json("levels", file(name, tone(4, -20)))
    assert data["files"][0]["integrated_lufs"] == pytest.approx(-20.8, abs=0.3)


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32"])
def test_plain_wav_measures_alike_without_soundfile(run_json, file, without, subtype: str):
    path = file("a.wav", tone(4, -20), subtype)
    with_it = run_json("levels", path)["files"][0]
    without("soundfile")
    alone = run_json("levels", path)["files"][0]
    assert [alone[key] for key in list(alone)[1:]] == pytest.approx([with_it[key] for key in list(alone)[1:]], abs=1e-6)


def test_another_format_without_soundfile_names_the_extra(run, file, without):
    path = file("a.flac", tone(1, -20))
    without("soundfile")
    result = run("levels", path)
    assert result.exit_code == 2
    assert "showrunner[levels]" in result.stderr


def test_without_numpy_the_extra_is_named(run, file, without):
    path = file("a.wav", tone(1, -20))
    without("numpy")
    result = run("levels", path)
    assert result.exit_code == 2
    assert "the extra levels" in result.stderr


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
