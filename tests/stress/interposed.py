"""Processes whose clocks are this program's to move: a small library between them and the system's. Linux, cc."""

import datetime
import mmap
import os
import struct
import subprocess
import sys
import tempfile
import time
import uuid
from pathlib import Path

SHIM = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <time.h>
static volatile double *by;
static int (*clock_is)(clockid_t, struct timespec *);
static int (*opens)(const char *, int, ...);
static int (*opens_at)(int, const char *, int, ...);
static const char *boot;
__attribute__((constructor)) static void begin(void) {
    clock_is = dlsym(RTLD_NEXT, "clock_gettime");
    opens = dlsym(RTLD_NEXT, "open64");
    opens_at = dlsym(RTLD_NEXT, "openat64");
    boot = getenv("CLOCKS_BOOT");
    int file = opens(getenv("CLOCKS_BY"), O_RDONLY);
    by = mmap(0, 4096, PROT_READ, MAP_SHARED, file, 0);
}
int clock_gettime(clockid_t clock, struct timespec *at) {
    if (!clock_is) begin();
    int failed = clock_is(clock, at);
    if (failed || (clock != CLOCK_REALTIME && clock != CLOCK_BOOTTIME)) return failed;
    double s = by[clock == CLOCK_BOOTTIME], whole = floor(s);
    at->tv_sec += (long)whole;
    at->tv_nsec += (long)((s - whole) * 1e9);
    if (at->tv_nsec >= 1000000000) { at->tv_nsec -= 1000000000; at->tv_sec += 1; }
    return 0;
}
static const char *meant(const char *path) {
    return boot && !strcmp(path, "/proc/sys/kernel/random/boot_id") ? boot : path;
}
#define OPEN(NAME) int NAME(const char *path, int how, ...) { \
    va_list more; va_start(more, how); int mode = va_arg(more, int); va_end(more); \
    return opens(meant(path), how, mode); }
#define OPEN_AT(NAME) int NAME(int at, const char *path, int how, ...) { \
    va_list more; va_start(more, how); int mode = va_arg(more, int); va_end(more); \
    return opens_at(at, meant(path), how, mode); }
OPEN(open) OPEN(open64) OPEN_AT(openat) OPEN_AT(openat64)
"""


def under_the_shim() -> None:
    """Start this program anew with the library between it and the clocks; `CLOCKS` in its environment is its folder."""
    if "CLOCKS" in os.environ:
        return
    folder = Path(tempfile.mkdtemp(prefix="sr-clocks-"))
    (folder / "clocks.c").write_text(SHIM)
    made = folder / "clocks.so"
    subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", made, folder / "clocks.c", "-ldl", "-lm"], check=True)
    (folder / "by").write_bytes(bytes(4096))
    (folder / "boot").write_text(f"{uuid.uuid4()}\n")
    ours = {"LD_PRELOAD": str(made), "CLOCKS_BY": str(folder / "by"), "CLOCKS_BOOT": str(folder / "boot")}
    homes = {f"XDG_{name}_HOME": str(folder / name.lower()) for name in ("STATE", "CONFIG", "DATA", "CACHE")}
    os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ours, **homes, "CLOCKS": str(folder)})


class Clocks:
    """What the system's clocks are moved by: the time of day, and the one that counts sleep."""

    def __init__(self) -> None:
        with Path(os.environ["CLOCKS_BY"]).open("r+b") as file:
            self._by = mmap.mmap(file.fileno(), 4096)
        self.day_s = self.up_s = 0.0

    def set(self, by_s: float) -> None:
        """The time of day is set."""
        self.day_s += by_s
        self._write()

    def set_to(self, at: datetime.datetime) -> None:
        """The time of day is set to a time of this zone."""
        self.set(at.timestamp() - time.time())

    def sleep(self, for_s: float) -> None:
        """The machine sleeps."""
        self.day_s, self.up_s = self.day_s + for_s, self.up_s + for_s
        self._write()

    def restart(self, off_s: float, set_s: float) -> None:
        """The machine was off, and its time of day comes back set by so much."""
        Path(os.environ["CLOCKS_BOOT"]).write_text(f"{uuid.uuid4()}\n")
        self.up_s += 20.0 - time.clock_gettime(time.CLOCK_BOOTTIME)
        self.day_s += off_s + set_s
        self._write()

    def _write(self) -> None:
        self._by[:16] = struct.pack("dd", self.day_s, self.up_s)
