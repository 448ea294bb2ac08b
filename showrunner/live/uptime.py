"""How long the machine has been on, and which start of it this is.

Sleep counts: on Linux by CLOCK_BOOTTIME, since CLOCK_MONOTONIC stands still while it sleeps (clock_gettime(2)).
"""

import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


def _with_sleep() -> int | None:
    """The system's clock that counts sleep; None where `time.perf_counter` does, as on Windows."""
    if sys.platform == "darwin":
        return time.CLOCK_MONOTONIC_RAW
    return getattr(time, "CLOCK_BOOTTIME", None)


_CLOCK = _with_sleep()


def uptime_s() -> float:
    """Seconds since this machine was started, sleep among them."""
    return time.perf_counter() if _CLOCK is None else time.clock_gettime(_CLOCK)


def slept_s() -> float:
    """Seconds that the machine has slept since it was started, or a little less; 0 where the system does not tell."""
    if _CLOCK is None:
        return 0.0
    with_sleep_s = time.clock_gettime(_CLOCK)  # read first: whatever comes in between makes the difference less
    return with_sleep_s - time.perf_counter()


def boot() -> str:
    """Which start of the machine this is; empty where the system does not number them."""
    with suppress(OSError):
        return BOOT_ID.read_text(encoding="ascii").strip()
    if sys.platform == "darwin":
        with suppress(OSError, subprocess.SubprocessError):
            asked = ["/usr/sbin/sysctl", "-n", "kern.bootsessionuuid"]
            return subprocess.run(asked, capture_output=True, text=True, timeout=2, check=True).stdout.strip()
    return ""
