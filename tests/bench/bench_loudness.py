"""Time and memory of measuring a long recording: `python tests/bench/bench_loudness.py [MINUTES [RATE_HZ]]`.

Makes 24-bit stereo noise of slowly changing level and a few full-scale bursts as a WAV file, 90 minutes at 48 kHz, and
measures it through the command line's own reader: the share of its length that takes, and the most memory it had.
"""

import resource
import sys
import tempfile
from pathlib import Path
from time import perf_counter

import numpy as np
import soundfile

from showrunner.cli.recording import recording
from showrunner.levels.loudness import measure


def make(path: Path, minutes: float, rate: int) -> None:
    """Writes the recording, a second at a time."""
    chance = np.random.default_rng(4)
    with soundfile.SoundFile(path, "w", rate, 2, "PCM_24") as file:
        for second in range(round(minutes * 60)):
            block = chance.standard_normal((rate, 2)) * (0.02 + 0.1 * (1 + np.sin(second / 70)))
            if second % 200 == 0:
                block *= 3
            file.write(np.clip(block, -1, 1))


def peak_mb() -> float:
    """Most memory this process has had, MB."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1 << 20 if sys.platform == "darwin" else 1 << 10)


def main(minutes: float, rate: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.wav"
        make(path, minutes, rate)
        size_mb, before_mb = path.stat().st_size / 1e6, peak_mb()
        began = perf_counter()
        with recording(path) as opened:
            found = measure(opened.blocks, opened.rate_hz, opened.channels)
        took = perf_counter() - began
    print(f"{minutes:g} minutes of stereo at {rate} Hz, {size_mb:.0f} MB")
    print(f"measured in {took:.1f} s: {took / (minutes * 60):.4f} of its length (bar: 0.1)")
    print(f"peak memory {peak_mb():.0f} MB, {before_mb:.0f} MB of it before measuring began")
    print(f"{found.integrated_lufs:.2f} LUFS, range {found.range_lu or 0:.2f} LU, {found.true_peak_dbtp:.2f} dBTP")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 90.0, int(sys.argv[2]) if len(sys.argv) > 2 else 48000)
